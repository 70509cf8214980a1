package question

import (
	"slices"

	"sidewall/answers/measure"
)

// corrected takes away a size that the next one takes the place of: "the stick is
// 41, no wait, 45 inches". The two must stand close together, with nothing but
// the correction and words said of both between them.
func (q *Question) corrected() {
	for k := 0; k+1 < len(q.Quantities); k++ {
		u, v := &q.Quantities[k], &q.Quantities[k+1]
		if sized(u) && sized(v) && likeSizes(u, v) && q.correctedBetween(u.end, v.start, v.end) {
			q.Quantities = slices.Delete(q.Quantities, k, k+1)
			k--
		}
	}
}

func sized(u *Quantity) bool { return u.Kind == Length || u.Kind == Bare }

// likeSizes says whether two sizes may be of one thing.
func likeSizes(a, b *Quantity) bool {
	x, y := inInches(a), inInches(b)
	return x > 0 && y < x*3 && x < y*3
}

// correctedBetween says whether the words from a to b are a correction; words that
// come again after it, at c, were said of the size that is taken back.
func (q *Question) correctedBetween(a, b, c int) bool {
	found := false
	for i := a; i < b; i++ {
		if h := q.hitAt[i]; h >= 0 && q.is(&q.hits[h], "story:rather") {
			found = true
			continue
		}
		switch t := &q.toks[i]; {
		case t.kind == markToken && !q.mark(i, "?"):
		case t.text == "no", t.text == "its", t.text == "it", t.text == "is", t.text == "was", t.text == "uh", t.text == "oops":
		default:
			if !slices.ContainsFunc(q.toks[c:min(c+3, len(q.toks))], func(o token) bool { return o.kind == wordToken && o.text == t.text }) {
				return false
			}
		}
	}
	return found
}

// inInches is a size in inches where it was said without a unit.
func inInches(u *Quantity) int64 {
	if u.Kind == Bare {
		return u.Lo * int64(measure.Inch) / measure.One
	}
	return u.Lo
}

// ofTheDay takes away the hour of "game is at 9" and the number of "2 games
// tomorrow": they measure nothing.
func (q *Question) ofTheDay() {
	q.Quantities = slices.DeleteFunc(q.Quantities, func(u Quantity) bool {
		if u.Kind == Bare && (q.wordAt(u.end, "games") || q.wordAt(u.end, "practices") || q.wordAt(u.end, "scrimmages")) {
			return true
		}
		if u.Kind != Bare || u.start == 0 || !q.wordAt(u.start-1, "at") {
			return false
		}
		h := q.hitAt[u.start-1]
		return h >= 0 && q.is(&q.hits[h], "dayclock:other")
	})
}

// cutFromTo makes the size that is left of a range that a stick was cut over: "cut it
// from 60 to 42 inches".
func (q *Question) cutFromTo() {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if !sized(u) || u.Lo == u.Hi || !q.wordAt(u.start-1, "from") {
			continue
		}
		a, ok := q.number(u.start)
		if !ok {
			continue
		}
		for i := a.end; i < u.end; i++ {
			if !q.wordAt(i, "to") {
				continue
			}
			if b, ok := q.number(i + 1); ok && b.milli < a.milli && q.cutBefore(u) {
				u.Hi = u.Lo
			}
			break
		}
	}
}
