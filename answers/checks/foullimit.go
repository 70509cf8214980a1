package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const limitTopic = "foul-limit"

// foulLimit tells when a player has fouled out.
func foulLimit() *Check {
	return &Check{
		Topic:      limitTopic,
		Help:       "when a player is out on personal fouls",
		HelpES:     "cuándo un jugador queda fuera por faltas personales",
		Examples:   []string{"our #7 has five personal fouls, can he play?", "foul limit for U13?"},
		ExamplesES: []string{"lleva cuatro personales, ¿puede seguir? U13"},
		Counts:     "personal_fouls",
		Adds:       "penalty_s",
		Wants: []question.Want{
			{Name: "personal_fouls", Read: question.PersonalFouls()},
			{Name: "penalty_s", Read: question.FoulTime()},
		},
		Keys:       []string{"foul-limit/limit", "foul-limit/limit_time"},
		ByDivision: true,
		Decide:     decideFoulLimit,
	}
}

func decideFoulLimit(c *Case) {
	limit, ok := c.Number(limitTopic, "limit")
	if !ok {
		c.NotCovered()
		return
	}
	c.PutNum("limit", N(limit))
	limitTime, byTime := c.Number(limitTopic, "limit_time")
	if byTime {
		c.PutNum("limit_s", Sec(limitTime))
	}
	fouls, told := c.Fact("personal_fouls")
	served, timed := c.Fact("penalty_s")
	c.limitRuling(told && fouls.Lo >= limit, byTime && timed && served.Lo >= limitTime, told, timed, byTime)
	c.memory(c.Peek(limitTopic, "limit"))
}

func (c *Case) limitRuling(outByFouls, outByTime, told, timed, byTime bool) {
	switch {
	case outByFouls:
		c.Rule(answer.NotLegal, "out-fouls")
	case outByTime:
		c.Rule(answer.NotLegal, "out-time")
	case !told && !timed:
		c.Rule(answer.Info, limitHead(byTime))
	case !told:
		c.Need("personal_fouls")
	default:
		verdict := answer.Legal
		if !c.Asked.Any("ask:may", "limit:fouls", "released") {
			verdict = answer.Info
		}
		c.Rule(verdict, "under")
		if byTime && !timed {
			c.Line("time-too")
			return
		}
		c.Line(limitHead(byTime))
	}
}

func limitHead(byTime bool) string {
	if byTime {
		return "limit-both"
	}
	return "limit-fouls"
}
