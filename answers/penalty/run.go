package penalty

import (
	"cmp"
	"fmt"
	"slices"
)

// Run plays the fouls and goals, given in any order, and says what became of
// each foul. The order given matters in two places only: whose turn comes first
// when more players come to a full box at one restart, and the order of several
// penalties that one player got before one restart.
func Run(g Game, fouls []Foul, goals []Goal) (Result, error) {
	s := sim{fouls: fouls, goals: goals, lastGoal: [2]int{-1, -1}}
	if err := s.setUp(&g); err != nil {
		return Result{}, err
	}
	end := s.clock.end
	for {
		t, more := s.next()
		if !more || t > end {
			break
		}
		s.expire(t)
		if s.score(t) {
			end = t
		}
		if t >= end {
			break
		}
		s.restart(t)
	}
	s.finish(end)
	return s.result, nil
}

// sim is one run.
type sim struct {
	clock clock
	fouls []Foul
	goals []Goal

	pens    []pen    // beside fouls
	players []player // in order of their first foul
	box     [2]box

	arrive   []int  // fouls by restart, then as given; the front comes next
	strike   []int  // goals by time, likewise
	goalAt   []int  // beside goals: when
	lastGoal [2]int // when a goal last counted against each side, -1 never

	result Result
}

// pen is a foul on its way through the box.
type pen struct {
	at     int // its restart
	start  int
	nr     int // how much at its beginning is non-releasable
	player int
	next   int // the same player's next penalty, or none
	turned bool
	done   bool
}

const none = -1

// player has one penalty running while he serves, the others in a list.
type player struct {
	side    Side
	running int // pen, or none
	pending int // first of the list of pens, or none
	inBox   bool
}

// box holds players.
type box struct {
	seats []int // who serve, longest there first
	queue []int // who wait, longest there first
}

func (s *sim) setUp(g *Game) error {
	if len(s.fouls) > maxEntries {
		return &InputError{TooMany, "game", -1, fmt.Sprintf("%d fouls", len(s.fouls))}
	}
	if len(s.goals) > maxEntries {
		return &InputError{TooMany, "game", -1, fmt.Sprintf("%d goals", len(s.goals))}
	}
	var err error
	if s.clock, err = newClock(g); err != nil {
		return err
	}

	// One array for all the lists of indexes: they are short and live together.
	nf, ng := len(s.fouls), len(s.goals)
	ints := make([]int, 5*nf+2*ng)
	take := func(n int) []int {
		part := ints[:n:n]
		ints = ints[n:]
		return part
	}
	s.arrive, s.strike, s.goalAt = take(nf), take(ng), take(ng)
	for i := range s.box {
		s.box[i] = box{seats: take(nf)[:0], queue: take(nf)[:0]}
	}
	s.pens = make([]pen, nf)
	s.players = make([]player, 0, nf)
	s.result.Outcomes = make([]Outcome, nf)
	s.result.Timeline = make([]Event, 0, 3*nf+ng+1)

	for i := range s.fouls {
		f := &s.fouls[i]
		if f.Side > B {
			return &InputError{UnknownSide, "foul", i, fmt.Sprintf("there is no %s", f.Side)}
		}
		if f.LengthS <= 0 || f.LengthS > maxSeconds {
			return &InputError{BadLength, "foul", i, fmt.Sprintf("a penalty of %d seconds cannot be served", f.LengthS)}
		}
		at, err := s.clock.abs(f.At, "foul", i)
		if err != nil {
			return err
		}
		p := pen{at: s.clock.live(at, true), next: none, player: none}
		if !f.Releasable {
			p.nr = f.LengthS
		}
		s.pens[i] = p
		s.arrive[i] = i
		s.result.Outcomes[i].Goal = none
	}
	slices.SortStableFunc(s.arrive, func(x, y int) int { return cmp.Compare(s.pens[x].at, s.pens[y].at) })

	for i, goal := range s.goals {
		if goal.By > B {
			return &InputError{UnknownSide, "goal", i, fmt.Sprintf("there is no %s", goal.By)}
		}
		at, err := s.clock.abs(goal.At, "goal", i)
		if err != nil {
			return err
		}
		if at != s.clock.live(at, false) {
			return &InputError{BallDead, "goal", i, fmt.Sprintf("the ball is dead at %s", goal.At)}
		}
		s.goalAt[i] = at
		s.strike[i] = i
	}
	slices.SortStableFunc(s.strike, func(x, y int) int { return cmp.Compare(s.goalAt[x], s.goalAt[y]) })
	return s.checkEnd()
}

