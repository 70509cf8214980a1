package question

import "sidewall/answers/measure"

// spanishClock reads the game clock as Spanish says it beside a word for the
// clock or for what is left: "el reloj decía dos con cuarenta", "faltando tres y
// medio del segundo", "faltando 3 del cuarto".
func (q *Question) spanishClock(i int) (int, bool) {
	if q.Lang != "es" {
		return i, false
	}
	n, ok := q.number(i)
	if !ok || n.milli > 20*measure.One {
		return i, false
	}
	push := func(seconds int64, end int) (int, bool) {
		q.push(Quantity{Kind: Clock, Lo: seconds, Hi: seconds, Unit: noTag, start: i, end: end, Role: noTag, word: n.word})
		return end, true
	}
	whole := n.milli%measure.One == 0
	if whole && q.wordAt(n.end, "con") && q.clockWordBefore(i, 4) {
		s, ok := q.number(n.end + 1)
		if ok && !s.frac && s.milli >= 10*measure.One && s.milli < 60*measure.One && !q.unitAt(s.end) && !q.countedAt(s.end) {
			return push(n.milli/measure.One*60+s.milli/measure.One, s.end)
		}
	}
	if t, j, ok := q.unit(n.end); ok && whole && q.x.info[t].value == "min" && q.clockWordBefore(i, 1) { // "quedaban 3 minutos 20 segundos"
		if q.joins(j) || q.wordAt(j, "con") {
			j++
		}
		if s, ok := q.number(j); ok && s.milli < 60*measure.One {
			if t2, end, ok := q.unit(s.end); ok && q.x.info[t2].value == "s" {
				return push(n.milli/measure.One*60+s.milli/measure.One, end)
			}
		}
	}
	if end, seconds, ok := q.toTheHour(i, n); ok {
		return push(seconds, end)
	}
	half := n.milli%measure.One == measure.One/2
	if (whole || half) && !q.unitAt(n.end) && q.clockWordBefore(i, 0) && (q.wordAt(n.end, "del") || q.wordAt(n.end, "en") && q.wordAt(n.end+1, "el")) {
		at := n.end + 1
		if q.wordAt(n.end, "en") {
			at++
		}
		_, _, ord := q.ordinal(at)
		_, _, named := q.tagAt(at, gPeriodWord)
		if ord || named {
			return push(n.milli*60/measure.One, n.end)
		}
	}
	return i, false
}

// toTheHour reads "las cinco menos diez", "las ocho menos cuarto".
func (q *Question) toTheHour(i int, n number) (end int, seconds int64, ok bool) {
	hour := n.milli / measure.One
	if !q.wordAt(i-1, "las") || !q.wordAt(n.end, "menos") || n.milli%measure.One != 0 || hour < 1 || hour > 24 {
		return i, 0, false
	}
	if hour--; hour == 0 {
		hour = 12
	}
	if q.wordAt(n.end+1, "cuarto") {
		return n.end + 2, hour*60 + 45, true
	}
	m, ok := q.number(n.end + 1)
	if !ok || m.frac || m.milli < measure.One || m.milli >= 60*measure.One || q.unitAt(m.end) && !q.minutesAt(m.end) {
		return i, 0, false
	}
	return m.end, hour*60 + 60 - m.milli/measure.One, true
}

func (q *Question) minutesAt(i int) bool {
	t, _, ok := q.unit(i)
	return ok && q.x.info[t].value == "min"
}

// clockWordBefore says whether a word for the clock, or for what is left on it,
// ends within so many tokens before token i.
func (q *Question) clockWordBefore(i, within int) bool {
	for k := range q.hits {
		if h := &q.hits[k]; h.end <= i && i-h.end <= within && q.is(h, "dayclock:left", "clockleft") && q.sameSentence(h.start, i) {
			return true
		}
	}
	for k := max(0, i-within-1); k < i; k++ {
		if q.wordAt(k, "reloj") && within > 0 {
			return true
		}
	}
	return false
}

func (q *Question) unitAt(i int) bool {
	_, _, ok := q.unit(i)
	return ok
}

func (q *Question) countedAt(i int) bool {
	_, _, ok := q.tagAt(i, gStickWord)
	return ok
}

