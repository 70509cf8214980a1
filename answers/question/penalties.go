package question

import (
	"slices"

	"sidewall/answers/measure"
)

// Team is whose somebody is, as the story says it.
type Team uint8

// The teams of a story. Nobody says both "ours" and "A" of one game as a rule.
const (
	NoTeam Team = iota
	Ours
	Theirs
	TeamA
	TeamB
)

// Other is the opponent.
func (t Team) Other() Team {
	switch t {
	case Ours:
		return Theirs
	case Theirs:
		return Ours
	case TeamA:
		return TeamB
	case TeamB:
		return TeamA
	}
	return NoTeam
}

func (t Team) String() string {
	return [...]string{"", "ours", "theirs", "A", "B"}[min(t, TeamB)]
}

// Readings of a game clock that are no number of seconds.
const (
	NoClock   = -1 // not said
	FullClock = -2 // the start of the period
)

// Periods that stand for one whose number depends on the form of the game, as
// OvertimePeriod does for the first overtime.
const (
	LastPeriod  = 99  // the last one before overtime
	FirstHalf   = 200 // FirstHalf + n is half n+1
	noPeriod    = 0
	halfPeriods = 2
)

// Told is one penalty of a story; what was not said is zero, or NoClock.
type Told struct {
	Who       string // jersey number or label, without #
	Team      Team
	Foul      string // foul id
	Technical bool   // a technical foul, which one was not said
	LengthS   int
	Locked    Yes // non-releasable
	Period    int
	Clock     int // of the restart
}

// Yes is a yes or no that may be unsaid.
type Yes uint8

// The three states of it.
const (
	Unsaid Yes = iota
	SaidYes
	SaidNo
)

// Scored is one goal of a story.
type Scored struct {
	By     Team
	Period int
	Clock  int
	AfterS int  // seconds after the restart, where that was said instead of a clock
	Past   bool // it did happen, it is no "what if"
}

// Story is what somebody tells of penalties and goals.
type Story struct {
	Penalties []Told
	Goals     []Scored
	NoGoal    bool // "nobody scores"
	PeriodS   int  // length of a period
	Quarters  bool // the periods were called quarters
	Running   bool
	Stopped   bool
	OnePlayer bool // all penalties are one player's

	extend bool // "and #9 …": more of the same story
}

// Merger is a structured fact that can take in what a thread said of it before.
type Merger interface{ Over(before any) any }

// Over is the story told before, changed by what s says: a fact named again
// counts as now said, goals are added, and a story with its own clock, foul and
// length is a new one.
func (s *Story) Over(b *Story) *Story {
	if b == nil || len(b.Penalties) == 0 {
		return s
	}
	out := *b
	out.Penalties = slices.Clone(b.Penalties)
	out.Goals = slices.Clone(b.Goals)
	if s.NoGoal {
		out.NoGoal, out.Goals = true, nil
	}
	if s.PeriodS > 0 {
		out.PeriodS = s.PeriodS
	}
	if s.Running || s.Stopped {
		out.Running, out.Stopped = s.Running, s.Stopped
	}
	out.Quarters = out.Quarters || s.Quarters
	for i := range s.Penalties {
		n := &s.Penalties[i]
		if n.Clock != NoClock && (n.Foul != "" || n.Technical) && (n.LengthS > 0 || len(s.Penalties) > 1) && !s.extend {
			return s
		}
	}
	for i := range s.Penalties {
		n := s.Penalties[i]
		at := slices.IndexFunc(out.Penalties, func(t Told) bool { return t.Who == n.Who && (n.Team == NoTeam || t.Team == n.Team) })
		switch {
		case n.Who == "" && !(s.extend && n.LengthS > 0 && n.Foul != ""):
			for k := range out.Penalties {
				out.Penalties[k].change(n)
			}
		case at >= 0:
			out.Penalties[at].change(n)
		case len(out.Penalties) == 1 && out.Penalties[0].Who == "" && n.LengthS == 0 && n.Foul == "":
			out.Penalties[0].change(n)
		default:
			last := out.Penalties[len(out.Penalties)-1]
			if n.Clock == NoClock {
				n.Clock = last.Clock
			}
			if n.Period == noPeriod {
				n.Period = last.Period
			}
			out.Penalties = append(out.Penalties, n)
		}
	}
	for _, g := range s.Goals {
		if g.Clock == NoClock && g.AfterS == 0 && len(b.Goals) > 0 {
			if g.By != NoTeam { // "it was us who scored"
				last := &out.Goals[len(out.Goals)-1]
				last.By = g.By
			}
			continue
		}
		first := out.Penalties[0]
		if g.Period == noPeriod {
			g.Period = first.Period
			if ordinary(g.Period) && first.Clock >= 0 && g.Clock > first.Clock {
				g.Period++
			}
		}
		if g.AfterS > 0 && first.Clock >= g.AfterS {
			g.Clock, g.AfterS = first.Clock-g.AfterS, 0
		}
		out.NoGoal = false
		out.Goals = slices.DeleteFunc(out.Goals, func(o Scored) bool {
			return o.Clock == NoClock || o.Clock == g.Clock && o.Period == g.Period
		})
		out.Goals = append(out.Goals, g)
	}
	return &out
}

