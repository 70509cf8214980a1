package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const restartTopic = "restart-distance"

// restartDistance judges how near an opponent may stand when play restarts.
func restartDistance() *Check {
	return &Check{
		Topic:      restartTopic,
		Help:       "how far opponents stand off at a restart",
		HelpES:     "a qué distancia se ponen los rivales en un reinicio",
		Examples:   []string{"how far off on a restart?", "he stood 4 yards off the restart, legal?"},
		ExamplesES: []string{"¿a cuántas yardas en un reinicio?"},
		Wants:      []question.Want{{Name: "distance_yd", Read: question.Apart()}},
		Keys:       []string{"restart-distance/min_distance", "restart-distance/contact_distance_applies"},
		ByDivision: true,
		Decide:     decideRestartDistance,
	}
}

func decideRestartDistance(c *Case) {
	least, ok := c.Number(restartTopic, "min_distance")
	if !ok {
		c.NotCovered()
		return
	}
	c.PutNum("min_distance_yd", Yd(least))
	other, known := c.Flag(restartTopic, "contact_distance_applies")
	d, told := c.Fact("distance_yd")
	switch {
	case !told:
		c.Rule(answer.Info, "at-least")
	case d.Lo < 0:
		c.Need("distance_yd")
		return
	case d.Lo >= least:
		c.Rule(answer.Legal, "far-enough")
	case d.Hi < least:
		c.Rule(answer.NotLegal, "too-near")
		c.Line("back-off")
	default:
		c.Rule(answer.Depends, "steps")
		c.Line("back-off")
	}
	if known && !other {
		c.Line("not-the-contact-distance")
	}
	if told && d.Lo != d.Hi {
		c.Line("a-step")
	} else if told {
		c.Edge(d.Lo, least)
	}
}
