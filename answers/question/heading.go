package question

// headingWords is how long a heading may be: "y de contorno?".
const headingWords = 5

// heading is the dimension that a short question before names for a length that
// has none of its own: "y de contorno? las nuestras miden 21 cm".
func (q *Question) heading(u *Quantity) Tag {
	sent := q.toks[u.start].sent
	if sent == 0 {
		return noTag
	}
	first, last := -1, -1
	for i := 0; i < u.start; i++ {
		if q.toks[i].sent == sent-1 {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 || last-first > headingWords || !q.mark(last, "?") {
		return noTag
	}
	for k := range q.Quantities {
		if v := &q.Quantities[k]; v.start >= first && v.end <= last {
			return noTag
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if h.start < first || h.end > last {
			continue
		}
		for _, t := range h.tags {
			if q.x.info[t].group == gDim {
				return t
			}
		}
	}
	return noTag
}
