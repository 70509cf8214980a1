package question

// Other reads a second size of the same thing beside one that was read already:
// "the tag says 41, the tape says 45". Where the words tell of a change (cut to,
// now), the older size counts no more and nothing is read.
func Other(r Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			if h := &q.hits[k]; s.holds(h.start, h.end) && (q.is(h, "change:cut") || q.is(h, "change:add") || q.is(h, "change:now")) {
				return Val{}, span{}, false
			}
		}
		return r(q, s)
	}
}
