package question

import (
	"sidewall/answers/measure"
)

// askBetween says whether a question of its own begins between two tokens: "20 cm
// around and can the pole be 50".
func (q *Question) askBetween(a, b int) bool {
	for i := a; i < b; i++ {
		if q.connector(i) && q.toks[i].text != "-" && q.opens(i+1) {
			return true
		}
	}
	return false
}

// roles says for each length what it measures: the nearest word for a dimension
// in the same sentence, a following one ("11 inches wide") before a preceding one.
func (q *Question) roles() {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Length && u.Kind != Bare && u.Kind != Pair {
			continue
		}
		if u.Kind == Length && q.changes(u) {
			u.Role = q.x.std.dimChange
			continue
		}
		best := 1000
		for h := range q.hits {
			p := &q.hits[h]
			if q.toks[p.start].sent != q.toks[u.start].sent {
				continue
			}
			for _, t := range p.tags {
				if q.x.info[t].group != gDim || t == q.x.std.dimStick && u.Kind == Length && u.Lo <= q.x.std.bigChange {
					continue // no stick is that short: it is of its head or its strings
				}
				if t == q.x.std.dimHeight && p.end <= u.start && u.Lo != 0 && q.ownsStick(p) {
					t = q.x.std.dimStick
				}
				if t == q.x.std.dimHeight && p.start >= u.end && q.saysWhatHeIs(p) {
					continue // "45 inches, he's a defender"
				}
				cost := 0
				if p.start >= u.end {
					cost = 2 * (p.start - u.end)
					if cost > 2 {
						cost += 3
					}
				} else {
					cost = 2*(u.start-p.end) + 1
				}
				if q.breakBetween(u.end, p.start) || q.breakBetween(p.end, u.start) {
					cost += 6
				}
				if q.askBetween(u.end, p.start) || q.askBetween(p.end, u.start) {
					continue
				}
				for o := range q.Quantities { // another quantity in between takes the word first
					v := &q.Quantities[o]
					if o != k && (v.Kind == Length || v.Kind == Bare) && (v.start >= u.end && v.end <= p.start || v.start >= p.end && v.end <= u.start) {
						cost += 8
					}
				}
				if cost < best {
					best, u.Role = cost, t
				}
			}
		}
		if u.Role == noTag {
			u.Role = q.heading(u)
		}
		if (u.Role == noTag || q.x.info[u.Role].value == "string" && !q.tagInScope(q.Whole(), "thing:shooting-string", "thing:hanging-string", "thing:string")) && u.Kind == Length && !u.feet && q.tagInScope(q.Whole(), "thing:head") && (q.tagInScope(q.Whole(), "too:long", "too:short") || q.saysLength()) {
			u.Role = q.x.std.dimHeadLength // "goalie head is 17 inches. too long?"
		}
		q.bareMetres(u)
		q.metreHeight(u)
		if u.feet && q.wordAt(u.start-1, "to") && (q.cutBefore(u) || q.wordAt(u.start-2, "it") || q.wordAt(u.start-2, "down")) {
			u.Role = q.x.std.dimStick // "dad sawed it to 5'10"
			continue
		}
		if u.feet && u.Role == noTag && u.start > 0 && (q.toks[u.start-1].text == "its" || q.wordAt(u.start-2, "it")) && q.tagInScope(q.Whole(), "stick") ||
			u.feet && u.Role == noTag && (q.wordAt(u.start-1, "thats") || q.wordAt(u.start-1, "is")) && (q.wordAt(u.start-2, "one") || q.wordAt(u.start-2, "stick") || q.wordAt(u.start-2, "pole")) {
			u.Role = q.x.std.dimStick // "we measured the pole and it's 4 foot 7"
			continue
		}
		if u.feet && u.Lo >= q.x.std.childHeight && u.Role != noTag && (u.Role == q.x.std.dimStick || q.x.info[u.Role].value == "size") && best > 2 && q.tagInScope(q.Whole(), "ask:whatlength") && !q.tagInScope(q.Whole(), "ask:legal") {
			u.Role = q.x.std.dimHeight // "lsm 5 foot 7 what size long stick"
		}
		if u.feet && best > 2 && u.Lo >= q.x.std.childHeight && u.Role == noTag {
			u.Role = q.x.std.dimHeight // nothing else of the game is said in feet and inches
		}
		if u.feet && q.tallOfPlayer(u) {
			u.Role = q.x.std.dimHeight
			continue
		}
		// 4'6" defender, 5 ft 2 kid: feet and inches before a person are a height
		if u.feet && (u.Role == noTag || best > 2) && !q.stickSaid(u) {
			for i := u.end; i < min(u.end+3, len(q.toks)); i++ {
				if h := q.hitAt[i]; h >= 0 && contains(q.hits[h].tags, q.x.std.person) {
					u.Role = q.x.std.dimHeight
				}
			}
			for i := u.start - 1; i >= max(0, u.start-4); i-- {
				h := q.hitAt[i]
				if h >= 0 && contains(q.hits[h].tags, q.x.std.dimStick) && !contains(q.hits[h].tags, q.x.std.person) {
					break // "the middie's twig is three foot six"
				}
				if h >= 0 && contains(q.hits[h].tags, q.x.std.person) && best > 2 {
					u.Role = q.x.std.dimHeight
				}
			}
			for _, s := range q.divSpan {
				if s.start >= u.end && s.start <= u.end+1 && u.Role == noTag {
					u.Role = q.x.std.dimHeight
				}
			}
		}
	}
}

