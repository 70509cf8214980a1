package question

import "sidewall/answers/measure"

// clock reads 3:20, :45, 5:42 pm, 18:12, 7 pm, noon, "three twenty left",
// and a run of three parts (1:02:03) as no clock at all.
func (q *Question) clock(i int) (int, bool) {
	if q.mark(i, ":") && q.isNum(i+1) && q.toks[i+1].glued && len(q.toks[i+1].text) == 2 && !q.toks[i].glued {
		s := q.toks[i+1].milli / measure.One
		if s < 60 {
			q.push(Quantity{Kind: Clock, Lo: s, Hi: s, Unit: noTag, start: i, end: i + 2, Role: noTag})
			return i + 2, true
		}
	}
	if q.isNum(i) && q.mark(i+1, ":") && q.isNum(i+2) && q.toks[i+1].glued && q.toks[i+2].glued && len(q.toks[i+2].text) == 2 {
		m, s := q.toks[i].milli/measure.One, q.toks[i+2].milli/measure.One
		if s >= 60 || m > 99 {
			return i, false
		}
		return q.clockEnd(i, i+3, m, s), true
	}
	if end, ok := q.figuresApart(i); ok {
		return end, true
	}
	if q.isNum(i) && !q.toks[i].frac && q.toks[i].milli <= 12*measure.One && q.toks[i].milli > 0 { // 7 pm, 7pm
		if style, end, ok := q.halfDay(i + 1); ok {
			m := q.toks[i].milli / measure.One
			q.push(Quantity{Kind: Clock, Lo: m * 60, Hi: m * 60, Unit: noTag, Style: style, start: i, end: end, Role: noTag, ofDay: true})
			return end, true
		}
		if q.wordAt(i+1, "oclock") || q.wordAt(i+1, "o") && q.wordAt(i+2, "clock") {
			m := q.toks[i].milli / measure.One
			end := i + 2
			if q.wordAt(i+1, "o") {
				end++
			}
			return q.clockEnd(i, end, m, 0), true
		}
	}
	if t, end, ok := q.tagAt(i, gNoon); ok {
		m := q.x.info[t].n
		style := StylePM
		if m == 0 {
			style = StyleAM
			m = 12
		}
		q.push(Quantity{Kind: Clock, Lo: m * 60, Hi: m * 60, Unit: noTag, Style: style, start: i, end: end, Role: noTag, ofDay: true, word: true})
		return end, true
	}
	return q.spokenClock(i)
}

func (q *Question) clockEnd(i, end int, m, s int64) int {
	u := Quantity{Kind: Clock, Lo: m*60 + s, Hi: m*60 + s, Unit: noTag, start: i, end: end, Role: noTag}
	if style, e, ok := q.halfDay(end); ok {
		u.Style, u.end, u.ofDay = style, e, true
	} else if m > 12 && m < 24 && len(q.toks[i].text) == 2 {
		u.Style = Style24
	} else if m == 0 && len(q.toks[i].text) == 2 {
		u.Style = Style24
	}
	q.push(u)
	return u.end
}

// halfDay reads am, pm, a.m., p. m., de la tarde.
func (q *Question) halfDay(i int) (uint8, int, bool) {
	if t, end, ok := q.tagAt(i, gHalfDay); ok {
		style := StyleAM
		if q.x.info[t].n == 1 {
			style = StylePM
		}
		return style, end, true
	}
	for _, c := range [...]struct {
		letter string
		style  uint8
	}{{"a", StyleAM}, {"p", StylePM}} {
		if q.wordAt(i, c.letter) && q.mark(i+1, ".") && q.wordAt(i+2, "m") {
			end := i + 3
			if q.mark(end, ".") && q.toks[end].glued {
				end++
			}
			return c.style, end, true
		}
	}
	return 0, i, false
}

