package question

// BirthDate reads a date of birth: a whole date before a month, a month before a
// year, a year before a day without its year; of two alike the one said last.
func BirthDate() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best, rank := -1, -1
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind != Day || !s.holds(u.start, u.end) {
				continue
			}
			r := 0
			switch {
			case u.Lo == 0:
			case u.Lo == u.Hi:
				r = 3
			case u.Hi-u.Lo < 100:
				r = 2
			default:
				r = 1
			}
			if r >= rank {
				best, rank = i, r
			}
		}
		if best < 0 || rank == 0 { // a day without a year settles nothing
			return Val{}, span{}, false
		}
		u := &q.Quantities[best]
		u.used = true
		if v, at, ok := q.turned(u); ok {
			return v, at, true
		}
		if v, at, ok := q.birthday(s, u); ok {
			return v, at, true
		}
		return Val{Kind: DayVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}, true
	}
}

// SpringSeason reads the spring year of a season ("spring 2027"), or a year that
// stands alone beside a date of birth ("next spring (2028), born 10/10/2017").
// It is read after BirthDate.
func SpringSeason() Reader {
	named := Measure{Kind: Season}.Reader()
	return func(q *Question, s Scope) (Val, span, bool) {
		if v, at, ok := named(q, s); ok {
			return v, at, ok
		}
		whole := false
		for i := range q.Quantities {
			u := &q.Quantities[i]
			whole = whole || u.Kind == Day && u.used && u.Lo == u.Hi && s.holds(u.start, u.end)
		}
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if whole && u.Kind == Day && !u.used && u.Hi-u.Lo > 1000 && s.holds(u.start, u.end) && u.Lo%10000 == 101 {
				u.used = true
				y := u.Lo / 10000 * 1000
				return Val{Kind: CountVal, Lo: y, Hi: y}, span{u.start, u.end}, true
			}
		}
		return Val{}, span{}, false
	}
}
