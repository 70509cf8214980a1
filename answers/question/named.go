package question

// grouped is what a phrase says of a group: with "item", the tag "item:cup" says
// "cup"; "" where it says nothing.
func (q *Question) grouped(h *hit, group string) string {
	for _, t := range h.tags {
		if n := q.x.names[t]; len(n) > len(group)+1 && n[len(group)] == ':' && n[:len(group)] == group {
			return n[len(group)+1:]
		}
	}
	return ""
}

// Named reads the word of a group that is talked about, negated or not: "no
// helmet" is about the helmet. Those in last count only where nothing else of
// the group is there, the first listed last of all; otherwise the one said last
// counts.
func Named(group string, last ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		var v Val
		var at span
		best := -1
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) {
				continue
			}
			w := q.grouped(h, group)
			if w == "" || best >= 0 && group == "item" && q.isPlace(h) || best >= 0 && h.start >= at.start && h.end <= at.end {
				continue // a phrase inside a longer one says nothing of its own
			}
			rank := len(last)
			for i, l := range last {
				if l == w {
					rank = i
				}
			}
			if rank >= best {
				v, at, best = Val{Kind: WordVal, Word: w}, span{h.start, h.end}, rank
			}
		}
		return v, at, best >= 0
	}
}

// Means reads a fixed word where one of the tags stands in the scope.
func Means(word string, tags ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.tagged(h, tags) {
				return Val{Kind: WordVal, Word: word}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// NamedWithout reads the word of a group that comes right after a word of lack.
func NamedWithout(group, lack string) Reader {
	lacking := Lacking(lack, group+":")
	return func(q *Question, s Scope) (Val, span, bool) {
		_, at, ok := lacking(q, s)
		if !ok {
			return Val{}, span{}, false
		}
		for k := range q.hits {
			if h := &q.hits[k]; h.end == at.end && h.start > at.start {
				if w := q.grouped(h, group); w != "" {
					return Val{Kind: WordVal, Word: w}, span{h.start, h.end}, true
				}
			}
		}
		return Val{}, span{}, false
	}
}

// NamedToo reads another word of the group that an "and", "or" or comma joins to
// the one that r reads: of "shoulder pads and gloves" both count.
func NamedToo(group string, r Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := r(q, s)
		if !ok {
			return Val{}, span{}, false
		}
		for k := range q.hits {
			h := &q.hits[k]
			from, to := h.end, at.start
			if h.start >= at.end {
				from, to = at.end, h.start
			}
			if !s.holds(h.start, h.end) || to-from < 1 || to-from > 3 {
				continue
			}
			joined := false
			for i := from; i < to; i++ {
				joined = joined || q.joins(i) || q.wordAt(i, "or") || q.wordAt(i, "nor") || q.wordAt(i, "o") || q.wordAt(i, "ni") || q.mark(i, ",")
			}
			if w := q.grouped(h, group); joined && w != "" && w != v.Word {
				return Val{Kind: WordVal, Word: w}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// SaidOf reads a word of a group that no negation reaches, other than those in
// not; the one said last counts.
func SaidOf(group string, not ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := len(q.hits) - 1; k >= 0; k-- {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) || h.negated {
				continue
			}
			if w := q.told(h, group, not); w != "" {
				return Val{Kind: WordVal, Word: w}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

func (q *Question) told(h *hit, group string, not []string) string {
next:
	for _, t := range h.tags {
		n := q.x.names[t]
		if len(n) <= len(group)+1 || n[len(group)] != ':' || n[:len(group)] != group {
			continue
		}
		for _, x := range not {
			if n[len(group)+1:] == x {
				continue next
			}
		}
		return n[len(group)+1:]
	}
	return ""
}

// SaidToo reads the word of the group that stands before the one that SaidOf
// reads, in the same sentence, where it is another: of "white or red", white.
func SaidToo(group string, not ...string) Reader {
	last := SaidOf(group, not...)
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := last(q, s)
		if !ok {
			return Val{}, span{}, false
		}
		for k := range q.hits {
			h := &q.hits[k]
			if h.start >= at.start || !s.holds(h.start, h.end) || h.negated || q.toks[h.start].sent != q.toks[at.start].sent {
				continue
			}
			if w := q.told(h, group, not); w != "" && w != v.Word && !q.correctedBetween(h.end, at.start, at.end) {
				return Val{Kind: WordVal, Word: w}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}
