package question

import "sidewall/answers/measure"

// dayClock reads the times of day that only Spanish says this way: "las 5 y 20",
// "la una y media", "diez para las cinco", "16h20", "las 6.20 pm".
func (q *Question) dayClock(i int) (int, bool) {
	if q.Lang != "es" {
		return i, false
	}
	if q.wordAt(i, "una") && q.wordAt(i-1, "la") && q.wordAt(i-2, "a") {
		return q.pastHour(i, 1, i+1)
	}
	if end, ok := q.beforeHour(i); ok {
		return end, true
	}
	if !q.isNum(i) {
		return i, false
	}
	hour := q.toks[i].milli / measure.One
	switch {
	case hour > 24:
		return i, false
	case q.toks[i].frac: // 6.20 pm
		minutes := q.toks[i].milli % measure.One / 10
		if n := len(q.toks[i].text); !q.wordAt(i-1, "las") || n < 4 || q.toks[i].text[n-3] != '.' || minutes > 59 {
			return i, false
		}
		return q.clockEnd(i, i+1, hour, minutes), true
	case q.wordAt(i+1, "h") && q.toks[i+1].glued && q.isNum(i+2) && q.toks[i+2].glued && len(q.toks[i+2].text) == 2: // 16h20
		minutes := q.toks[i+2].milli / measure.One
		if minutes > 59 {
			return i, false
		}
		return q.clockEnd(i, i+3, hour, minutes), true
	case q.wordAt(i-1, "las"):
		return q.pastHour(i, hour, i+1)
	}
	return i, false
}

// pastHour reads what follows an hour: "y media", "y cuarto", "y 20".
func (q *Question) pastHour(start int, hour int64, i int) (int, bool) {
	if !q.wordAt(i, "y") {
		return start, false
	}
	if q.wordAt(i+1, "media") {
		return q.clockEnd(start, i+2, hour, 30), true
	}
	if q.wordAt(i+1, "cuarto") {
		return q.clockEnd(start, i+2, hour, 15), true
	}
	m, ok := q.number(i + 1)
	if !ok || m.frac || m.milli <= 0 || m.milli >= 60*measure.One || q.unitAt(m.end) && !q.minutesAt(m.end) || q.countedAt(m.end) {
		return start, false
	}
	return q.clockEnd(start, m.end, hour, m.milli/measure.One), true
}

// beforeHour reads "diez para las cinco", "cuarto para las seis".
func (q *Question) beforeHour(i int) (int, bool) {
	minutes, k := int64(15), i+1
	if !q.wordAt(i, "cuarto") {
		m, ok := q.number(i)
		if !ok || m.frac || m.milli <= 0 || m.milli >= 60*measure.One {
			return i, false
		}
		minutes, k = m.milli/measure.One, m.end
		if q.minutesAt(k) {
			k++
		}
	}
	if !q.wordAt(k, "para") || !q.wordAt(k+1, "las") && !q.wordAt(k+1, "la") {
		return i, false
	}
	hour, end := int64(1), k+3
	if !q.wordAt(k+2, "una") {
		n, ok := q.number(k + 2)
		if !ok || n.frac || n.milli < measure.One || n.milli > 12*measure.One {
			return i, false
		}
		hour, end = n.milli/measure.One, n.end
	}
	if hour--; hour == 0 {
		hour = 12
	}
	return q.clockEnd(i, end, hour, 60-minutes), true
}

// spanishDate reads "3-oct-2015" and the year of two figures in "3 de octubre
// del 15".
func (q *Question) spanishDate(i int) (int, bool) {
	if q.Lang != "es" || !q.isNum(i) || q.toks[i].frac {
		return i, false
	}
	day := q.whole(i)
	if day < 1 || day > 31 {
		return i, false
	}
	k := i + 1
	mark := ""
	if q.mark(k, "-") || q.mark(k, "/") || q.mark(k, ".") {
		mark = q.toks[k].text
		k++
	} else if q.wordAt(k, "de") {
		k++
	}
	t, end, ok := q.tagAt(k, gMonth)
	if !ok {
		return i, false
	}
	month := int(q.x.info[t].n)
	if mark != "" {
		if q.mark(end-1, mark) { // the phrase has taken the mark
			end--
		}
		if !q.mark(end, mark) || !q.isNum(end+1) {
			return i, false
		}
		return q.pushDay(year(q.whole(end+1), q.toks[end+1].text), month, day, i, end+2)
	}
	if (q.wordAt(end, "del") || q.wordAt(end, "de")) && q.isNum(end+1) && len(q.toks[end+1].text) == 2 && !q.unitAt(end+2) {
		return q.pushDay(year(q.whole(end+1), q.toks[end+1].text), month, day, i, end+2)
	}
	return i, false
}

// stickSaid says whether feet and inches are the stick's and not the player's:
// right after the word for it ("palo de 3 pies 8"), or after a verb of measuring
// in a sentence that began with the stick ("el palo de mi ataque mide 3 pies 8").
func (q *Question) stickSaid(u *Quantity) bool {
	if q.Lang != "es" {
		return false
	}
	i := u.start - 1
	for i > 0 && (q.wordAt(i, "de") || q.wordAt(i, "unos") || q.wordAt(i, "como") || q.wordAt(i, "casi")) {
		i--
	}
	if i < 0 {
		return false
	}
	if h := q.hitAt[i]; h >= 0 && q.is(&q.hits[h], "dim:stick") && !q.is(&q.hits[h], "dim:height") {
		return true
	}
	switch q.toks[i].text {
	case "mide", "miden", "midio", "media", "medir":
	default:
		return false
	}
	stick, told := -1, false
	for k := range q.hits { // whichever is named first is measured
		h := &q.hits[k]
		if !q.sameSentence(h.start, u.start) || h.start > i {
			continue
		}
		switch {
		case q.is(h, "dim:stick"):
			if !told {
				stick, told = h.end, true
			}
		case q.is(h, "person", "dim:height"):
			if !told {
				return false
			}
			if q.newClause(stick, h.start) && i-h.end <= 2 || q.saysTag("ask:whatlength", "ask:buy") && !q.saysTag("ask:may") { // "palo para mi nieto, el pelao mide 5 pies 4"
				return false
			}
		}
	}
	return told
}

// newClause says whether a comma or a word that begins a clause stands between two tokens.
func (q *Question) newClause(a, b int) bool {
	for i := a; i < b; i++ {
		if q.mark(i, ",") || q.mark(i, ":") || q.mark(i, "-") || q.mark(i, "(") || q.wordAt(i, "y") || q.wordAt(i, "pero") || q.wordAt(i, "porque") {
			return true
		}
	}
	return false
}

// clockSoon says whether a clock starts within a few tokens of token i: then a
// word for what is left that stands between belongs to it ("un minuto a falta de 3:20").
func (q *Question) clockSoon(i int) bool {
	for k := range q.Quantities {
		if u := &q.Quantities[k]; u.Kind == Clock && u.start >= i && u.start-i <= 4 {
			return true
		}
	}
	return false
}
