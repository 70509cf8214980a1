package question

import "sidewall/answers/measure"

// counted is a whole number that counts something, or a place in a row.
type counted struct {
	n          int64
	start, end int
	ordinal    bool
	inside     bool // the word stands inside a longer phrase, not at its start
}

// maxCounted is how many counts of one question are looked at.
const maxCounted = 14

// countedIn are the counts of a scope in the order said. A number word that a
// longer phrase took ("two man down", "one of our") is one as well.
func (q *Question) countedIn(s Scope, out []counted) []counted {
	u := 0
	for i := s.start; i < s.end && len(out) < maxCounted; i++ {
		for u < len(q.Quantities) && q.Quantities[u].end <= i {
			u++
		}
		if u < len(q.Quantities) && q.Quantities[u].start <= i {
			v := &q.Quantities[u]
			if n := len(out); n > 0 && q.outOf(out[n-1].end, v.start) { // "7 of the other 8"
				i = v.end - 1
				continue
			}
			switch {
			case !s.holds(v.start, v.end), q.onOnePlay(v.start):
			case v.Kind == Bare && !v.Neg && v.Lo == v.Hi && v.Lo%measure.One == 0:
				out = append(out, counted{v.Lo / measure.One, v.start, v.end, false, false})
			case v.Kind == Ordinal:
				out = append(out, counted{v.Lo, v.start, v.end, true, false})
			}
			i = v.end - 1
			continue
		}
		if e := q.divisionAt(i); e > i { // the number of "u thirteen" counts nothing
			i = e - 1
			continue
		}
		if n, ok := q.numberWord(i); ok && !q.pronounOne(i) {
			h := q.hitAt[i]
			out = append(out, counted{n, i, i + 1, false, h >= 0 && q.hits[h].start != i})
		}
	}
	return out
}

// onOnePlay says whether "one" counts a play or a whistle, not people: "four sent
// to the box after one play".
func (q *Question) onOnePlay(i int) bool {
	return q.wordAt(i, "one") && (q.wordAt(i+1, "play") || q.wordAt(i+1, "whistle") || q.wordAt(i+1, "shift") || q.wordAt(i+1, "time") || q.wordAt(i+1, "possession"))
}

// outOf says whether "of the (other)" and nothing else stands between two tokens.
func (q *Question) outOf(from, to int) bool {
	if to-from < 2 || to-from > 3 || !q.wordAt(from, "of") && !q.wordAt(from, "de") {
		return false
	}
	return (q.wordAt(from+1, "the") || q.wordAt(from+1, "our") || q.wordAt(from+1, "los") || q.wordAt(from+1, "their")) && (to == from+2 || q.wordAt(from+2, "other") || q.wordAt(from+2, "otros"))
}

// numberWord is the number that one word stands for by itself.
func (q *Question) numberWord(i int) (int64, bool) {
	t := &q.toks[i]
	if t.kind != wordToken {
		return 0, false
	}
	langs := langEN
	if q.Lang == "es" {
		langs |= langES
	}
	for k := 0; k < int(t.nids); k++ {
		p := q.x.alone(t.ids[k])
		if p == nil {
			continue
		}
		for _, tag := range q.x.closed(p, langs) {
			if in := &q.x.info[tag]; in.group == gNum && in.n < 100 {
				return in.n, true
			}
		}
	}
	return 0, false
}

// divisionAt is where a division's name that begins at token i ends; i for none.
func (q *Question) divisionAt(i int) int {
	for _, d := range q.divSpan {
		if d.start <= i && i < d.end {
			return d.end
		}
	}
	return i
}

// wordOf says whether one word by itself has a tag of a group, whatever longer
// phrase took it.
func (q *Question) wordOf(i int, g group) bool {
	_, ok := q.wordNumber(i, g)
	return ok
}

// wordNumber is the number of that tag.
func (q *Question) wordNumber(i int, g group) (int64, bool) {
	if i >= len(q.toks) || q.toks[i].kind != wordToken {
		return 0, false
	}
	t := &q.toks[i]
	for k := 0; k < int(t.nids); k++ {
		p := q.x.alone(t.ids[k])
		if p == nil {
			continue
		}
		for _, tag := range q.x.closed(p, langEN|langES) {
			if in := &q.x.info[tag]; in.group == g {
				return in.n, true
			}
		}
	}
	return 0, false
}

// wordIs says whether one word by itself has a tag, whatever longer phrase took it.
func (q *Question) wordIs(i int, name string) bool {
	want, ok := q.x.tags[name]
	if !ok || q.toks[i].kind != wordToken {
		return false
	}
	t := &q.toks[i]
	for k := 0; k < int(t.nids); k++ {
		if p := q.x.alone(t.ids[k]); p != nil && (contains(q.x.lists[p.en], want) || contains(q.x.lists[p.es], want)) {
			return true
		}
	}
	return false
}

// is says whether a phrase has one of the tags.
func (q *Question) is(h *hit, tags ...string) bool {
	for _, name := range tags {
		if t, ok := q.x.tags[name]; ok && contains(h.tags, t) {
			return true
		}
	}
	return false
}

// inGroup says whether a phrase has a tag of a group ("foul" for "foul:slashing").
func (q *Question) inGroup(h *hit, group string) bool {
	for _, t := range h.tags {
		name := q.x.names[t]
		if len(name) > len(group) && name[len(group)] == ':' && name[:len(group)] == group {
			return true
		}
	}
	return false
}

// tagInScope says whether a phrase of the scope has one of the tags.
func (q *Question) tagInScope(s Scope, tags ...string) bool {
	for k := range q.hits {
		if h := &q.hits[k]; s.holds(h.start, h.end) && q.is(h, tags...) {
			return true
		}
	}
	return false
}

// sameSentence says whether two tokens stand in one sentence.
func (q *Question) sameSentence(a, b int) bool { return q.toks[a].sent == q.toks[b].sent }

// deniedClose says whether a negation stands right before a phrase ("not from
// behind"); one further off belongs to the whole sentence ("isn't he allowed to
// check from behind?") and takes nothing back.
func (q *Question) deniedClose(h *hit) bool {
	if !h.negated {
		return false
	}
	for k := range q.hits {
		n := &q.hits[k]
		if n.end > h.start || h.start-n.end > 1 {
			continue
		}
		for _, t := range n.tags {
			if q.x.info[t].group == gNeg && !q.breakBetween(n.end, h.start) {
				return true
			}
		}
	}
	return false
}

func countVal(n int64) Val { return Val{Kind: CountVal, Lo: n * measure.One, Hi: n * measure.One} }