// checkEnd refuses what comes after a goal that ended the game.
func (s *sim) checkEnd() error {
	if !s.clock.g.SuddenVictory {
		return nil
	}
	for _, last := range s.strike {
		if !s.overtimeGoal(last) {
			continue
		}
		end := s.goalAt[last]
		if i := s.strike[len(s.strike)-1]; s.goalAt[i] > end {
			return &InputError{AfterTheEnd, "goal", i, fmt.Sprintf("the game was over at %s", s.goals[last].At)}
		}
		if n := len(s.arrive); n > 0 && s.pens[s.arrive[n-1]].at > end {
			return &InputError{AfterTheEnd, "foul", s.arrive[n-1], fmt.Sprintf("the game was over at %s", s.goals[last].At)}
		}
		break
	}
	return nil
}

func (s *sim) overtimeGoal(i int) bool { return s.goals[i].At.Period > len(s.clock.g.PeriodS) }

// next is when something happens next.
func (s *sim) next() (t int, more bool) {
	t = forever
	if len(s.arrive) > 0 {
		t = min(t, s.pens[s.arrive[0]].at)
	}
	if len(s.strike) > 0 {
		t = min(t, s.goalAt[s.strike[0]])
	}
	for side := range s.box {
		for _, who := range s.box[side].seats {
			i := s.players[who].running
			t = min(t, s.out(i))
			if p := &s.pens[i]; s.turns(i) {
				t = min(t, p.start+p.nr)
			}
		}
	}
	return t, t < forever
}

// turns reports whether the penalty has still to become releasable.
func (s *sim) turns(i int) bool {
	p := &s.pens[i]
	return !p.turned && p.nr > 0 && p.nr < s.fouls[i].LengthS
}

// out is when a running penalty ends by time: when it is up, or, with nothing
// to follow and the ball dead, at the whistle.
func (s *sim) out(i int) int {
	p := &s.pens[i]
	up := p.start + s.fouls[i].LengthS
	if s.players[p.player].pending != none {
		return up
	}
	return s.clock.live(up, false)
}

// expire ends what is up at t, and begins what that makes room for.
func (s *sim) expire(t int) {
	for side := range s.box {
		b := &s.box[side]
		for k := 0; k < len(b.seats); {
			who := b.seats[k]
			i := s.players[who].running
			p := &s.pens[i]
			if s.turns(i) && p.start+p.nr <= t {
				p.turned = true
				s.log(t, s.clock.beginning(t), Turns, Side(side), i, none)
			}
			if s.out(i) > t {
				k++
				continue
			}
			at := s.clock.ending(t)
			if p.start+s.fouls[i].LengthS < t {
				at = s.clock.beginning(t) // it waited for this whistle
			}
			s.close(i, at, ByTime, s.fouls[i].LengthS, none)
			pl := &s.players[who]
			if pl.pending != none && t < s.clock.end {
				s.log(t, at, Expires, Side(side), i, none)
				s.begin(who, t)
				k++
				continue
			}
			s.leave(b, k)
			s.log(t, at, Expires, Side(side), i, none)
		}
		s.fill(Side(side), t)
	}
}

