package question

// Asked says in which way something is asked: the concepts of the question or
// clause, so that a check can tell "may he" from "how many".
type Asked struct {
	set tagSet
	x   *lexicon
}

// Has says whether a concept ("ask:may", "stick:long") is among them.
func (a *Asked) Has(tag string) bool {
	if a.x == nil {
		return false
	}
	t, ok := a.x.tags[tag]
	return ok && a.set.has(t)
}

// Any says whether one of the concepts is among them.
func (a *Asked) Any(tags ...string) bool {
	for _, t := range tags {
		if a.Has(t) {
			return true
		}
	}
	return false
}

// May says whether leave is asked for ("can he", "legal?", "is it ok").
func (a *Asked) May() bool { return a.Has("ask:may") }

// Asked of a scope.
func (q *Question) Asked(s Scope) Asked { return Asked{q.tagsIn(s.start, s.end), q.x} }

// Merge adds the concepts of b.
func (a *Asked) Merge(b Asked) {
	if a.x == nil {
		*a = b
		return
	}
	for i := range a.set {
		a.set[i] |= b.set[i]
	}
}

// Without is a with some concepts taken away.
func (a Asked) Without(tags ...string) Asked {
	if a.x == nil {
		return a
	}
	for _, name := range tags {
		if t, ok := a.x.tags[name]; ok {
			a.set[t>>6] &^= 1 << (t & 63)
		}
	}
	return a
}