// pastTheHour reads "ten past four", "quarter after six", "twenty to seven". "To"
// is of a clock only in words: "10 to 7" is a score.
func (q *Question) pastTheHour(i int) (int, bool) {
	n, j, ok := q.small(i)
	switch {
	case ok:
	case q.wordAt(i, "quarter"):
		n, j = 15, i+1
	case q.wordAt(i, "half"):
		n, j = 30, i+1
	default:
		return i, false
	}
	if q.wordAt(j, "minutes") {
		j++
	}
	to := q.wordAt(j, "to") || q.wordAt(j, "til") || q.wordAt(j, "till")
	if n < 5 || n > 30 || !to && !q.wordAt(j, "past") && !q.wordAt(j, "after") || to && (q.toks[i].kind != wordToken || n%5 != 0 || n > 25) {
		return i, false
	}
	hour, end, ok := q.small(j + 1)
	if !ok || hour < 1 || hour > 12 {
		return i, false
	}
	if _, _, unit := q.unit(end); unit {
		return i, false
	}
	if to {
		n = 60 - n
		if hour--; hour == 0 {
			hour = 12
		}
	}
	return q.clockEnd(i, end, hour, n), true
}

// spokenClock reads a dictated clock: "three twenty", "five oh five", "nine fifteen".
// Two number words that do not add up to one number are minutes and seconds.
func (q *Question) spokenClock(i int) (int, bool) {
	if end, ok := q.pastTheHour(i); ok {
		return end, true
	}
	t, end, ok := q.tagAt(i, gNum)
	if !ok || q.toks[i].kind != wordToken {
		return i, false
	}
	m := q.x.info[t].n
	if m < 1 || m > 15 || q.mark(end, "-") {
		return i, false
	}
	j, oh := end, false
	if q.wordAt(j, "oh") || q.wordAt(j, "o") {
		j, oh = j+1, true
	}
	if q.wordAt(j, "y") { // "tres y veinte" is a clock too
		j++
	}
	s, send, ok := q.small(j)
	if !ok || oh && s > 9 || !oh && (s < 10 || s > 59) {
		return i, false
	}
	if _, _, ok := q.unit(send); ok { // "two thirty second penalties"
		return i, false
	}
	if _, _, ok := q.tagAt(send, gStickWord); ok {
		return i, false
	}
	v := m*60 + s
	q.push(Quantity{Kind: Clock, Lo: v, Hi: v, Unit: noTag, start: i, end: send, Role: noTag, word: true})
	return send, true
}

// period reads 3rd quarter, Q3, third, cuarto periodo, second half, overtime.
func (q *Question) period(i int) (int, bool) {
	// overtime, possibly numbered
	if _, end, ok := q.tagAt(i, gOvertime); ok {
		q.push(Quantity{Kind: Period, Lo: OvertimePeriod, Hi: OvertimePeriod, Unit: noTag, start: i, end: end, Role: noTag})
		return end, true
	}
	if q.wordAt(i, "last") || q.wordAt(i, "final") || q.wordAt(i, "ultimo") || q.wordAt(i, "ultima") { // the last quarter
		if end, ok := q.lastQuarter(i); ok {
			q.push(Quantity{Kind: Period, Lo: 4, Hi: 4, Unit: noTag, start: i, end: end, Role: noTag})
			return end, true
		}
		if t, end, ok := q.tagAt(i+1, gPeriodWord); ok && q.x.info[t].n != 1 {
			k, v := Period, q.x.info[t].n
			if v == 2 {
				k = Half
			}
			q.push(Quantity{Kind: k, Lo: v, Hi: v, Unit: noTag, start: i, end: end, Role: noTag})
			return end, true
		}
	}
	if t, end, ok := q.tagAt(i, gPeriodWord); ok { // quarter 3, Q3, period two
		if n, ok := q.number(end); ok && n.milli >= measure.One && n.milli <= 9*measure.One && n.milli%measure.One == 0 {
			if _, _, unit := q.unit(n.end); !unit && (q.x.info[t].n != 2 || n.milli <= 2*measure.One) { // "in their half 5 in ours"
				k := Period
				if q.x.info[t].n == 2 {
					k = Half
				}
				if q.x.info[t].n == 4 && !q.toks[end].glued && q.toks[i].text == "q" {
					return i, false
				}
				v := n.milli / measure.One
				q.push(Quantity{Kind: k, Lo: v, Hi: v, Unit: noTag, start: i, end: n.end, Role: noTag})
				return n.end, true
			}
		}
		if _, _, both := q.tagAt(i, gOrd); !both { // "cuarto" is a quarter and the fourth
			return i, false
		}
		if _, _, named := q.tagAt(end, gPeriodWord); !named {
			if _, _, counted := q.tagAt(end, gStickWord); counted && q.Lang == "es" { // "un cuarto jugador"
				q.push(Quantity{Kind: Ordinal, Lo: 4, Hi: 4, Unit: noTag, start: i, end: end, Role: noTag})
				return end, true
			}
			if q.fourth(i) {
				q.push(Quantity{Kind: Period, Lo: 4, Hi: 4, Unit: noTag, start: i, end: end, Role: noTag})
				return end, true
			}
			return i, false
		}
	}
	ord, end, ok := q.ordinal(i)
	if !ok {
		return i, false
	}
	if _, e, ok := q.tagAt(end, gOvertime); ok {
		v := int64(OvertimePeriod) + ord - 1
		q.push(Quantity{Kind: Period, Lo: v, Hi: v, Unit: noTag, start: i, end: e, Role: noTag})
		return e, true
	}
	if t, e, ok := q.tagAt(end, gPeriodWord); ok {
		k := Period
		if q.x.info[t].n == 2 && ord <= 2 { // "cuarto tiempo" is a quarter
			k = Half
		}
		q.push(Quantity{Kind: k, Lo: ord, Hi: ord, Unit: noTag, start: i, end: e, Role: noTag})
		return e, true
	}
	q.push(Quantity{Kind: Ordinal, Lo: ord, Hi: ord, Unit: noTag, start: i, end: end, Role: noTag})
	return end, true
}

