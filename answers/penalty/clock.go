package penalty

import (
	"cmp"
	"fmt"
	"slices"
)

// Bounds against absurd input, far above any game: they keep sums small enough
// for an int of 32 bits and a run short. They are not rules.
const (
	maxSeconds = 24 * 60 * 60
	maxPeriods = 1000
	maxEntries = 1000
)

// forever stands for the end of a game without one.
const forever = int(^uint(0) >> 1)

// clock turns readings of the game clock into seconds of play since the first
// whistle, and back. The end of one period and the start of the next are the
// same second of play.
type clock struct {
	g       *Game
	regular int        // length of all regular periods
	end     int        // end of the last overtime, or forever
	dead    []deadSpan // sorted, apart
}

type deadSpan struct{ from, to int }

func newClock(g *Game) (clock, error) {
	c := clock{g: g}
	bad := func(format string, args ...any) (clock, error) {
		return clock{}, &InputError{BadGame, "game", -1, fmt.Sprintf(format, args...)}
	}
	if n := len(g.PeriodS); n == 0 || n > maxPeriods {
		return bad("it has %d periods", n)
	}
	for i, s := range g.PeriodS {
		if s <= 0 || s > maxSeconds {
			return bad("period %d is %d seconds long", i+1, s)
		}
		c.regular += s
	}
	if g.MaxServing <= 0 {
		return bad("%d players may serve at once", g.MaxServing)
	}
	if g.Overtimes < Unlimited || g.Overtimes > maxPeriods {
		return bad("it has %d overtimes", g.Overtimes)
	}
	if g.Overtimes != 0 && (g.OvertimeS <= 0 || g.OvertimeS > maxSeconds) {
		return bad("an overtime is %d seconds long", g.OvertimeS)
	}
	c.end = forever
	if g.Overtimes != Unlimited {
		c.end = c.regular + g.Overtimes*g.OvertimeS
	}
	if len(g.DeadBalls) > 0 {
		return c.withDeadBalls()
	}
	return c, nil
}

func (c clock) withDeadBalls() (clock, error) {
	if n := len(c.g.DeadBalls); n > maxEntries {
		return clock{}, &InputError{TooMany, "game", -1, fmt.Sprintf("%d dead balls", n)}
	}
	for i, sp := range c.g.DeadBalls {
		var d deadSpan
		var err error
		if d.from, err = c.abs(sp.From, "dead ball", i); err != nil {
			return clock{}, err
		}
		if d.to, err = c.abs(sp.To, "dead ball", i); err != nil {
			return clock{}, err
		}
		if d.to < d.from {
			return clock{}, &InputError{BadGame, "dead ball", i, fmt.Sprintf("it ends (%s) before it begins (%s)", sp.To, sp.From)}
		}
		c.dead = append(c.dead, d)
	}
	slices.SortFunc(c.dead, func(x, y deadSpan) int { return cmp.Or(cmp.Compare(x.from, y.from), cmp.Compare(x.to, y.to)) })
	for i := 1; i < len(c.dead); i++ {
		if c.dead[i].from < c.dead[i-1].to {
			return clock{}, &InputError{BadGame, "game", -1, "two dead balls overlap"}
		}
	}
	return c, nil
}

// length of a period, 0 for one that the game does not have.
func (c *clock) length(period int) int {
	n := len(c.g.PeriodS)
	switch {
	case period < 1 || period > maxPeriods:
		return 0
	case period <= n:
		return c.g.PeriodS[period-1]
	case c.g.Overtimes == Unlimited || period <= n+c.g.Overtimes:
		return c.g.OvertimeS
	}
	return 0
}

// abs checks a reading and turns it into seconds of play.
func (c *clock) abs(at Instant, what string, index int) (int, error) {
	l := c.length(at.Period)
	switch {
	case l == 0:
		return 0, &InputError{UnknownPeriod, what, index, fmt.Sprintf("there is no period %d in this game", at.Period)}
	case at.ClockLeftS < 0:
		return 0, &InputError{ClockNegative, what, index, fmt.Sprintf("the clock cannot show %s", clockText(at.ClockLeftS))}
	case at.ClockLeftS > l:
		return 0, &InputError{ClockTooLong, what, index, fmt.Sprintf("the clock shows %s, but period %d is only %s long", clockText(at.ClockLeftS), at.Period, clockText(l))}
	}
	t := l - at.ClockLeftS
	n := len(c.g.PeriodS)
	for _, s := range c.g.PeriodS[:min(at.Period-1, n)] {
		t += s
	}
	return t + max(at.Period-1-n, 0)*c.g.OvertimeS, nil
}

// ending is the reading at t for something that ends: at the border of two
// periods, 0:00 of the first.
func (c *clock) ending(t int) Instant {
	for i, s := range c.g.PeriodS {
		if t <= s || (i == len(c.g.PeriodS)-1 && c.g.Overtimes == 0) {
			return Instant{i + 1, s - t}
		}
		t -= s
	}
	over := (t - 1) / c.g.OvertimeS // t > 0 here
	return Instant{len(c.g.PeriodS) + over + 1, c.g.OvertimeS - (t - over*c.g.OvertimeS)}
}

// beginning is the reading at t for something that begins: at the border of two
// periods, the full clock of the second, if there is one.
func (c *clock) beginning(t int) Instant {
	at := c.ending(t)
	if at.ClockLeftS == 0 {
		if l := c.length(at.Period + 1); l > 0 {
			return Instant{at.Period + 1, l}
		}
	}
	return at
}

// live is when play next runs at or after t: where a start waits for the
// whistle. stopped says whether t itself, as the moment of stopping, is dead.
func (c *clock) live(t int, stopped bool) int {
	for _, d := range c.dead {
		if t < d.to && (t > d.from || (stopped && t == d.from)) {
			t = d.to // spans may touch: go on
		}
	}
	return t
}
