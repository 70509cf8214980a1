package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

// crosseChoice says which length to buy or use: the short range, the long one
// where a long crosse is asked about or a defender asks, and in youth no longer
// than the player is tall.
func crosseChoice() *Check {
	return &Check{
		Topic:      "crosse-choice",
		Help:       "which stick length to buy or use",
		HelpES:     "qué largo de palo comprar o usar",
		Examples:   []string{"what length for a 4'6\" U11 defender?", "what stick do I buy for a U9 attackman"},
		ExamplesES: []string{"¿qué largo de palo para un defensa U13?"},
		Wants: []question.Want{
			{Name: "player_height_in", Read: question.Measure{Kind: question.Length, Dims: []string{"height", "", "stick", "headlength"},
				BareUnit: int64(measure.Inch), BareLo: 36, BareHi: 84, BareDims: []string{"height"}}.Reader()},
		},
		Keys:       []string{"crosse-length/short", "crosse-length/long", "crosse-length/goalkeeper", "crosse-length/cap_long_by_height"},
		ByDivision: true, ByPosition: true, AskSplit: true,
		Decide: decideCrosseChoice,
	}
}

func decideCrosseChoice(c *Case) {
	if c.Goalkeeper() {
		lo, hi, ok := c.Range(crosseTopic, "goalkeeper")
		if !ok {
			c.NotCovered()
			return
		}
		c.PutRange("goalkeeper_in", In(lo), In(hi))
		c.Rule(answer.Info, "goalkeeper")
		c.Line("measure")
		return
	}
	defender := c.position() == "defense"
	wantLong := c.Asked.Has("stick:long") || defender && !c.Asked.Has("stick:short")
	llo, lhi, long := int64(0), int64(0), false
	if wantLong {
		llo, lhi, long = c.Range(crosseTopic, "long")
	}
	height, tall := c.Fact("player_height_in")
	capped, tooSmall := false, false
	if long && tall {
		if capIt, ok := c.Flag(crosseTopic, "cap_long_by_height"); ok && capIt {
			switch {
			case height.Lo < llo:
				long, tooSmall = false, true
			case height.Lo < lhi:
				lhi, capped = height.Lo, true
			}
		}
	}
	// The short one stands beside a defender's long one only where he can't have it.
	if !long || !defender && !c.Asked.Has("stick:long") {
		slo, shi, ok := c.Range(crosseTopic, "short")
		if !ok {
			c.NotCovered()
			return
		}
		c.PutRange("short_in", In(slo), In(shi))
	}
	if long {
		c.PutRange("long_in", In(llo), In(lhi))
	}
	switch {
	case tooSmall:
		c.ParamNum("shortest_long", In(llo))
		c.Rule(answer.Info, "no-long-fits")
		c.Line("why-no-long")
	case long && capped:
		c.Rule(answer.Info, "long-capped")
		c.Line("why-capped")
	case long:
		c.Rule(answer.Info, "long")
	case wantLong:
		c.Rule(answer.Info, "no-long-here")
		c.Line("no-long-rule")
	default:
		c.Rule(answer.Info, "short")
	}
	c.Line("measure")
}