// score counts the goals at t and reports whether one of them ends the game.
func (s *sim) score(t int) (over bool) {
	for len(s.strike) > 0 && s.goalAt[s.strike[0]] == t {
		goal := s.strike[0]
		s.strike = s.strike[1:]
		by := s.goals[goal].By
		against := by.Other()
		s.log(t, s.goals[goal].At, Scores, by, none, goal)
		over = over || (s.clock.g.SuddenVictory && s.overtimeGoal(goal))
		if s.lastGoal[against] == t {
			continue // a second goal at the same clock finds the same players
		}
		s.lastGoal[against] = t
		b := &s.box[against]
		for k := 0; k < len(b.seats); {
			who := b.seats[k]
			i := s.players[who].running
			p := &s.pens[i]
			served := t - p.start // a start can be ahead, after a dead ball
			if length := s.fouls[i].LengthS; p.nr == length || served < p.nr {
				k++
				continue
			}
			if served == p.nr {
				s.result.Outcomes[i].Open |= OpenSameClock
			}
			s.close(i, s.goals[goal].At, ByGoal, served, goal)
			if s.players[who].pending != none {
				s.log(t, s.goals[goal].At, Releases, against, i, goal)
				s.players[who].running = none // his next begins at the restart
				k++
				continue
			}
			s.leave(b, k)
			s.log(t, s.goals[goal].At, Releases, against, i, goal)
		}
	}
	return over
}

// restart takes in the fouls of this restart, then begins what waited for it:
// the next penalty of players whom a goal freed of one, the turns of those for
// whom a goal made room, and the new fouls.
func (s *sim) restart(t int) {
	n := 0
	for n < len(s.arrive) && s.pens[s.arrive[n]].at == t {
		n++
	}
	group := s.arrive[:n]
	s.arrive = s.arrive[n:]
	for _, i := range group {
		s.assign(i)
	}
	s.match(t, group)
	for _, i := range group {
		s.enlist(i)
	}
	for _, i := range group {
		if who := s.pens[i].player; !s.players[who].inBox {
			s.players[who].inBox = true
			b := &s.box[s.players[who].side]
			b.queue = append(b.queue, who)
		}
	}
	for side := range s.box {
		for _, who := range s.box[side].seats {
			if s.players[who].running == none {
				s.begin(who, s.clock.live(t, true))
			}
		}
		s.fill(Side(side), t)
	}
	for _, i := range group {
		p := &s.pens[i]
		o := &s.result.Outcomes[i]
		side := s.fouls[i].Side
		pl := &s.players[p.player]
		switch {
		case pl.running == i:
			if p.nr == 0 && s.lastGoal[side] == t {
				o.Open |= OpenSameClock
			}
		case pl.running == none && pl.pending == i:
			o.Waited = true
			s.log(t, s.clock.beginning(t), Waits, side, i, none)
		default:
			o.Waited = pl.running == none
			s.log(t, s.clock.beginning(t), Stacks, side, i, none)
		}
	}
}

// assign finds the player of a foul, or makes him.
func (s *sim) assign(i int) {
	f := &s.fouls[i]
	if f.Who != "" {
		for k := range s.pens {
			if who := s.pens[k].player; who != none && s.fouls[k].Side == f.Side && s.fouls[k].Who == f.Who {
				s.pens[i].player = who
				return
			}
		}
	}
	s.players = append(s.players, player{side: f.Side, running: none, pending: none})
	s.pens[i].player = len(s.players) - 1
}

// enlist puts a foul into its player's list: non-releasable fouls first, then
// those made so by matching, in whole or in part; else by restart and as given.
func (s *sim) enlist(i int) {
	link := &s.players[s.pens[i].player].pending
	for *link != none && s.class(*link) <= s.class(i) {
		link = &s.pens[*link].next
	}
	s.pens[i].next = *link
	*link = i
}

