package checks

import (
	"slices"

	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const mouthTopic = "mouthguard"

// mouthguard judges a mouthguard's colour and fit, and where it is in play.
func mouthguard() *Check {
	return &Check{
		Topic:      mouthTopic,
		Help:       "whether a mouthguard's colour and fit are legal",
		HelpES:     "si el color y el ajuste del protector bucal son legales",
		Examples:   []string{"clear mouthguard ok?", "what color mouthguards aren't allowed"},
		ExamplesES: []string{"¿protector bucal transparente?"},
		Wants: []question.Want{
			{Name: "color", Read: question.SaidOf("color", "other")},
			{Name: "other_color", Read: question.SaidToo("color", "other")},
			{Name: "molded", Read: question.Judged([]string{"molded:yes"}, []string{"molded:no"})},
			{Name: "out_of_mouth", Read: question.Flagged([]string{"mouthguard:out"}, nil)},
		},
		Keys:   []string{"mouthguard/banned_colors", "mouthguard/molded_required", "mouthguard/foul_when_out"},
		Either: [][]string{{"color", "other_color"}},
		Safety: true,
		Decide: decideMouthguard,
	}
}

func decideMouthguard(c *Case) {
	c.Safety = true
	banned, ok := c.Words(mouthTopic, "banned_colors")
	if !ok {
		c.NotCovered()
		return
	}
	if out, said := c.Said("out_of_mouth"); said && out {
		if foul, ok := c.Word(mouthTopic, "foul_when_out"); ok {
			c.ParamText("foul", foul)
			c.Rule(answer.NotLegal, "out")
			c.Line("fix-out")
			return
		}
	}
	color, other := c.Told("color"), c.Told("other_color")
	molded, toldFit := c.Said("molded")
	must := c.Asked.Any("ask:must", "ask:what") && !c.Asked.May()
	if color != "" {
		c.PutList("banned_colors", banned)
	}
	required := false
	if toldFit {
		required, _ = c.Flag(mouthTopic, "molded_required")
	}
	switch {
	case color != "" && slices.Contains(banned, color):
		if other != "" && !slices.Contains(banned, other) {
			c.Rule(answer.Depends, "two-colors")
			c.ParamText("good", other)
			c.ParamText("bad", color)
			break
		}
		c.Rule(answer.NotLegal, "banned-color")
		c.Line("fix-color")
	case toldFit && !molded && required && !must:
		c.Rule(answer.NotLegal, "not-molded")
		c.Line("fix-mold")
	case color != "" && slices.Contains(banned, other):
		c.Rule(answer.Depends, "two-colors")
		c.ParamText("good", color)
		c.ParamText("bad", other)
	case color != "":
		c.Rule(answer.Legal, "color")
		if !toldFit {
			c.Line("also-molded")
		}
	case must && toldFit:
		c.PutBool("molded_required", required)
		c.Rule(answer.Info, "info-molded")
	case c.Asked.May() && !c.Asked.Any("ask:what", "asks:colors") || toldFit:
		c.Need("color")
	default:
		c.PutList("banned_colors", banned)
		c.Rule(answer.Info, "info")
		c.Line("also-molded")
	}
}
