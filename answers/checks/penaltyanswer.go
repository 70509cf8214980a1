package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/penalty"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// answer writes the ruling.
func (t *table) answer(r *penalty.Result, period bool) {
	c := t.c
	c.Find(releaseTopic, "runs_with_game_clock")
	t.put(&r.Outcomes[0], period)
	if t.nFouls == 1 {
		t.one(&r.Outcomes[0], period)
	} else {
		t.several(r, period)
	}
	t.common(r)
}

// put writes the first penalty's values.
func (t *table) put(o *penalty.Outcome, period bool) {
	c := t.c
	if o.Released() {
		if period {
			c.PutNum("release_period", float64(o.End.Period))
		}
		c.PutText("release_clock", measure.Clock(o.End.ClockLeftS))
	}
	c.PutBool("at_goal", o.AtGoal())
	c.PutNum("served_s", float64(o.ServedS))
	if !o.Released() {
		c.PutNum("left_s", float64(o.LeftoverS))
	}
}

// one is the headline and detail of a single penalty.
func (t *table) one(o *penalty.Outcome, period bool) {
	c, f := t.c, &t.fouls[0]
	c.ParamNum("length_s", float64(f.LengthS))
	c.ParamText("from", measure.Clock(f.At.ClockLeftS))
	overtime := o.End.Period > t.n
	if overtime {
		c.ParamNum("overtime", float64(o.End.Period-t.n))
	}
	head := "back"
	switch {
	case !o.Released():
		head = "not-back"
	case o.AtGoal() && !period:
		head = "goal-any-period"
	case !period:
		head = "back-any-period"
	case o.AtGoal() && overtime:
		head = "goal-overtime"
	case o.AtGoal():
		head = "goal"
	case overtime:
		head = "back-overtime"
	}
	c.Rule(answer.Info, head)
	switch {
	case t.open[0]:
		c.Line("length")
	case f.Releasable:
		c.Line("length-releasable")
	default:
		c.Line("length-locked")
	}
	goals := t.story.Goals
	switch {
	case o.AtGoal() && t.openBy[o.Goal]:
		c.Find(releaseTopic, "goal_releases")
		c.Line("goal-assumed")
	case o.AtGoal():
		c.Find(releaseTopic, "goal_releases")
	case f.Releasable && t.ownGoal():
		c.Find(releaseTopic, "goal_releases")
		c.Line("goal-own")
	case f.Releasable && !t.open[0] && (len(goals) == 0 || t.nGoals < len(goals)) && o.Released():
		c.Find(releaseTopic, "goal_releases")
		c.Line("if-goal")
	}
}

// ownGoal says whether the penalised side scored.
func (t *table) ownGoal() bool {
	for i := 0; i < t.nGoals; i++ {
		if t.goals[i].By == t.fouls[0].Side && !t.openBy[i] {
			return true
		}
	}
	return false
}

// rowKeys are the keys of the table's lines, by row and ending; more rows than
// that stand in the values only.
var rowKeys = [...][3]string{
	{"row-time-1", "row-goal-1", "row-over-1"}, {"row-time-2", "row-goal-2", "row-over-2"},
	{"row-time-3", "row-goal-3", "row-over-3"}, {"row-time-4", "row-goal-4", "row-over-4"},
	{"row-time-5", "row-goal-5", "row-over-5"}, {"row-time-6", "row-goal-6", "row-over-6"},
}

var rowParams = [...]string{"row_1", "row_2", "row_3", "row_4", "row_5", "row_6"}

var whoParams = [...]string{"who_1", "who_2", "who_3", "who_4", "who_5", "who_6"}

