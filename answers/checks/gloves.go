package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const gloveTopic = "gloves"

// gloves judges changed palms and the fit of gloves.
func gloves() *Check {
	return &Check{
		Topic:      gloveTopic,
		Help:       "whether gloves with changed palms or a poor fit are legal",
		HelpES:     "si son legales los guantes con palmas cortadas o flojos",
		Examples:   []string{"cut the palms out?", "gloves, palms intact, legal?"},
		ExamplesES: []string{"¿guantes con las palmas cortadas?"},
		Wants: []question.Want{
			{Name: "palms_altered", Read: question.Turned(question.Or(
				question.Lost([]string{"palms"}, []string{"gone", "ask:without"}),
				question.Judged([]string{"palms:intact"}, []string{"palms:cut"})))},
			{Name: "loose", Read: question.Turned(question.Judged([]string{"fit:snug"}, []string{"fit:loose"}))},
			{Name: "altered", Read: question.Flagged([]string{"altered"}, nil)},
		},
		Keys:   []string{"gloves/palms_altered_allowed", "gloves/altered_allowed", "gloves/snug_required"},
		Decide: decideGloves,
	}
}

func decideGloves(c *Case) {
	cut, told := c.Said("palms_altered")
	changed, toldChange := c.Said("altered")
	loose, toldFit := c.Said("loose")
	palms, ok := c.Flag(gloveTopic, "palms_altered_allowed")
	if !ok {
		c.NotCovered()
		return
	}
	if told && cut && !palms {
		c.Rule(answer.NotLegal, "cut")
		c.Line("fix-cut")
		return
	}
	if toldChange && changed {
		if allowed, ok := c.Flag(gloveTopic, "altered_allowed"); ok && !allowed {
			c.Rule(answer.NotLegal, "altered")
			c.Line("fix-cut")
			return
		}
	}
	if toldFit {
		if snug, ok := c.Flag(gloveTopic, "snug_required"); ok && snug && loose {
			c.Rule(answer.NotLegal, "loose")
			c.Line("fix-loose")
			return
		}
	}
	switch {
	case told:
		c.Rule(answer.Legal, "intact")
		c.Line("all-of-it")
	case toldFit:
		c.Rule(answer.Legal, "snug")
		c.Line("all-of-it")
	case c.Asked.May() && !c.Asked.Has("ask:what"):
		c.Need("palms_altered")
	default:
		c.Rule(answer.Info, "info")
	}
}
