package question

import "slices"

// leftBehind finds the items that were left or taken off in two words around
// them: "left his gloves at home", "took his cup off". They are gone without.
func (q *Question) leftBehind() {
	without, ok := q.x.tags["ask:without"]
	if !ok {
		return
	}
	verb, item := -1, -1 // hits
	for k := range q.hits {
		h := &q.hits[k]
		after := func(i, gap int) bool {
			if i < 0 {
				return false
			}
			b := &q.hits[i]
			return h.start >= b.end && h.start-b.end <= gap && q.toks[h.start].sent == q.toks[b.start].sent && !q.breakBetween(b.end, h.start)
		}
		switch {
		case q.is(h, "left:verb"):
			verb, item = -1, -1
			if !h.negated {
				verb = k
			}
		case after(verb, 3) && q.inGroup(h, "item"):
			item = k
		case after(item, 0) && q.is(h, "left:behind"):
			it := &q.hits[item]
			it.tags = append(slices.Clone(it.tags), without)
			verb, item = -1, -1
		}
	}
}