// several is the headline and the table, a line a player.
func (t *table) several(r *penalty.Result, period bool) {
	c := t.c
	rows := make([]answer.Fields, 0, t.nFouls)
	cells := make([]answer.Field, 0, 6*t.nFouls)
	for i := range r.Outcomes {
		o, p := &r.Outcomes[i], &t.story.Penalties[i]
		from := len(cells)
		put := func(name string, v answer.Val) { cells = append(cells, answer.Field{Name: name, Val: v}) }
		put("who", answer.Val{Kind: answer.Text, S: p.Who})
		if p.Team != question.NoTeam {
			put("team", answer.Val{Kind: answer.Text, S: p.Team.String()})
		}
		if o.Released() {
			if period {
				put("release_period", number(o.End.Period))
			}
			put("release_clock", answer.Val{Kind: answer.Text, S: measure.Clock(o.End.ClockLeftS)})
		}
		put("served_s", number(o.ServedS))
		at := answer.Val{Kind: answer.Bool}
		if o.AtGoal() {
			at.A = 1
		}
		put("at_goal", at)
		rows = append(rows, cells[from:len(cells):len(cells)])
		if i < len(rowKeys) {
			c.ParamText(whoParams[i], label(t.story, i))
			c.ParamText(rowParams[i], t.row(o, period))
			c.Line(rowKeys[i][o.Ending])
		}
	}
	c.Put("releases", answer.Val{Kind: answer.Rows, R: rows})
	head := "several"
	if !r.Outcomes[0].Released() {
		head = "several-over"
	} else if !period {
		head = "several-any-period"
	}
	c.ParamText("first", label(t.story, 0))
	c.Rule(answer.Info, head)
	if len(r.Matches) > 0 {
		c.Find(releaseTopic, "simultaneous_non_releasable")
		c.Line("matched")
		if r.Matches[0].HasBall {
			c.Find(releaseTopic, "simultaneous_ball")
			c.Line("ball-less")
		}
	}
	for i := range r.Outcomes {
		if r.Outcomes[i].Waited {
			c.Find(releaseTopic, "serve_at_once")
			c.ParamNum("serve_at_once", float64(t.game.MaxServing))
			c.Line("waits")
			break
		}
	}
}

// label is how a row calls a player: his number, else his foul where it is the
// only one of its kind, else his place in the question.
func label(st *question.Story, i int) string {
	who := st.Penalties[i].Who
	switch {
	case who == "" && onlyFoul(st, i):
		return st.Penalties[i].Foul
	case who == "":
		return "(" + string(rune('1'+min(i, 8))) + ")"
	case who[0] >= '0' && who[0] <= '9':
		return "#" + who
	}
	return who
}

func onlyFoul(st *question.Story, i int) bool {
	for k := range st.Penalties {
		if k != i && st.Penalties[k].Foul == st.Penalties[i].Foul {
			return false
		}
	}
	return st.Penalties[i].Foul != ""
}

// row is a table row that reads alike in every language: period, clock, time served.
func (t *table) row(o *penalty.Outcome, period bool) string {
	b := make([]byte, 0, 32)
	if o.Released() {
		if period {
			b = append(b, 'P')
			b = measure.AppendNum(b, float64(o.End.Period))
			b = append(b, ' ')
		}
		b = measure.AppendClock(b, o.End.ClockLeftS)
		b = append(b, ", "...)
	}
	return string(measure.AppendClock(b, o.ServedS))
}

// common are the lines about the game's periods and what is from memory.
func (t *table) common(r *penalty.Result) {
	c := t.c
	carried, overtime, over := false, false, false
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		carried = carried || o.End.Period > t.fouls[i].At.Period
		overtime = overtime || o.End.Period > t.n && t.fouls[i].At.Period <= t.n
		over = over || !o.Released()
	}
	memory := t.memory
	if carried {
		memory = fromMemory(c.Find(releaseTopic, "carries_over")) || memory
	}
	if carried || over {
		if t.story.PeriodS == 0 {
			c.Find(formatTopic, "period")
			c.ParamNum("period_s", float64(t.game.PeriodS[0]))
			if carried {
				c.Line("carried")
			}
		}
	}
	if overtime {
		c.Find(formatTopic, "overtime")
		c.Line("if-overtime")
	}
	if over {
		c.Find(formatTopic, "overtimes")
	}
	if len(r.Matches) > 0 && t.nFouls > halves {
		memory = fromMemory(c.Find(releaseTopic, "simultaneous_pairs")) || memory
	}
	for i := range r.Outcomes {
		if r.Outcomes[i].Stays {
			memory = fromMemory(c.Find(releaseTopic, "one_player_order")) || memory
			if t.nGoals > 0 {
				memory = fromMemory(c.Find(releaseTopic, "one_player_goal_ends")) || memory
			}
			break
		}
	}
	for i := range r.Outcomes {
		if r.Outcomes[i].Open != 0 {
			c.Line("open")
			break
		}
	}
	if memory {
		c.Line("from-memory")
	}
}

func fromMemory(r *sheet.Record) bool {
	if r == nil {
		return false
	}
	if r.Mark != "" {
		return r.Mark == "M"
	}
	return r.Source != nil && r.Source.Mark == "M"
}
