package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const contactTopic = "contact-distance"

// contactDistance judges how far from the ball somebody may be checked, held or pushed.
func contactDistance() *Check {
	return &Check{
		Topic:      contactTopic,
		Help:       "how far from a loose ball contact is allowed",
		HelpES:     "a qué distancia de una bola suelta se permite el contacto",
		Examples:   []string{"U13 push 4 yards from a loose ball?", "how close to the ball before we can hit in high school?"},
		ExamplesES: []string{"¿U13, empujar a 4 yardas de una bola suelta?"},
		Wants: []question.Want{
			{Name: "distance_yd", Read: question.Apart()},
			{Name: "ball", Read: question.BallState()},
			{Name: "target", Read: question.Target()},
			{Name: "act", Read: question.BodyAct(bodyActs)},
		},
		Keys:       []string{"contact-distance/max_distance", "body-check/*"},
		ByDivision: true,
		Decide:     decideContactDistance,
	}
}

func decideContactDistance(c *Case) {
	most, ok := c.Number(contactTopic, "max_distance")
	if !ok {
		c.NotCovered()
		return
	}
	act := c.Told("act")
	d, told := c.Fact("distance_yd")
	if c.banned(act, told) {
		// a ban goes before a distance
		c.nBasis = 0
		c.As = bodyTopic
		c.Find(bodyTopic, "body-check")
		c.PutBool("allowed", false)
		c.ParamNum("max_distance_yd", Yd(most))
		c.Rule(answer.NotLegal, "banned")
		c.Line("still-fine")
		return
	}
	if c.Told("ball") == "possession" && (told || !c.Asked.Has("ask:howfar")) {
		c.judgeCarrier(told)
		return
	}
	c.PutNum("max_distance_yd", Yd(most))
	if !told || c.Asked.Any("ask:what", "ask:howfar") && !c.Asked.May() {
		c.Rule(answer.Info, "within")
		c.Line("counts-for")
		c.Line("manner")
		return
	}
	switch {
	case d.Lo < 0:
		c.Need("distance_yd")
		return
	case d.Lo > most:
		c.Rule(answer.NotLegal, "too-far")
		c.Line("only-within")
	case d.Hi > most:
		c.Rule(answer.Depends, "steps")
		c.Line("only-within")
	case c.mannerIsWrong(act):
	default:
		c.Rule(answer.Legal, "near-enough")
		c.Line("manner")
	}
	if d.Lo != d.Hi {
		c.Line("a-step")
		return
	}
	c.Edge(d.Lo, most)
}

// banned says whether the act is a body check that the division does not have. A
// hold or push that is called a hit as well is still a hold or push, and who only
// asks for the distance gets it.
func (c *Case) banned(act string, distance bool) bool {
	if !c.Asked.Any("act:body-check", "act:takeout") || act == "hold" || act == "push" {
		return false
	}
	if c.Asked.Any("act:hold", "act:push", "act:stick-check") && !c.Asked.Has("bodycheck:said") {
		return false
	}
	if !distance && c.Asked.Any("ask:howfar", "ask:what") {
		return false
	}
	r := c.Peek(bodyTopic, "body-check")
	return r != nil && len(r.Value.Words) > 0 && r.Value.Words[0] == actNot
}

// mannerIsWrong rules on what is wrong whatever the distance.
func (c *Case) mannerIsWrong(act string) bool {
	switch {
	case c.Asked.Has("place:unknown"):
		c.Rule(answer.Depends, "manner-place")
		return true
	case c.Asked.Has("act:to-head") && c.Asked.Any("stick", "act:stick-check"):
		return c.stickIsWrong("to-head")
	case c.Asked.Has("act:one-handed"):
		return c.stickIsWrong("one-handed")
	case c.Asked.Any("foul:slashing", "foul:tripping", "foul:cross-check"):
		c.Rule(answer.NotLegal, "manner-foul")
		return true
	case act == "hold" && c.Asked.Has("hold:bad"):
		c.Rule(answer.Depends, "manner-hold")
		return true
	case act == "" || act == "body-check" || act == "hold" || act == "push":
		return false
	}
	r := c.Find(bodyTopic, act)
	if r == nil || len(r.Value.Words) == 0 {
		return false
	}
	switch r.Value.Words[0] {
	case actNot:
		c.Rule(answer.NotLegal, "manner-"+act)
	case actDepends:
		c.Rule(answer.Depends, "manner-depends")
		c.memory(r)
	default:
		return false
	}
	return true
}

// stickIsWrong rules on a stick check that is wrong whatever the distance.
func (c *Case) stickIsWrong(act string) bool {
	r := c.Find(stickTopic, act)
	if r == nil || len(r.Value.Words) == 0 {
		return false
	}
	switch r.Value.Words[0] {
	case actNot:
		c.Rule(answer.NotLegal, "manner-"+act)
	case actDepends:
		c.Rule(answer.Depends, "manner-stick")
		c.memory(r)
	default:
		return false
	}
	return true
}

// judgeCarrier rules where somebody has the ball: only he may be checked, and no
// distance applies.
func (c *Case) judgeCarrier(distance bool) {
	act := c.Told("act")
	switch {
	case c.Told("target") == "other":
		c.Rule(answer.NotLegal, "not-the-carrier")
		c.Line("carrier-only")
	case c.mannerIsWrong(act):
	case distance:
		c.Rule(answer.Depends, "who-is-hit")
		c.Line("carrier-only")
	default:
		verdict := answer.Legal
		if !c.Asked.May() {
			verdict = answer.Info
		}
		c.Rule(verdict, "carrier")
		c.Line("manner")
	}
}
