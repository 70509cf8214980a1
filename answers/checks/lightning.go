package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

const lightningTopic = "lightning"

// lightning tells how long to wait after lightning or thunder.
func lightning() *Check {
	return &Check{
		Topic:      lightningTopic,
		Help:       "when play may go on after lightning or thunder",
		HelpES:     "cuándo se puede seguir tras un rayo o trueno",
		Examples:   []string{"thunder at 5:42, when can we restart?", "how long do we wait after lightning?"},
		ExamplesES: []string{"trueno a las 5:42, ¿cuándo reiniciamos?"},
		Wants:      []question.Want{{Name: "last_strike", Read: question.LastStrike()}},
		Keys:       []string{"lightning/*"},
		Safety:     true,
		Decide:     decideLightning,
	}
}

func decideLightning(c *Case) {
	c.Safety = true
	wait, ok := c.Number(lightningTopic, "wait")
	if !ok {
		c.NotCovered()
		return
	}
	c.PutNum("wait_s", Sec(wait))
	c.Words(lightningTopic, "at_once")
	again, _ := c.Flag(lightningTopic, "each_restarts_wait")
	if v, told := c.Fact("last_strike"); told {
		c.PutText("resume_at", v.OfDay().Add(wait/int64(measure.Minute)).String())
		c.Rule(answer.Info, "resume-at")
	} else {
		c.Rule(answer.Info, "wait")
	}
	if again {
		c.Line("each-restarts")
	}
	c.Line("at-once")
}
