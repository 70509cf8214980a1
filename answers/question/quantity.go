package question

import (
	"sidewall/answers/measure"
)

// Kind is what a quantity measures.
type Kind uint8

// The kinds of quantities.
const (
	Bare    Kind = iota // a number alone
	Length              // nanometres
	Span                // milliseconds
	Clock               // seconds left in a period, or a time of day
	Weight              // nanograms
	Warmth              // thousandths of °F
	Humid               // thousandths of a percent
	Day                 // a date, or the first and last day that it may mean
	Age                 // whole years
	Grade               // school grade, kindergarten is 0
	Ordinal             // "3rd"
	Period              // period number; overtime is OvertimePeriod
	Half                // half number
	Jersey              // a jersey number
	Pair                // two numbers with a dash or "to" between: a score or a range
	Season              // the year of a spring season
	Percent = Humid
)

// OvertimePeriod stands for "in overtime" where the number of periods is not known yet.
const OvertimePeriod = 100

// Clock styles: how a time was written, so that an answer can be written alike.
const (
	StylePlain uint8 = iota // 6:12, no more said
	StyleAM
	StylePM
	Style24 // 18:12
)

// Quantity is a number with its kind and the words that it came from.
type Quantity struct {
	Kind       Kind
	Lo, Hi     int64 // base units; equal but for ranges
	Unit       Tag   // the unit's tag; -1 where none was written
	Style      uint8
	Neg        bool // a minus sign stood before it
	start, end int  // tokens
	Role       Tag  // what it is a measure of ("dim:height"), -1 where nothing says
	used       bool
	feet       bool  // written as feet and inches
	word       bool  // written in words
	partDay    int16 // a day without its year, as month*100 + day
	ofDay      bool  // a clock that can only be a time of day
}

const noTag Tag = -1

// pronounOne says whether the "one" at i stands for somebody: "the little one".
func (q *Question) pronounOne(i int) bool {
	if i == 0 || !q.wordAt(i, "one") {
		return false
	}
	if _, _, unit := q.unit(i + 1); unit {
		return false
	}
	if _, _, ord := q.tagAt(i-1, gOrd); ord {
		return true // "a third one went in"
	}
	switch q.toks[i-1].text {
	case "second", "third", "fourth", "fifth", "sixth", "little", "big", "bigger", "old", "older", "oldest", "young", "younger", "youngest", "other", "this", "that", "last", "new", "same", "any", "every", "which", "tall", "small", "blue", "red", "black", "yellow", "clear":
		return true
	}
	return false
}

// number is a plain number with fractions read: where it ends, and how it was written.
type number struct {
	milli int64
	end   int
	word  bool
	frac  bool
}

// tagAt is the first tag of a group at token i, and the token after its phrase.
func (q *Question) tagAt(i int, g group) (Tag, int, bool) {
	if i < 0 || i >= len(q.toks) {
		return noTag, i, false
	}
	h := q.hitAt[i]
	if h < 0 || q.hits[h].start != i {
		return noTag, i, false
	}
	for _, t := range q.hits[h].tags {
		if q.x.info[t].group == g {
			return t, q.hits[h].end, true
		}
	}
	return noTag, i, false
}

func (q *Question) mark(i int, s string) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == markToken && q.toks[i].text == s
}

func (q *Question) wordAt(i int, s string) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == wordToken && q.toks[i].text == s
}

func (q *Question) isNum(i int) bool {
	return i >= 0 && i < len(q.toks) && q.toks[i].kind == numberToken
}

// fraction reads a/b at i with a small denominator.
func (q *Question) fraction(i int) (int64, int, bool) {
	if !q.isNum(i) || !q.mark(i+1, "/") || !q.isNum(i+2) || q.mark(i+3, "/") || !q.toks[i+1].glued && !q.toks[i+2].glued {
		return 0, i, false
	}
	a, b := q.toks[i].milli, q.toks[i+2].milli/measure.One
	switch b {
	case 2, 3, 4, 8, 16, 32:
		if a > 0 && a < b*measure.One {
			return a / b, i + 3, true
		}
	}
	return 0, i, false
}

