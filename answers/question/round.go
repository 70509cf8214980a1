package question

import (
	"math"

	"sidewall/answers/measure"
)

// Diameter reads a circumference and gives the diameter of a ball that has it.
func Diameter(r Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := r(q, s)
		v.Lo, v.Hi = int64(measure.Length(v.Lo).Diameter()), int64(measure.Length(v.Hi).Diameter())
		return v, at, ok
	}
}

// Circumference reads a diameter and gives the circumference of a ball that has it.
func Circumference(r Reader) Reader {
	round := func(d int64) int64 { return int64(math.Round(float64(d) * math.Pi)) }
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := r(q, s)
		v.Lo, v.Hi = round(v.Lo), round(v.Hi)
		return v, at, ok
	}
}

// Largest reads the largest of the quantities that a measure fits: of two shooting
// strings the lower one counts.
func Largest(r Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best, at, ok := r(q, s)
		for ok {
			v, sp, more := r(q, s) // each one is used up by being read
			if !more {
				break
			}
			if v.Hi > best.Hi {
				best, at = v, sp
			}
		}
		return best, at, ok
	}
}

// LengthAfter reads a length, or a bare number of a unit, that directly follows
// one of the words: "at 1.25".
func LengthAfter(unit int64, words ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.used || u.Kind != Length && u.Kind != Bare || !s.holds(u.start, u.end) {
				continue
			}
			for _, w := range words {
				if !q.wordAt(u.start-1, w) {
					continue
				}
				u.used = true
				v := Val{Kind: LengthVal, Lo: u.Lo, Hi: u.Hi}
				if u.Kind == Bare {
					v.Lo, v.Hi = scale(u.Lo, unit), scale(u.Hi, unit)
				}
				return v, span{u.start, u.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// Beside reads with r only where one of the tags stands in the scope.
func Beside(r Reader, tags ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.tagged(h, tags) {
				return r(q, s)
			}
		}
		return Val{}, span{}, false
	}
}
