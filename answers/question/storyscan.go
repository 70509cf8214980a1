package question

import (
	"strconv"

	"sidewall/answers/measure"
)

// scan cuts the text into items.
func (r *storyReader) scan() {
	q := r.q
	next := 0 // quantity
	for i := r.s.start; i < r.s.end; {
		for next < len(q.Quantities) && q.Quantities[next].start < i {
			next++
		}
		h := r.hit(i)
		if next < len(q.Quantities) && q.Quantities[next].start == i && q.Quantities[next].end <= r.s.end && (h.end == 0 || h.end <= q.Quantities[next].end || h.bits&(cLast|cStart) == 0) {
			if end := r.quantity(&q.Quantities[next], h); end > i {
				i = end
				continue
			}
		}
		if end, ok := r.label(i); ok {
			i = end
			continue
		}
		if end := r.sealed(i); end > i { // "my husband swears it was a trip"
			i = end
			continue
		}
		if end, ok := r.hidden(i); ok {
			i = end
			continue
		}
		if h.end == 0 {
			i++
			continue
		}
		r.phrase(i, h)
		i = h.end
	}
}

// sealed is where the sealed phrase at a token ends: nothing in it is told.
func (r *storyReader) sealed(i int) int {
	q := r.q
	for k := range q.hits {
		if h := &q.hits[k]; h.start <= i && i < h.end && h.end <= r.s.end && contains(h.tags, q.x.std.sealed) {
			return h.end
		}
	}
	return i
}

// phrase makes an item of words.
func (r *storyReader) phrase(i int, h storyHit) {
	it := item{kind: iCue, start: i, end: h.end, bits: h.bits, team: teamOf(h.bits)}
	switch {
	case h.bits&(cLocked|cReleasable) != 0:
		it.kind, it.n = iLocked, int(SaidYes)
		if h.bits&cLocked == 0 {
			it.n = int(SaidNo)
			if r.cue(i-1, cNot) || r.q.mark(i-1, "-") && r.cue(i-2, cNot) {
				it.n = int(SaidYes)
			}
		}
	case h.foul != "":
		it.kind, it.word = iFoul, h.foul
	case h.bits&cTechnical != 0:
		it.kind = iFoul
	case h.bits&cNoGoal != 0:
		r.out.NoGoal = true
		return
	case h.bits&cGoal != 0:
		it.kind = iGoal
	case h.bits&cRunning != 0:
		r.out.Running = true
		return
	case h.bits&cStopped != 0:
		r.out.Stopped = true
		return
	case h.bits&cOne != 0:
		r.out.OnePlayer = true
		return
	case h.bits&cLast != 0:
		it.kind, it.n = iPeriod, LastPeriod
		if _, end, ok := r.group(h.end, gPeriodWord); ok {
			it.end = end
		}
	case h.bits&cStart != 0:
		it.kind, it.n, it.noted = iClock, FullClock, true
	case h.bits&cGoto != 0:
	case it.team != NoTeam:
		it.kind = iTeam
	}
	r.add(it)
}

func teamOf(b storyCue) Team {
	switch {
	case b&(cOurs|cOur|cWe) != 0 && b&(cTheirs|cTheir|cThey) == 0:
		return Ours
	case b&(cTheirs|cTheir|cThey) != 0:
		return Theirs
	case b&cA != 0:
		return TeamA
	case b&cB != 0:
		return TeamB
	}
	return NoTeam
}

// label reads A1, B2, and the team in "A scores".
func (r *storyReader) label(i int) (int, bool) {
	q := r.q
	team := NoTeam
	switch {
	case q.wordAt(i, "a"):
		team = TeamA
	case q.wordAt(i, "b"):
		team = TeamB
	default:
		return i, false
	}
	if q.isNum(i+1) && q.toks[i+1].glued && i+1 < r.s.end && !q.toks[i+1].frac && len(q.toks[i+1].text) <= 2 {
		word := "A"
		if team == TeamB {
			word = "B"
		}
		r.add(item{kind: iWho, start: i, end: i + 2, word: word + q.toks[i+1].text, team: team})
		return i + 2, true
	}
	if i+1 >= r.s.end {
		return i, false
	}
	h := r.hit(i + 1)
	if h.bits&(cGoal|cGets) == 0 {
		if team == TeamB && (r.cue(i-1, cBy|cOn) || r.q.wordAt(i-1, "team")) {
			r.add(item{kind: iTeam, start: i, end: i + 1, team: team})
			return i + 1, true
		}
		return i, false
	}
	// "a goal" is no team, "A scores" is one
	if team == TeamA && h.bits&cGoal != 0 && !q.wordAt(i+1, "scores") && !q.wordAt(i+1, "scored") && !q.wordAt(i+1, "anota") && !q.wordAt(i+1, "anoto") {
		return i, false
	}
	if team == TeamA && h.bits&cGoal == 0 {
		return i, false
	}
	r.add(item{kind: iTeam, start: i, end: i + 1, team: team, bits: cWe})
	return i + 1, true
}

