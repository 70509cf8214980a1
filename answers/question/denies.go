package question

import "strings"

// denies says whether the negation that reaches a position says that somebody
// does not play it. One that belongs to a verb or to a thing in between does not:
// "puede jugar sin coderas un portero", "no puede el portero".
func (q *Question) denies(k int) bool {
	h := &q.hits[k]
	for g := k - 1; g >= 0; g-- {
		n := &q.hits[g]
		if h.start-n.end > reach {
			break
		}
		neg := false
		for _, t := range n.tags {
			name := q.x.names[t]
			neg = neg || q.x.info[t].group == gNeg
			if strings.HasPrefix(name, "item:") || strings.HasPrefix(name, "thing:") || name == "ask:may" || name == "stick" {
				return false
			}
		}
		if neg {
			return true
		}
	}
	return true
}
