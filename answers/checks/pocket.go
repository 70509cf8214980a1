package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const pocketTopic = "pocket"

// pocket judges how deep a pocket is: by where the ball sits, or by a measured
// depth against the ball's diameter, which is known exactly only with the ball.
func pocket() *Check {
	inch := int64(measure.Inch)
	around := question.Measure{Kind: question.Length, Dims: []string{"around"}, BareUnit: inch, BareLo: 5, BareHi: 12, BareDims: []string{"around"}}.Reader()
	across := question.Measure{Kind: question.Length, Dims: []string{"diameter", "headwidth"}, BareUnit: inch, BareLo: 1, BareHi: 4, BareDims: []string{"diameter", "headwidth"}}.Reader()
	return &Check{
		Topic:      pocketTopic,
		Help:       "whether a pocket is too deep",
		HelpES:     "si la bolsa es muy honda",
		Examples:   []string{"ball sits under the sidewall on an attackman's stick, legal?", "2.5 inch deep pocket on a middie's stick ok"},
		ExamplesES: []string{"la bola queda debajo de la pared, ¿es legal?"},
		Wants: []question.Want{
			{Name: "ball_diameter_in", Read: question.Or(question.Diameter(around), across)},
			{Name: "pocket_depth_in", Read: question.Beside(question.Measure{Kind: question.Length, Dims: []string{"depth", "", "stick", "headlength", "gap", "hanging"},
				BareUnit: inch, BareLo: 0, BareHi: 12, BareDims: []string{"depth", "", "stick"}}.Reader(), "dim:depth", "thing:pocket", "thing:bag-too-deep")},
			{Name: "ball_below_sidewall", Read: question.SeenBall()},
		},
		Keys:       []string{"pocket/max_ball_below_sidewall", "pocket/max_depth_ball_diameters", "ball/circumference"},
		ByPosition: true, Bare: "pocket_depth_in",
		Decide: decidePocket,
	}
}

func decidePocket(c *Case) {
	depth, measured := c.Fact("pocket_depth_in")
	below, seen := c.Said("ball_below_sidewall")
	rule := c.Find(pocketTopic, "max_ball_below_sidewall")
	if rule == nil {
		c.NotCovered()
		return
	}
	if rule.Value.Kind == sheet.Barred { // no limit, as for the goalkeeper
		c.Rule(answer.Legal, "no-limit")
		if !measured && !seen && !c.Asked.May() && !c.Asked.Has("thing:bag-too-deep") || c.Asked.Any("ask:howdeep", "ask:what") && !measured && !seen {
			c.Rule(answer.Info, "info-no-limit")
		}
		c.Line("strings-still")
		return
	}
	lo, hi, sized := c.pocketLimit()
	switch {
	case measured:
		if !sized {
			c.NotCovered()
			return
		}
		if seen && below != (depth.Lo > hi) && (depth.Lo > hi || depth.Hi <= lo) {
			c.Rule(answer.Depends, "at-odds")
			c.Line("how")
			return
		}
		c.putDepth(lo, hi)
		switch {
		case depth.Hi <= lo:
			c.Rule(answer.Legal, "legal-depth")
			c.Line("limit")
		case depth.Lo > hi:
			c.Rule(answer.NotLegal, "too-deep")
			c.Line("limit")
			c.Line("fix")
		case seen:
			c.bySight(below)
		default:
			c.Rule(answer.Depends, "by-ball")
			c.Line("how")
		}
	case seen && !c.Asked.Any("ask:howdeep"):
		c.bySight(below)
	case c.Asked.Any("ask:howdeep", "ask:what", "ask:howbig", "ask:howlong") || !c.Asked.May() && !c.Asked.Has("thing:bag-too-deep"):
		if !sized {
			c.NotCovered()
			return
		}
		c.putDepth(lo, hi)
		c.Rule(answer.Info, "info")
		c.Line("how")
	default:
		c.Need("ball_below_sidewall", "pocket_depth_in")
	}
}

func (c *Case) bySight(below bool) {
	if below {
		c.Rule(answer.NotLegal, "below")
		c.Line("fix")
		return
	}
	c.Rule(answer.Legal, "level")
	c.Line("how")
}

// putDepth gives the deepest pocket: one number where the ball's size is known.
func (c *Case) putDepth(lo, hi int64) {
	if lo == hi {
		c.PutNum("max_pocket_depth_in", In(lo))
		return
	}
	c.PutRange("max_pocket_depth_in", In(lo), In(hi))
}

// pocketLimit is the deepest pocket: a ball's diameter, exact where the ball's
// size was told and is legal, else that of the smallest and the largest legal ball.
func (c *Case) pocketLimit() (lo, hi int64, ok bool) {
	times, ok := c.Number(pocketTopic, "max_depth_ball_diameters")
	if !ok {
		return 0, 0, false
	}
	small, large, ok := c.Range("ball", "circumference")
	if !ok {
		return 0, 0, false
	}
	lo = int64(measure.Length(small).Diameter())
	hi = int64(measure.Length(large).Diameter())
	if d, told := c.Fact("ball_diameter_in"); told {
		if d.Hi < lo || d.Lo > hi {
			c.Line("ball-not-legal")
		} else {
			lo, hi = d.Lo, d.Hi
		}
	}
	return lo * times / one, hi * times / one, true
}
