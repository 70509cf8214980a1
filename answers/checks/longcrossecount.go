package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

// longCrosseCount says how many long crosses a team may have on the field; a
// goalkeeper's does not count among them unless the book says so.
func longCrosseCount() *Check {
	return &Check{
		Topic:      "long-crosse-count",
		Help:       "how many long sticks may be on the field",
		HelpES:     "cuántos palos largos puede haber en el campo",
		Examples:   []string{"five poles on the field?", "how many long poles at U11"},
		ExamplesES: []string{"¿cuántos palos largos puede haber en U13?"},
		Counts:     "long_crosses",
		Wants: []question.Want{
			{Name: "goalkeeper_included", Read: question.Flagged([]string{"count:with-goalie"}, nil)},
			{Name: "fewer", Read: question.Beside(question.Fewer("change:cut", "change:add"), "count:off")},
			{Name: "long_crosses", Read: question.TallyOf("stick:long", "count:total")},
		},
		Keys:       []string{"long-crosse-count/max_long", "long-crosse-count/goalkeeper_counted"},
		ByDivision: true,
		Decide:     decideLongCrosseCount,
	}
}

func decideLongCrosseCount(c *Case) {
	limit, ok := c.Number("long-crosse-count", "max_long")
	if !ok {
		c.NotCovered()
		return
	}
	c.PutNum("max_long", N(limit))
	counted, told := c.Flag("long-crosse-count", "goalkeeper_counted")
	v, said := c.Fact("long_crosses")
	switch {
	case said && !c.Asked.Has("ask:howmany"):
		n := v.Lo
		if f, ok := c.Fact("fewer"); ok {
			n -= f.Lo
		}
		if with, ok := c.Said("goalkeeper_included"); ok && with && told && !counted {
			n -= one // the number named has the goalkeeper's in it
			c.ParamNum("field_long", N(n))
			c.Line("without-goalkeeper")
		}
		c.ParamNum("count", N(n))
		switch {
		case n <= limit:
			c.Rule(answer.Legal, "legal")
		case limit == 0:
			c.Rule(answer.NotLegal, "too-many")
			c.Line("no-long")
		default:
			c.Rule(answer.NotLegal, "too-many")
			c.ParamNum("over", N(n-limit))
			c.Line("most")
			c.Line("fix")
		}
	case limit == 0 && c.Asked.May() && !c.Asked.Has("ask:howmany"):
		c.Rule(answer.NotLegal, "none-allowed")
	case c.Asked.Has("toomany"):
		c.Need("long_crosses")
	case c.Asked.May() && !c.Asked.Any("ask:howmany", "ask:most", "ask:what"):
		c.Rule(answer.Legal, "some")
	case limit == 0:
		c.Rule(answer.Info, "info-none")
	default:
		c.Rule(answer.Info, "info")
	}
	if told && !counted && limit > 0 {
		c.Line("goalkeeper")
	}
}
