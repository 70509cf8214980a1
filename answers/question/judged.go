package question

// Judged reads a yes-or-no fact in which a no outweighs every yes: a phrase of
// no that stands, or a phrase of yes that is negated, says false wherever it
// stands in the scope. It is for facts where a false "yes" would do harm.
func Judged(yes, no []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		v := Val{Kind: FlagVal}
		var at span
		found := false
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) {
				continue
			}
			good := q.tagged(h, yes)
			bad := q.tagged(h, no)
			if !good && !bad {
				continue
			}
			if good == h.negated || bad && !h.negated {
				return Val{Kind: FlagVal}, span{h.start, h.end}, true
			}
			v.Lo, v.Hi = 1, 1
			at, found = span{h.start, h.end}, true
		}
		return v, at, found
	}
}

// tagged says whether a phrase carries one of the tags.
func (q *Question) tagged(h *hit, names []string) bool {
	for _, n := range names {
		if t, ok := q.x.tags[n]; ok && contains(h.tags, t) {
			return true
		}
	}
	return false
}

// Lost reads false where a phrase of a thing stands in one sentence with a word
// that it is gone or left off ("lost his end cap", "the strap is missing").
func Lost(things, gone []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) || !q.tagged(h, things) {
				continue
			}
			for m := range q.hits {
				g := &q.hits[m]
				if m != k && s.holds(g.start, g.end) && !g.negated && q.toks[g.start].sent == q.toks[h.start].sent && q.tagged(g, gone) && !q.lacksOther(g, things) {
					return Val{Kind: FlagVal}, span{h.start, h.end}, true
				}
			}
		}
		return Val{}, span{}, false
	}
}

// lacksOther says whether a "with no" goes with another thing that follows it: "an
// end cap with no tape".
func (q *Question) lacksOther(g *hit, things []string) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.end <= g.end || h.start < g.start || h.start-g.end > 1 || q.tagged(h, things) {
			continue
		}
		if q.inGroup(h, "thing") || q.inGroup(h, "item") || q.is(h, "end:tape", "taped", "taped:no") {
			return g.end-g.start > 1 || q.wordAt(g.start, "without") || q.wordAt(g.start, "no")
		}
	}
	return false
}

// Lacking reads true where a thing comes within a few words after a word of
// lack: "no rib pads", "without his cup", "doesn't have a helmet". A negated verb
// is no lack: "isn't a cup required?". A thing is a tag, or a group such as "item:".
func Lacking(lack string, things ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		t, ok := q.x.tags[lack]
		if !ok {
			return Val{}, span{}, false
		}
		for k := range q.hits {
			g := &q.hits[k]
			if !s.holds(g.start, g.end) || !contains(g.tags, t) {
				continue
			}
			for m := k + 1; m < len(q.hits); m++ {
				h := &q.hits[m]
				if h.start-g.end > 2 || q.toks[h.start].sent != q.toks[g.start].sent || q.breakBetween(g.end, h.start) {
					break
				}
				if s.holds(h.start, h.end) && q.about(h, things) {
					return Val{Kind: FlagVal, Lo: 1, Hi: 1}, span{g.start, h.end}, true
				}
			}
		}
		return Val{}, span{}, false
	}
}

func (q *Question) about(h *hit, things []string) bool {
	for _, n := range things {
		if n[len(n)-1] == ':' {
			if q.grouped(h, n[:len(n)-1]) != "" {
				return true
			}
		} else if t, ok := q.x.tags[n]; ok && contains(h.tags, t) {
			return true
		}
	}
	return false
}

// Turned reads the opposite of a yes or no.
func Turned(r Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := r(q, s)
		if ok {
			v.Lo = 1 - v.Lo
			v.Hi = v.Lo
		}
		return v, at, ok
	}
}

// MadeFor reads what sport a thing is made for, "lacrosse" or "other": a phrase
// of another sport that no negation reaches, or a negated phrase of lacrosse,
// says other, wherever it stands.
func MadeFor(own, other string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		word := ""
		var at span
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) {
				continue
			}
			o, l := q.tagged(h, []string{other}), q.tagged(h, []string{own})
			switch {
			case o && !h.negated || l && h.negated:
				return Val{Kind: WordVal, Word: "other"}, span{h.start, h.end}, true
			case l:
				word, at = "lacrosse", span{h.start, h.end}
			}
		}
		return Val{Kind: WordVal, Word: word}, at, word != ""
	}
}
