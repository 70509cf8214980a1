package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/penalty"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// How many quarters and halves make a whole, in a game as elsewhere.
const (
	quarters = 4
	halves   = 2
)

// bounds of a story, far above any told; they keep the memory of a ruling small.
const (
	maxFouls = 12
	maxGoals = 12
)

// table is one case of the penalty table, on its way into the engine.
type table struct {
	c     *Case
	story *question.Story
	game  penalty.Game

	fouls  [maxFouls]penalty.Foul
	goals  [maxGoals]penalty.Goal
	nFouls int
	nGoals int

	atLeast, atMost int64 // the time of the first foul whose length is a range and was not said
	which           string

	open    [maxFouls]bool // releasable or not is not known
	openBy  [maxGoals]bool // whose goal is not said
	periods [4]int         // length of each period, kept off the heap
	n       int            // how many periods
	labels  bool           // the sides are called A and B
	memory  bool           // a rule used is from memory
}

// setGame reads the form of the game from the sheet.
func (t *table) setGame() bool {
	c := t.c
	n, ok := peekNumber(c, formatTopic, "periods")
	period, ok2 := peekNumber(c, formatTopic, "period")
	serve, ok3 := peekNumber(c, releaseTopic, "serve_at_once")
	if !ok || !ok2 || !ok3 {
		c.NotCovered()
		return false
	}
	t.n = int(n / one)
	if t.story.Quarters && t.n != quarters {
		return t.cannot("period", "no-such-period")
	}
	other := "running_period"
	if r := c.Peek(formatTopic, "clock"); r != nil && r.Value.Kind == sheet.Word && r.Value.Words[0] == "running" {
		other = "stop_period"
	}
	second, has := peekNumber(c, formatTopic, other)
	length := seconds(period)
	switch {
	case t.story.PeriodS > 0:
		length = t.story.PeriodS
	case has && (t.story.Running && other == "running_period" || t.story.Stopped && other == "stop_period"):
		length = seconds(second)
		c.Find(formatTopic, other)
	case has && t.longest() > length && t.longest() <= seconds(second): // the clock told needs the longer form
		length = seconds(second)
		c.Find(formatTopic, other)
	}
	if t.n <= len(t.periods) {
		t.game.PeriodS = t.periods[:t.n]
		for i := range t.game.PeriodS {
			t.game.PeriodS[i] = length
		}
	} else {
		t.game.PeriodS = penalty.Periods(t.n, length)
	}
	t.game.MaxServing = int(serve / one)
	if ot, ok := peekNumber(c, formatTopic, "overtime"); ok && ot > 0 {
		t.game.OvertimeS = seconds(ot)
		if r := c.Peek(formatTopic, "overtimes"); r != nil {
			switch r.Value.Kind {
			case sheet.Word:
				t.game.Overtimes = penalty.Unlimited
			case sheet.Number:
				t.game.Overtimes = int(r.Value.Lo / one)
			}
		}
		r := c.Peek(formatTopic, "overtime_style")
		t.game.SuddenVictory = r != nil && r.Value.Kind == sheet.Word && r.Value.Words[0] == "sudden-victory"
	}
	return true
}

func peekNumber(c *Case, topic, key string) (int64, bool) {
	r := c.Peek(topic, key)
	if r == nil || r.Value.Kind != sheet.Number {
		return 0, false
	}
	return r.Value.Lo, true
}

func seconds(ms int64) int { return int(ms / int64(measure.Second)) }

// longest is the most that a clock of a regular period is said to show.
func (t *table) longest() int {
	top := 0
	for i := range t.story.Penalties {
		if p := &t.story.Penalties[i]; p.Period < question.OvertimePeriod || p.Period >= question.FirstHalf {
			top = max(top, p.Clock)
		}
	}
	for i := range t.story.Goals {
		if g := &t.story.Goals[i]; g.Period < question.OvertimePeriod || g.Period >= question.FirstHalf {
			top = max(top, g.Clock)
		}
	}
	return top
}

// cannot says that what is told cannot be in this division's game: a question
// where the division is known, and no ruling where it is only one of several.
func (t *table) cannot(fact, head string) bool {
	if !t.c.DivKnown {
		t.c.NotCovered()
		return false
	}
	t.c.Need(fact)
	t.c.Head = head
	t.c.ParamNum("periods", float64(t.n))
	return false
}