// hidden reads what the quantities leave out because longer phrases or slips
// stand over it: "minuto y medio", "de un minuto", "8:00 second quarter".
func (r *storyReader) hidden(i int) (int, bool) {
	q := r.q
	if t, end, ok := r.group(i, gUnit); ok && q.x.info[t].unitKind == Span {
		n := measure.One
		told := q.article(i-1) || q.wordAt(i-1, "one") || q.wordAt(i-1, "uno") || r.cue(i-1, cAgain)
		if q.isNum(i-1) && !q.mark(i-2, ":") && !r.inDivision(i-1) {
			n, told = q.toks[i-1].milli, true
		} else if w, e, ok := r.group(i-1, gNum); ok && e == i {
			n, told = q.x.info[w].n*measure.One, true
		}
		e := end
		if half, he, ok := q.halfAfterUnit(end); ok && he <= r.s.end {
			n, e, told = n+half, he, true
		}
		if (i == r.s.start || q.mark(i-1, ",")) && q.x.info[t].n == int64(measure.Minute) && r.cue(e, cGets) || q.mark(i-1, ",") && q.mark(e, ",") { // "slash, minute, 6:00"
			told = true
		}
		if told {
			ms := scale(n, q.x.info[t].n)
			r.span(max(i-1, r.s.start), e, ms, ms)
			return e, true
		}
	}
	if t, end, ok := r.group(i, gOrd); ok {
		_, _, named := r.group(end, gPeriodWord)
		_, _, over := r.group(end, gOvertime)
		if named || over || q.isNum(i-1) && (q.mark(i-2, ":") || r.inDivision(i-1)) {
			return r.ordinalPeriod(i, end, int(q.x.info[t].n))
		}
	}
	return i, false
}

// inDivision says whether token i is part of a division's name: the 13 of U13.
func (r *storyReader) inDivision(i int) bool {
	for _, d := range r.q.divSpan {
		if i >= d.start && i < d.end {
			return true
		}
	}
	return false
}

// ordinalPeriod makes a period of an ordinal and the word that may follow it.
func (r *storyReader) ordinalPeriod(start, end, n int) (int, bool) {
	if n < 1 || n > 9 {
		return start, false
	}
	if _, e, ok := r.group(end, gOvertime); ok {
		n, end = OvertimePeriod+n-1, e
	} else if t, e, ok := r.group(end, gPeriodWord); ok {
		r.periodWord(end) // notes that it is a quarter
		if r.q.x.info[t].n == halfPeriods {
			if n > halfPeriods {
				return start, false
			}
			n += FirstHalf - 1
		}
		end = e
	} else if !r.periodOrdinal(end) {
		return start, false
	}
	r.add(item{kind: iPeriod, start: start, end: end, n: n})
	return end, true
}

