package question

import "sidewall/answers/measure"

// keeperBefore says whether a goalkeeper stands right before the word of a total.
func (q *Question) keeperBefore(i int) bool {
	for j := max(0, i-14); j < i; j++ { // "plus our goalie carries a 60 incher, they say that makes five"
		if h := q.hitAt[j]; h >= 0 && q.is(&q.hits[h], "pos:goalkeeper") {
			return true
		}
	}
	return false
}

// weHave says whether "we have" or "there are" stands right before token i.
func (q *Question) weHave(i int) bool {
	for j := i - 1; j >= max(0, i-2); j-- {
		switch q.toks[j].text {
		case "have", "got", "weve", "are", "theres", "tenemos", "hay":
			return true
		case "only", "just", "solo":
		default:
			return false
		}
	}
	return false
}

// keeperAfter says whether a goalkeeper is named within a few words behind token i.
func (q *Question) keeperAfter(i int) bool {
	for j := i; j < min(i+4, len(q.toks)); j++ {
		if h := q.hitAt[j]; h >= 0 && q.is(&q.hits[h], "pos:goalkeeper") {
			return true
		}
	}
	return false
}

// TallyOf adds up how many of a thing there are: "3 d-poles plus an LSM" are
// four. A number after a word of total ("that makes 4") counts alone.
func TallyOf(thing, total string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		t, ok := q.x.tags[thing]
		if !ok {
			return Val{}, span{}, false
		}
		var sum int64
		var at span
		found, last, whole := false, 0, false
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind == Ordinal && !found && s.holds(u.start, u.end) && q.article(u.start-1) && u.Lo > 1 && u.Lo <= smallBox && q.counts(i, t, s) >= 0 {
				sum, at, found, last = u.Lo*measure.One, span{u.start, u.end}, true, u.end // "can I send out a fifth pole"
				continue
			}
			if u.Kind != Bare || u.used || !s.holds(u.start, u.end) || u.Lo%measure.One != 0 {
				continue
			}
			if found && q.tagEnds(u.start, total) && q.keeperBefore(u.start) {
				continue // "the goalie makes five": his counts apart
			}
			if q.mark(u.start-1, "=") || q.tagEnds(u.start, total) || q.allOfThem(u) {
				sum, at, found, last, whole = u.Lo, span{u.start, u.end}, true, u.end, true
				continue
			}
			if whole { // what comes after a total is told beside it
				continue
			}
			if found && q.weHave(u.start) && q.toks[u.start].sent != q.toks[at.start].sent { // "they yell five poles. we have four plus the one our goalie holds"
				sum, at, last = u.Lo, span{u.start, u.end}, u.end
				continue
			}
			k := q.counts(i, t, s)
			if k < 0 {
				continue
			}
			if found && q.added(last, u.start) && q.keeperAfter(u.end) {
				continue // "four plus the one our goalie holds"
			}
			if found && q.added(last, u.start) {
				sum += u.Lo
				at.end = u.end
			} else {
				sum, at = u.Lo, span{u.start, u.end}
			}
			found, last = true, max(u.end, q.hits[k].end)
		}
		if !found {
			return q.lone(t, s)
		}
		if n := q.brokenDown(t, s); n > 0 {
			return Val{Kind: CountVal, Lo: n, Hi: n}, at, true
		}
		for k := range q.hits { // "plus an LSM": an article where a number could stand
			h := &q.hits[k]
			if !whole && s.holds(h.start, h.end) && contains(h.tags, t) && h.start >= last && (q.article(h.start-1) && q.joiner(h.start-2) || (q.article(h.start-1) || q.wordAt(h.start-1, "the")) && q.wordAt(h.start-2, "then") && q.joiner(h.start-3)) {
				sum += measure.One
			}
			if !whole && q.Lang == "es" && s.holds(h.start, h.end) && contains(h.tags, t) && h.start >= last && q.wordAt(h.start, "otro") && q.joiner(h.start-1) {
				sum += measure.One // "y un medio con otro largo"
			}
		}
		return Val{Kind: CountVal, Lo: sum, Hi: sum}, at, true
	}
}

// brokenDown is the first count where those behind it add up to it: "2 longs on, one
// close d one LSM". 0 where they do not.
func (q *Question) brokenDown(t Tag, s Scope) int64 {
	first, rest, n := int64(0), int64(0), 0
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Bare || !s.holds(u.start, u.end) || u.Lo%measure.One != 0 {
			continue
		}
		if n++; n == 1 {
			if q.counts(i, t, s) < 0 {
				return 0
			}
			first = u.Lo
			continue
		}
		rest += u.Lo
	}
	if n > 2 && rest == first {
		return first
	}
	return 0
}

