package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

// releaseTime says when penalised players are back, worked out with the penalty
// engine from a story of penalties and goals.
func releaseTime() *Check {
	return &Check{
		Topic:      releaseTopic,
		Help:       "when a penalised player is back on the field",
		HelpES:     "cuándo vuelve al campo un jugador castigado",
		Examples:   []string{"one-minute slash at 3:20 in the 2nd: when is he back?", "illegal stick at 9:00 in the first, they score at 8:20. when is he out"},
		ExamplesES: []string{"slash de un minuto a los 3:20 del segundo cuarto, ¿cuándo regresa?"},
		Wants: []question.Want{
			{Name: "penalties", Read: question.Penalties(func(s *question.Story) any { return (*told)(s) })},
			{Name: "period", Read: question.StoryPeriod()},
			{Name: "clock", Read: question.StoryClock()},
			{Name: "period_length_s", Read: question.StoryPeriodLength()},
		},
		Keys: []string{"release-time/runs_with_game_clock", "release-time/serve_at_once", "release-time/goal_releases", "release-time/simultaneous_non_releasable", "release-time/simultaneous_ball",
			"release-time/simultaneous_pairs", "release-time/one_player_order", "release-time/one_player_goal_ends", "release-time/carries_over", "foul/*",
			"game-format/periods", "game-format/period", "game-format/running_period", "game-format/stop_period", "game-format/overtime", "game-format/overtimes", "game-format/overtime_style"},
		ByDivision: true,
		Decide:     decideReleaseTime,
	}
}

// told is a penalty story as a fact of an answer.
type told question.Story

// Over is the story of a thread changed by what is said now.
func (t *told) Over(before any) any {
	if b, ok := before.(*told); ok {
		return (*told)((*question.Story)(t).Over((*question.Story)(b)))
	}
	return t
}

// Field is the story as the answer's facts show it; none where no penalty was told.
func (t *told) Field() (answer.Val, bool) {
	if len(t.Penalties) == 0 {
		return answer.Val{}, false
	}
	rows := make([]answer.Fields, 0, len(t.Penalties))
	text := func(f answer.Fields, name, s string) answer.Fields {
		if s == "" {
			return f
		}
		return append(f, answer.Field{Name: name, Val: answer.Val{Kind: answer.Text, S: s}})
	}
	for i := range t.Penalties {
		p := &t.Penalties[i]
		var f answer.Fields
		f = text(f, "who", p.Who)
		f = text(f, "team", p.Team.String())
		f = text(f, "foul", p.Foul)
		if p.LengthS > 0 {
			f = append(f, answer.Field{Name: "penalty_s", Val: number(p.LengthS)})
		}
		if p.Locked != question.Unsaid {
			v := answer.Val{Kind: answer.Bool}
			if p.Locked == question.SaidNo {
				v.A = 1
			}
			f = append(f, answer.Field{Name: "releasable", Val: v})
		}
		if p.Clock >= 0 {
			f = text(f, "clock", measure.Clock(p.Clock))
		}
		rows = append(rows, f)
	}
	return answer.Val{Kind: answer.Rows, R: rows}, true
}

func number(n int) answer.Val { return answer.Val{Kind: answer.Num, A: float64(n), B: float64(n)} }

func decideReleaseTime(c *Case) {
	v, _ := c.Fact("penalties")
	story, _ := v.Obj.(*told)
	if story == nil || len(story.Penalties) == 0 {
		c.Need("penalty_s", "clock")
		return
	}
	t := table{c: c, story: (*question.Story)(story)}
	if t.setGame() && t.setFouls() {
		t.setPeriods()
	}
}
