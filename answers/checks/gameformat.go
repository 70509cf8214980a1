package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const formatTopic = "game-format"

// formatAsks are what can be asked about the format, the more telling first:
// "how many timeouts in overtime" asks for timeouts, "tied after four quarters"
// for overtime.
var formatAsks = []string{"timeouts", "overtime", "substitution-box", "crease", "goal", "halftime", "field", "players", "periods"}

// gameFormat tells players a side, periods, overtime, timeouts and the field.
func gameFormat() *Check {
	return &Check{
		Topic:      formatTopic,
		Help:       "periods, players, overtime, timeouts and field sizes",
		HelpES:     "periodos, jugadores, tiempo extra, tiempos fuera y medidas del campo",
		Examples:   []string{"how long are U13 quarters?", "U9: how many a side?", "crease radius?"},
		ExamplesES: []string{"¿cuánto duran los cuartos en U13?"},
		Wants:      []question.Want{{Name: "ask", Read: question.FormatAsk(formatAsks)}},
		Keys:       []string{"game-format/*"},
		ByDivision: true,
		Decide:     decideGameFormat,
	}
}

func decideGameFormat(c *Case) {
	ask := c.Told("ask")
	if ask == "" {
		c.formatWhole()
		return
	}
	if !c.putFormat(ask) {
		c.NotCovered()
		return
	}
	// two asks about the format in one sentence are one answer
	for _, other := range formatAsks {
		if other != ask && c.alsoAsked(other) && (c.DivKnown || other == "goal" || other == "crease") { // those are alike at any age
			head := c.Head
			if c.putFormat(other) {
				c.Line(c.Head)
			}
			c.Rule(answer.Info, head)
		}
	}
}

// alsoAsked says whether something else of the format is asked for as well; the
// periods and the players are named too often without being asked about.
func (c *Case) alsoAsked(what string) bool {
	switch what {
	case "periods":
		return c.Asked.Has("format:length") && !c.Asked.Has("format:overtime")
	case "timeouts":
		return c.Asked.Has("format:timeouts")
	case "overtime":
		return c.Asked.Has("format:overtime")
	case "halftime":
		return c.Asked.Has("format:halftime")
	case "crease":
		return c.Asked.Has("format:crease")
	case "goal":
		return c.Asked.Has("format:goal")
	case "field":
		return c.Asked.Has("format:field")
	}
	return false
}

// formatWhole is the format at a glance.
func (c *Case) formatWhole() {
	if !c.putFormat("players") || !c.putFormat("periods") {
		c.NotCovered()
		return
	}
	c.putFormat("overtime")
	c.putFormat("timeouts")
	c.nLines = 0
	c.Rule(answer.Info, "whole")
	c.Line("timeouts")
}

func (c *Case) putFormat(ask string) bool {
	switch ask {
	case "players":
		return c.putCount("players", "players", "players")
	case "periods":
		return c.putPeriods()
	case "overtime":
		return c.putOvertime()
	case "timeouts":
		return c.putTimeouts()
	case "halftime":
		s, ok := c.Number(formatTopic, "halftime")
		if ok {
			c.PutNum("halftime_s", Sec(s))
			c.Rule(answer.Info, "halftime")
		}
		return ok
	case "field":
		return c.putField()
	case "goal":
		w, ok := c.Number(formatTopic, "goal_width")
		h, ok2 := c.Number(formatTopic, "goal_height")
		if !ok || !ok2 {
			return false
		}
		c.PutRange("goal_ft", feet(w), feet(h))
		c.ParamNum("goal_wide", feet(w))
		c.ParamNum("goal_high", feet(h))
		c.Rule(answer.Info, "goal")
		return true
	case "crease":
		r, ok := c.Number(formatTopic, "crease_radius")
		if ok {
			c.PutNum("crease_radius_ft", feet(r))
			c.ParamNum("across", 2*feet(r))
			c.Rule(answer.Info, "crease")
		}
		return ok
	case "substitution-box":
		b, ok := c.Number(formatTopic, "substitution_box")
		if ok {
			c.PutNum("substitution_box_yd", Yd(b))
			c.Rule(answer.Info, "substitution-box")
		}
		return ok
	}
	return false
}

func feet(v int64) float64 { return measure.Length(v).Feet() }

func (c *Case) putCount(key, name, head string) bool {
	n, ok := c.Number(formatTopic, key)
	if ok {
		c.PutNum(name, N(n))
		c.Rule(answer.Info, head)
	}
	return ok
}

func (c *Case) putPeriods() bool {
	n, ok := c.Number(formatTopic, "periods")
	length, ok2 := c.Number(formatTopic, "period")
	clock, ok3 := c.Word(formatTopic, "clock")
	if !ok || !ok2 || !ok3 {
		return false
	}
	c.PutNum("periods", N(n))
	c.PutNum("period_s", Sec(length))
	c.PutText("clock", clock)
	c.Rule(answer.Info, "periods-"+clock)
	if run, ok := c.Number(formatTopic, "running_period"); ok {
		c.PutNum("running_period_s", Sec(run))
		c.Line("or-running")
	}
	if stop, ok := c.Number(formatTopic, "stop_period"); ok {
		c.PutNum("stop_period_s", Sec(stop))
		c.Line("or-stop")
	}
	return true
}

func (c *Case) putOvertime() bool {
	length, ok := c.Number(formatTopic, "overtime")
	if !ok {
		return false
	}
	c.PutNum("overtime_s", Sec(length))
	if length == 0 {
		c.Rule(answer.Info, "overtime-none")
		return true
	}
	c.Rule(answer.Info, "overtime")
	switch r := c.Find(formatTopic, "overtimes"); {
	case r == nil:
	case r.Value.Kind == sheet.Number:
		c.ParamNum("overtimes", N(r.Value.Lo))
		c.Line("overtime-then-tie")
	default:
		c.Line("overtime-repeated")
	}
	return true
}

func (c *Case) putTimeouts() bool {
	if !c.putCount("timeouts_per_half", "timeouts_per_half", "timeouts") {
		return false
	}
	if r := c.Find(formatTopic, "timeouts_overtime"); r != nil && r.Value.Kind == sheet.Number {
		c.ParamNum("timeouts_overtime", N(r.Value.Lo))
		c.Line("timeouts-overtime")
	}
	return true
}

func (c *Case) putField() bool {
	l, ok := c.Number(formatTopic, "field_length")
	w, ok2 := c.Number(formatTopic, "field_width")
	if !ok || !ok2 {
		return false
	}
	c.PutRange("field_yd", Yd(l), Yd(w))
	c.ParamNum("long", Yd(l))
	c.ParamNum("wide", Yd(w))
	c.Rule(answer.Info, "field")
	if m := c.Find(formatTopic, "min_field_width"); m != nil && m.Value.Kind == sheet.Number {
		c.ParamNum("least_wide", Yd(m.Value.Lo))
		c.Line("field-least")
	}
	return true
}
