package question

// unit reads a unit at token i: its tag and the token after it.
func (q *Question) unit(i int) (Tag, int, bool) {
	if i >= len(q.toks) {
		return noTag, i, false
	}
	j := i
	if q.mark(j, "-") && q.toks[j].glued { // "45-inch", "30-second"
		j++
	}
	if q.toks[i].kind == markToken {
		switch q.toks[i].text {
		case `"`:
			return q.x.std.inch, i + 1, true
		case "'":
			if q.mark(i+1, "'") {
				return q.x.std.inch, i + 2, true
			}
			if q.wordAt(i+1, "s") && q.toks[i+1].glued { // "37's is fine" is a jersey
				return noTag, i, false
			}
			return q.x.std.foot, i + 1, true
		case "%":
			return q.x.std.percent, i + 1, true
		case "°":
			if t, end, ok := q.tagAt(i+1, gUnit); ok && (t == q.x.std.f || t == q.x.std.c) {
				return t, end, true
			}
			return q.x.std.degree, i + 1, true
		}
	}
	t, end, ok := q.tagAt(j, gUnit)
	if !ok {
		return noTag, i, false
	}
	if t == q.x.std.inch && q.wordAt(j, "in") && !q.inchNotIn(j) {
		return noTag, i, false
	}
	if q.toks[j].text == "m" && !q.toks[j].glued && j != i {
		return noTag, i, false
	}
	if t == q.x.std.degree {
		if f, fend, ok := q.tagAt(end, gUnit); ok && (f == q.x.std.f || f == q.x.std.c) {
			return f, fend, true
		}
	}
	return t, end, true
}

// inchNotIn says whether "in" at token i is the unit, not the preposition: it
// touches its number or a full stop, or what follows is no place or time.
func (q *Question) inchNotIn(i int) bool {
	if q.toks[i].glued || q.mark(i-1, "-") {
		return true
	}
	if q.mark(i+1, ".") && q.toks[i+1].glued {
		return true
	}
	if i+1 >= len(q.toks) || q.toks[i+1].kind == markToken {
		return true
	}
	if q.toks[i+1].kind == numberToken {
		return false
	}
	_, _, blocked := q.tagAt(i+1, gAfterIn)
	if blocked {
		return false
	}
	h := q.hitAt[i+1]
	if h >= 0 {
		for _, t := range q.hits[h].tags {
			switch q.x.info[t].group {
			case gAfterIn, gOrd, gPeriodWord, gDiv, gMonth, gNum:
				return false
			}
		}
	}
	return true
}
