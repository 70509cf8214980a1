package question

import "sidewall/answers/measure"

// Apart reads a distance on the field: the last one said, yards and feet
// together ("4 yd 2 ft"). The number in a rule's name ("the three yard rule") and
// one that is offered against another ("three yards or five") are none. A bare
// number is yards in a short follow-up that says nothing else.
func Apart() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best := -1
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind != Length || u.feet && u.Unit < 0 || !s.holds(u.start, u.end) {
				continue
			}
			if q.namesRule(u.end) || q.offered(i) {
				continue
			}
			best = i
		}
		if best < 0 {
			return q.bareYards(s)
		}
		u := &q.Quantities[best]
		v := Val{Kind: LengthVal, Lo: u.Lo, Hi: u.Hi}
		at := span{u.start, u.end}
		if best > 0 { // "4 yd 2 ft"
			y := &q.Quantities[best-1]
			if y.Kind == Length && y.Unit == q.x.std.yard && u.Unit == q.x.std.foot && s.holds(y.start, y.end) &&
				(y.end == u.start || y.end+1 == u.start && q.joins(y.end)) {
				v.Lo, v.Hi, at.start = v.Lo+y.Lo, v.Hi+y.Hi, y.start
			}
		}
		u.used = true
		return v, at, true
	}
}

// namesRule says whether the word after a quantity makes it a name.
func (q *Question) namesRule(i int) bool {
	if i >= len(q.toks) {
		return false
	}
	h := q.hitAt[i]
	return q.wordAt(i, "rule") || q.wordAt(i, "rules") || q.wordAt(i, "thing") || q.wordAt(i, "bubble") || q.wordAt(i, "deal") || q.wordAt(i, "business") || h >= 0 && q.hits[h].start == i && q.is(&q.hits[h], "quantity:name")
}

// offered says whether quantity i is one of two between which somebody asks.
func (q *Question) offered(i int) bool {
	u := &q.Quantities[i]
	for k := range q.Quantities {
		v := &q.Quantities[k]
		if v.Kind != Length && v.Kind != Bare || k == i {
			continue
		}
		for _, p := range [...][2]int{{u.end, v.start}, {v.end, u.start}} {
			if p[1] == p[0]+1 && (q.wordAt(p[0], "or") || q.wordAt(p[0], "o") && q.Lang == "es") {
				return true
			}
		}
	}
	return false
}

const (
	shortTurn = 7  // tokens of a follow-up that says only a number
	farthest  = 60 // yards; more is no distance between players
)

func (q *Question) bareYards(s Scope) (Val, span, bool) {
	words := 0
	for i := s.start; i < s.end; i++ {
		if q.toks[i].kind != markToken {
			words++
		}
	}
	if words > shortTurn {
		return Val{}, span{}, false
	}
	best := -1
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if !s.holds(u.start, u.end) {
			continue
		}
		if u.Kind != Bare || best >= 0 || u.Lo <= 0 || u.Hi > farthest*measure.One || q.namesRule(u.end) {
			return Val{}, span{}, false
		}
		best = i
	}
	if best < 0 {
		return Val{}, span{}, false
	}
	u := &q.Quantities[best]
	if u.end < len(q.toks) {
		if h := q.hitAt[u.end]; h >= 0 && (q.is(&q.hits[h], "person") || q.inGroup(&q.hits[h], "manner") || q.inGroup(&q.hits[h], "act")) {
			return Val{}, span{}, false
		}
	}
	u.used = true
	return Val{Kind: LengthVal, Lo: scale(u.Lo, int64(measure.Yard)), Hi: scale(u.Hi, int64(measure.Yard))}, span{u.start, u.end}, true
}

// Target reads whether the one who is hit has the ball: "other" where it is said
// that he has not, or where a distance is measured from the one who has it.
func Target() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) {
				continue
			}
			if q.is(h, "ball:none") || q.is(h, "ball:possession") && h.negated && q.deniedClose(h) {
				return Val{Kind: WordVal, Word: "other"}, span{h.start, h.end}, true
			}
			if !q.is(h, "ball:possession") {
				continue
			}
			for i := range q.Quantities {
				u := &q.Quantities[i]
				if u.Kind == Length && s.holds(u.start, u.end) && u.end <= h.start && h.start-u.end <= 3 && q.sameSentence(u.start, h.start) {
					return Val{Kind: WordVal, Word: "other"}, span{h.start, h.end}, true
				}
			}
		}
		return Val{}, span{}, false
	}
}

// Lasted reads a time that something took. The number in a count's name ("the
// ten second count") is none.
func Lasted() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best := -1
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind != Span || !s.holds(u.start, u.end) || q.namesRule(u.end) {
				continue
			}
			if u.Unit >= 0 && q.x.info[u.Unit].value == "hr" {
				continue
			}
			best = i
		}
		if best < 0 {
			return q.countedOut(s)
		}
		u := &q.Quantities[best]
		return Val{Kind: SpanVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}, true
	}
}

// countedOut reads "had it for a five count": seconds that somebody counted.
func (q *Question) countedOut(s Scope) (Val, span, bool) {
	for i := range q.Quantities {
		u := &q.Quantities[i]
		end := u.end
		if q.mark(end, "-") {
			end++
		}
		if u.Kind == Bare && u.Lo == u.Hi && s.holds(u.start, u.end) && q.wordAt(end, "count") && q.article(u.start-1) && q.wordAt(u.start-2, "for") {
			v := scale(u.Lo, int64(measure.Second))
			return Val{Kind: SpanVal, Lo: v, Hi: v}, span{u.start, end + 1}, true
		}
	}
	return Val{}, span{}, false
}
