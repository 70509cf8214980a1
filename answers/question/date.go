package question

import "sidewall/answers/measure"

// bornBefore says whether a word of birth stands right before token i.
func (q *Question) bornBefore(i int) bool {
	for j := max(0, i-2); j < i; j++ {
		if h := q.hitAt[j]; h >= 0 && q.is(&q.hits[h], "born") {
			return true
		}
	}
	return false
}

// date reads 2015-10-03, 10/3/2015 (month first), 10/3/15, Oct 3 2015,
// 3 October 2015, 3 de octubre de 2015, March 2014, "born in 2014", spring 2027.
func (q *Question) date(i int) (int, bool) {
	if t, end, ok := q.tagAt(i, gSeasonWord); ok {
		return q.season(t, i, end)
	}
	if q.isNum(i) && len(q.toks[i].text) == 4 && q.mark(i+1, "-") && q.isNum(i+2) && q.mark(i+3, "-") && q.isNum(i+4) {
		return q.pushDay(q.whole(i), q.whole(i+2), q.whole(i+4), i, i+5)
	}
	if q.isNum(i) && (q.mark(i+1, "/") || q.mark(i+1, "-") || q.mark(i+1, ".")) && q.isNum(i+2) &&
		q.mark(i+3, q.toks[i+1].text) && q.isNum(i+4) && q.toks[i+2].glued && q.toks[i+4].glued {
		m, d := q.whole(i), q.whole(i+2)
		if m > 12 && d <= 12 { // only one reading is left
			m, d = d, m
		}
		return q.pushDay(year(q.whole(i+4), q.toks[i+4].text), m, d, i, i+5)
	}
	if q.isNum(i) && q.isNum(i+1) && q.isNum(i+2) && len(q.toks[i+2].text) == 4 && i > 0 && q.bornBefore(i) { // "born 9 1 2015"
		return q.pushDay(q.whole(i+2), q.whole(i), q.whole(i+1), i, i+3)
	}
	if t, end, ok := q.tagAt(i, gMonth); ok {
		if q.toks[i].text == "may" || q.toks[i].text == "march" || q.toks[i].text == "mar" || q.toks[i].text == "dec" {
			if !q.isNum(end) { // "may he", "march down the field"
				if _, _, ord := q.ordinal(end); !ord {
					return i, false
				}
			}
		}
		m := int(q.x.info[t].n)
		j := end
		if q.mark(j, ".") {
			j++
		}
		if d, e, ok := q.dayNumber(j); ok {
			k := e
			if q.mark(k, ",") || q.wordAt(k, "of") || q.wordAt(k, "de") || q.wordAt(k, "del") {
				k++
			}
			if y, ye, ok := q.yearAt(k); ok {
				return q.pushDay(y, m, d, i, ye)
			}
			return q.pushDay(0, m, d, i, e)
		}
		if q.mark(j, ",") || q.wordAt(j, "of") || q.wordAt(j, "de") || q.wordAt(j, "del") {
			j++
		}
		if y, ye, ok := q.yearAt(j); ok {
			first, ok1 := measure.NewDate(y, m, 1)
			if !ok1 {
				return i, false
			}
			last := first.AddDays(31)
			last, _ = measure.NewDate(last.Year(), last.Month(), 1)
			q.push(Quantity{Kind: Day, Lo: int64(first), Hi: int64(last.AddDays(-1)), Unit: noTag, start: i, end: ye, Role: noTag})
			return ye, true
		}
		return i, false
	}
	// 3 October 2015, 3 de octubre del 2015, the 3rd of October
	if d, e, ok := q.dayNumber(i); ok {
		j := e
		if q.wordAt(j, "of") || q.wordAt(j, "de") {
			j++
		}
		if t, me, ok := q.tagAt(j, gMonth); ok {
			k := me
			if q.mark(k, ",") || q.wordAt(k, "de") || q.wordAt(k, "del") || q.wordAt(k, "of") {
				k++
			}
			if y, ye, ok := q.yearAt(k); ok {
				return q.pushDay(y, int(q.x.info[t].n), d, i, ye)
			}
			if q.toks[j].text == "may" && j == e {
				return i, false // "number 5 may play"
			}
			return q.pushDay(0, int(q.x.info[t].n), d, i, me)
		}
	}
	// a year alone: born in 2014, a 2014 kid
	if y, e, ok := q.yearAt(i); ok && len(q.toks[i].text) == 4 && !q.mark(e, ":") {
		if _, _, unit := q.unit(e); unit {
			return i, false
		}
		if _, se, ok := q.tagAt(e, gSeasonWord); ok { // "the 2027 spring season"
			q.push(Quantity{Kind: Season, Lo: int64(y), Hi: int64(y), Unit: noTag, start: i, end: se, Role: noTag})
			return se, true
		}
		q.push(Quantity{Kind: Day, Lo: int64(y*10000 + 101), Hi: int64(y*10000 + 1231), Unit: noTag, start: i, end: e, Role: noTag})
		return e, true
	}
	return i, false
}