// change takes over what n says.
func (t *Told) change(n Told) {
	if n.Who != "" {
		t.Who = n.Who
	}
	if n.Team != NoTeam {
		t.Team = n.Team
	}
	if n.Foul != "" && n.Foul != t.Foul || n.Technical {
		if n.Foul != t.Foul {
			t.Locked = Unsaid // what was said of another foul
		}
		t.Foul, t.Technical = n.Foul, n.Technical
	}
	if n.LengthS > 0 {
		t.LengthS = n.LengthS
	}
	if n.Locked != Unsaid {
		t.Locked = n.Locked
	}
	if n.Period != noPeriod {
		t.Period = n.Period
	}
	if n.Clock != NoClock {
		t.Clock = n.Clock
	}
}

// ordinary says whether a period is a plain number.
func ordinary(p int) bool { return p > noPeriod && p < LastPeriod }

// Penalties reads a penalty story as one structured fact; as makes of it what
// the check wants to keep, nil keeps the *Story.
func Penalties(as func(*Story) any) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		st, ok := q.Story(s)
		if !ok {
			return Val{}, span{}, false
		}
		v := Val{Kind: ObjVal, Obj: st}
		if as != nil {
			v.Obj = as(st)
		}
		return v, span(s), true
	}
}

// StoryPeriod, StoryClock and StoryPeriodLength are the plain facts of a story:
// those of its first penalty.
func StoryPeriod() Reader {
	return storyFact(func(st *Story) (Val, bool) {
		if len(st.Penalties) == 0 || st.Penalties[0].Period == noPeriod {
			return Val{}, false
		}
		v := int64(st.Penalties[0].Period) * measure.One
		return Val{Kind: CountVal, Lo: v, Hi: v}, true
	})
}

// StoryClock is the clock of the first penalty's restart.
func StoryClock() Reader {
	return storyFact(func(st *Story) (Val, bool) {
		if len(st.Penalties) == 0 || st.Penalties[0].Clock < 0 {
			return Val{}, false
		}
		v := int64(st.Penalties[0].Clock)
		return Val{Kind: ClockVal, Lo: v, Hi: v}, true
	})
}

// StoryPeriodLength is the length of a period, where it was said.
func StoryPeriodLength() Reader {
	return storyFact(func(st *Story) (Val, bool) {
		v := int64(st.PeriodS) * int64(measure.Second)
		return Val{Kind: SpanVal, Lo: v, Hi: v}, v > 0
	})
}

func storyFact(of func(*Story) (Val, bool)) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		st, ok := q.Story(s)
		if !ok {
			return Val{}, span{}, false
		}
		v, ok := of(st)
		return v, span(s), ok
	}
}