// half reads "and a half", "y media", "1/2", "and three quarters" after a number.
func (q *Question) half(i int) (int64, int, bool) {
	if v, end, ok := q.fraction(i); ok {
		return v, end, true
	}
	j := i
	if q.mark(j, "-") {
		if v, end, ok := q.fraction(j + 1); ok {
			return v, end, true
		}
	}
	if !q.joins(j) {
		return 0, i, false
	}
	j++
	if v, end, ok := q.fraction(j); ok {
		return v, end, true
	}
	if _, _, part := q.tagAt(j+1, gPart); q.wordAt(j, "a") || q.article(j) || q.wordAt(j, "one") && part {
		j++ // "6 and one half inches"
	}
	if v, end, ok := q.parts(j); ok {
		return v, end, true
	}
	if t, end, ok := q.tagAt(j, gPart); ok {
		return q.x.info[t].n, end, true
	}
	return 0, i, false
}

// parts reads "seven eighths", "three sixteenths", "an eighth", "un octavo".
func (q *Question) parts(i int) (int64, int, bool) {
	n, end := int64(1), i
	if v, e, ok := q.small(i); ok && v < 32 {
		n, end = v, e
	} else if q.isNum(i) && !q.toks[i].frac && q.toks[i].milli < 32*measure.One { // "2 pulgadas y 6 décimas"
		n, end = q.toks[i].milli/measure.One, i+1
	} else if q.article(i) {
		end = i + 1
	}
	if q.mark(end, "-") {
		end++
	}
	if t, e, ok := q.tagAt(end, gDenom); ok && q.x.info[t].n > n {
		return n * measure.One / q.x.info[t].n, e, true
	}
	return 0, i, false
}

// joins says whether token i is "and" or "y".
func (q *Question) joins(i int) bool {
	return q.wordAt(i, "and") || q.wordAt(i, "an") && q.wordAt(i+1, "a") || q.wordAt(i, "y") || q.wordAt(i, "n") || q.mark(i, "&")
}

// article says whether token i is "a", "an", "un", "una", "one".
func (q *Question) article(i int) bool {
	if q.Lang == "es" {
		return q.wordAt(i, "un") || q.wordAt(i, "una")
	}
	return q.wordAt(i, "a") || q.wordAt(i, "an")
}

// small reads one number word, or tens and units together.
func (q *Question) small(i int) (int64, int, bool) {
	t, end, ok := q.tagAt(i, gNum)
	if !ok {
		return 0, i, false
	}
	n := q.x.info[t].n
	if n >= 20 && n < 100 && n%10 == 0 {
		j := end
		if q.mark(j, "-") || q.wordAt(j, "y") {
			j++
		}
		if u, uend, ok := q.tagAt(j, gNum); ok && q.x.info[u].n > 0 && q.x.info[u].n < 10 {
			return n + q.x.info[u].n, uend, true
		}
	}
	return n, end, true
}

// number reads a number at token i, in figures or words, with its fraction.
func (q *Question) number(i int) (number, bool) {
	if i >= len(q.toks) {
		return number{}, false
	}
	if v, end, ok := q.fraction(i); ok {
		return number{milli: v, end: end, frac: true}, true
	}
	if q.isNum(i) {
		n := number{milli: q.toks[i].milli, end: i + 1, frac: q.toks[i].frac}
		if q.wordAt(i+1, "point") || q.wordAt(i+1, "punto") {
			if q.isNum(i+2) && q.toks[i+2].milli < 10*measure.One {
				n.milli += q.toks[i+2].milli / 10
				n.end, n.frac = i+3, true
				return n, true
			}
		}
		if v, end, ok := q.half(n.end); ok {
			n.milli, n.end, n.frac = n.milli+v, end, true
		}
		return n, true
	}
	if q.pronounOne(i) {
		return number{}, false
	}
	v, end, ok := q.small(i)
	if !ok {
		if t, end, ok := q.tagAt(i, gPart); ok { // half an inch, three quarters of an inch
			return number{milli: q.x.info[t].n, end: end, word: true, frac: true}, true
		}
		return number{}, false
	}
	if v < 10 {
		if t, hend, ok := q.tagAt(end, gNum); ok && q.x.info[t].n == 100 && v > 0 {
			v, end = v*100, hend
		}
	}
	if v >= 100 && v%100 == 0 {
		j := end
		if q.joins(j) {
			j++
		}
		if u, uend, ok := q.small(j); ok && u < 100 {
			v, end = v+u, uend
		}
	}
	n := number{milli: v * measure.One, end: end, word: true}
	if q.wordAt(end, "point") || q.wordAt(end, "punto") {
		if u, uend, ok := q.small(end + 1); ok && u < 10 {
			n.milli += u * measure.One / 10
			n.end = uend
			return n, true
		}
	}
	if v, hend, ok := q.half(n.end); ok {
		n.milli, n.end, n.frac = n.milli+v, hend, true
	}
	return n, true
}

