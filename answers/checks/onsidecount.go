package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const onsideTopic = "onside-count"

// onsideCount judges how many of a team are in each half of the field. Players
// in the box are in neither.
func onsideCount() *Check {
	return &Check{
		Topic:      onsideTopic,
		Help:       "how many of a team may be in each half",
		HelpES:     "cuántos de un equipo puede haber en cada mitad",
		Examples:   []string{"7 in our offensive half?", "six defenders plus the goalie in our own half, legal?"},
		ExamplesES: []string{"siete en la mitad ofensiva, ¿es legal?"},
		Counts:     "offensive_half",
		Wants: []question.Want{
			{Name: "offensive_half", Read: question.OffensiveHalf()},
			{Name: "defensive_half", Read: question.DefensiveHalf()},
			{Name: "went_back", Read: question.WentBack()},
		},
		Keys:       []string{"onside-count/max_offensive", "onside-count/max_defensive", "onside-count/goalkeeper_counted"},
		ByDivision: true,
		Decide:     decideOnsideCount,
	}
}

func decideOnsideCount(c *Case) {
	off, offTold := c.Fact("offensive_half")
	def, defTold := c.Fact("defensive_half")
	both := !offTold && !defTold
	wantOff := offTold || both && (c.Asked.Has("onside:off") || !c.Asked.Has("onside:def"))
	wantDef := defTold || both && (c.Asked.Has("onside:def") || !c.Asked.Has("onside:off"))
	var maxOff, maxDef int64
	ok := true
	if wantOff {
		if maxOff, ok = c.Number(onsideTopic, "max_offensive"); !ok {
			c.NotCovered()
			return
		}
		c.PutNum("max_offensive", N(maxOff))
	}
	if wantDef {
		if maxDef, ok = c.Number(onsideTopic, "max_defensive"); !ok {
			c.NotCovered()
			return
		}
		c.PutNum("max_defensive", N(maxDef))
	}
	if gone, ok := c.Fact("went_back"); ok && offTold {
		off.Lo -= gone.Lo
	}
	c.ParamNum("offensive", N(off.Lo))
	c.ParamNum("defensive", N(def.Lo))
	c.onsideRuling(offTold, defTold, offTold && off.Lo > maxOff, defTold && def.Lo > maxDef, wantOff, wantDef)
	if counted, ok := c.Flag(onsideTopic, "goalkeeper_counted"); ok && counted && wantDef {
		c.Line("keeper-counts")
	}
	if c.Asked.Has("box") {
		c.Line("box-not-counted")
	}
}

func (c *Case) onsideRuling(offTold, defTold, offOver, defOver, wantOff, wantDef bool) {
	switch {
	case offOver:
		c.Rule(answer.NotLegal, "too-many-offensive")
	case defOver:
		c.Rule(answer.NotLegal, "too-many-defensive")
	case offTold && defTold:
		c.Rule(answer.Legal, "legal-both")
	case offTold:
		c.Rule(answer.Legal, "legal-offensive")
	case defTold:
		c.Rule(answer.Legal, "legal-defensive")
	case wantOff && wantDef:
		c.Rule(answer.Info, "most-both")
	case wantOff:
		c.Rule(answer.Info, "most-offensive")
	default:
		c.Rule(answer.Info, "most-defensive")
	}
}