func (q *Question) whole(i int) int { return int(q.toks[i].milli / measure.One) }

func (q *Question) pushDay(y, m, d, i, end int) (int, bool) {
	if y == 0 {
		q.push(Quantity{Kind: Day, Unit: noTag, start: i, end: end, Role: noTag, partDay: int16(m*100 + d)}) // a day without a year settles nothing
		return end, true
	}
	day, ok := measure.NewDate(y, m, d)
	if !ok {
		q.BadDate = true
		q.push(Quantity{Kind: Day, Unit: noTag, start: i, end: end, Role: noTag})
		return end, true
	}
	q.push(Quantity{Kind: Day, Lo: int64(day), Hi: int64(day), Unit: noTag, start: i, end: end, Role: noTag})
	return end, true
}

func year(n int, text string) int {
	if len(text) <= 2 {
		return 2000 + n
	}
	return n
}

func (q *Question) yearAt(i int) (int, int, bool) {
	if q.mark(i, "'") && q.isNum(i+1) && len(q.toks[i+1].text) == 2 {
		return 2000 + q.whole(i+1), i + 2, true
	}
	if v, e, ok := q.small(i); ok && v == 2 && (q.wordAt(e, "mil") || q.wordAt(e, "thousand")) { // dos mil diecisiete
		y, end := 2000, e+1
		if q.joins(end) {
			end++
		}
		if u, ue, ok := q.small(end); ok && u < 100 {
			return y + int(u), ue, true
		}
		return y, e + 1, true
	}
	if v, e, ok := q.small(i); ok && v == 20 { // twenty fifteen
		if u, ue, ok := q.small(e); ok && u >= 10 && u < 100 {
			return 2000 + int(u), ue, true
		}
	}
	if !q.isNum(i) || q.toks[i].frac {
		return 0, i, false
	}
	if y := q.whole(i); len(q.toks[i].text) == 4 && y >= 1950 && y <= 2100 {
		return y, i + 1, true
	}
	return 0, i, false
}

// dayNumber reads 3, 3rd, third, primero, tres as a day of the month.
func (q *Question) dayNumber(i int) (int, int, bool) {
	if v, e, ok := q.ordinal(i); ok && v >= 1 && v <= 31 {
		return int(v), e, true
	}
	if q.isNum(i) && !q.toks[i].frac {
		if v := q.whole(i); v >= 1 && v <= 31 {
			return v, i + 1, true
		}
	}
	if v, e, ok := q.small(i); ok && v >= 1 && v <= 31 {
		return int(v), e, true
	}
	return 0, i, false
}

// season reads "spring 2027", "primavera del 2027", "fall of 2026", "next season";
// the season of an autumn is that of the spring that follows.
func (q *Question) season(t Tag, i, end int) (int, bool) {
	k := end
	for q.wordAt(k, "of") || q.wordAt(k, "de") || q.wordAt(k, "del") || q.wordAt(k, "season") || q.wordAt(k, "in") {
		k++
	}
	y, e, ok := q.yearAt(k)
	if !ok {
		return i, false
	}
	if q.x.info[t].n == 1 { // autumn
		y++
	}
	q.push(Quantity{Kind: Season, Lo: int64(y), Hi: int64(y), Unit: noTag, start: i, end: e, Role: noTag})
	return e, true
}