// unit reads a unit at token i: its tag and the token after it.
func (q *Question) unit(i int) (Tag, int, bool) {
	if i >= len(q.toks) {
		return noTag, i, false
	}
	j := i
	if q.mark(j, "-") && q.toks[j].glued { // "45-inch", "30-second"
		j++
	}
	if q.toks[i].kind == markToken {
		switch q.toks[i].text {
		case `"`:
			return q.x.std.inch, i + 1, true
		case "'":
			if q.mark(i+1, "'") {
				return q.x.std.inch, i + 2, true
			}
			if q.wordAt(i+1, "s") && q.toks[i+1].glued { // "37's is fine" is a jersey
				return noTag, i, false
			}
			return q.x.std.foot, i + 1, true
		case "%":
			return q.x.std.percent, i + 1, true
		case "°":
			if t, end, ok := q.tagAt(i+1, gUnit); ok && (t == q.x.std.f || t == q.x.std.c) {
				return t, end, true
			}
			return q.x.std.degree, i + 1, true
		}
	}
	t, end, ok := q.tagAt(j, gUnit)
	if !ok {
		return noTag, i, false
	}
	if t == q.x.std.inch && q.wordAt(j, "in") && !q.inchNotIn(j) {
		return noTag, i, false
	}
	if q.toks[j].text == "m" && !q.toks[j].glued && j != i {
		return noTag, i, false
	}
	if t == q.x.std.degree {
		if f, fend, ok := q.tagAt(end, gUnit); ok && (f == q.x.std.f || f == q.x.std.c) {
			return f, fend, true
		}
	}
	return t, end, true
}

// inchNotIn says whether "in" at token i is the unit, not the preposition: it
// touches its number or a full stop, or what follows is no place or time.
func (q *Question) inchNotIn(i int) bool {
	if q.toks[i].glued || q.mark(i-1, "-") {
		return true
	}
	if q.mark(i+1, ".") && q.toks[i+1].glued {
		return true
	}
	if i+1 >= len(q.toks) || q.toks[i+1].kind == markToken {
		return true
	}
	if q.toks[i+1].kind == numberToken {
		return false
	}
	_, _, blocked := q.tagAt(i+1, gAfterIn)
	if blocked {
		return false
	}
	h := q.hitAt[i+1]
	if h >= 0 {
		for _, t := range q.hits[h].tags {
			switch q.x.info[t].group {
			case gAfterIn, gOrd, gPeriodWord, gDiv, gMonth, gNum:
				return false
			}
		}
	}
	return true
}

// quantities reads every quantity of the question, left to right.
func (q *Question) quantities() {
	for i := 0; i < len(q.toks); {
		if end, ok := q.quantityAt(i); ok {
			if end <= i {
				end = i + 1
			}
			i = end
			continue
		}
		if h := q.hitAt[i]; h >= 0 && q.hits[h].start == i {
			end := q.hits[h].end
			if end-1 > i && end < len(q.toks) && (q.isNum(end) || q.Lang == "es" && q.wordOf(end, gNum)) && q.wordOf(end-1, gUnder) {
				end-- // "un medio u15": the phrase has taken the u
			}
			if end-1 > i && q.Lang == "es" && q.wordAt(end-1, "ultimo") {
				end-- // "en el último cuarto", likewise
			}
			i = end
			continue
		}
		i++
	}
}

func (q *Question) push(u Quantity) { q.Quantities = append(q.Quantities, u) }

