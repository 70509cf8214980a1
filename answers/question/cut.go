package question

// cutBefore says whether a word for cutting stands shortly before a length.
func (q *Question) cutBefore(u *Quantity) bool {
	for k := range q.hits {
		if h := &q.hits[k]; h.end <= u.start && u.start-h.end <= 4 && q.is(h, "change:cut") {
			return true
		}
	}
	return false
}
