// Package penalty works out the game clock and the penalty box: who serves
// when, who waits, whom a goal releases, and what is left when the game ends.
//
// It is a discrete-event simulation that knows no rule values. The length of
// the periods, the overtimes, how many may serve at once, how long a foul lasts
// and whether it is releasable all come in as parameters; times are whole
// seconds of the game clock.
//
// # The box, by example
//
// Side B's #1 has one releasable minute from 8:00, and side A scores at 7:25:
//
//	8:00  #1 starts                 (the whistle that restarts play)
//	7:25  A scores, #1 is released  (he served 35 s, 25 s are waived)
//
// Had #1's minute been non-releasable, the goal would have changed nothing and
// he would be back at 7:00. Had A's #2 been flagged before the same restart for
// half a minute, then the half minute both sides serve is non-releasable for
// both: #2 is back at 7:30 whatever happens, and #1 becomes releasable at 7:30.
//
// # What happens first when the clock shows one time for several things
//
//  1. Time that is up ends, and what it made room for begins: the player's next
//     penalty, the releasable part of one that was matched, a waiting player's.
//  2. Goals release.
//  3. Play restarts: players for whom a goal made room begin, then the fouls of
//     that restart, in the order in which they were given.
//
// So a penalty that runs out at the very time of a goal ended by time, and a
// goal at the clock of a restart came before it. Where that order decides
// something that the rules leave open, the Outcome says so in Open.
package penalty

import (
	"fmt"
	"strconv"
)

// Side is one of the two teams.
type Side uint8

// The two sides. Which is home does not matter to the box.
const (
	A Side = iota
	B
)

// Other is the opponent.
func (s Side) Other() Side { return s ^ 1 }

func (s Side) String() string {
	switch s {
	case A:
		return "A"
	case B:
		return "B"
	}
	return "side " + strconv.Itoa(int(s))
}

// Instant is a reading of the game clock: the period, counted from 1 with the
// overtimes going on after the last period, and the seconds left in it.
type Instant struct {
	Period     int
	ClockLeftS int
}

func (i Instant) String() string {
	return fmt.Sprintf("period %d, %s left", i.Period, clockText(i.ClockLeftS))
}

// Span is a stretch of the game clock during which the ball is dead.
type Span struct{ From, To Instant }

// Unlimited as Game.Overtimes: overtime is repeated until somebody scores.
const Unlimited = -1

// Game is the form of the game, all of it from the rule sheet.
type Game struct {
	PeriodS       []int // length of each regular period
	OvertimeS     int   // length of one overtime; needed unless Overtimes is 0
	Overtimes     int   // how many: 0 none, Unlimited without end
	SuddenVictory bool  // a goal in overtime ends the game (after it has released players)
	MaxServing    int   // how many of one side serve at once; the others wait

	// DeadBalls are the stoppages that take time off the clock, which only a
	// running clock has: time goes on in them, but nobody starts or comes back
	// before the whistle at their end. With a stopped clock leave it empty.
	DeadBalls []Span
}

// Periods is n regular periods of one length, for Game.PeriodS.
func Periods(n, lengthS int) []int {
	if n < 0 || n > maxPeriods {
		return nil
	}
	p := make([]int, n)
	for i := range p {
		p[i] = lengthS
	}
	return p
}

// Foul is one penalty to be served. A foul that costs only the ball is none.
type Foul struct {
	Side       Side
	Who        string // jersey number or label; "" is a player of his own each time
	LengthS    int
	Releasable bool
	At         Instant // the clock of the restart, at which time begins to run
}

// Goal is one goal. It releases players of the other side.
type Goal struct {
	By Side
	At Instant
}

// Ending says what ended a penalty.
type Ending uint8

const (
	ByTime   Ending = iota // all of it was served
	ByGoal                 // a goal released the player
	GameOver               // the game ended first, LeftoverS says with how much to go
)

func (e Ending) String() string {
	switch e {
	case ByTime:
		return "time"
	case ByGoal:
		return "goal"
	case GameOver:
		return "game over"
	}
	return "ending " + strconv.Itoa(int(e))
}

// Open is what the rules leave undecided about an outcome: the engine picked
// one reading, an answer should name the officials. Values add up as bits.
type Open uint8

const (
	// OpenPartner: players of one side have equal time and could change
	// partners when the time common to both sides is made non-releasable.
	OpenPartner Open = 1 << iota
	// OpenOrder: two releasable penalties of one player from one restart, of
	// different length, and a goal ended one; they ran in the order given.
	OpenOrder
	// OpenSameClock: a goal against him at the very clock at which his
	// releasable time begins.
	OpenSameClock
)

