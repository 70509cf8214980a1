package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

const endTopic = "crosse-end"

// crosseEnd judges the butt end of a handle and how thick the handle is.
func crosseEnd() *Check {
	caps := []string{"end:cap"}
	return &Check{
		Topic:      endTopic,
		Help:       "whether the butt end and the handle of a stick are legal",
		HelpES:     "si la punta y el mango del palo son legales",
		Examples:   []string{"no butt cap on a metal shaft?", "handle is 3.5 inches around with the tape, legal?"},
		ExamplesES: []string{"¿un palo de metal sin tapa en la punta?"},
		Wants: []question.Want{
			{Name: "handle_circumference_in", Read: question.Measure{Kind: question.Length, Dims: []string{"around", "", "headwidth", "stick"}, BareUnit: int64(measure.Inch), BareLo: 1, BareHi: 12, BareDims: []string{"around"}, Most: int64(12 * measure.Inch)}.Reader()},
			{Name: "end_cap", Read: question.Or(
				question.Flagged([]string{"end:fixed"}, nil),
				question.Judged(nil, []string{"end:bottle-cap"}),
				question.Lost([]string{"end:cap", "thing:end-cap"}, []string{"ask:without", "gone"}),
				question.Turned(question.Lacking("lack", "thing:end-cap")),
				question.Judged(caps, []string{"end:open", "end:tape-only"}),
				question.Judged(nil, []string{"end:nothing"}),
			)},
			{Name: "taped", Read: question.Flagged([]string{"end:tape", "end:tape-only"}, nil)},
			{Name: "bottle_cap", Read: question.Flagged([]string{"end:bottle-cap"}, nil)},
			{Name: "wooden", Read: question.Flagged([]string{"end:wood"}, nil)},
		},
		Keys:   []string{"crosse-end/end_cap_required", "crosse-end/tape_alone_allowed", "crosse-end/metal_bottle_cap_allowed", "crosse-end/max_handle_circumference"},
		Decide: decideCrosseEnd,
	}
}

func decideCrosseEnd(c *Case) {
	thick, measured := c.Fact("handle_circumference_in")
	good := ""
	if measured {
		limit, ok := c.Number(endTopic, "max_handle_circumference")
		if !ok {
			c.NotCovered()
			return
		}
		c.ParamNum("max_around_in", In(limit))
		c.Line("around-limit")
		c.Edge(thick.Hi, limit)
		if thick.Hi > limit {
			c.Rule(answer.NotLegal, "too-thick")
			c.Line("fix-thick")
			return
		}
		good = "thick-legal"
	}
	if b, ok := c.Said("bottle_cap"); ok && b {
		if allowed, ok := c.Flag(endTopic, "metal_bottle_cap_allowed"); ok && !allowed {
			c.Rule(answer.NotLegal, "bottle-cap")
			c.Line("fix-cap")
			return
		}
	}
	capped, told := c.Said("end_cap")
	taped, _ := c.Said("taped")
	wood, _ := c.Said("wooden")
	required, known := c.Flag(endTopic, "end_cap_required")
	if !known {
		c.NotCovered()
		return
	}
	must := c.Asked.Any("ask:must", "ask:what") && !c.Asked.May() && !c.Asked.Has("ask:without")
	switch {
	case told && !capped && wood:
		c.Rule(answer.Depends, "wooden")
	case told && !capped && required && !(must && !taped):
		c.Rule(answer.NotLegal, "no-cap")
		if taped {
			if alone, ok := c.Flag(endTopic, "tape_alone_allowed"); ok && !alone {
				c.Head = "tape-alone"
			}
		}
		c.Line("fix-cap")
	case told && must:
		c.Rule(answer.Info, "info")
	case told && capped:
		c.Rule(answer.Legal, "cap")
		if taped {
			c.Head = "cap-taped"
		}
		c.Line("hollow-only")
	case good != "":
		c.Rule(answer.Legal, good)
	case taped && c.Asked.May() && !c.Asked.Any("dim:around"):
		c.Need("end_cap")
	case c.Asked.Any("dim:around", "thing:handle") && c.Asked.Any("ask:what", "ask:howbig", "ask:howmany", "ask:how", "ask:howlong", "ask:most"):
		limit, ok := c.Number(endTopic, "max_handle_circumference")
		if !ok {
			c.NotCovered()
			return
		}
		c.ParamNum("max_around_in", In(limit))
		c.Rule(answer.Info, "info-around")
	case c.Asked.May():
		c.Need("end_cap")
	default:
		c.Rule(answer.Info, "info")
	}
}