// ordinal reads 3rd, third, 3er, tercer, and a bare "3 q".
func (q *Question) ordinal(i int) (int64, int, bool) {
	if q.isNum(i) && !q.toks[i].frac {
		v := q.toks[i].milli / measure.One
		if i+1 < len(q.toks) && q.toks[i+1].glued {
			if _, end, ok := q.tagAt(i+1, gOrdSuffix); ok {
				return v, end, true
			}
			if q.wordOf(i+1, gOrdSuffix) { // a longer phrase holds "4th" as well
				return v, i + 2, true
			}
			if q.mark(i+1, "°") && v < 10 && q.Lang == "es" {
				return v, i + 2, true
			}
			if q.wordAt(i+1, "q") {
				return v, i + 1, true
			}
		}
		return 0, i, false
	}
	if t, end, ok := q.tagAt(i, gNum); ok && q.x.info[t].n >= 20 && q.x.info[t].n < 100 { // thirty first
		if q.mark(end, "-") {
			end++
		}
		if o, e, ok := q.tagAt(end, gOrd); ok && q.x.info[o].n < 10 {
			return q.x.info[t].n + q.x.info[o].n, e, true
		}
	}
	if t, end, ok := q.tagAt(i, gOrd); ok {
		for _, o := range q.hits[q.hitAt[i]].tags { // "second" is also a unit: "thirty second" was read before
			_, _, period := q.tagAt(end, gPeriodWord)
			if q.x.info[o].group == gUnit && !period && i > 0 && (q.isNum(i-1) || q.article(i-1)) {
				return 0, i, false
			}
		}
		return q.x.info[t].n, end, true
	}
	return 0, i, false
}

// figuresApart reads what dictation makes of a game clock: "at 3 00", "scored 2 45",
// and "six flat". Two numbers apart are a clock only where fouls or goals are told.
func (q *Question) figuresApart(i int) (int, bool) {
	m, j, ok := q.small(i)
	if q.isNum(i) && !q.toks[i].frac {
		m, j, ok = q.toks[i].milli/measure.One, i+1, true
	}
	if !ok || m < 1 || m > 15 {
		return i, false
	}
	if q.wordAt(j, "flat") && !q.tagInScope(q.Whole(), "stick") {
		return q.clockEnd(i, j+1, m, 0), true
	}
	if !q.isNum(i) || !q.isNum(j) || q.toks[j].glued || len(q.toks[j].text) != 2 || q.toks[j].milli >= 60*measure.One {
		return i, false
	}
	if _, _, unit := q.unit(j + 1); unit || q.mark(j+1, ":") || q.mark(j+1, "/") {
		return i, false
	}
	for k := range q.hits {
		if h := &q.hits[k]; q.inGroup(h, "foul") || q.is(h, "goal:scored", "released", "lightning") {
			return q.clockEnd(i, j+1, m, q.toks[j].milli/measure.One), true
		}
	}
	return i, false
}