// quantity makes an item of a quantity; it returns where to go on, or u.start
// where the quantity is none of a story.
func (r *storyReader) quantity(u *Quantity, h storyHit) int {
	q := r.q
	switch u.Kind {
	case Jersey:
		r.add(item{kind: iWho, start: u.start, end: u.end, word: strconv.FormatInt(u.Lo/measure.One, 10)})
		return r.numberList(u)
	case Clock:
		if !u.ofDay {
			r.add(item{kind: iClock, start: u.start, end: u.end, n: int(u.Lo)})
		}
		return u.end
	case Span:
		return r.span(u.start, u.end, u.Lo, u.Hi)
	case Period:
		r.add(item{kind: iPeriod, start: u.start, end: u.end, n: int(u.Lo)})
		for i := u.start; i < u.end; i++ {
			r.periodWord(i) // notes that it is a quarter
		}
		return u.end
	case Half:
		if u.Lo >= 1 && u.Lo <= halfPeriods {
			r.add(item{kind: iPeriod, start: u.start, end: u.end, n: FirstHalf + int(u.Lo) - 1})
		}
		return u.end
	case Ordinal:
		end, _ := r.ordinalPeriod(u.start, u.end, int(u.Lo))
		return max(end, u.end)
	case Bare:
		if e := u.end; u.Lo%measure.One == 0 && e < r.s.end && q.toks[e].glued && q.isNum(e-1) { // "4th" where a phrase of it stands in the way
			if _, end, ok := r.group(e, gOrdSuffix); ok {
				end, _ = r.ordinalPeriod(u.start, end, int(u.Lo/measure.One))
				return max(end, u.end)
			}
		}
		return r.bare(u)
	case Length: // "1m slash"
		if u.Unit >= 0 && q.x.info[u.Unit].value == "m" && u.Lo == u.Hi && u.end < r.s.end && r.hit(u.end).foul != "" {
			ms := u.Lo / int64(measure.Metre) * int64(measure.Minute)
			return r.span(u.start, u.end, ms, ms)
		}
		return u.end
	}
	if h.end > u.end {
		return u.start
	}
	return u.end
}

// periodOrdinal says whether an ordinal that ends at token i can be a period:
// "the 3rd", but not "the 3rd foul".
func (r *storyReader) periodOrdinal(i int) bool {
	if i >= r.s.end {
		return true
	}
	h := r.hit(i)
	if h.foul != "" || h.bits&(cPenalty|cPerson|cGoal|cTechnical) != 0 {
		return false
	}
	_, _, unit := r.group(i, gUnit)
	unit = unit && !r.q.wordAt(i, "in")
	_, _, thing := r.group(i, gStickWord)
	return !unit && !thing
}

// numberList reads on in "numbers 5, 6, 7 and 8".
func (r *storyReader) numberList(u *Quantity) int {
	q := r.q
	end := u.end
	if q.mark(u.start, "#") {
		return end
	}
	for {
		j := end
		if q.mark(j, ",") {
			j++
		}
		if q.joins(j) {
			j++
		}
		if j == end || j >= r.s.end || !q.isNum(j) || q.toks[j].frac || len(q.toks[j].text) > 2 || q.mark(j+1, ":") {
			return end
		}
		if _, _, ok := q.unit(j + 1); ok && !q.wordAt(j+1, "in") { // "7 and 8 in that order"
			return end
		}
		if j+1 < r.s.end && r.hit(j+1).foul != "" {
			return end
		}
		r.add(item{kind: iWho, start: j, end: j + 1, word: q.toks[j].text})
		end = j + 1
	}
}

// longestTold bounds what is read as a penalty's length, far above any.
const longestTold = 10 * 60

// span makes a length of a penalty, a clock ("25 seconds left"), a length of a
// period ("12 minute quarters") or a time after the restart of a span of time.
func (r *storyReader) span(start, end int, lo, hi int64) int {
	q := r.q
	n := int(lo / int64(measure.Second))
	switch {
	case q.mark(end, "-") && r.periodWord(end+1), r.periodWord(end) && !(q.isNum(end+1) && q.toks[end+1].glued): // not "a minute q2 3:20"
		r.out.PeriodS = n
		return end
	case r.periodWord(start-2) && (q.wordAt(start-1, "of") || q.wordAt(start-1, "de") || q.wordAt(start-1, "are") || q.wordAt(start-1, "son")):
		r.out.PeriodS = n
		return end
	case lo != hi || n <= 0:
		return end
	case (r.cue(end, cLeft) || r.cue(end+1, cLeft) && !q.mark(end, ",")) && !q.clockSoon(end) || r.cue(start-1, cLeft) && !r.cue(start-1, cAt) || r.cue(start-2, cLeft) && q.article(start-1):
		r.add(item{kind: iClock, start: start, end: end, n: n, noted: true})
	case r.cue(end, cLater):
		r.add(item{kind: iClock, start: start, end: end, n: n, bits: cLater})
	case n <= longestTold:
		r.add(item{kind: iLength, start: start, end: end, n: n})
	}
	return end
}

