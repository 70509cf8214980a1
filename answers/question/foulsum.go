package question

import "sidewall/answers/measure"

// foulSum is how many personal fouls a question gives a player and how much
// time they add up to.
type foulSum struct {
	fouls, ms         int64
	hasFouls, hasTime bool
	foulSpan          span
	timeSpan          span
}

// PersonalFouls reads how many personal fouls a player has.
func PersonalFouls() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		f := q.foulSum(s)
		return countVal(f.fouls), f.foulSpan, f.hasFouls
	}
}

// FoulTime reads what their time adds up to: "two at two minutes each and one at one".
func FoulTime() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		f := q.foulSum(s)
		return Val{Kind: SpanVal, Lo: f.ms, Hi: f.ms}, f.timeSpan, f.hasTime
	}
}

const manyFouls = 12 // more than any player has in a game

func (q *Question) foulSum(s Scope) foulSum {
	var f foulSum
	var buf [maxCounted]counted
	cs := q.countedIn(s, buf[:0])
	for i := range cs {
		c := &cs[i]
		if c.n > manyFouls || c.inside || !q.countsFouls(c, cs, i) {
			continue
		}
		f.fouls, f.hasFouls, f.foulSpan = c.n, true, span{c.start, c.end}
	}
	for i := range cs { // "four personals, sorry, five"
		c := &cs[i]
		if f.hasFouls && c.n <= manyFouls && c.start >= f.foulSpan.end && c.start-f.foulSpan.end <= 6 && q.rather(f.foulSpan.end, c.start) && (c.end == len(q.toks) || q.toks[c.end].kind == markToken) {
			f.fouls, f.foulSpan = c.n, span{c.start, c.end}
		}
	}
	for i := range q.Quantities { // "three personals, and they just called the fourth"
		if u := &q.Quantities[i]; u.Kind == Ordinal && f.hasFouls && u.Lo == f.fouls+1 && s.holds(u.start, u.end) && u.start >= f.foulSpan.end {
			f.fouls, f.foulSpan = u.Lo, span{u.start, u.end}
		}
	}
	for i := range q.Quantities { // "personal foul #5"
		u := &q.Quantities[i]
		if u.Kind == Jersey && s.holds(u.start, u.end) && u.start > 0 && u.Lo/measure.One <= manyFouls {
			if h := q.hitAt[u.start-1]; h >= 0 && q.is(&q.hits[h], "foul:personal") && !f.hasFouls {
				f.fouls, f.hasFouls, f.foulSpan = u.Lo/measure.One, true, span{u.start, u.end}
			}
		}
	}
	spans, listed, unit := int64(0), int64(0), int64(0)
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Span || !s.holds(u.start, u.end) || u.Lo != u.Hi || u.Lo > int64(measure.Hour) {
			continue
		}
		if f.hasTime && q.sumsUp(u.start) { // "that's six minutes": what was listed, said once more
			f.ms, f.timeSpan.end = u.Lo, u.end
			continue
		}
		times := int64(1)
		if q.eachAfter(u.end) {
			times = q.timesOf(cs, u.start, f.fouls, listed)
		}
		f.ms += times * u.Lo
		spans++
		listed += times
		unit = q.unitOf(u)
		if !f.hasTime {
			f.timeSpan.start = u.start
		}
		f.hasTime, f.timeSpan.end = true, u.end
	}
	for i := range cs { // "the others one minute each": a phrase took the number
		c := &cs[i]
		t, end, ok := q.unit(c.end)
		if !c.inside || !ok || q.x.info[t].unitKind != Span {
			continue
		}
		times := int64(1)
		if q.eachAfter(end) {
			times = q.timesOf(cs[:i], c.start+1, f.fouls, listed)
		}
		f.ms += times * c.n * q.x.info[t].n
		spans++
		listed += times
		f.hasTime, f.timeSpan.end = true, end
	}
	for i := range q.Quantities { // "a 3 minute and then a 1 minute, so four minutes": the last is the sum of the others
		if u := &q.Quantities[i]; u.Kind == Span && s.holds(u.start, u.end) && u.Lo == u.Hi && spans > 2 && 2*u.Lo == f.ms && u.end == f.timeSpan.end {
			f.ms = u.Lo
		}
	}
	if unit > 0 { // "… and one at one": a count and a time in the same unit
		for i := 0; i+1 < len(cs); i++ {
			a, b := &cs[i], &cs[i+1]
			if b.start == a.end+1 && !a.ordinal && !b.ordinal && (q.wordAt(a.end, "at") || q.wordAt(a.end, "of") || q.wordAt(a.end, "for") || q.wordAt(a.end, "de")) {
				f.ms += a.n * b.n * unit
				f.fouls += a.n
				listed += a.n
			}
		}
	}
	if !f.hasTime {
		for i := range cs { // "the minutes add up to five"
			if !cs[i].ordinal && cs[i].n <= manyFouls && q.endsAt(cs[i].start, "sum:minutes") {
				f.ms, f.hasTime, f.timeSpan = cs[i].n*int64(measure.Minute), true, span{cs[i].start, cs[i].end}
				if f.foulSpan == f.timeSpan {
					f.hasFouls = false
				}
			}
		}
	}
	if !f.hasTime {
		for i := range q.Quantities { // "totalling 4:30"
			if u := &q.Quantities[i]; u.Kind == Clock && !u.ofDay && u.Style == StylePlain && s.holds(u.start, u.end) {
				f.ms, f.hasTime, f.timeSpan = u.Lo*int64(measure.Second), true, span{u.start, u.end}
			}
		}
	}
	if !f.hasFouls {
		switch {
		case spans > 1:
			f.fouls, f.hasFouls, f.foulSpan = listed, true, f.timeSpan
		case spans == 0 && len(cs) == 1 && !cs[0].inside && cs[0].n <= manyFouls && cs[0].n > 1 && !q.tagInScope(s, "ask:howmany", "foul:technical"):
			f.fouls, f.hasFouls, f.foulSpan = cs[0].n, true, span{cs[0].start, cs[0].end}
		}
	}
	return f
}

