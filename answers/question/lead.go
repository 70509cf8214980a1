package question

import "sidewall/answers/measure"

// lead is a goal difference: the one that stands, and the widest that was said.
type lead struct {
	now, most int64
	has       bool
	at        span
}

// GoalDifference reads the lead: "12-2", "12 to 3", "up 12", "a ten goal lead",
// "we're down twelve". It is never negative.
func GoalDifference() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		l := q.lead(s)
		return countVal(l.now), l.at, l.has
	}
}

// WidestLead reads a lead that was wider before: "was 12 up, now 10".
func WidestLead() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		l := q.lead(s)
		return countVal(l.most), l.at, l.has && l.most > l.now
	}
}

const mostGoals = 60

func (q *Question) lead(s Scope) lead {
	var l lead
	put := func(n int64, at span) {
		if n < 0 || n > mostGoals {
			return
		}
		l.now, l.most, l.has, l.at = n, max(l.most, n), true, at
	}
	for i := range q.Quantities {
		if u := &q.Quantities[i]; u.Kind == Pair && s.holds(u.start, u.end) {
			d := (u.Lo - u.Hi) / measure.One
			put(max(d, -d), span{u.start, u.end})
		}
	}
	if l.has {
		return l
	}
	for i := s.start; i+2 < s.end; i++ { // "12-2" can be a date as well, but not where a lead is asked for
		if q.isNum(i) && q.mark(i+1, "-") && q.isNum(i+2) && !q.mark(i+3, "-") && !q.mark(i+3, "/") && !q.toks[i].frac && !q.toks[i+2].frac {
			d := (q.toks[i].milli - q.toks[i+2].milli) / measure.One
			put(max(d, -d), span{i, i + 3})
		}
	}
	if l.has {
		return l
	}
	var buf [maxCounted]counted
	cs := q.countedIn(s, buf[:0])
	anyOf := -1
	n := 0
	for i := range cs {
		c := &cs[i]
		if c.ordinal || c.inside {
			continue
		}
		anyOf = i
		n++
		prev, next := s.start, s.end
		if i > 0 {
			prev = cs[i-1].end
		}
		if i+1 < len(cs) {
			next = cs[i+1].start
		}
		for k := range q.hits {
			h := &q.hits[k]
			if !q.is(h, "lead", "cnt:goals", "cnt:now") || !q.sameSentence(h.start, c.start) {
				continue
			}
			after := h.start >= c.end && h.start < next && h.start-c.end <= 2
			before := h.end <= c.start && h.start >= prev && c.start-h.end <= 3
			if after || before {
				put(c.n, span{c.start, c.end})
				break
			}
		}
	}
	if !l.has && n == 2 { // "home 13 away 3", "us 12 them 2"
		a, b := &cs[0], &cs[1]
		if q.sideBeside(a) && q.sideBeside(b) && !a.ordinal && !b.ordinal {
			d := a.n - b.n
			put(max(d, -d), span{a.start, b.end})
		}
	}
	if !l.has && n == 1 {
		put(cs[anyOf].n, span{cs[anyOf].start, cs[anyOf].end})
	}
	return l
}

// sideBeside says whether one of the two teams is named right beside a number.
func (q *Question) sideBeside(c *counted) bool {
	for _, i := range [...]int{c.start - 1, c.end} {
		if i < 0 || i >= len(q.toks) {
			continue
		}
		switch q.toks[i].text {
		case "home", "away", "us", "them", "we", "they", "guests", "visitors", "visitor", "ours", "theirs", "nosotros", "ellos", "local", "visitante", "visita", "locales", "visitantes":
			return true
		}
	}
	return false
}

// PeriodSaid reads a period: "in the third", "Q4", "overtime". A half is none.
func PeriodSaid() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		var v Val
		var at span
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if (u.Kind == Period || u.Kind == Ordinal && u.Lo <= 9) && s.holds(u.start, u.end) && (v.Kind == NoVal || u.Kind == Period) {
				v, at = countVal(u.Lo), span{u.start, u.end}
			}
		}
		for i := s.start; i < s.end && v.Kind == NoVal; i++ { // inside a phrase: "arriba en el tercero"
			h := q.hitAt[i]
			if n, ok := q.wordNumber(i, gOrd); ok && n <= 9 && h >= 0 && q.hits[h].end-q.hits[h].start > 1 && q.is(&q.hits[h], "lead", "clockmode") {
				v, at = countVal(n), span{i, i + 1}
			}
		}
		return v, at, v.Kind != NoVal
	}
}

// HalfSaid reads a half: "in the second half", "after halftime".
func HalfSaid() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for i := range q.Quantities {
			if u := &q.Quantities[i]; u.Kind == Half && s.holds(u.start, u.end) {
				return countVal(u.Lo), span{u.start, u.end}, true
			}
		}
		for k := range q.hits {
			h := &q.hits[k]
			if s.holds(h.start, h.end) && q.is(h, "half:second") {
				return countVal(2), span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}
