package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/penalty"
	"sidewall/answers/question"
)

const (
	playersTopic = "players-allowed"
	releaseTopic = "release-time"
)

// playersAllowed tells how many may be on the field while some serve penalties.
func playersAllowed() *Check {
	return &Check{
		Topic:      playersTopic,
		Help:       "how many may be on the field with players in the box",
		HelpES:     "cuántos pueden estar en el campo con jugadores en la caja",
		Examples:   []string{"three in the box, a fourth foul? U15", "one in the box, 10 on the field. legal? U13"},
		ExamplesES: []string{"dos en la caja, ¿cuántos jugamos? U13"},
		Counts:     "in_box",
		Stated:     "players",
		Wants: []question.Want{
			{Name: "in_box", Read: question.InBox()},
			{Name: "penalties", Read: question.MorePenalties()},
			{Name: "players", Read: question.StatedOnField()},
		},
		Keys:       []string{"game-format/players", "release-time/serve_at_once", "release-time/fewest"},
		ByDivision: true,
		Decide:     decidePlayersAllowed,
	}
}

func decidePlayersAllowed(c *Case) {
	side, ok := c.Number(formatTopic, "players")
	if !ok {
		c.NotCovered()
		return
	}
	most, ok := c.Number(releaseTopic, "serve_at_once")
	if !ok {
		c.NotCovered()
		return
	}
	box, inBox := c.Fact("in_box")
	more, others := c.Fact("penalties")
	fewest, known := c.Number(releaseTopic, "fewest")
	if !inBox && !others {
		if c.Asked.Has("fewest") {
			if !known {
				c.NotCovered()
				return
			}
			c.PutNum("on_field", N(fewest))
			c.Rule(answer.Info, "fewest")
			return
		}
		c.Need("in_box")
		return
	}
	total := int(box.Lo/one + more.Lo/one)
	b := penalty.Fill(total, int(most/one))
	if !known && b.Serving >= int(most/one) {
		c.NotCovered() // how few may be left is what the book does not say here
		return
	}
	on := b.OnField(int(side / one))
	c.PutNum("on_field", float64(on))
	c.PutNum("waiting", float64(b.Waiting))
	c.ParamNum("serving", float64(b.Serving))
	c.ParamNum("side", N(side))
	said, told := c.Fact("players")
	switch {
	case !told || !c.Asked.May() || c.Asked.Has("ask:howmany"):
		c.Rule(answer.Info, "on-field")
	case said.Lo > int64(on)*one:
		c.Rule(answer.NotLegal, "too-many")
	case known && said.Lo < fewest:
		c.Rule(answer.Depends, "very-few")
	default:
		c.Rule(answer.Legal, "within")
	}
	c.Line("sum")
	if b.Waiting > 0 {
		c.Line("waiting")
	}
}
