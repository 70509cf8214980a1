package question

// tagAt is the first tag of a group at token i, and the token after its phrase.
func (q *Question) tagAt(i int, g group) (Tag, int, bool) {
	if i < 0 || i >= len(q.toks) {
		return noTag, i, false
	}
	h := q.hitAt[i]
	if h < 0 || q.hits[h].start != i {
		return noTag, i, false
	}
	for _, t := range q.hits[h].tags {
		if q.x.info[t].group == g {
			return t, q.hits[h].end, true
		}
	}
	return noTag, i, false
}

func (q *Question) mark(i int, s string) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == markToken && q.toks[i].text == s
}

func (q *Question) wordAt(i int, s string) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == wordToken && q.toks[i].text == s
}

func (q *Question) isNum(i int) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == numberToken
}
