package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

const divisionTopic = "division"

// division places a player by birth date, age or grade, and tells a division's
// birth dates. The windows come from the book's cut-off day through Case.Birth.
func division() *Check {
	return &Check{
		Topic:      divisionTopic,
		Help:       "which division a player belongs in",
		HelpES:     "en qué división juega un jugador",
		Examples:   []string{"born Oct 3 2015, which team in spring 2027?", "which birth dates are U11 in spring 2027"},
		ExamplesES: []string{"nació el 3 de octubre de 2015, ¿en qué división juega?"},
		Wants: []question.Want{
			{Name: "birth_date", Read: question.BirthDate()},
			{Name: "season", Read: question.SpringSeason()},
			{Name: "grade", Read: question.Measure{Kind: question.Grade}.Reader()},
			{Name: "age", Read: question.Measure{Kind: question.Age}.Reader()},
		},
		Either: [][]string{{"birth_date", "grade", "age"}},
		Keys:   []string{"division/picks", "division/youth_while_on_high_school_team"},
		Decide: decideDivision,
	}
}

func decideDivision(c *Case) {
	spring := 0
	if s, ok := c.Fact("season"); ok {
		spring = int(s.Lo / one)
	}
	// Which division takes him is a youth rule, whoever turns out to be too old for it.
	if win, lost := c.Sheet.Lookup(divisionTopic, "picks", 0, c.Position, c.On); win != nil {
		c.Use(win, lost)
	}
	if born, ok := c.Fact("birth_date"); ok {
		c.placeBorn(measure.Date(born.Lo), measure.Date(born.Hi), spring, born.Lo == born.Hi)
		return
	}
	if grade, ok := c.Fact("grade"); ok && c.Grades != nil {
		if id, ok := c.Grades(int(grade.Lo / one)); ok {
			c.PutText("division", id)
			c.Rule(answer.Depends, "grade")
			c.Line("ask-birth")
			return
		}
	}
	if age, ok := c.Fact("age"); ok {
		// Whoever is so old today was born on one of these days.
		oldest := c.On.AddYears(-int(age.Hi/one) - 1).AddDays(1)
		c.placeBorn(oldest, c.On.AddYears(-int(age.Lo/one)), spring, false)
		return
	}
	switch {
	case c.Asked.Has("asks:cutoff") && !c.Asked.Has("asks:window"):
		w := c.Birth(c.On, c.On, spring)
		c.PutText("cutoff", w.Cutoff.String())
		c.ParamNum("spring", float64(w.Season))
		c.Rule(answer.Info, "cutoff")
	case c.DivKnown && c.Asked.Has("asks:window"):
		c.window(spring)
	default:
		c.Need("birth_date")
	}
}

// placeBorn places a birth date, or a span of them where they all fall in one division.
func (c *Case) placeBorn(from, to measure.Date, spring int, day bool) {
	w := c.Birth(from, to, spring)
	switch {
	case w.Future:
		c.Need("birth_date")
		c.Head = "future"
		return
	case w.Over:
		c.Rule(answer.NoAnswer, "over")
		return
	case w.Division != w.Last:
		c.ParamText("older", w.Division)
		c.ParamText("younger", w.Last)
		c.Need("birth_date")
		c.Head = "need-day"
		return
	}
	c.PutText("division", w.Division)
	c.PutText("cutoff", w.Cutoff.String())
	c.ParamNum("spring", float64(w.Season))
	if day {
		c.PutNum("age_on_cutoff", float64(w.AgeOnCutoff))
	}
	c.putWindow(w)
	c.Rule(answer.Info, "placed")
	switch {
	case w.From == 0:
		c.Line("window-oldest")
	default:
		c.Line("window")
	}
}

func (c *Case) putWindow(w Windows) {
	if w.From != 0 {
		c.PutText("born_from", w.From.String())
	}
	if w.To != 0 {
		c.PutText("born_to", w.To.String())
	}
}

// window finds a division's birth dates by going from the youngest division to
// the next older one.
func (c *Case) window(spring int) {
	want := c.Sheet.Divisions[c.Division]
	day := min(c.On, c.Birth(c.On, c.On, spring).Cutoff) // nobody is younger
	for range c.Sheet.Divisions {
		w := c.Birth(day, day, spring)
		if w.Division == want {
			c.PutText("division", want)
			c.PutText("cutoff", w.Cutoff.String())
			c.ParamNum("spring", float64(w.Season))
			c.putWindow(w)
			c.Rule(answer.Info, "window-of")
			if w.From == 0 {
				c.Head = "window-of-oldest"
			}
			return
		}
		if w.From == 0 || w.Future {
			break
		}
		day = w.From.AddDays(-1)
	}
	c.NotCovered()
}