// Fewer reads how many are taken away or, below zero, put on ("take one off").
func Fewer(cut, add string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			h := &q.hits[k]
			less, more := q.tagged(h, []string{cut}), q.tagged(h, []string{add})
			if !s.holds(h.start, h.end) || !less && !more {
				continue
			}
			for i := range q.Quantities {
				u := &q.Quantities[i]
				if u.Kind != Bare || u.used || u.start < h.end || u.start-h.end > 1 {
					continue
				}
				u.used = true
				v := Val{Kind: CountVal, Lo: u.Lo, Hi: u.Hi}
				if !less {
					v.Lo, v.Hi = -u.Hi, -u.Lo
				}
				return v, span{h.start, u.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// lone is the one bare number of a scope that does not name the thing ("and 4?").
func (q *Question) lone(thing Tag, s Scope) (Val, span, bool) {
	for k := range q.hits {
		h := &q.hits[k]
		if s.holds(h.start, h.end) && (contains(h.tags, thing) || q.tagged(h, []string{"change:cut", "change:add"})) {
			return Val{}, span{}, false
		}
	}
	var v Val
	var at span
	n := 0
	for i := range q.Quantities {
		if u := &q.Quantities[i]; s.holds(u.start, u.end) && u.Kind == Bare {
			v, at = Val{Kind: CountVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}
			n++
		}
	}
	return v, at, n == 1
}

// counts is the phrase that a bare number counts, a thing or players beside it,
// which comes within a few words after it with no other number in between; -1
// where it counts neither.
func (q *Question) counts(i int, thing Tag, s Scope) int {
	u := &q.Quantities[i]
	anywhere := false
	for k := range q.hits {
		if h := &q.hits[k]; s.holds(h.start, h.end) && contains(h.tags, thing) {
			anywhere = true
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || h.start < u.end || h.start-u.end > 3 || q.toks[h.start].sent != q.toks[u.start].sent {
			continue
		}
		if j := i + 1; j < len(q.Quantities) && q.Quantities[j].Kind == Bare && q.Quantities[j].start < h.start {
			return -1
		}
		if q.mark(u.end, ":") || q.mark(u.end, ".") { // "sub 15: two poles" counts no fifteen
			return -1
		}
		if contains(h.tags, thing) || anywhere && q.tagged(h, []string{"pos:defense"}) {
			return k
		}
	}
	return -1
}

// tagEnds says whether a phrase with the tag ends where token i begins.
func (q *Question) tagEnds(i int, tag string) bool {
	t, ok := q.x.tags[tag]
	for k := range q.hits {
		if ok && q.hits[k].end == i && contains(q.hits[k].tags, t) {
			return true
		}
	}
	return false
}

// joiner says whether token i adds what follows to what went before.
func (q *Question) joiner(i int) bool {
	if q.wordAt(i, "ademas") || q.wordAt(i, "aparte") || q.wordAt(i, "tambien") {
		return true
	}
	return q.joins(i) || q.mark(i, "+") || q.wordAt(i, "plus") || q.wordAt(i, "with") || q.wordAt(i, "más") || q.wordAt(i, "mas") || q.wordAt(i, "con")
}

// added says whether what stands between two tokens adds, and offers no choice.
func (q *Question) added(from, to int) bool {
	joined := false
	for i := from; i < to; i++ {
		if q.wordAt(i, "or") || q.wordAt(i, "o") {
			return false
		}
		joined = joined || q.joiner(i) || q.mark(i, ",")
	}
	return joined
}

// allOfThem says whether a number sums up what was told: "los tres adentro".
func (q *Question) allOfThem(u *Quantity) bool {
	if q.Lang != "es" || !q.wordAt(u.start-1, "los") && !q.wordAt(u.start-1, "las") || u.end >= len(q.toks) {
		return false
	}
	switch q.toks[u.end].text {
	case "adentro", "dentro", "juntos", "juntas", "metidos", "jugando":
		return true
	case "a":
		return q.wordAt(u.end+1, "la") && q.wordAt(u.end+2, "vez")
	case "al":
		return q.wordAt(u.end+1, "mismo") || q.wordAt(u.end+1, "tiempo")
	case "en":
		return q.wordAt(u.end+2, "cancha") || q.wordAt(u.end+2, "campo") || q.wordAt(u.end+1, "cancha") || q.wordAt(u.end+1, "campo")
	}
	return false
}