func (q *Question) quantityAt(i int) (int, bool) {
	for _, read := range [...]func(*Question, int) (int, bool){
		(*Question).division, (*Question).jersey, (*Question).spanishClock, (*Question).dayClock, (*Question).clock, (*Question).spanishDate, (*Question).date,
		(*Question).grade, (*Question).age, (*Question).period, (*Question).feetInches, (*Question).metres, (*Question).unitAndHalf, (*Question).measured,
	} {
		if end, ok := read(q, i); ok {
			return end, true
		}
	}
	return i, false
}

// feetInches reads 3'9", 3 ft 9, 5 foot 2 inches, cinco pies con dos pulgadas.
func (q *Question) feetInches(i int) (int, bool) {
	if end, ok := q.loneMinute(i); ok {
		return end, true
	}
	if end, ok := q.tallSaid(i); ok {
		return end, true
	}
	n, ok := q.number(i)
	if !ok {
		return i, false
	}
	t, j, ok := q.unit(n.end)
	if !ok || t != q.x.std.foot {
		return i, false
	}
	k := j
	if q.joins(k) || q.wordAt(k, "con") || q.mark(k, ",") || q.mark(k, "-") {
		k++
	}
	m, ok := q.number(k)
	if !ok || m.milli >= 12*measure.One || q.mark(m.end, ":") && q.isNum(m.end+1) && q.toks[m.end+1].glued || q.mark(m.end, "'") {
		return i, false
	}
	end := m.end
	if t2, e2, ok := q.unit(m.end); ok {
		if t2 != q.x.std.inch {
			return i, false
		}
		end = e2
	} else if k != j && !q.wordAt(j, "con") {
		return i, false // "4 feet and 2 poles"
	}
	v := n.milli*int64(measure.Foot)/measure.One + m.milli*int64(measure.Inch)/measure.One
	q.push(Quantity{Kind: Length, Lo: v, Hi: v, Unit: q.x.std.foot, start: i, end: end, Role: noTag, feet: true, word: n.word})
	return end, true
}

