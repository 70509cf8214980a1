package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const stickTopic = "stick-check"

// stickActs are the acts of the stick, the most telling first.
var stickActs = []string{"to-head", "one-handed", "on-body", "on-glove", "on-crosse"}

// stickCheck judges checks with the stick by where they land and how they are done.
func stickCheck() *Check {
	return &Check{
		Topic:      stickTopic,
		Help:       "whether a check with the stick is legal",
		HelpES:     "si un golpe con el palo es legal",
		Examples:   []string{"one-handed check that missed?", "poke check on his crosse, legal?", "stick hit his helmet"},
		ExamplesES: []string{"¿golpe con una mano que no tocó?"},
		Wants: []question.Want{
			{Name: "act", Read: question.StickAct(stickActs)},
			{Name: "ball", Read: question.ActOf("ball", []string{"in-flight", "loose", "possession"})},
			{Name: "target", Read: question.Target()},
		},
		Undoes:     [2]string{"manner:both-hands", "one-handed"},
		Keys:       []string{"stick-check/*"},
		ByDivision: true,
		Decide:     decideStickCheck,
	}
}

func decideStickCheck(c *Case) {
	act := c.Told("act")
	if act == "" {
		c.Find(stickTopic, "limits_of_check")
		c.Rule(answer.Depends, "which")
		c.Line("limits")
		return
	}
	rec := c.Find(stickTopic, act)
	if rec == nil || len(rec.Value.Words) == 0 {
		c.NotCovered()
		return
	}
	switch rec.Value.Words[0] {
	case actNot:
		c.Rule(answer.NotLegal, "not-"+act)
		if f, ok := c.Word(stickTopic, foulKey(act)); ok {
			c.PutText("foul", f)
			c.Line("called-as")
		}
	case actDepends:
		c.Rule(answer.Depends, "depends-"+act)
		c.Line("limits")
		c.memory(rec)
	case actLimits, actLegal:
		c.stickAllowed(act)
	default:
		c.NotCovered()
	}
}

func (c *Case) stickAllowed(act string) {
	c.Find(stickTopic, "limits_of_check")
	switch {
	case c.Asked.Has("place:unknown"):
		c.Rule(answer.Depends, "which")
	case c.Asked.Any("manner:wild", "foul:slashing") && !c.Asked.Has("manner:controlled"):
		c.Rule(answer.Depends, "wild")
	case c.Told("target") == "other":
		c.Rule(answer.NotLegal, "no-ball")
	case c.Told("ball") == "loose" || c.Told("ball") == "in-flight":
		c.putDistance()
		c.Rule(answer.Depends, "loose")
	default:
		c.Rule(answer.Legal, "legal-"+act)
	}
	c.Line("limits")
}
