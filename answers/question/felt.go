package question

// feltAfter says whether the phrase h is a word for the heat index that belongs
// to the number at token i before it: "102 de sensación térmica", but not
// "95, heat index 104", where a number of its own follows.
func (q *Question) feltAfter(i int, h *hit) bool {
	if !q.is(h, "heatindex") || !q.sameSentence(h.start, i) {
		return false
	}
	end := -1
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.start == i {
			end = u.end
		} else if u.start >= h.end && u.start-h.end <= 2 {
			return false
		}
	}
	return end >= 0 && (h.start == end || h.start == end+1 && (q.wordAt(end, "de") || q.wordAt(end, "of")))
}