// measured reads a number with or without a unit.
func (q *Question) measured(i int) (int, bool) {
	if end, ok := q.money(i); ok {
		return end, true
	}
	start := i
	neg := false
	if q.mark(i, "-") && q.isNum(i+1) && q.toks[i+1].glued && (i == 0 || !q.toks[i].glued) {
		neg = true
		i++
	} else if q.wordAt(i, "minus") || q.wordAt(i, "menos") {
		if _, ok := q.number(i + 1); ok {
			neg = true
			i++
		}
	}
	n, ok := q.number(i)
	if !ok {
		if !q.article(i) { // "an inch", "a minute and a half"
			return start, false
		}
		t, _, ok := q.unit(i + 1)
		if !ok || q.x.info[t].unitKind == Bare || q.toks[i+1].kind != wordToken || len(q.toks[i+1].text) < 3 {
			return start, false
		}
		n = number{milli: measure.One, end: i + 1, word: true}
	}
	lo, hi := n.milli, n.milli
	end := n.end
	sep := false
	// a range or a pair: 37-42, 37 to 42, between 40 and 42
	if j := end; q.rangeWord(j) {
		if m, ok := q.number(j + 1); ok && !q.mark(m.end, ":") && !q.mark(m.end, "/") {
			ranged := true
			if q.mark(j, "-") {
				// "45-1/2" was read already; a dash must touch both or neither
				ranged = q.toks[j].glued == q.toks[j+1].glued
			}
			if ranged {
				hi, end, sep = m.milli, m.end, true
			}
		}
	}
	if !sep && (q.wordAt(end, "or") || q.Lang == "es" && q.wordAt(end, "o")) { // "three or 4 steps"
		if m, ok := q.number(end + 1); ok && m.milli > n.milli {
			if t, _, ok := q.unit(m.end); ok && (t == q.x.std.step || t == q.x.std.yard) {
				hi, end, sep = m.milli, m.end, true
			}
		}
	}
	if !sep && q.wordAt(start-1, "between") || !sep && q.wordAt(start-1, "entre") {
		if q.joins(end) {
			if m, ok := q.number(end + 1); ok {
				hi, end, sep = m.milli, m.end, true
			}
		}
	}
	unitAt := end
	if q.article(unitAt) || q.wordAt(unitAt, "of") || q.wordAt(unitAt, "de") {
		// half an inch, three quarters of an inch, medio de pulgada
		k := unitAt + 1
		if q.article(k) {
			k++
		}
		if n.frac {
			if _, _, ok := q.unit(k); ok {
				unitAt = k
			}
		}
	}
	if !n.frac && unitAt+1 < len(q.toks) {
		switch q.toks[unitAt].text {
		case "whole", "full", "entire", "solid", "straight", "good", "long":
			if _, _, ok := q.unit(unitAt + 1); ok && q.toks[unitAt+1].kind == wordToken && len(q.toks[unitAt+1].text) > 2 {
				unitAt++ // "six whole seconds"
			}
		}
	}
	t, uend, ok := q.unit(unitAt)
	if !ok && n.word && n.frac && n.milli < measure.One {
		return start, false // "half", "cuarto" with no unit is no quantity
	}
	u := Quantity{Kind: Bare, Lo: lo, Hi: hi, Unit: noTag, start: start, end: end, Role: noTag, Neg: neg, word: n.word}
	if !ok {
		if sep {
			u.Kind = Pair
		}
		q.push(u)
		return end, true
	}
	in := &q.x.info[t]
	if in.unitKind == Bare {
		if sep {
			u.Kind = Pair
		}
		q.push(u)
		return end, true
	}
	u.Kind, u.Unit, u.end = in.unitKind, t, uend
	// an inch and a half; two minutes and 30 seconds
	extra := int64(0)
	if !sep {
		if v, hend, ok := q.halfAfterUnit(uend); ok {
			extra, u.end = v, hend
		}
	}
	switch {
	case t == q.x.std.c:
		u.Lo, u.Hi = int64(measure.Celsius(lo)), int64(measure.Celsius(hi))
	case t == q.x.std.degree, t == q.x.std.f, t == q.x.std.percent:
	case t == q.x.std.step:
		u.Lo, u.Hi = lo*int64(measure.Yard)/2/measure.One, hi*int64(measure.Yard)/measure.One
	default:
		u.Lo, u.Hi = scale(lo+extra, in.n), scale(hi+extra, in.n)
	}
	if !sep && u.Kind == Span { // 1 minute 30 seconds
		k := u.end
		if q.joins(k) || q.mark(k, ",") || q.wordAt(k, "con") {
			k++
		}
		if m, ok := q.number(k); ok {
			if t2, e2, ok := q.unit(m.end); ok && q.x.info[t2].unitKind == Span && q.x.info[t2].n < in.n && !(q.mark(k-1, ",") && q.timeLeftAt(e2)) {
				u.Lo += scale(m.milli, q.x.info[t2].n)
				u.Hi, u.end = u.Lo, e2
			} else if !ok && k == u.end && q.isNum(k) && len(q.toks[k].text) == 2 && !q.toks[k].frac && m.milli < 60*measure.One && q.x.info[t].n == int64(measure.Minute) && m.end == k+1 && !q.mark(k+1, ":") && !q.mark(k+1, "/") && !q.mark(k+1, "-") {
				u.Lo += scale(m.milli, int64(measure.Second)) // "4 min 30 of foul time"
				u.Hi, u.end = u.Lo, k+1
			}
		}
	}
	if sep && u.Lo > u.Hi {
		u.Lo, u.Hi = u.Hi, u.Lo
	}
	if neg {
		u.Lo, u.Hi = -u.Hi, -u.Lo
	}
	q.push(u)
	return u.end, true
}

// loneMinute reads "minute for tripping", "gets minute for a slash": one of them,
// though nothing counts it.
func (q *Question) loneMinute(i int) (int, bool) {
	if !q.wordAt(i, "minute") || !q.wordAt(i+1, "for") || i > 0 && (q.isNum(i-1) || q.toks[i-1].glued) {
		return i, false
	}
	if _, _, counted := q.tagAt(i-1, gNum); i > 0 && counted {
		return i, false
	}
	one := int64(measure.Minute)
	q.push(Quantity{Kind: Span, Lo: one, Hi: one, Unit: noTag, start: i, end: i + 1, Role: noTag, word: true})
	return i + 1, true
}

// timeLeftAt says whether the words at i make the time before them one of the
// game clock: "25 seconds to go".
func (q *Question) timeLeftAt(i int) bool {
	if i >= len(q.toks) {
		return false
	}
	h := q.hitAt[i]
	return h >= 0 && q.hits[h].start == i && q.is(&q.hits[h], "dayclock:left", "story:left")
}

