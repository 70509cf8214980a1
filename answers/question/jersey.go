package question

import (
	"sidewall/answers/measure"
)

// jersey reads #12, number 12, no. 12, el numero 12, and 12's.
func (q *Question) jersey(i int) (int, bool) {
	if q.isNum(i) && !q.toks[i].frac { // 37's is fine; "#54 …" and later "54 is a middie"
		end := i + 1
		if q.mark(end, "'") && q.wordAt(end+1, "s") && q.toks[end].glued && q.toks[end+1].glued {
			end += 2
		} else if !q.saidJersey(q.toks[i].milli) || q.mark(end, ":") || q.mark(end, "/") {
			return i, false
		} else if _, _, ok := q.unit(end); ok || q.countsAt(end) {
			return i, false
		}
		v := q.toks[i].milli
		q.push(Quantity{Kind: Jersey, Lo: v, Hi: v, Unit: noTag, start: i, end: end, Role: noTag})
		return end, true
	}
	j := i
	switch {
	case q.mark(i, "#"):
		j = i + 1
	default:
		if _, end, ok := q.tagAt(i, gJerseyWord); ok {
			j = end
			if q.mark(j, ".") || q.mark(j, "#") {
				j++
			}
		} else {
			return i, false
		}
	}
	if !q.isNum(j) || q.toks[j].frac || q.toks[j].milli >= 1000*measure.One {
		return i, false
	}
	if _, _, ok := q.unit(j + 1); ok && !q.mark(i, "#") {
		return i, false
	}
	v := q.toks[j].milli
	q.push(Quantity{Kind: Jersey, Lo: v, Hi: v, Unit: noTag, start: i, end: j + 1, Role: noTag})
	return j + 1, true
}

// saidJersey says whether a number was given as a jersey's before.
// countsAt says whether what stands at token i is counted: "#4 has 4 personal fouls".
func (q *Question) countsAt(i int) bool {
	if i >= len(q.toks) || q.hitAt[i] < 0 {
		return false
	}
	h := &q.hits[q.hitAt[i]]
	return h.start == i && (q.is(h, "foul:personal", "foul", "penalty", "cnt:goals", "pluralthing") && !q.is(h, "person"))
}

func (q *Question) saidJersey(milli int64) bool {
	for k := range q.Quantities {
		if u := &q.Quantities[k]; u.Kind == Jersey && u.Lo == milli {
			return true
		}
	}
	return false
}