// Outcome is what became of one foul.
// ServedS + WaivedS + LeftoverS is always the foul's length.
type Outcome struct {
	Started bool    // false if the game ended before his turn
	Start   Instant // where his time began; zero if it never did
	End     Instant // where it ended: for GameOver, the end of the game
	Ending  Ending
	Goal    int // the goal that released him, an index into the goals; -1 none

	ServedS   int // time really served
	WaivedS   int // time that a goal took off
	LeftoverS int // time that the game's end took off

	// NonReleasableS is how much of it, at its beginning, no goal could touch:
	// all of a non-releasable foul; of another the time common to both sides.
	NonReleasableS int

	Waited  bool // the box was full when he came
	WaitedS int  // clock time from the restart to Start (or the game's end), for whatever reason
	Stays   bool // another penalty of his follows: he is not back on the field at End
	Open    Open // doubts
}

// AtGoal reports whether a goal released him.
func (o Outcome) AtGoal() bool { return o.Ending == ByGoal }

// Released reports whether this penalty ended before the game did.
func (o Outcome) Released() bool { return o.Ending != GameOver }

// Match is a restart before which both sides fouled.
type Match struct {
	At      Instant
	TimeS   [2]int // penalty time of each side from this restart
	Ball    Side   // the side with less time, which gets the ball
	HasBall bool   // false when the times are equal: the rules given here do not say
}

// EventKind names what happens in an Event.
type EventKind uint8

const (
	Starts   EventKind = iota // a penalty's time begins
	Waits                     // the box is full, the player waits
	Stacks                    // the player already has a penalty, this one follows
	Turns                     // the non-releasable part is over, a goal releases from now on
	Scores                    // a goal
	Expires                   // a penalty is over by time
	Releases                  // a penalty is over by a goal
	Ends                      // the game is over with penalty time left, or by a goal in overtime
)

func (k EventKind) String() string {
	switch k {
	case Starts:
		return "starts"
	case Waits:
		return "waits"
	case Stacks:
		return "stacks"
	case Turns:
		return "turns releasable"
	case Scores:
		return "scores"
	case Expires:
		return "expires"
	case Releases:
		return "released"
	case Ends:
		return "game ends"
	}
	return "event " + strconv.Itoa(int(k))
}

// Event is one line of the timeline.
type Event struct {
	At   Instant
	Kind EventKind
	Side Side   // the player's side; for Scores the side that scored
	Foul int    // index into the fouls, or -1
	Goal int    // index into the goals (Scores and Releases), or -1
	Box  [2]Box // each side's box once it has happened

	abs int
}

// Box is the state of one side's box, counted in players.
type Box struct{ Serving, Waiting int }

// Fill seats inBox penalised players of one side, of whom at most maxServing
// serve at once. Negative numbers count as none.
func Fill(inBox, maxServing int) Box {
	inBox, maxServing = max(inBox, 0), max(maxServing, 0)
	serving := min(inBox, maxServing)
	return Box{Serving: serving, Waiting: inBox - serving}
}

// OnField is how many of a side may be on the field, its goalkeeper counted,
// in a game of aSide players. One who waits for room in the box does not serve,
// and his side is not a player short for him yet.
func (b Box) OnField(aSide int) int { return max(aSide-b.Serving, 0) }

// Result is what Run found.
type Result struct {
	Outcomes []Outcome // one for each foul, in the order given
	Timeline []Event   // in order of time
	Matches  []Match   // restarts before which both sides fouled, in order of time
}

// Problem is a kind of unusable input.
type Problem uint8

const (
	BadGame       Problem = iota + 1 // the form of the game makes no sense
	TooMany                          // more entries than any game has
	UnknownSide                      // a side other than A and B
	UnknownPeriod                    // a period that this game does not have
	ClockTooLong                     // more on the clock than the period is long
	ClockNegative                    // less than nothing on the clock
	BadLength                        // a penalty of no, negative or absurd length
	BallDead                         // a goal while the ball is dead
	AfterTheEnd                      // after the overtime goal that ended the game
)

// InputError tells which entry cannot be used and why.
type InputError struct {
	Problem Problem
	What    string // "game", "foul", "goal" or "dead ball"
	Index   int    // which one, from 0; -1 for the game
	Reason  string // for people, without the entry's name
}

func (e *InputError) Error() string {
	if e.Index < 0 {
		return "penalty: " + e.What + ": " + e.Reason
	}
	return fmt.Sprintf("penalty: %s %d: %s", e.What, e.Index+1, e.Reason)
}

// clockText writes seconds as m:ss.
func clockText(s int) string {
	sign := ""
	if s < 0 {
		sign, s = "-", -s
	}
	return fmt.Sprintf("%s%d:%02d", sign, s/60, s%60)
}