func scale(milli, factor int64) int64 {
	if milli > 1e9 || milli < -1e9 { // no quantity of the game; keep the product in range
		milli = 1e9
	}
	return milli/measure.One*factor + milli%measure.One*factor/measure.One
}

// halfAfterUnit reads "and a half" after a unit, but not "and half" of a period.
func (q *Question) halfAfterUnit(i int) (int64, int, bool) {
	if q.Lang == "es" && (q.joins(i) || q.wordAt(i, "con")) {
		if v, end, ok := q.parts(i + 1); ok {
			return v, end, true
		}
	}
	if !q.joins(i) {
		return 0, i, false
	}
	j := i + 1
	if q.article(j) {
		j++
	}
	if t, end, ok := q.tagAt(j, gPart); ok {
		return q.x.info[t].n, end, true
	}
	if v, end, ok := q.fraction(j); ok {
		return v, end, true
	}
	return 0, i, false
}

func (q *Question) rangeWord(i int) bool {
	return q.mark(i, "-") || q.wordAt(i, "to") || q.wordAt(i, "a") && q.Lang == "es" || q.wordAt(i, "thru") || q.wordAt(i, "through") || q.wordAt(i, "hasta")
}

// jersey reads #12, number 12, no. 12, el numero 12, and 12's.
func (q *Question) jersey(i int) (int, bool) {
	if q.isNum(i) && !q.toks[i].frac { // 37's is fine; "#54 …" and later "54 is a middie"
		end := i + 1
		if q.mark(end, "'") && q.wordAt(end+1, "s") && q.toks[end].glued && q.toks[end+1].glued {
			end += 2
		} else if !q.saidJersey(q.toks[i].milli) || q.mark(end, ":") || q.mark(end, "/") {
			return i, false
		} else if _, _, ok := q.unit(end); ok || q.countsAt(end) {
			return i, false
		}
		v := q.toks[i].milli
		q.push(Quantity{Kind: Jersey, Lo: v, Hi: v, Unit: noTag, start: i, end: end, Role: noTag})
		return end, true
	}
	j := i
	switch {
	case q.mark(i, "#"):
		j = i + 1
	default:
		if _, end, ok := q.tagAt(i, gJerseyWord); ok {
			j = end
			if q.mark(j, ".") || q.mark(j, "#") {
				j++
			}
		} else {
			return i, false
		}
	}
	if !q.isNum(j) || q.toks[j].frac || q.toks[j].milli >= 1000*measure.One {
		return i, false
	}
	if _, _, ok := q.unit(j + 1); ok && !q.mark(i, "#") {
		return i, false
	}
	v := q.toks[j].milli
	q.push(Quantity{Kind: Jersey, Lo: v, Hi: v, Unit: noTag, start: i, end: j + 1, Role: noTag})
	return j + 1, true
}

// saidJersey says whether a number was given as a jersey's before.
// countsAt says whether what stands at token i is counted: "#4 has 4 personal fouls".
func (q *Question) countsAt(i int) bool {
	if i >= len(q.toks) || q.hitAt[i] < 0 {
		return false
	}
	h := &q.hits[q.hitAt[i]]
	return h.start == i && (q.is(h, "foul:personal", "foul", "penalty", "cnt:goals", "pluralthing") && !q.is(h, "person"))
}

func (q *Question) saidJersey(milli int64) bool {
	for k := range q.Quantities {
		if u := &q.Quantities[k]; u.Kind == Jersey && u.Lo == milli {
			return true
		}
	}
	return false
}

// money passes over "$90", "90 bucks", "20 dólares": nothing of the game is paid for.
func (q *Question) money(i int) (int, bool) {
	j := i
	if q.mark(i, "$") {
		j++
	}
	n, ok := q.number(j)
	if !ok {
		return i, false
	}
	if j > i {
		return n.end, true
	}
	if n.end < len(q.toks) {
		switch q.toks[n.end].text {
		case "bucks", "dollars", "dollar", "cents", "dolares", "pesos", "lucas", "euros":
			return n.end + 1, true
		}
	}
	return i, false
}
