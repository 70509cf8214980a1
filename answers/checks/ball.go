package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

const ballTopic = "ball"

// ball judges a ball's size, weight and mark; everything that is told must be right.
func ball() *Check {
	inch := int64(measure.Inch)
	around := question.Measure{Kind: question.Length, Dims: []string{"around", "size", "", "distance", "string", "height", "stick", "depth"}, BareUnit: inch, BareLo: 5, BareHi: 15, BareDims: []string{"around", "string"}}.Reader()
	across := question.Beside(question.Measure{Kind: question.Length, Dims: []string{"diameter", "headwidth"}, BareUnit: inch, BareLo: 1, BareHi: 4, BareDims: []string{"diameter", "headwidth"}}.Reader(), "dim:diameter", "dim:headwidth")
	return &Check{
		Topic:      ballTopic,
		Help:       "whether a ball's size and weight are legal",
		HelpES:     "si el tamaño y el peso de la bola son legales",
		Examples:   []string{"ball is 8.25 inches around", "145 gram ball fine?"},
		ExamplesES: []string{"¿una bola de 8.25 pulgadas de circunferencia?"},
		Wants: []question.Want{
			{Name: "weight_oz", Read: question.Measure{Kind: question.Weight}.Reader()},
			{Name: "circumference_in", Read: question.Or(question.Circumference(across), around)},
			{Name: "certified", Read: question.Or(
				question.Lost([]string{"ball:mark", "helmet:certified", "helmet:sticker"}, []string{"ask:without", "gone"}),
				question.Judged([]string{"ball:mark", "helmet:certified"}, []string{"ball:unmarked"}))},
		},
		Keys:   []string{"ball/circumference", "ball/weight", "ball/standard"},
		Decide: decideBall,
	}
}

func decideBall(c *Case) {
	size, hasSize := c.Fact("circumference_in")
	weight, hasWeight := c.Fact("weight_oz")
	marked, hasMark := c.Said("certified")
	head, bad, any := "", false, false
	note := func(ok bool, legal, not string) {
		if ok {
			if !any {
				head = legal
			}
		} else if !bad {
			head, bad = not, true
		}
		any = true
	}
	if hasSize {
		lo, hi, ok := c.Range(ballTopic, "circumference")
		if !ok {
			c.NotCovered()
			return
		}
		c.PutRange("circumference_in", In(lo), In(hi))
		c.ParamNum("around", In(size.Lo))
		switch {
		case size.Lo >= lo && size.Hi <= hi:
			note(true, "size-legal", "")
		case size.Lo > hi:
			note(false, "", "too-big")
		default:
			note(false, "", "too-small")
		}
		c.Line("size-range")
		c.Edge(size.Lo, lo, hi)
	}
	if hasWeight {
		lo, hi, ok := c.Range(ballTopic, "weight")
		if !ok {
			c.NotCovered()
			return
		}
		c.PutRange("weight_oz", Oz(lo), Oz(hi))
		c.ParamNum("weighs", Oz(weight.Lo))
		switch {
		case weight.Lo >= lo && weight.Hi <= hi:
			note(true, "weight-legal", "")
		case weight.Lo > hi:
			note(false, "", "too-heavy")
		default:
			note(false, "", "too-light")
		}
		c.Line("weight-range")
	}
	if hasSize && hasWeight && any && !bad {
		head = "both-legal"
	}
	asks := c.Asked.Any("ask:what", "ask:must") && !c.Asked.May()
	if hasMark && !(asks && !any) {
		if w, ok := c.Word(ballTopic, "standard"); ok {
			c.ParamText("standard", w)
			note(marked, "marked", "unmarked")
		}
	}
	switch {
	case bad:
		c.Rule(answer.NotLegal, head)
	case any:
		c.Rule(answer.Legal, head)
		c.markLine()
	case c.Asked.May() && !c.Asked.Any("ask:what", "ask:howbig", "ask:howmany", "ask:how", "dim:around", "ball:weight", "dim:weight", "ask:most"):
		if c.Asked.Any("color:other", "color:white") {
			c.NotCovered()
			return
		}
		c.Need("circumference_in", "weight_oz")
	default:
		c.ballInfo(hasMark)
	}
}

// markLine tells which mark to look for.
func (c *Case) markLine() {
	if w, ok := c.Word(ballTopic, "standard"); ok {
		c.ParamText("standard", w)
		c.Line("mark")
	}
}

// ballInfo gives the measures that are asked for.
func (c *Case) ballInfo(mark bool) {
	weight := c.Asked.Any("ball:weight", "dim:weight")
	size := c.Asked.Any("dim:around", "ball:size", "dim:size") || !weight
	slo, shi, ok1 := c.Range(ballTopic, "circumference")
	wlo, whi, ok2 := c.Range(ballTopic, "weight")
	if !ok1 || !ok2 {
		c.NotCovered()
		return
	}
	if size {
		c.PutRange("circumference_in", In(slo), In(shi))
	}
	if weight || !c.Asked.Any("dim:around", "ball:size", "dim:size", "ask:howbig") {
		c.PutRange("weight_oz", Oz(wlo), Oz(whi))
		weight = true
	}
	switch {
	case mark && !c.Asked.Any("ball:weight", "dim:weight", "dim:around", "ball:size", "dim:size"):
		c.Rule(answer.Info, "info-mark")
	case size && weight:
		c.Rule(answer.Info, "info")
	case weight:
		c.Rule(answer.Info, "info-weight")
	default:
		c.Rule(answer.Info, "info-size")
	}
	c.markLine()
}