// saysWhatHeIs says whether "he is" is followed by what he is, and so by no height.
func (q *Question) saysWhatHeIs(h *hit) bool {
	switch q.toks[h.end-1].text {
	case "hes", "shes", "is", "im":
		return q.wordAt(h.end, "a") || q.wordAt(h.end, "an") || q.wordAt(h.end, "on") || q.wordAt(h.end, "our") || q.wordAt(h.end, "my")
	}
	return false
}

// metreHeight makes a length of a bare 1.45 or "uno setenta" that is said of how
// tall somebody is.
func (q *Question) metreHeight(u *Quantity) {
	if u.Kind != Bare || u.Role != q.x.std.dimHeight || u.Lo != u.Hi {
		return
	}
	if u.Lo > measure.One && u.Lo < 22*measure.One/10 && u.Lo%measure.One != 0 {
		u.Kind, u.Lo = Length, u.Lo*int64(measure.Metre)/measure.One
		u.Hi = u.Lo
	}
}

// changes says whether a length is an amount that is cut off or added rather
// than a size: "cuts two inches off", but not "cut to 42 inches".
func (q *Question) changes(u *Quantity) bool {
	if u.start > 0 {
		switch q.toks[u.start-1].text {
		case "to", "a", "at", "es", "is":
			if q.toks[u.start-1].text != "a" || q.Lang == "es" {
				return false
			}
		}
	}
	if int64(u.Lo) > q.x.std.bigChange {
		return false
	}
	if q.wordAt(u.end, "off") {
		for i := max(0, u.start-4); i < u.start; i++ {
			switch q.toks[i].text {
			case "take", "takes", "took", "taking", "lop", "lops", "shave", "shaves":
				return true // "takes one inch off it"
			}
		}
	}
	if u.end < len(q.toks) && q.mark(u.end, ",") && !q.near(u, "change:add") {
		return q.cutBefore(u) // "hang 3 inches, do I cut them?"
	}
	return q.near(u, "change:cut") || q.near(u, "change:add")
}

// saysLength says whether a length is asked after in so many words: "42 cm from top
// to bottom. length ok?"
func (q *Question) saysLength() bool {
	for i := range q.toks {
		if q.wordAt(i, "length") || q.wordAt(i, "lenght") || q.wordAt(i, "top") && q.wordAt(i+1, "to") && q.wordAt(i+2, "bottom") || q.wordAt(i, "largo") && q.wordAt(i-1, "de") {
			return true
		}
	}
	return false
}