// fourth says whether "cuarto" at token i is the fourth period: it stands alone
// after a clock or a score ("a los 8:00 del cuarto", "20 a 8 en el cuarto").
func (q *Question) fourth(i int) bool {
	n := len(q.Quantities)
	if n == 0 || q.Quantities[n-1].Kind != Clock && q.Quantities[n-1].Kind != Pair {
		return false
	}
	end := q.Quantities[n-1].end
	return end == i-1 && q.wordAt(end, "del") || end == i-2 && q.wordAt(end, "en") && q.wordAt(end+1, "el")
}

// unitAndHalf reads a unit that stands for one of it: "pulgada y media".
func (q *Question) unitAndHalf(i int) (int, bool) {
	if i > 0 && (q.article(i-1) || q.isNum(i-1)) {
		return i, false
	}
	if q.Lang != "es" {
		return q.andAHalf(i)
	}
	t, j, ok := q.unit(i)
	if !ok || q.toks[i].kind != wordToken || len(q.toks[i].text) < 3 || !q.wordAt(j, "y") || !q.wordAt(j+1, "media") && !q.wordAt(j+1, "medio") {
		return i, false
	}
	if _, _, num := q.small(i - 1); i > 0 && num {
		return i, false
	}
	in := &q.x.info[t]
	v := in.n * 3 / 2
	q.push(Quantity{Kind: in.unitKind, Lo: v, Hi: v, Unit: t, start: i, end: j + 2, Role: noTag, word: true})
	return j + 2, true
}

// lastQuarter reads "último cuarto" where a longer phrase took the words.
func (q *Question) lastQuarter(i int) (int, bool) {
	return i + 2, q.Lang == "es" && (q.wordAt(i+1, "cuarto") || q.wordAt(i+1, "cuartito"))
}

// bareMetres makes metres of the stick of "palo de 1.30", and a height of "mide
// 1.60" where the stick's length is what is asked for.
func (q *Question) bareMetres(u *Quantity) {
	if q.Lang != "es" || u.Kind != Bare || u.Role == q.x.std.dimHeight || u.start == 0 || u.Lo%measure.One == 0 {
		return
	}
	switch q.toks[u.start-1].text {
	case "mide", "media", "midio", "mido", "midiendo":
		if q.tagInScope(q.Whole(), "ask:whatlength") || q.tagInScope(q.Whole(), "ask:buy") {
			u.Role = q.x.std.dimHeight
			return
		}
	}
	if (q.wordAt(u.start-1, "de") || q.wordAt(u.start-1, "mide")) && u.Lo > measure.One && u.Lo < 2*measure.One && u.Lo == u.Hi && len(q.toks[u.start].text) == 4 &&
		(u.Role == noTag || u.Role == q.x.std.dimStick) && q.stickBefore(u) {
		u.Kind, u.Lo = Length, u.Lo*int64(measure.Metre)/measure.One // "palo de 1.30"
		u.Hi, u.Role = u.Lo, q.x.std.dimStick
	}
}

// stickBefore says whether a stick is named right before a number: "palo de",
// "stick que mide".
func (q *Question) stickBefore(u *Quantity) bool {
	for k := range q.hits {
		if h := &q.hits[k]; h.end < u.start && h.end >= u.start-2 && q.is(h, "stick") || h.end == u.start && h.end > h.start+1 && q.is(h, "dim:stick") {
			return true
		}
	}
	return false
}

// andAHalf reads "inch and a half" that nothing counts.
func (q *Question) andAHalf(i int) (int, bool) {
	t, j, ok := q.unit(i)
	if !ok || q.toks[i].kind != wordToken || len(q.toks[i].text) < 4 || q.x.info[t].unitKind == Bare || !q.wordAt(j, "and") || !q.wordAt(j+1, "a") || !q.wordAt(j+2, "half") {
		return i, false
	}
	if _, _, num := q.small(i - 1); i > 0 && num {
		return i, false
	}
	in := &q.x.info[t]
	v := in.n * 3 / 2
	q.push(Quantity{Kind: in.unitKind, Lo: v, Hi: v, Unit: t, start: i, end: j + 3, Role: noTag, word: true})
	return j + 3, true
}
