package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const bodyTopic = "body-check"

// bodyActs are the acts of the body, the most telling first: what is wrong at
// any age outweighs what some ages may do.
var bodyActs = []string{"from-behind", "on-down-player", "late", "below-waist", "above-shoulders", "takeout", "body-check", "push", "hold"}

// What a record of an act says.
const (
	actLegal   = "legal"
	actLimits  = "limits" // legal within the limits that the sheet lists
	actDepends = "depends"
	actNot     = "not_legal"
)

// bodyCheck judges checks with the body, holds and pushes by how they are done.
func bodyCheck() *Check {
	return &Check{
		Topic:      bodyTopic,
		Help:       "whether a body check, hold or push is legal",
		HelpES:     "si una carga con el cuerpo, sujetar o empujar es legal",
		Examples:   []string{"can U11s body check?", "hit from behind, legal?", "take-out check in high school?"},
		ExamplesES: []string{"¿los U11 pueden cargar con el cuerpo?"},
		Wants: []question.Want{
			{Name: "act", Read: question.BodyAct(bodyActs)},
			{Name: "possession", Read: question.Flagged([]string{"ball:possession"}, []string{"ball:none"})},
		},
		Spoken:     true,
		Keys:       []string{"body-check/*"},
		ByDivision: true,
		Decide:     decideBodyCheck,
	}
}

func decideBodyCheck(c *Case) {
	act := c.Told("act")
	if act == "" {
		act = "body-check"
	}
	rec := c.Find(bodyTopic, act)
	if rec == nil || len(rec.Value.Words) == 0 {
		c.NotCovered()
		return
	}
	switch rec.Value.Words[0] {
	case actNot:
		c.bodyBanned(act)
	case actDepends:
		c.Rule(answer.Depends, "depends-"+act)
		c.memory(rec)
	case actLimits, actLegal:
		c.bodyAllowed(act)
	default:
		c.NotCovered()
	}
}

func (c *Case) bodyBanned(act string) {
	c.PutBool("allowed", false)
	c.Rule(answer.NotLegal, "not-"+act)
	switch act {
	case "body-check":
		c.Line("still-fine")
	case "takeout":
		c.Line("may-cost-ejection")
	}
	if c.Asked.Any("act:hold", "act:push") && act != "body-check" && act != "takeout" {
		return // a hold or push that is wrong is a foul of its own, not this one
	}
	if r := c.Find(bodyTopic, foulKey(act)); r != nil && len(r.Value.Words) > 0 {
		c.ParamText("foul", r.Value.Words[0])
		c.Line("called-as")
	}
}

// foulKeys are the keys of the fouls that acts are; made once, since a decision
// must not build strings.
var foulKeys = func() map[string]string {
	m := map[string]string{}
	for _, acts := range [][]string{bodyActs, stickActs} {
		for _, a := range acts {
			m[a] = a + ".foul"
		}
	}
	return m
}()

func foulKey(act string) string { return foulKeys[act] }

func (c *Case) bodyAllowed(act string) {
	possession, told := c.Said("possession")
	if act == "body-check" && c.Asked.Any("act:one-handed", "foul:cross-check") {
		if r := c.Find(bodyTopic, "hands"); r != nil {
			c.PutBool("allowed", false)
			c.Rule(answer.NotLegal, "hands")
			return
		}
	}
	switch {
	case c.Asked.Has("place:unknown"): // where it lands was said in words that nothing knows
		c.Rule(answer.Depends, "where")
		c.putDistance()
		c.bodyLimits(act)
		return
	case told && !possession:
		c.Rule(answer.Depends, "no-ball")
		c.putDistance()
		c.bodyLimits(act)
		return
	case act == "hold" && c.Asked.Has("hold:bad"):
		c.Rule(answer.Depends, "hold-how")
		c.putDistance()
		c.bodyLimits(act)
		return
	}
	c.PutBool("allowed", true)
	verdict := answer.Legal
	if c.Asked.Any("ask:what", "ask:how") && !c.Asked.May() {
		verdict = answer.Info
	}
	c.Rule(verdict, "allowed-"+act)
	c.putDistance()
	c.bodyLimits(act)
}

// bodyLimits names the limits and rests the answer on their records.
func (c *Case) bodyLimits(act string) {
	if act == "body-check" {
		for _, k := range [...]string{"targets", "directions", "heights", "hands"} {
			c.Find(bodyTopic, k)
		}
		c.Line("where-and-how")
		return
	}
	c.Line("hold-push-limits")
}

// putDistance gives the texts the distance within which contact is allowed.
func (c *Case) putDistance() {
	if d, ok := c.Number(contactTopic, "max_distance"); ok {
		c.ParamNum("within_yd", Yd(d))
	}
}