func (r *storyReader) periodWord(i int) bool {
	t, _, ok := r.group(i, gPeriodWord)
	if ok && r.q.x.info[t].n == 4 || r.q.wordAt(i, "cuarto") {
		r.out.Quarters = true
		return true
	}
	return ok
}

// bare makes an item of a number without a unit: how many penalties, a player
// ("12 has a slash"), minutes ("1 for slashing"), or a clock without its colon.
func (r *storyReader) bare(u *Quantity) int {
	q := r.q
	n := int(u.Lo / measure.One)
	t := &q.toks[u.start]
	before := r.cue(u.start-1, cAt|cFrom) || q.mark(u.start-1, "@")
	left := r.cue(u.end, cLeft)
	if t.kind == numberToken && u.end == u.start+1 {
		if m, s, ok := dotted(t.text); ok && (before || left) { // 3.20
			r.add(item{kind: iClock, start: u.start, end: u.end, n: m*60 + s, noted: true})
			return u.end
		}
		if len(t.text) >= 3 && len(t.text) <= 4 && !t.frac && n%100 < 60 && (before || left) { // 320
			r.add(item{kind: iClock, start: u.start, end: u.end, n: n/100*60 + n%100, noted: true})
			return u.end
		}
		if before && u.end < r.s.end && q.isNum(u.end) && len(q.toks[u.end].text) == 2 && len(t.text) <= 2 && !t.frac && q.toks[u.end].milli < 60*measure.One { // 3 20
			if _, _, unit := q.unit(u.end + 1); !unit {
				r.add(item{kind: iClock, start: u.start, end: u.end + 1, n: n*60 + int(q.toks[u.end].milli/measure.One), noted: true})
				return u.end + 1
			}
		}
	}
	if u.Lo%measure.One != 0 || u.Lo != u.Hi || u.end >= r.s.end {
		return u.end
	}
	h := r.hit(u.end)
	if m, ok := q.number(u.end); ok {
		if n >= 2 && n <= 9 { // "four 30 second holds"
			if ut, _, ok := q.unit(m.end); ok && q.x.info[ut].unitKind == Span {
				r.add(item{kind: iCount, start: u.start, end: u.end, n: n})
			}
		}
		return u.end
	}
	switch {
	case n >= 2 && n <= 9 && (h.foul != "" || h.bits&(cTechnical|cPenalty|cLocked|cReleasable) != 0):
		r.add(item{kind: iCount, start: u.start, end: u.end, n: n})
	case h.bits&cGets != 0 && (q.wordAt(u.end, "for") || q.wordAt(u.end, "por")) && u.end+1 < r.s.end && r.foulNear(u.end+1, 2):
		if n >= 1 && n <= 5 {
			n *= 60
		} else if n%15 != 0 || n > longestTold {
			return u.end
		}
		r.add(item{kind: iLength, start: u.start, end: u.end, n: n})
	case h.bits&cGets != 0 && t.kind == numberToken && len(t.text) <= 2 && !t.frac && r.penaltyNear(h.end, 4):
		r.add(item{kind: iWho, start: u.start, end: u.end, word: t.text})
	}
	return u.end
}

// dotted splits "3.20".
func dotted(s string) (m, sec int, ok bool) {
	for i := 1; i < len(s) && i <= 2; i++ {
		if s[i] != '.' && s[i] != ',' || len(s) != i+3 {
			continue
		}
		m, err := strconv.Atoi(s[:i])
		sec, err2 := strconv.Atoi(s[i+1:])
		return m, sec, err == nil && err2 == nil && sec < 60
	}
	return 0, 0, false
}

// foulNear says whether a foul is named within n tokens from i.
func (r *storyReader) foulNear(i, n int) bool {
	for k := i; k < min(i+n, r.s.end); k++ {
		if h := r.hit(k); h.foul != "" || h.bits&cTechnical != 0 {
			return true
		}
	}
	return false
}

// penaltyNear is foulNear, or a span of time that can be a penalty.
func (r *storyReader) penaltyNear(i, n int) bool {
	if r.foulNear(i, n) {
		return true
	}
	for k := range r.q.Quantities {
		if u := &r.q.Quantities[k]; u.Kind == Span && u.start >= i && u.start < i+n {
			return true
		}
	}
	return false
}