// setFouls finds each penalty's length and whether a goal releases it.
func (t *table) setFouls() bool {
	c, st := t.c, t.story
	if len(st.Penalties) > maxFouls || len(st.Goals) > maxGoals {
		c.Need("penalties")
		return false
	}
	first := question.NoTeam
	for i := range st.Penalties {
		if p := &st.Penalties[i]; p.Team == question.TeamA || p.Team == question.TeamB {
			t.labels = true
			if first == question.NoTeam {
				first = p.Team
			}
		}
	}
	if first == question.NoTeam {
		first = question.Ours
	}
	noLength, noClock := false, false
	for i := range st.Penalties {
		p := &st.Penalties[i]
		team := p.Team
		switch {
		case team == question.NoTeam, t.labels && team == question.Ours:
			team = first
		case t.labels && team == question.Theirs:
			team = first.Other()
		}
		f := penalty.Foul{Side: side(team), Who: p.Who, LengthS: p.LengthS}
		if st.OnePlayer && f.Who == "" {
			f.Who = "1"
		}
		f.At.ClockLeftS = p.Clock
		t.fouls[i] = f
		if !t.rule(i, p) {
			noLength = true
		}
		noClock = noClock || p.Clock == question.NoClock
	}
	t.nFouls = len(st.Penalties)
	switch {
	case noLength:
		c.Need("penalty_s")
		if noClock {
			c.Need("penalty_s", "clock")
		}
		if t.atMost > 0 {
			c.ParamNum("min_s", Sec(t.atLeast))
			c.ParamNum("max_s", Sec(t.atMost))
			c.ParamText("foul", t.which)
			c.Head = "need-length"
		}
		return false
	case noClock:
		c.Need("clock")
		return false
	}
	return true
}

// rule reads the sheet for one penalty; false where its length is not settled.
func (t *table) rule(i int, p *question.Told) bool {
	c, f := t.c, &t.fouls[i]
	foul := p.Foul
	if foul == "" && p.Technical {
		foul = t.anyTechnical()
	}
	locked := p.Locked
	if foul != "" {
		if r := c.Find(foulTopic, foul+".releasable"); r != nil && locked == question.Unsaid {
			switch {
			case r.Value.Kind == sheet.Flag && r.Value.Lo != 0:
				locked = question.SaidNo
			case r.Value.Kind == sheet.Flag:
				locked = question.SaidYes
			}
		}
		if f.LengthS == 0 {
			lo, _, ok := c.Range(foulTopic, foul+".min")
			_, hi, ok2 := c.Range(foulTopic, foul+".max")
			if ok && ok2 {
				if lo == hi {
					f.LengthS = seconds(lo)
					t.memory = t.memory || fromMemory(c.Peek(foulTopic, foul+".min"))
				}
				if lo < hi && t.atMost == 0 {
					t.atLeast, t.atMost, t.which = lo, hi, foul
				}
			}
		}
	}
	f.Releasable = locked != question.SaidYes
	t.open[i] = locked == question.Unsaid
	return f.LengthS > 0
}

// anyTechnical is a foul of the technical class: what holds for all of them
// stands in each.
func (t *table) anyTechnical() string {
	const class = ".class"
	c := t.c
	for _, r := range c.Sheet.All() {
		if r.Topic != foulTopic || r.Value.Kind != sheet.Word || r.Value.Words[0] != "technical" || len(r.Key) <= len(class) {
			continue
		}
		if k := len(r.Key) - len(class); r.Key[k:] == class && r.Holds(c.Division, c.Position, c.On) {
			return r.Key[:k]
		}
	}
	return ""
}

func side(t question.Team) penalty.Side {
	if t == question.Theirs || t == question.TeamB {
		return penalty.B
	}
	return penalty.A
}

// periodNumber is the number of a period as told, 0 where it is not known.
func (t *table) periodNumber(p int) int {
	switch {
	case p >= question.FirstHalf:
		if h := p - question.FirstHalf + 1; t.n == halves {
			return h
		}
		return 0
	case p >= question.OvertimePeriod:
		return t.n + 1 + p - question.OvertimePeriod
	case p == question.LastPeriod:
		return t.n
	}
	return p
}

// length of a period, 0 where the game does not have it.
func (t *table) length(p int) int {
	switch {
	case p < 1:
		return 0
	case p <= t.n:
		return t.game.PeriodS[p-1]
	case t.game.Overtimes == penalty.Unlimited || p <= t.n+t.game.Overtimes:
		return t.game.OvertimeS
	}
	return 0
}

