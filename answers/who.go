package answers

import (
	"sidewall/answers/checks"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// who is the divisions and positions that a question may mean.
type who struct {
	divs     sheet.Mask
	pos      sheet.Mask
	divFact  string // the division named, for facts; "" where it was not
	posFact  string
	assumed  bool // the division is the channel's or the person's
	byAge    bool // an age or a grade gave the divisions
	grade    bool
	tooOld   bool
	unknown  int // a division number that the book lacks
	explicit bool
}

func (d *Desk) allDivisions() sheet.Mask { return 1<<uint(len(d.book.Divisions)) - 1 }

// who works out whom a part of a question is about: what its own words say, then
// the rest of the question, then the thread, then what is bound.
func (d *Desk) who(a *ask, p *question.Part) who {
	w := who{divs: d.allDivisions(), pos: sheet.AllPositions}
	scopes := [...]question.Scope{p.Scope, a.q.Whole()}
	n := 2
	if p.Whole {
		n = 1
	}
	found := false
	for _, s := range scopes[:n] {
		if ds := a.q.Divisions(s); len(ds) > 0 {
			k := ds[len(ds)-1] // of several the last one counts: "moves up from U11 to U13"
			if p.Division > 0 {
				k = p.Division - 1
			}
			w.divs, w.divFact, found, w.explicit = 1<<uint(k), d.book.Divisions[k].ID, true, true
			break
		}
		if m, grade, old, ok := d.byAge(a, s); ok {
			w.divs, w.byAge, w.grade, w.tooOld, found = m, true, grade, old, true
			if i := highest(m); i >= 0 && m == 1<<uint(i) && !grade {
				w.divFact, w.byAge = d.book.Divisions[i].ID, false
			}
			break
		}
	}
	if !found && a.q.UnknownDivision != 0 {
		w.unknown, found = a.q.UnknownDivision, true
	}
	if !found && a.thread != nil && a.thread.divs != 0 {
		w.divs, w.byAge = a.thread.divs, a.thread.byAge
		w.divFact = a.thread.division
		found = true
	}
	if k := d.book.Sheet.DivisionIndex(a.req.Division); k >= 0 {
		switch {
		case !found:
			w.divs, w.divFact, w.assumed = 1<<uint(k), a.req.Division, true
		case w.byAge && w.divs.Has(k): // the age may be of the bound division, so it is
			w.divs, w.divFact, w.byAge, w.assumed = 1<<uint(k), a.req.Division, false, true
		}
	}
	for _, s := range scopes[:n] {
		if name := a.q.Position(s); name != "" {
			w.pos, _ = sheet.PositionMask(name)
			w.posFact = name
			break
		}
	}
	if w.posFact == "" && a.thread != nil && a.thread.position != "" {
		w.posFact = a.thread.position
		w.pos, _ = sheet.PositionMask(w.posFact)
	}
	if w.posFact == "" && a.req.Position != "" {
		if m, ok := sheet.PositionMask(a.req.Position); ok {
			w.pos, w.posFact = m, a.req.Position
		}
	}
	return w
}

// byAge gives the divisions that an age, a birth date or a school grade in a scope may mean.
func (d *Desk) byAge(a *ask, s question.Scope) (m sheet.Mask, grade, tooOld, ok bool) {
	if u, found := a.q.First(question.Age, s); found {
		for age := int(u.Lo); age <= int(u.Hi); age++ {
			if age > d.book.MaxAge {
				tooOld = true
				continue
			}
			m |= d.divisionsOfAge(age, a.on)
		}
		return m, false, tooOld && m == 0, true
	}
	if u, found := a.q.First(question.Day, s); found && u.Lo != 0 && a.q.Has("born") {
		w := d.birth(measure.Date(u.Lo), measure.Date(u.Hi), a.on, 0)
		if w.Over || w.Future {
			return 0, false, w.Over, w.Over
		}
		for i := d.book.Sheet.DivisionIndex(w.Last); i <= d.book.Sheet.DivisionIndex(w.Division) && i >= 0; i++ {
			m |= 1 << uint(i)
		}
		return m, false, false, m != 0
	}
	if u, found := a.q.First(question.Grade, s); found {
		// a grade is one or two years of age: the usual one, and a year older
		for i, div := range d.book.Divisions {
			for _, g := range div.Grades {
				if g == int(u.Lo) {
					m |= 1 << uint(i)
				}
			}
		}
		if i := highest(m); i >= 0 && d.book.Divisions[i].Under > 0 && int(u.Lo)+6 > d.book.Divisions[i].Under-1 && i+1 < len(d.book.Divisions) {
			m |= 1 << uint(i+1)
		}
		return m, true, false, m != 0
	}
	return 0, false, false, false
}

func highest(m sheet.Mask) int {
	for i := 31; i >= 0; i-- {
		if m.Has(i) {
			return i
		}
	}
	return -1
}

// divisionsOfAge are the divisions of people who are so old on a day.
func (d *Desk) divisionsOfAge(age int, on measure.Date) sheet.Mask {
	first := on.AddYears(-age - 1).AddDays(1)
	last := on.AddYears(-age)
	var m sheet.Mask
	y := d.seasonOf(on)
	lo, hi := d.divisionOf(last, y), d.divisionOf(first, y)
	for i := lo; i <= hi && i >= 0; i++ {
		m |= 1 << uint(i)
	}
	return m
}

// seasonOf is the spring year of the season that a day belongs to.
func (d *Desk) seasonOf(on measure.Date) int {
	if on <= d.cutoff(on.Year()+1) {
		return on.Year()
	}
	return on.Year() + 1
}

// cutoff is the day on which ages count for the season with this spring.
func (d *Desk) cutoff(spring int) measure.Date {
	day, ok := measure.NewDate(spring-1, d.book.Cutoff.Month, d.book.Cutoff.Day)
	if !ok {
		day, _ = measure.NewDate(spring-1, 8, 31)
	}
	return day
}

// divisionOf is the index of the youngest division that takes somebody born on
// a day in the season with this spring: under N on the cut-off.
func (d *Desk) divisionOf(born measure.Date, spring int) int {
	age := born.AgeOn(d.cutoff(spring))
	for i, div := range d.book.Divisions {
		if div.Under == 0 || age < div.Under {
			return i
		}
	}
	return len(d.book.Divisions) - 1
}

// birth says which division a span of birth dates falls in.
func (d *Desk) birth(from, to, on measure.Date, spring int) checks.Windows {
	if spring == 0 {
		spring = d.seasonOf(on)
	}
	cut := d.cutoff(spring)
	w := checks.Windows{Cutoff: cut, AgeOnCutoff: from.AgeOn(cut), Season: spring}
	if to > on && from > on {
		w.Future = true
		return w
	}
	if from.AgeOn(cut) > d.book.MaxAge && to.AgeOn(cut) > d.book.MaxAge {
		w.Over = true
	}
	i, j := d.divisionOf(from, spring), d.divisionOf(to, spring)
	w.Division, w.Last = d.book.Divisions[i].ID, d.book.Divisions[j].ID
	if n := d.book.Divisions[i].Under; n > 0 {
		w.From = cut.AddYears(-n).AddDays(1)
	}
	w.To = cut // the youngest division takes everybody younger
	if i > 0 {
		w.To = cut.AddYears(-d.book.Divisions[i-1].Under)
	}
	return w
}
