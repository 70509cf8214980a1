package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const countTopic = "count"

// countIDs are the counts, the more telling first: who crosses midfield to get
// into the goal area is asked about the goal area.
var countIDs = []string{"goal-area", "goalkeeper-crease", "clear"}

type countFields struct{ id, limit, enforced string }

var countSheet = func() []countFields {
	out := make([]countFields, len(countIDs))
	for i, id := range countIDs {
		out[i] = countFields{id, id + ".limit", id + ".enforced"}
	}
	return out
}()

// count tells how long a team or its goalkeeper may take.
func count() *Check {
	return &Check{
		Topic:      countTopic,
		Help:       "the counts: goalkeeper in the crease, clear, goal area",
		HelpES:     "los conteos: portero en su área, salida, área de gol",
		Examples:   []string{"how long to clear?", "keeper held it in the crease 5 seconds, HS, ok?"},
		ExamplesES: []string{"¿cuánto tiempo para la salida en U13?"},
		Wants: []question.Want{
			{Name: "which", Read: question.CountWhich(countIDs)},
			{Name: "time_s", Read: question.Lasted()},
		},
		Keys:       []string{"count/*"},
		ByDivision: true, Bare: "time_s",
		Decide: decideCount,
	}
}

func decideCount(c *Case) {
	id := c.Told("which")
	for i := range countSheet {
		if countSheet[i].id == id {
			c.judgeCount(&countSheet[i])
			return
		}
	}
	c.Need("which")
}

func (c *Case) judgeCount(f *countFields) {
	enforced, known := c.Flag(countTopic, f.enforced)
	if known && !enforced {
		c.PutBool("enforced", false)
		c.Rule(answer.Info, "not-enforced")
		return
	}
	limit, ok := c.Number(countTopic, f.limit)
	if !ok {
		c.NotCovered()
		return
	}
	c.PutNum("limit_s", Sec(limit))
	took, told := c.Fact("time_s")
	switch {
	case !told:
		c.Rule(answer.Info, "limit-"+f.id)
	case took.Lo > limit:
		c.Rule(answer.NotLegal, "too-long")
		c.Line("limit-" + f.id)
	case took.Hi > limit:
		c.Rule(answer.Depends, "about")
		c.Line("limit-" + f.id)
	default:
		c.Rule(answer.Legal, "in-time")
		c.Line("limit-" + f.id)
	}
}