// setPeriods puts the story on the game's clock and rules. Without a period it
// tries each: where all give the same clock, the period does not matter.
func (t *table) setPeriods() bool {
	c := t.c
	known := true
	for i := range t.story.Penalties {
		known = known && t.periodNumber(t.story.Penalties[i].Period) > 0
	}
	if p := t.story.Penalties[0].Period; p >= question.LastPeriod {
		if _, ok := c.Fact("period"); ok { // overtime by its number in this game, for the answer's facts
			n := int64(t.periodNumber(p)) * one
			c.Facts.Set("period", question.Val{Kind: question.CountVal, Lo: n, Hi: n})
		}
	}
	if known {
		if !t.place(0) {
			return false
		}
		r, ok := t.run()
		if ok {
			t.answer(&r, true)
		}
		return ok
	}
	var same penalty.Result
	found := -1
	for p := 1; p <= t.n; p++ {
		if !t.place(p) {
			if c.Verdict == answer.Need && c.Missing()[0] != "clock" {
				return false
			}
			continue
		}
		r, ok := t.run()
		if !ok {
			return false
		}
		if found < 0 {
			found, same = p, r
			continue
		}
		for i := range r.Outcomes {
			x, y := &same.Outcomes[i], &r.Outcomes[i]
			if x.Ending != y.Ending || x.ServedS != y.ServedS || x.End.ClockLeftS != y.End.ClockLeftS || x.End.Period-found != y.End.Period-p {
				c.Need("period")
				return false
			}
		}
	}
	if found < 0 {
		return false
	}
	c.Verdict, c.Head, c.nMiss = "", "", 0
	for i := range same.Outcomes {
		if same.Outcomes[i].End.Period != found || t.fouls[i].At.Period != t.fouls[0].At.Period {
			c.Need("period")
			return false
		}
	}
	t.answer(&same, false)
	return true
}

// place puts fouls and goals at their clocks; those without a period into p.
func (t *table) place(p int) bool {
	st := t.story
	period := func(told int) int {
		if n := t.periodNumber(told); n > 0 {
			return n
		}
		return p
	}
	for i := range st.Penalties {
		at := &t.fouls[i].At
		at.Period = period(st.Penalties[i].Period)
		length := t.length(at.Period)
		at.ClockLeftS = st.Penalties[i].Clock
		if at.ClockLeftS == question.FullClock {
			at.ClockLeftS = length
		}
		if length == 0 {
			return t.cannot("period", "no-such-period")
		}
		if at.ClockLeftS > length {
			t.c.ParamNum("period_s", float64(length))
			return t.cannot("clock", "clock-too-long")
		}
	}
	t.nGoals = 0
	for i := range st.Goals {
		g := &st.Goals[i]
		if g.Clock == question.NoClock {
			if !g.Past || !t.mayRelease(g) {
				continue // a "what if": said in the detail
			}
			t.c.Need("goal_clock")
			return false
		}
		n := period(g.Period)
		if g.Period == 0 && p == 0 {
			n = t.fouls[0].At.Period
		}
		length := t.length(n)
		clock := g.Clock
		if clock == question.FullClock {
			clock = length
		}
		if length == 0 || clock > length {
			return t.cannot("goal_clock", "goal-too-long")
		}
		by := g.By
		out := &t.goals[t.nGoals]
		*out = penalty.Goal{At: penalty.Instant{Period: n, ClockLeftS: clock}}
		t.openBy[t.nGoals] = false
		switch {
		case by == question.NoTeam:
			out.By = t.fouls[0].Side.Other() // whose goals release; a line says so
			t.openBy[t.nGoals] = true
		case t.labels && by == question.Theirs:
			out.By = t.fouls[0].Side.Other()
		case t.labels && by == question.Ours:
			out.By = t.fouls[0].Side
		default:
			out.By = side(by)
		}
		t.nGoals++
	}
	return true
}

// mayRelease says whether a goal could release anybody.
func (t *table) mayRelease(g *question.Scored) bool {
	for i := 0; i < t.nFouls; i++ {
		f := &t.fouls[i]
		if f.Releasable && (g.By == question.NoTeam || side(g.By) != f.Side || t.labels) {
			return true
		}
	}
	return false
}

// run asks the engine, and again for each thing that is not known: where it
// makes a difference it has to be asked for.
func (t *table) run() (penalty.Result, bool) {
	c := t.c
	fouls, goals := t.fouls[:t.nFouls], t.goals[:t.nGoals]
	base, err := penalty.Run(t.game, fouls, goals)
	if err != nil {
		c.Need("goal_clock") // the story contradicts itself: a goal after the game's end
		c.Head = "impossible"
		return base, false
	}
	differs := func() bool {
		other, err := penalty.Run(t.game, fouls, goals)
		if err != nil {
			return true
		}
		for i := range base.Outcomes {
			x, y := &base.Outcomes[i], &other.Outcomes[i]
			if x.End != y.End || x.Ending != y.Ending || x.ServedS != y.ServedS {
				return true
			}
		}
		return false
	}
	if t.nGoals > 0 {
		for i := range fouls {
			if !t.open[i] {
				continue
			}
			fouls[i].Releasable = false
			diff := differs()
			fouls[i].Releasable = true
			if diff {
				c.Need("releasable")
				return base, false
			}
		}
	}
	both := false
	for i := range fouls {
		both = both || fouls[i].Side != fouls[0].Side
	}
	if both {
		for i := range goals {
			if !t.openBy[i] {
				continue
			}
			goals[i].By = goals[i].By.Other()
			diff := differs()
			goals[i].By = goals[i].By.Other()
			if diff {
				c.Need("goal_by")
				return base, false
			}
		}
	}
	return base, true
}
