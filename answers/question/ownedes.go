package question

import "sidewall/answers/measure"

// ownsStick says whether a phrase such as "chamaco mide" names whose stick is
// measured: "el palo de mi chamaco mide 46".
func (q *Question) ownsStick(h *hit) bool {
	if q.Lang != "es" || h.start == 0 || h.end-h.start < 2 {
		return false
	}
	i := h.start - 1
	for i > 0 {
		switch q.toks[i].text {
		case "mi", "mis", "su", "el", "la", "ese", "este", "tu", "nuestro", "un", "mismo":
			i--
			continue
		}
		break
	}
	if !q.wordAt(i, "de") && !q.wordAt(i, "del") || i == 0 {
		return false
	}
	p := q.hitAt[i-1]
	return p >= 0 && q.is(&q.hits[p], "stick")
}

// tallSaid reads a height that leaves out both units: "mide 4 con 9".
func (q *Question) tallSaid(i int) (int, bool) {
	if q.Lang != "es" || i == 0 {
		return i, false
	}
	switch q.toks[i-1].text {
	case "mide", "midio", "medir", "estatura", "altura", "alto", "mido":
	default:
		return i, false
	}
	ft, ok := q.number(i)
	if !ok || ft.frac || ft.milli < 3*measure.One || ft.milli > 6*measure.One || !q.wordAt(ft.end, "con") {
		return i, false
	}
	in, ok := q.number(ft.end + 1)
	if !ok || in.milli < 0 || in.milli >= 12*measure.One {
		return i, false
	}
	end := in.end
	if t, e, ok := q.unit(end); ok {
		if t != q.x.std.inch {
			return i, false
		}
		end = e
	}
	v := ft.milli*int64(measure.Foot)/measure.One + in.milli*int64(measure.Inch)/measure.One
	q.push(Quantity{Kind: Length, Lo: v, Hi: v, Unit: q.x.std.foot, start: i, end: end, Role: noTag, feet: true, word: ft.word})
	return end, true
}

// noAfterDivision says whether "U13... no, U11" takes the first division back.
func (q *Question) noAfterDivision(from, to int) bool {
	if q.Lang != "es" {
		return false
	}
	no := false
	for i := from; i < to; i++ {
		switch t := &q.toks[i]; {
		case t.kind == markToken && t.text != "?":
		case t.text == "no" || t.text == "ah" || t.text == "ay" || t.text == "bueno" || t.text == "espera" || t.text == "es" || t.text == "en" || t.text == "de" || t.text == "la" || t.text == "ya":
			no = no || t.text == "no"
		default:
			return false
		}
	}
	return no
}

// tallOfPlayer says whether feet and inches after "mide" are a player's where a
// stick is asked for: "palo largo para mi sobrino que es defensa, mide 5 pies 4,
// ¿qué largo?".
func (q *Question) tallOfPlayer(u *Quantity) bool {
	if q.Lang != "es" || u.start == 0 || u.Lo < q.x.std.childHeight || !q.saysTag("ask:whatlength", "ask:buy", "ask:what") || q.saysTag("ask:may") {
		return false
	}
	switch q.toks[u.start-1].text {
	case "mide", "midio", "midiendo", "mido":
	default:
		return false
	}
	for k := range q.hits {
		if h := &q.hits[k]; h.end <= u.start && q.sameSentence(h.start, u.start) && q.is(h, "person") {
			return true
		}
	}
	return false
}

// schoolYear takes "está en quinto" for a school grade where a division is asked for.
func (q *Question) schoolYear() {
	if q.Lang != "es" || !q.saysTag("which-division", "signup:where") {
		return
	}
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Ordinal || u.Lo < 1 || u.Lo > 6 || u.start < 2 || !q.wordAt(u.start-1, "en") && !q.wordAt(u.start-1, "a") {
			continue
		}
		switch q.toks[u.start-2].text {
		case "esta", "va", "anda", "entra", "paso", "pasa", "ira", "estudia", "entro", "estan", "van":
			u.Kind = Grade
		}
	}
}
