package question

import (
	"sidewall/answers/measure"
)

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