func (s *sim) class(i int) int {
	switch nr := s.pens[i].nr; {
	case !s.fouls[i].Releasable:
		return 0
	case nr == s.fouls[i].LengthS:
		return 1
	case nr > 0:
		return 2
	}
	return 3
}

// fill gives free seats to those who wait.
func (s *sim) fill(side Side, t int) {
	b := &s.box[side]
	for len(b.queue) > 0 && len(b.seats) < s.clock.g.MaxServing && t < s.clock.end {
		who := b.queue[0]
		b.queue = b.queue[1:]
		b.seats = append(b.seats, who)
		s.begin(who, s.clock.live(t, true))
	}
}

// begin starts a seated player's next penalty.
func (s *sim) begin(who, t int) {
	pl := &s.players[who]
	i := pl.pending
	pl.running = i
	p := &s.pens[i]
	pl.pending = p.next
	p.start = t
	if t >= s.clock.end {
		return // the ball stays dead to the end
	}
	o := &s.result.Outcomes[i]
	o.Started = true
	o.Start = s.clock.beginning(t)
	o.WaitedS = t - p.at
	s.log(t, o.Start, Starts, pl.side, i, none)
}

// leave takes the player on seat k out of the box.
func (s *sim) leave(b *box, k int) {
	pl := &s.players[b.seats[k]]
	pl.running = none
	pl.inBox = pl.pending != none // which can only be when the game is over
	b.seats = slices.Delete(b.seats, k, k+1)
}

// close writes down how a running penalty ended.
func (s *sim) close(i int, at Instant, how Ending, served, goal int) {
	p := &s.pens[i]
	p.done = true
	o := &s.result.Outcomes[i]
	o.End, o.Ending, o.Goal, o.ServedS = at, how, goal, served
	o.Stays = s.players[p.player].pending != none
	if how == ByGoal {
		o.WaivedS = s.fouls[i].LengthS - served
	}
}

// log adds an event to the timeline.
func (s *sim) log(t int, at Instant, kind EventKind, side Side, foul, goal int) {
	e := Event{At: at, Kind: kind, Side: side, Foul: foul, Goal: goal, abs: t}
	for i := range s.box {
		e.Box[i] = Box{Serving: len(s.box[i].seats), Waiting: len(s.box[i].queue)}
	}
	s.result.Timeline = append(s.result.Timeline, e)
}

// finish ends the game and completes the outcomes.
func (s *sim) finish(end int) {
	left := false
	var over Instant
	if end < forever {
		over = s.clock.ending(end)
	}
	for i := range s.pens {
		p := &s.pens[i]
		o := &s.result.Outcomes[i]
		o.NonReleasableS = p.nr
		if p.done {
			continue
		}
		o.Ending, o.End = GameOver, over
		if o.Started && p.start < end {
			o.ServedS = end - p.start
		} else {
			o.Started, o.Start, o.WaitedS = false, Instant{}, max(end-p.at, 0)
		}
		o.LeftoverS = s.fouls[i].LengthS - o.ServedS
		left = true
	}
	if left || end < s.clock.end {
		s.log(end, over, Ends, A, none, none)
	}
	s.doubtOrder()
	if len(s.clock.dead) > 0 { // starts may have been written down ahead of the whistle
		slices.SortStableFunc(s.result.Timeline, func(x, y Event) int { return cmp.Compare(x.abs, y.abs) })
	}
}

// doubtOrder marks penalties of one player whose order the rules leave open
// where a goal made it matter.
func (s *sim) doubtOrder() {
	for i := range s.pens {
		if s.result.Outcomes[i].Ending != ByGoal {
			continue
		}
		for k := range s.pens {
			p, q := &s.pens[i], &s.pens[k]
			if k != i && p.player == q.player && p.at == q.at && s.class(i) == s.class(k) && s.fouls[i].LengthS != s.fouls[k].LengthS {
				s.result.Outcomes[i].Open |= OpenOrder
				s.result.Outcomes[k].Open |= OpenOrder
			}
		}
	}
}