// countsFouls says whether a number is one of fouls: the phrase stands right
// behind it, or right before it ("personal foul number five").
func (q *Question) countsFouls(c *counted, cs []counted, i int) bool {
	next := len(q.toks)
	if i+1 < len(cs) {
		next = cs[i+1].start
	}
	for k := range q.hits {
		h := &q.hits[k]
		if q.is(h, "foul:technical") { // they count for nothing here
			if h.start >= c.end && h.start < next && h.start-c.end <= 2 {
				return false
			}
			continue
		}
		if !q.is(h, "foul:personal", "foul") && !q.inGroup(h, "foul") || !q.sameSentence(h.start, c.start) {
			continue
		}
		if h.start >= c.end && h.start < next && h.start-c.end <= 2 {
			return true
		}
		if h.end <= c.start && c.start-h.end <= 1 && q.is(h, "foul:personal") && (h.end == c.start || q.wordOf(h.end, gJerseyWord)) {
			return true // "personal foul number five"
		}
	}
	return false
}

// endsAt says whether a phrase of a concept ends right before token i.
func (q *Question) endsAt(i int, tag string) bool {
	for k := range q.hits {
		if q.hits[k].end == i && q.is(&q.hits[k], tag) {
			return true
		}
	}
	return false
}

// sumsUp says whether the words before token i make what follows a sum.
func (q *Question) sumsUp(i int) bool {
	for j := max(0, i-2); j < i; j++ {
		if h := q.hitAt[j]; q.wordIs(j, "cnt:total") || h >= 0 && q.is(&q.hits[h], "cnt:total") {
			return true
		}
	}
	return false
}

func (q *Question) eachAfter(i int) bool {
	for j := i; j < min(i+2, len(q.toks)); j++ {
		if h := q.hitAt[j]; q.wordIs(j, "cnt:each") || h >= 0 && q.is(&q.hits[h], "cnt:each") {
			return true
		}
	}
	return false
}

// timesOf is how many fouls a time "each" stands for: the others that are left,
// or those that were counted just before.
func (q *Question) timesOf(cs []counted, at int, fouls, listed int64) int64 {
	for j := max(0, at-3); j < at; j++ {
		if q.wordIs(j, "cnt:others") && fouls > listed {
			return fouls - listed
		}
	}
	for i := len(cs) - 1; i >= 0; i-- {
		if cs[i].end <= at && cs[i].n <= manyFouls && !cs[i].inside {
			return cs[i].n
		}
	}
	return max(fouls, 1)
}

// unitOf is the milliseconds of one of a span's unit.
func (q *Question) unitOf(u *Quantity) int64 {
	if u.Unit >= 0 {
		return q.x.info[u.Unit].n
	}
	return int64(measure.Minute)
}
