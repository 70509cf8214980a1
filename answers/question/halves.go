package question

// halfCounts is how many a question says are in each half of the field, and how
// many go back.
type halfCounts struct {
	off, def, back          int64
	hasOff, hasDef, hasBack bool
	offSpan, defSpan        span
}

// OffensiveHalf reads how many are in the offensive half.
func OffensiveHalf() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		h := q.halfCounts(s)
		return countVal(h.off), h.offSpan, h.hasOff
	}
}

// DefensiveHalf reads how many are in the defensive half, the goalkeeper counted.
func DefensiveHalf() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		h := q.halfCounts(s)
		return countVal(h.def), h.defSpan, h.hasDef
	}
}

// WentBack reads how many leave the offensive half ("what if one runs back").
func WentBack() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		h := q.halfCounts(s)
		return countVal(h.back), h.defSpan, h.hasBack
	}
}

const (
	halfReach = 9 // tokens between a number and the half it is of
	halfAfter = 2
	mostASide = 30
)

func (q *Question) halfCounts(s Scope) halfCounts {
	var out halfCounts
	var buf [maxCounted]counted
	cs := q.countedIn(s, buf[:0])
	if n := len(cs); n >= 2 && q.totalBefore(cs[n-2].start) && cs[n-1].start == cs[n-2].end+1 && q.joins(cs[n-2].end) { // "so its 7 and 3"
		cs = cs[n-2:]
		out.off, out.hasOff, out.offSpan = cs[0].n, true, span{cs[0].start, cs[0].end}
		out.def, out.hasDef, out.defSpan = cs[1].n, true, span{cs[1].start, cs[1].end}
		return out
	}
	var used [maxCounted]bool
	last := s.start // end of the half before
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		off := q.is(h, "onside:off", "side:off")
		def := !off && q.is(h, "onside:def", "side:def")
		back := q.is(h, "side:goback")
		if !off && !def && out.hasOff != out.hasDef && q.is(h, "side:other") { // "7 back and 2 on the other side"
			off, def = out.hasDef, out.hasOff
		}
		if !off && !def && !back || h.start < last && last > s.start {
			continue // no half, or a word inside the phrase of one
		}
		c := q.countBefore(cs, used[:], h, last)
		if c < 0 {
			c = q.countAfter(cs, used[:], h)
		}
		last = h.end
		if c < 0 || cs[c].n > mostASide {
			continue
		}
		n := cs[c].n
		at := span{cs[c].start, cs[c].end}
		if t := q.totalAfter(cs, h); t >= 0 && !used[t] {
			used[t], n = true, cs[t].n
		} else if cs[c].start < h.start {
			n += q.addedBefore(cs, used[:], c)
			if q.plusKeeper(cs[c].end, h.start) || q.keeperPlus(cs[c].start) {
				n++
			}
		}
		used[c] = true
		switch {
		case back:
			out.back, out.hasBack = n, true
		case off && !out.hasOff:
			out.off, out.hasOff, out.offSpan = n, true, at
		case def && !out.hasDef:
			out.def, out.hasDef, out.defSpan = n, true, at
		}
	}
	if n := len(cs); n > 2 && !out.hasOff && !out.hasDef {
		cs = cs[n-2:]
	}
	if n := len(cs); !out.hasOff && !out.hasDef && n == 2 && !cs[0].ordinal && !cs[1].ordinal && cs[0].n <= mostASide && cs[1].n <= mostASide &&
		cs[1].start == cs[0].end+1 && (q.joins(cs[0].end) || q.mark(cs[0].end, "-") || q.mark(cs[0].end, "/")) {
		out.off, out.hasOff, out.offSpan = cs[0].n, true, span{cs[0].start, cs[0].end} // "so 7 and 3": the attack goes first
		out.def, out.hasDef, out.defSpan = cs[1].n, true, span{cs[1].start, cs[1].end}
	}
	return out
}

// totalBefore says whether "so", "so its", "thats" or "now" stands right before a token.
func (q *Question) totalBefore(i int) bool {
	for j := max(0, i-2); j < i; j++ {
		switch q.toks[j].text {
		case "so", "thats", "thatd", "now", "makes":
			return true
		}
	}
	return false
}

func (q *Question) countBefore(cs []counted, used []bool, h *hit, last int) int {
	for i := len(cs) - 1; i >= 0; i-- {
		c := &cs[i]
		if c.end > h.start || used[i] || c.inside {
			continue
		}
		if c.start < last || h.start-c.end > halfReach || !q.sameSentence(c.start, h.start) {
			return -1
		}
		if hk := q.hitAt[c.start]; hk >= 0 && q.is(&q.hits[hk], "box") {
			return -1
		}
		for k := range q.hits { // "one in the box, …": that number is of the box
			b := &q.hits[k]
			if b.start >= c.end && b.end <= h.start && q.is(b, "box") {
				return -1
			}
		}
		return i
	}
	return -1
}

func (q *Question) countAfter(cs []counted, used []bool, h *hit) int {
	for i := range cs {
		c := &cs[i]
		if c.start < h.end || used[i] || c.inside {
			continue
		}
		if c.start-h.end > halfAfter || !q.sameSentence(c.start, h.start) {
			return -1
		}
		for k := range q.hits { // it belongs to another half that follows
			o := &q.hits[k]
			if o.start >= c.end && o.start-c.end <= 3 && q.is(o, "onside:off", "onside:def", "side:off", "side:def", "box") {
				return -1
			}
		}
		return i
	}
	return -1
}

// totalAfter is a sum said after a half: "3 attack and 3 mids up there, so 6".
func (q *Question) totalAfter(cs []counted, h *hit) int {
	for i := range cs {
		c := &cs[i]
		if c.start < h.end || c.start-h.end > 4 || c.start == 0 || !q.sameSentence(c.start, h.start) {
			continue
		}
		if p := q.hitAt[c.start-1]; p >= 0 && q.is(&q.hits[p], "cnt:total") {
			return i
		}
	}
	return -1
}

// addedBefore is what else is counted into the same half: "3 attack and 3 mids in …".
func (q *Question) addedBefore(cs []counted, used []bool, c int) int64 {
	if c == 0 || used[c-1] || cs[c-1].ordinal || cs[c].ordinal || cs[c].start == 0 {
		return 0
	}
	i := cs[c].start - 1
	joined := q.joins(i) || q.mark(i, "+")
	if p := q.hitAt[i]; p >= 0 && q.is(&q.hits[p], "cnt:plus") {
		joined = true
	}
	if !joined || cs[c].start-cs[c-1].end > 4 {
		return 0
	}
	for k := range q.hits {
		h := &q.hits[k]
		if h.start >= cs[c-1].end && h.end <= cs[c].start && (q.is(h, "person") || q.inGroup(h, "pos")) {
			used[c-1] = true
			return cs[c-1].n
		}
	}
	return 0
}
