package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const stringTopic = "stringing"

// stringing judges shooting strings, hanging strings, sidewall strings and
// strings that change the pocket in play. Everything that is told must be right.
func stringing() *Check {
	inch := int64(measure.Inch)
	hanging := question.Measure{Kind: question.Length, Dims: []string{"hanging", "", "depth", "string", "stick", "headlength", "distance", "gap"}, BareUnit: inch, BareLo: 0, BareHi: 30, BareDims: []string{"hanging", ""}}.Reader()
	return &Check{
		Topic:      stringTopic,
		Help:       "whether the strings of a head are legal",
		HelpES:     "si las cuerdas de la cabeza son legales",
		Examples:   []string{"shooting string 5 inches from the scoop?", "strings hang down 3 inches, ok?"},
		ExamplesES: []string{"¿cuerda de tiro a 5 pulgadas del borde?"},
		Wants: []question.Want{
			{Name: "hanging_string_in", Read: question.Beside(question.Or(question.Largest(question.Measure{Kind: question.Length, Dims: []string{"hanging"}}.Reader()), hanging), "dim:hanging", "thing:hanging-string")},
			{Name: "string_distance_in", Read: question.Beside(question.Or(
				question.Largest(question.Measure{Kind: question.Length, Dims: []string{"string", "distance"}}.Reader()),
				question.Measure{Kind: question.Length, Dims: []string{"string", "distance", "", "depth", "stick", "headlength", "gap", "at"}, BareUnit: inch, BareLo: 0, BareHi: 20, BareDims: []string{"string", "distance", "", "depth", "stick"}}.Reader()), "thing:shooting-string", "dim:string")},
			{Name: "sidewall_strings", Read: question.CountOf("thing:sidewall-string")},
			{Name: "extra_sidewall_string", Read: question.Flagged([]string{"string:extra"}, nil)},
			{Name: "changes_depth", Read: question.Flagged([]string{"string:pull"}, nil)},
		},
		Keys:       []string{"stringing/max_shooting_string_distance", "stringing/max_hanging_string", "stringing/max_sidewall_strings_per_side", "stringing/depth_change_in_play_allowed"},
		ByPosition: true,
		Changes:    "string_distance_in",
		Decide:     decideStringing,
	}
}

func decideStringing(c *Case) {
	var ruled, bad bool
	head := ""
	note := func(ok bool, legal, not string) {
		if ok {
			if !ruled {
				head = legal
			}
		} else if !bad {
			head, bad = not, true
		}
		ruled = true
	}
	if v, ok := c.Fact("string_distance_in"); ok {
		if r := c.Find(stringTopic, "max_shooting_string_distance"); r != nil && r.Value.Kind == sheet.Barred {
			note(true, "shooting-no-limit", "")
			c.Line("hanging-still")
		} else if r != nil {
			c.PutNum("max_string_distance_in", In(r.Value.Lo))
			note(v.Hi <= r.Value.Lo, "shooting-legal", "shooting-too-low")
			if v.Hi > r.Value.Lo {
				c.Line("fix-shooting")
			}
			c.Edge(v.Hi, r.Value.Lo)
		}
	}
	if v, ok := c.Fact("hanging_string_in"); ok {
		if limit, ok := c.Number(stringTopic, "max_hanging_string"); ok {
			c.ParamNum("max_hanging_in", In(limit))
			note(v.Hi <= limit, "hanging-legal", "hanging-too-long")
			if v.Hi > limit {
				c.Line("fix-hanging")
			}
			c.Edge(v.Hi, limit)
		}
	}
	if v, ok := c.Said("changes_depth"); ok && v {
		if allowed, ok := c.Flag(stringTopic, "depth_change_in_play_allowed"); ok {
			note(allowed, "pull-legal", "pull")
		}
	}
	extra, told := c.Said("extra_sidewall_string")
	n, counted := c.Fact("sidewall_strings")
	if told && extra || counted {
		if limit, ok := c.Number(stringTopic, "max_sidewall_strings_per_side"); ok {
			c.ParamNum("max_sidewall_strings", N(limit))
			note(!extra && n.Hi <= limit, "sidewall-legal", "sidewall-extra")
		}
	}
	switch {
	case bad:
		c.Rule(answer.NotLegal, head)
	case ruled:
		c.Rule(answer.Legal, head)
	default:
		c.stringLimits()
	}
}

// stringLimits answers what a limit is, or asks for the measure.
func (c *Case) stringLimits() {
	asks := c.Asked.Any("ask:howfar", "ask:what", "ask:howlong", "ask:howmany", "ask:howdeep", "ask:how", "ask:most")
	hanging := c.Asked.Any("thing:hanging-string", "dim:hanging") && !c.Asked.Has("thing:shooting-string")
	if hanging {
		limit, ok := c.Number(stringTopic, "max_hanging_string")
		switch {
		case !ok:
			c.NotCovered()
		case !asks && c.Asked.May():
			c.Need("hanging_string_in")
		default:
			c.ParamNum("max_hanging_in", In(limit))
			c.Rule(answer.Info, "info-hanging")
		}
		return
	}
	if c.Asked.Has("thing:sidewall-string") {
		if limit, ok := c.Number(stringTopic, "max_sidewall_strings_per_side"); ok {
			c.ParamNum("max_sidewall_strings", N(limit))
			c.Rule(answer.Info, "info-sidewall")
			return
		}
	}
	r := c.Find(stringTopic, "max_shooting_string_distance")
	switch {
	case r == nil:
		c.NotCovered()
	case r.Value.Kind == sheet.Barred && c.Asked.May() && !asks:
		c.Rule(answer.Legal, "shooting-no-limit")
		c.Line("hanging-still")
	case r.Value.Kind == sheet.Barred:
		c.Rule(answer.Info, "info-no-limit")
		c.Line("hanging-still")
	case !asks && c.Asked.Any("ask:may", "too:long", "too:short", "too:low"):
		c.Need("string_distance_in")
	default:
		c.PutNum("max_string_distance_in", In(r.Value.Lo))
		c.Rule(answer.Info, "info-shooting")
	}
}
