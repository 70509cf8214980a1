package question

import "sidewall/answers/measure"

// birthdayReach is how many tokens a word for birth stands before a day.
const birthdayReach = 4

// birthday joins a year of birth to a day that is called a birthday elsewhere:
// "turns 11 on October 20, he is a 2016", "cumple el 20 de octubre y es del 2016".
func (q *Question) birthday(s Scope, year *Quantity) (Val, span, bool) {
	if year.Lo%10000 != 101 || year.Hi-year.Lo < 1000 {
		return Val{}, span{}, false
	}
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Day || u.partDay == 0 || !s.holds(u.start, u.end) || !q.calledBirthday(u) && (u.start < year.end || u.start-year.end > 2) {
			continue
		}
		if day, ok := measure.NewDate(int(year.Lo/10000), int(u.partDay)/100, int(u.partDay)%100); ok {
			return Val{Kind: DayVal, Lo: int64(day), Hi: int64(day)}, span{u.start, u.end}, true
		}
	}
	return Val{}, span{}, false
}

func (q *Question) calledBirthday(u *Quantity) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.end <= u.start && u.start-h.end <= birthdayReach && q.is(h, "born") {
			return true
		}
	}
	return false
}

// SameYear is the day that the question names without a year, in the year of
// another one: "sorry, August 31, same year".
func (q *Question) SameYear(of int64) (Val, bool) {
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Day || u.partDay == 0 {
			continue
		}
		if day, ok := measure.NewDate(int(of/10000), int(u.partDay)/100, int(u.partDay)%100); ok {
			return Val{Kind: DayVal, Lo: int64(day), Hi: int64(day)}, true
		}
	}
	return Val{}, false
}

// LengthUnit is the unit in which the question's one length is written, in base
// units; 0 where there are none, several or feet with inches.
func (q *Question) LengthUnit() int64 {
	u, ok := q.Only(Length)
	if !ok || u.feet || u.Unit < 0 {
		return 0
	}
	return q.x.info[u.Unit].n
}

// turned reads a birth date from the day on which somebody had a birthday:
// "turned 12 on January 20 2027", "cumplió 12 el 20 de enero de 2027".
func (q *Question) turned(u *Quantity) (Val, span, bool) {
	if u.Lo != u.Hi || u.Lo == 0 {
		return Val{}, span{}, false
	}
	years := int64(0)
	for i := range q.Quantities {
		a := &q.Quantities[i]
		if a.end > u.start || u.start-a.end > 3 || a.Lo != a.Hi || a.Kind != Age && a.Kind != Bare {
			continue
		}
		n := a.Lo / measure.One
		if a.Kind == Age {
			n = a.Lo
		}
		if n >= youngest && n <= oldest && (a.Kind == Age || q.ageWordAt(a)) {
			years = n
		}
	}
	if years == 0 {
		return Val{}, span{}, false
	}
	d := measure.Date(u.Lo)
	day, ok := measure.NewDate(d.Year()-int(years), d.Month(), d.Day())
	if !ok {
		return Val{}, span{}, false
	}
	return Val{Kind: DayVal, Lo: int64(day), Hi: int64(day)}, span{u.start, u.end}, true
}

// The ages of players that are told by a birthday.
const (
	youngest = 4
	oldest   = 19
)

func (q *Question) ageWordAt(a *Quantity) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.end > a.start || a.start-h.end > 1 {
			continue
		}
		for _, t := range h.tags {
			if q.x.info[t].group == gAgeWord {
				return true
			}
		}
	}
	return false
}
