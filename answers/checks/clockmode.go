package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const clockTopic = "clock-mode"

// clockMode tells whether the clock runs at a lead.
func clockMode() *Check {
	return &Check{
		Topic:      clockTopic,
		Help:       "whether the clock runs at some lead",
		HelpES:     "si el reloj corre con cierta ventaja",
		Examples:   []string{"up 12 in the third, running clock?", "what lead makes the clock run in U13?"},
		ExamplesES: []string{"¿12 arriba en el tercer cuarto, reloj corrido?"},
		Counts:     "goal_difference",
		Wants: []question.Want{
			{Name: "widest_lead", Read: question.WidestLead()},
			{Name: "goal_difference", Read: question.GoalDifference()},
			{Name: "period", Read: question.PeriodSaid()},
			{Name: "half", Read: question.HalfSaid()},
		},
		Keys:       []string{"clock-mode/*", "game-format/periods"},
		ByDivision: true,
		Decide:     decideClockMode,
	}
}

func decideClockMode(c *Case) {
	if always, ok := c.Flag(clockTopic, "always_running"); ok && always {
		c.PutBool("running", true)
		c.Rule(answer.Info, "always")
		return
	}
	lead, ok := c.Number(clockTopic, "lead")
	if !ok {
		c.NotCovered()
		return
	}
	from, _ := c.Number(clockTopic, "from_half")
	c.ParamNum("lead", N(lead))
	c.ParamNum("from_half", N(from))
	diff, told := c.Fact("goal_difference")
	if !told {
		c.PutNum("threshold", N(lead))
		c.Rule(answer.Info, "lead")
		c.stays()
		return
	}
	widest, wider := c.Fact("widest_lead")
	half := c.half()
	stays := c.stays()
	switch {
	case half > 0 && half < from:
		c.runs(false, lead, "first-half")
	case diff.Lo < lead && wider && widest.Lo >= lead && stays && half == 0:
		c.Rule(answer.Depends, "which-half")
	case diff.Lo < lead && wider && widest.Lo >= lead && stays:
		c.runs(true, lead, "keeps-running")
	case diff.Lo < lead:
		c.runs(false, lead, "under")
	case half == 0:
		c.Rule(answer.Depends, "which-half")
	default:
		c.runs(true, lead, "running")
	}
}

// runs rules; the lead is a value only where the question knows its division,
// since those that agree on the clock may have different leads.
func (c *Case) runs(yes bool, lead int64, head string) {
	c.PutBool("running", yes)
	if c.DivKnown {
		c.PutNum("threshold", N(lead))
	}
	c.Rule(answer.Info, head)
}

// stays says whether a running clock goes on when the lead shrinks.
func (c *Case) stays() bool {
	stays, ok := c.Flag(clockTopic, "stays")
	switch {
	case ok && stays:
		c.Line("stays")
	case ok:
		c.Line("goes-back")
	}
	return stays
}

// half is the half of the game as a count, 0 where it was not said.
func (c *Case) half() int64 {
	p, ok := c.Fact("period")
	if !ok { // a period that is told goes before a half that is spoken of: "now or not until after the half?"
		h, _ := c.Fact("half")
		return h.Lo
	}
	if p.Lo >= question.OvertimePeriod*one {
		return 2 * one
	}
	periods, ok := c.Number(formatTopic, "periods")
	if !ok {
		return 0
	}
	if 2*p.Lo > periods {
		return 2 * one
	}
	return one
}
