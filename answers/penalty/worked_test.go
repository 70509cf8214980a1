package penalty

import (
	"errors"
	"strings"
	"testing"
)

// The form of the game in these tests: four periods of twelve minutes and
// overtime, three at once. Tests may know such numbers, the engine does not.
func hs() Game {
	return Game{PeriodS: Periods(4, 720), OvertimeS: 240, Overtimes: Unlimited, SuddenVictory: true, MaxServing: 3}
}

func at(period, min, sec int) Instant { return Instant{period, min*60 + sec} }

// want is what a test expects of one foul.
type want struct {
	end    Instant
	how    Ending
	served int
}

type scenario struct {
	name   string
	source string
	game   Game
	fouls  []Foul
	goals  []Goal
	want   []want
	nr     []int  // non-releasable part of each, where the case is about it
	open   []Open // where doubt is expected; nil: none anywhere
}

func (sc scenario) run(t *testing.T) Result {
	t.Helper()
	r, err := Run(sc.game, sc.fouls, sc.goals)
	if err != nil {
		t.Fatalf("Run: %v", err)
	}
	for i, w := range sc.want {
		o := r.Outcomes[i]
		if (want{o.End, o.Ending, o.ServedS}) != w {
			t.Errorf("foul %d (%s): ended %v by %v after %d s, want %v by %v after %d s", i+1, sc.fouls[i].Who, o.End, o.Ending, o.ServedS, w.end, w.how, w.served)
		}
		if sc.nr != nil && o.NonReleasableS != sc.nr[i] {
			t.Errorf("foul %d (%s): %d s non-releasable, want %d", i+1, sc.fouls[i].Who, o.NonReleasableS, sc.nr[i])
		}
		var open Open
		if sc.open != nil {
			open = sc.open[i]
		}
		if o.Open != open {
			t.Errorf("foul %d (%s): open %b, want %b", i+1, sc.fouls[i].Who, o.Open, open)
		}
	}
	return r
}

// TestWorkedExamples holds the engine against examples that were worked out
// elsewhere: the letters are those of the list of rule facts; D means worked out
// there from the rules, P that the published text was seen, R that an
// officials' association restates it.
func TestWorkedExamples(t *testing.T) {
	t.Parallel()
	rel := func(side Side, who string, length int, when Instant) Foul {
		return Foul{side, who, length, true, when}
	}
	nr := func(side Side, who string, length int, when Instant) Foul {
		return Foul{side, who, length, false, when}
	}
	for _, sc := range []scenario{
		{
			name: "a: a goal releases", source: "facts (a), D of HS rule on releasable time", game: hs(),
			fouls: []Foul{rel(B, "B1", 60, at(1, 8, 0))},
			goals: []Goal{{A, at(1, 7, 25)}},
			want:  []want{{at(1, 7, 25), ByGoal, 35}},
			nr:    []int{0},
		},
		{
			name: "b: not a non-releasable one", source: "facts (b), D", game: hs(),
			fouls: []Foul{nr(B, "B1", 60, at(1, 8, 0))},
			goals: []Goal{{A, at(1, 7, 25)}},
			want:  []want{{at(1, 7, 0), ByTime, 60}},
			nr:    []int{60},
		},
		{
			name: "c: over the period's end", source: "facts (c), D of M", game: hs(),
			fouls: []Foul{rel(B, "B1", 30, at(1, 0, 20))},
			want:  []want{{at(2, 11, 50), ByTime, 30}},
		},
		{
			name: "d: time common to both", source: "facts (d), P: HS 7-6, case 4.10 D", game: hs(),
			fouls: []Foul{rel(B, "B1", 30, at(1, 8, 0)), rel(A, "A2", 60, at(1, 8, 0))},
			want:  []want{{at(1, 7, 30), ByTime, 30}, {at(1, 7, 0), ByTime, 60}},
			nr:    []int{30, 30},
		},
		{
			name: "e: matched, two goals", source: "facts (e), D", game: hs(),
			fouls: []Foul{rel(B, "B1", 120, at(1, 8, 0)), rel(A, "A2", 60, at(1, 8, 0))},
			goals: []Goal{{A, at(1, 7, 20)}, {A, at(1, 6, 40)}},
			want:  []want{{at(1, 6, 40), ByGoal, 80}, {at(1, 7, 0), ByTime, 60}},
			nr:    []int{60, 60},
		},
		{
			name: "f: one of each kind", source: "facts (f), D", game: hs(),
			fouls: []Foul{nr(B, "B1", 60, at(1, 8, 0)), rel(B, "B2", 60, at(1, 8, 0))},
			goals: []Goal{{A, at(1, 7, 45)}},
			want:  []want{{at(1, 7, 0), ByTime, 60}, {at(1, 7, 45), ByGoal, 15}},
			nr:    []int{60, 0},
		},
		{
			name: "g: the fourth starts when the goal makes room", source: "facts (g), R", game: hs(),
			fouls: []Foul{rel(B, "B1", 30, at(1, 8, 0)), rel(B, "B2", 30, at(1, 8, 0)), rel(B, "B3", 30, at(1, 8, 0)), rel(B, "B4", 30, at(1, 8, 0))},
			goals: []Goal{{A, at(1, 7, 50)}},
			want:  []want{{at(1, 7, 50), ByGoal, 10}, {at(1, 7, 50), ByGoal, 10}, {at(1, 7, 50), ByGoal, 10}, {at(1, 7, 20), ByTime, 30}},
		},
	} {
		t.Run(sc.name, func(t *testing.T) {
			t.Parallel()
			t.Log("source:", sc.source)
			sc.run(t)
		})
	}
}

func TestBallToTheSideWithLessTime(t *testing.T) {
	t.Parallel()
	// Source: facts (d), P: HS 7-6, case 4.10 D.
	r, err := Run(hs(), []Foul{{B, "B1", 30, true, at(1, 8, 0)}, {A, "A2", 60, true, at(1, 8, 0)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Matches) != 1 || r.Matches[0] != (Match{at(1, 8, 0), [2]int{60, 30}, B, true}) {
		t.Errorf("matches %+v, want one with the ball to B", r.Matches)
	}
	r, err = Run(hs(), []Foul{{B, "B1", 60, true, at(1, 8, 0)}, {A, "A2", 60, true, at(1, 8, 0)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Matches) != 1 || r.Matches[0].HasBall {
		t.Errorf("matches %+v, want one with equal times", r.Matches)
	}
}

// TestSituations are cases worked out by hand from the numbered rules of
// "Penalty time"; the number stands in the name.
func TestSituations(t *testing.T) {
	t.Parallel()
	eight := at(1, 8, 0)
	short := Game{PeriodS: Periods(4, 480), MaxServing: 3}
	two := Game{PeriodS: Periods(4, 600), OvertimeS: 240, Overtimes: 2, SuddenVictory: true, MaxServing: 3}
	running := Game{PeriodS: Periods(2, 1200), MaxServing: 3, DeadBalls: []Span{{at(1, 7, 10), at(1, 6, 50)}}}
	for _, sc := range []scenario{
		{
			name: "2: the push, the slash and the goal", game: hs(),
			fouls: []Foul{{B, "5", 30, true, at(2, 3, 20)}, {B, "9", 60, true, at(2, 3, 5)}},
			goals: []Goal{{A, at(2, 2, 50)}},
			want:  []want{{at(2, 2, 50), ByTime, 30}, {at(2, 2, 50), ByGoal, 15}},
		},
		{
			name: "2: their own goal changes nothing", game: hs(),
			fouls: []Foul{{B, "1", 60, true, eight}}, goals: []Goal{{B, at(1, 7, 30)}},
			want: []want{{at(1, 7, 0), ByTime, 60}},
		},
		{
			name: "2: a goal before the foul, and one after his time", game: hs(),
			fouls: []Foul{{B, "1", 60, true, eight}}, goals: []Goal{{A, at(1, 8, 30)}, {A, at(1, 6, 59)}},
			want: []want{{at(1, 7, 0), ByTime, 60}},
		},
		{
			name: "2: a goal at the very end of his time", game: hs(),
			fouls: []Foul{{B, "1", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 0)}},
			want: []want{{at(1, 7, 0), ByTime, 60}},
		},
		{
			name: "2: a goal at the clock of the restart came before it", game: hs(),
			fouls: []Foul{{B, "1", 60, true, eight}}, goals: []Goal{{A, eight}},
			want: []want{{at(1, 7, 0), ByTime, 60}}, open: []Open{OpenSameClock},
		},
		{
			name: "2: long releasable, whole remainder", game: hs(),
			fouls: []Foul{{B, "1", 180, true, eight}}, goals: []Goal{{A, at(1, 7, 59)}, {A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 59), ByGoal, 1}},
		},
		{
			name: "3: not before the same restart", game: hs(),
			fouls: []Foul{{B, "B1", 60, true, eight}, {A, "A1", 60, true, at(1, 7, 59)}}, goals: []Goal{{A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 30), ByGoal, 30}, {at(1, 6, 59), ByTime, 60}}, nr: []int{0, 0},
		},
		{
			name: "3: the end of one period and the start of the next are one restart", game: hs(),
			fouls: []Foul{{B, "B1", 60, true, at(1, 0, 0)}, {A, "A1", 60, true, at(2, 12, 0)}},
			want:  []want{{at(2, 11, 0), ByTime, 60}, {at(2, 11, 0), ByTime, 60}}, nr: []int{60, 60},
		},
		{
			name: "3, 4: two a side, longest with longest", game: hs(),
			fouls: []Foul{{A, "A1", 30, true, eight}, {A, "A2", 120, true, eight}, {B, "B1", 60, true, eight}, {B, "B2", 60, true, eight}},
			want:  []want{{at(1, 7, 30), ByTime, 30}, {at(1, 6, 0), ByTime, 120}, {at(1, 7, 0), ByTime, 60}, {at(1, 7, 0), ByTime, 60}},
			nr:    []int{30, 60, 60, 30}, open: []Open{0, 0, OpenPartner, OpenPartner},
		},
		{
			name: "3, 4: who has no partner stays as he was", game: hs(),
			fouls: []Foul{{A, "A1", 30, true, eight}, {A, "A2", 60, true, eight}, {B, "B1", 60, true, eight}}, goals: []Goal{{B, at(1, 7, 40)}},
			want: []want{{at(1, 7, 40), ByGoal, 20}, {at(1, 7, 0), ByTime, 60}, {at(1, 7, 0), ByTime, 60}}, nr: []int{0, 60, 60},
		},
		{
			name: "3: common time of a non-releasable one", game: hs(),
			fouls: []Foul{{A, "A1", 120, false, eight}, {B, "B1", 180, true, eight}}, goals: []Goal{{A, at(1, 6, 30)}, {A, at(1, 5, 30)}},
			want: []want{{at(1, 6, 0), ByTime, 120}, {at(1, 5, 30), ByGoal, 150}}, nr: []int{120, 120},
		},
		{
			name: "3: a player with two fouls is matched with the sum", game: hs(),
			fouls: []Foul{{A, "A1", 30, true, eight}, {A, "A1", 60, false, eight}, {B, "B1", 120, true, eight}}, goals: []Goal{{A, at(1, 6, 29)}},
			want: []want{{at(1, 6, 30), ByTime, 30}, {at(1, 7, 0), ByTime, 60}, {at(1, 6, 29), ByGoal, 91}}, nr: []int{30, 60, 90},
		},
		{
			name: "4: the fourth waits for the first to end", game: hs(),
			fouls: []Foul{{B, "1", 120, true, eight}, {B, "2", 60, true, at(1, 7, 50)}, {B, "3", 60, true, at(1, 7, 40)}, {B, "4", 30, true, at(1, 7, 30)}},
			want:  []want{{at(1, 6, 0), ByTime, 120}, {at(1, 6, 50), ByTime, 60}, {at(1, 6, 40), ByTime, 60}, {at(1, 6, 20), ByTime, 30}},
		},
		{
			name: "4: who waits is not released", game: Game{PeriodS: Periods(4, 720), MaxServing: 1},
			fouls: []Foul{{B, "1", 60, false, eight}, {B, "2", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 0), ByTime, 60}, {at(1, 6, 0), ByTime, 60}},
		},
		{
			name: "4: a goal at the clock at which his turn comes", game: Game{PeriodS: Periods(4, 720), MaxServing: 1},
			fouls: []Foul{{B, "1", 60, true, eight}, {B, "2", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 0)}},
			want: []want{{at(1, 7, 0), ByTime, 60}, {at(1, 7, 0), ByGoal, 0}}, open: []Open{0, OpenSameClock},
		},
		{
			name: "5: non-releasable first, whatever the order given", game: hs(),
			fouls: []Foul{{B, "7", 60, true, eight}, {B, "7", 60, false, eight}}, goals: []Goal{{A, at(1, 7, 30)}, {A, at(1, 6, 40)}},
			want: []want{{at(1, 6, 40), ByGoal, 20}, {at(1, 7, 0), ByTime, 60}},
		},
		{
			name: "5: a goal ends the one that runs, the next starts", game: hs(),
			fouls: []Foul{{B, "7", 60, true, eight}, {B, "7", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 30), ByGoal, 30}, {at(1, 6, 30), ByTime, 60}},
		},
		{
			name: "5: and two of different length leave a doubt", game: hs(),
			fouls: []Foul{{B, "7", 30, true, eight}, {B, "7", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 45)}},
			want: []want{{at(1, 7, 45), ByGoal, 15}, {at(1, 6, 45), ByTime, 60}}, open: []Open{OpenOrder, OpenOrder},
		},
		{
			name: "5: a foul from the box follows the one that runs", game: hs(),
			fouls: []Foul{{B, "7", 60, true, eight}, {B, "7", 60, false, at(1, 7, 30)}}, goals: []Goal{{A, at(1, 7, 15)}},
			want: []want{{at(1, 7, 15), ByGoal, 45}, {at(1, 6, 15), ByTime, 60}},
		},
		{
			name: "5: two goals at one clock end one penalty", game: hs(),
			fouls: []Foul{{B, "7", 60, true, eight}, {B, "7", 60, true, eight}}, goals: []Goal{{A, at(1, 7, 30)}, {A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 30), ByGoal, 30}, {at(1, 6, 30), ByTime, 60}},
		},
		{
			name: "5: after a goal the next begins at the restart, non-releasable first", game: hs(),
			fouls: []Foul{{B, "7", 60, true, eight}, {B, "7", 60, true, eight}, {B, "7", 30, false, at(1, 7, 30)}}, goals: []Goal{{A, at(1, 7, 30)}},
			want: []want{{at(1, 7, 30), ByGoal, 30}, {at(1, 6, 0), ByTime, 60}, {at(1, 7, 0), ByTime, 30}},
		},
		{
			name: "3, 5: non-releasable fouls take the common time first", game: hs(),
			fouls: []Foul{{A, "A1", 30, true, eight}, {A, "A1", 60, false, eight}, {B, "B1", 60, true, eight}}, goals: []Goal{{B, at(1, 6, 50)}},
			want: []want{{at(1, 6, 50), ByGoal, 10}, {at(1, 7, 0), ByTime, 60}, {at(1, 7, 0), ByTime, 60}}, nr: []int{0, 60, 60},
		},
		{
			name: "3, 4: of equal times the non-releasable one has the partner", game: hs(),
			fouls: []Foul{{A, "A1", 60, true, eight}, {A, "A2", 60, false, eight}, {B, "B1", 60, true, eight}}, goals: []Goal{{B, at(1, 7, 50)}},
			want: []want{{at(1, 7, 50), ByGoal, 10}, {at(1, 7, 0), ByTime, 60}, {at(1, 7, 0), ByTime, 60}}, nr: []int{0, 60, 60},
			open: []Open{OpenPartner, OpenPartner, 0},
		},
		{
			name: "6: a turn that comes as the game ends, and a goal at the horn", game: Game{PeriodS: Periods(4, 720), MaxServing: 1},
			fouls: []Foul{{B, "1", 60, true, at(4, 1, 0)}, {B, "2", 60, true, at(4, 0, 50)}, {B, "1", 30, true, at(4, 0, 40)}}, goals: []Goal{{A, at(4, 0, 0)}},
			want: []want{{at(4, 0, 0), ByTime, 60}, {at(4, 0, 0), GameOver, 0}, {at(4, 0, 0), GameOver, 0}},
		},
		{
			name: "7: in the box his time goes on while the ball is dead", game: running,
			fouls: []Foul{{B, "1", 60, true, eight}, {B, "1", 15, true, eight}, {B, "2", 60, true, eight}, {B, "2", 60, true, eight}},
			want:  []want{{at(1, 7, 0), ByTime, 60}, {at(1, 6, 45), ByTime, 15}, {at(1, 7, 0), ByTime, 60}, {at(1, 6, 0), ByTime, 60}},
		},
		{
			name: "7: the game ends with the ball dead", game: Game{PeriodS: Periods(1, 1200), MaxServing: 1, DeadBalls: []Span{{at(1, 0, 20), at(1, 0, 0)}}},
			fouls: []Foul{{B, "1", 30, true, at(1, 0, 50)}, {B, "2", 30, true, at(1, 0, 45)}, {A, "3", 30, true, at(1, 0, 45)}},
			want:  []want{{at(1, 0, 20), ByTime, 30}, {at(1, 0, 0), GameOver, 0}, {at(1, 0, 0), ByTime, 30}}, nr: []int{0, 30, 30},
		},
		{
			name: "6: to the very end of a period", game: hs(),
			fouls: []Foul{{B, "1", 30, true, at(1, 0, 30)}},
			want:  []want{{at(1, 0, 0), ByTime, 30}},
		},
		{
			name: "6: whistled at the end of a period", game: hs(),
			fouls: []Foul{{B, "1", 30, true, at(1, 0, 0)}},
			want:  []want{{at(2, 11, 30), ByTime, 30}},
		},
		{
			name: "6: into overtime, and from one overtime to the next", game: hs(),
			fouls: []Foul{{B, "1", 60, true, at(4, 0, 20)}, {B, "2", 60, true, at(5, 0, 10)}},
			want:  []want{{at(5, 3, 20), ByTime, 60}, {at(6, 3, 10), ByTime, 60}},
		},
		{
			name: "6: no overtime", game: short,
			fouls: []Foul{{B, "1", 60, true, at(4, 0, 20)}, {B, "2", 30, true, at(4, 0, 0)}},
			want:  []want{{at(4, 0, 0), GameOver, 20}, {at(4, 0, 0), GameOver, 0}},
		},
		{
			name: "6: the last overtime ends", game: two,
			fouls: []Foul{{B, "1", 60, false, at(6, 0, 15)}},
			want:  []want{{at(6, 0, 0), GameOver, 15}},
		},
		{
			name: "6: an overtime goal ends the game for the others", game: two,
			fouls: []Foul{{B, "1", 60, false, at(5, 3, 0)}, {B, "2", 60, true, at(5, 3, 0)}, {A, "3", 60, true, at(5, 2, 50)}}, goals: []Goal{{A, at(5, 2, 45)}},
			want: []want{{at(5, 2, 45), GameOver, 15}, {at(5, 2, 45), ByGoal, 15}, {at(5, 2, 45), GameOver, 5}},
		},
		{
			name: "7: time up while the ball is dead and the clock runs", game: running,
			fouls: []Foul{{B, "1", 60, true, at(1, 8, 0)}, {B, "2", 30, true, at(1, 7, 5)}, {B, "3", 50, true, at(1, 8, 0)}},
			want:  []want{{at(1, 6, 50), ByTime, 60}, {at(1, 6, 20), ByTime, 30}, {at(1, 7, 10), ByTime, 50}},
		},
		{
			name: "7: a turn that comes while the ball is dead waits too", game: Game{PeriodS: Periods(2, 1200), MaxServing: 1, DeadBalls: running.DeadBalls},
			fouls: []Foul{{B, "1", 60, true, at(1, 8, 0)}, {B, "2", 30, true, at(1, 8, 0)}}, goals: []Goal{{A, at(1, 7, 10)}},
			want: []want{{at(1, 7, 10), ByGoal, 50}, {at(1, 6, 20), ByTime, 30}},
		},
	} {
		t.Run(sc.name, func(t *testing.T) {
			t.Parallel()
			sc.run(t)
		})
	}
}

func TestOutcomeDetails(t *testing.T) {
	t.Parallel()
	g := Game{PeriodS: Periods(4, 720), MaxServing: 1}
	r, err := Run(g, []Foul{
		{B, "1", 60, true, at(4, 1, 0)},
		{B, "2", 30, true, at(4, 0, 50)},
		{B, "1", 30, true, at(4, 0, 45)},
	}, []Goal{{A, at(4, 0, 40)}})
	if err != nil {
		t.Fatal(err)
	}
	want := []Outcome{
		{Started: true, Start: at(4, 1, 0), End: at(4, 0, 40), Ending: ByGoal, Goal: 0, ServedS: 20, WaivedS: 40, Stays: true},
		{Started: true, Start: at(4, 0, 10), End: at(4, 0, 0), Ending: GameOver, Goal: -1, ServedS: 10, LeftoverS: 20, Waited: true, WaitedS: 40},
		{Started: true, Start: at(4, 0, 40), End: at(4, 0, 10), Ending: ByTime, Goal: -1, ServedS: 30, WaitedS: 5},
	}
	// #1 keeps his seat for his second penalty; #2 starts at 0:10 and the game ends on him.
	for i := range want {
		if r.Outcomes[i] != want[i] {
			t.Errorf("foul %d:\n got %+v\nwant %+v", i+1, r.Outcomes[i], want[i])
		}
	}
	if !r.Outcomes[0].AtGoal() || r.Outcomes[1].AtGoal() || r.Outcomes[1].Released() || !r.Outcomes[2].Released() {
		t.Error("AtGoal or Released disagree with the endings")
	}
}

func TestTimeline(t *testing.T) {
	t.Parallel()
	r, err := Run(Game{PeriodS: Periods(4, 720), MaxServing: 1}, []Foul{
		{B, "1", 60, true, at(1, 8, 0)}, {B, "2", 60, true, at(1, 8, 0)}, {A, "3", 30, true, at(1, 8, 0)}, {A, "3", 30, true, at(4, 0, 30)}, {A, "3", 30, true, at(4, 0, 20)},
	}, []Goal{{A, at(1, 7, 15)}})
	if err != nil {
		t.Fatal(err)
	}
	box := func(a, aWaits, b, bWaits int) [2]Box { return [2]Box{{a, aWaits}, {b, bWaits}} }
	// #1 and #2 have equal time, one of them is matched with #3: #1, by name.
	want := []Event{
		{At: at(1, 8, 0), Kind: Starts, Side: A, Foul: 2, Goal: -1, Box: box(1, 0, 0, 2)},
		{At: at(1, 8, 0), Kind: Starts, Side: B, Foul: 0, Goal: -1, Box: box(1, 0, 1, 1)},
		{At: at(1, 8, 0), Kind: Waits, Side: B, Foul: 1, Goal: -1, Box: box(1, 0, 1, 1)},
		{At: at(1, 7, 30), Kind: Expires, Side: A, Foul: 2, Goal: -1, Box: box(0, 0, 1, 1)},
		{At: at(1, 7, 30), Kind: Turns, Side: B, Foul: 0, Goal: -1, Box: box(0, 0, 1, 1)},
		{At: at(1, 7, 15), Kind: Scores, Side: A, Foul: -1, Goal: 0, Box: box(0, 0, 1, 1)},
		{At: at(1, 7, 15), Kind: Releases, Side: B, Foul: 0, Goal: 0, Box: box(0, 0, 0, 1)},
		{At: at(1, 7, 15), Kind: Starts, Side: B, Foul: 1, Goal: -1, Box: box(0, 0, 1, 0)},
		{At: at(1, 6, 15), Kind: Expires, Side: B, Foul: 1, Goal: -1, Box: box(0, 0, 0, 0)},
		{At: at(4, 0, 30), Kind: Starts, Side: A, Foul: 3, Goal: -1, Box: box(1, 0, 0, 0)},
		{At: at(4, 0, 20), Kind: Stacks, Side: A, Foul: 4, Goal: -1, Box: box(1, 0, 0, 0)},
		{At: at(4, 0, 0), Kind: Expires, Side: A, Foul: 3, Goal: -1, Box: box(0, 0, 0, 0)},
		{At: at(4, 0, 0), Kind: Ends, Side: A, Foul: -1, Goal: -1, Box: box(0, 0, 0, 0)},
	}
	if len(r.Timeline) != len(want) {
		t.Errorf("%d events, want %d: %+v", len(r.Timeline), len(want), r.Timeline)
	}
	for i := range min(len(want), len(r.Timeline)) {
		got := r.Timeline[i]
		got.abs = 0
		if got != want[i] {
			t.Errorf("event %d:\n got %+v\nwant %+v", i, got, want[i])
		}
	}
}

func TestBox(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ aSide, cap, inBox, onField, waiting int }{
		{10, 3, 0, 10, 0},
		{10, 3, 1, 9, 0},
		{10, 3, 2, 8, 0},
		{10, 3, 3, 7, 0}, // source: facts, penalty time 4 (D): seven is the fewest of ten
		{10, 3, 4, 7, 1},
		{10, 3, 6, 7, 3},
		{7, 3, 2, 5, 0},
		{2, 3, 3, 0, 0},
		{10, 3, -1, 10, 0},
	} {
		b := Fill(tt.inBox, tt.cap)
		if b.OnField(tt.aSide) != tt.onField || b.Waiting != tt.waiting {
			t.Errorf("%d in the box of %d, %d a side: %d on the field and %d wait, want %d and %d", tt.inBox, tt.cap, tt.aSide, b.OnField(tt.aSide), b.Waiting, tt.onField, tt.waiting)
		}
	}
}

func TestUnusableInput(t *testing.T) {
	t.Parallel()
	ok := Game{PeriodS: Periods(4, 720), OvertimeS: 240, Overtimes: 1, SuddenVictory: true, MaxServing: 3}
	with := func(change func(*Game)) Game { g := ok; change(&g); return g }
	foul := func(change func(*Foul)) []Foul {
		f := Foul{B, "1", 60, true, at(1, 8, 0)}
		change(&f)
		return []Foul{f}
	}
	for _, tt := range []struct {
		name    string
		game    Game
		fouls   []Foul
		goals   []Goal
		problem Problem
		text    string
	}{
		{"no periods", with(func(g *Game) { g.PeriodS = nil }), nil, nil, BadGame, "game: it has 0 periods"},
		{"an empty period", with(func(g *Game) { g.PeriodS = []int{720, 0} }), nil, nil, BadGame, "period 2 is 0 seconds long"},
		{"an endless period", with(func(g *Game) { g.PeriodS = []int{1 << 30} }), nil, nil, BadGame, "seconds long"},
		{"nobody may serve", with(func(g *Game) { g.MaxServing = 0 }), nil, nil, BadGame, "0 players may serve"},
		{"overtime without length", with(func(g *Game) { g.OvertimeS = 0 }), nil, nil, BadGame, "an overtime is 0 seconds"},
		{"negative overtimes", with(func(g *Game) { g.Overtimes = -2 }), nil, nil, BadGame, "-2 overtimes"},
		{"dead ball backwards", with(func(g *Game) { g.DeadBalls = []Span{{at(1, 5, 0), at(1, 6, 0)}} }), nil, nil, BadGame, "dead ball 1: it ends (period 1, 6:00 left) before"},
		{"dead balls overlap", with(func(g *Game) { g.DeadBalls = []Span{{at(1, 5, 0), at(1, 4, 0)}, {at(1, 4, 30), at(1, 3, 0)}} }), nil, nil, BadGame, "overlap"},
		{"dead ball off the clock", with(func(g *Game) { g.DeadBalls = []Span{{at(1, 5, 0), at(9, 4, 0)}} }), nil, nil, UnknownPeriod, "dead ball 1: there is no period 9"},
		{"side", ok, foul(func(f *Foul) { f.Side = 7 }), nil, UnknownSide, "foul 1: there is no side 7"},
		{"goal's side", ok, nil, []Goal{{By: 2, At: at(1, 1, 0)}}, UnknownSide, "goal 1: there is no side 2"},
		{"no length", ok, foul(func(f *Foul) { f.LengthS = 0 }), nil, BadLength, "a penalty of 0 seconds"},
		{"negative length", ok, foul(func(f *Foul) { f.LengthS = -30 }), nil, BadLength, "-30 seconds"},
		{"clock too long", ok, foul(func(f *Foul) { f.At = at(1, 12, 1) }), nil, ClockTooLong, "foul 1: the clock shows 12:01, but period 1 is only 12:00 long"},
		{"clock too long in overtime", ok, foul(func(f *Foul) { f.At = at(5, 4, 1) }), nil, ClockTooLong, "period 5 is only 4:00 long"},
		{"negative clock", ok, foul(func(f *Foul) { f.At = at(1, 0, -5) }), nil, ClockNegative, "cannot show -0:05"},
		{"period 0", ok, foul(func(f *Foul) { f.At = at(0, 5, 0) }), nil, UnknownPeriod, "no period 0"},
		{"a second overtime", ok, nil, []Goal{{A, at(1, 1, 0)}, {A, at(6, 1, 0)}}, UnknownPeriod, "goal 2: there is no period 6"},
		{"goal while the ball is dead", with(func(g *Game) { g.DeadBalls = []Span{{at(1, 5, 0), at(1, 4, 0)}} }), nil, []Goal{{A, at(1, 4, 30)}}, BallDead, "dead at period 1, 4:30"},
		{"goal after the end", ok, nil, []Goal{{A, at(5, 1, 0)}, {B, at(5, 2, 0)}}, AfterTheEnd, "goal 1: the game was over at period 5, 2:00 left"},
		{"foul after the end", ok, foul(func(f *Foul) { f.At = at(5, 1, 0) }), []Goal{{B, at(5, 2, 0)}}, AfterTheEnd, "foul 1: the game was over"},
		{"too many fouls", ok, make([]Foul, maxEntries+1), nil, TooMany, "1001 fouls"},
		{"too many goals", ok, nil, make([]Goal, maxEntries+1), TooMany, "1001 goals"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r, err := Run(tt.game, tt.fouls, tt.goals)
			var bad *InputError
			if !errors.As(err, &bad) {
				t.Fatalf("error %v, want an *InputError", err)
			}
			if bad.Problem != tt.problem || !strings.Contains(err.Error(), tt.text) {
				t.Errorf("problem %d, %q; want %d, …%q…", bad.Problem, err, tt.problem, tt.text)
			}
			if r.Outcomes != nil || r.Timeline != nil {
				t.Error("a result beside the error")
			}
		})
	}
}

func TestWords(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, s := range []string{
		A.String(), B.String(), Side(5).String(), at(2, 3, 5).String(),
		ByTime.String(), ByGoal.String(), GameOver.String(), Ending(9).String(),
		Starts.String(), Waits.String(), Stacks.String(), Turns.String(), Scores.String(),
		Expires.String(), Releases.String(), Ends.String(), EventKind(99).String(),
	} {
		if s == "" || seen[s] {
			t.Errorf("%q is empty or stands for two things", s)
		}
		seen[s] = true
	}
}

func TestPeriods(t *testing.T) {
	t.Parallel()
	if p := Periods(2, 1200); len(p) != 2 || p[0] != 1200 || p[1] != 1200 {
		t.Errorf("Periods(2, 1200) = %v", p)
	}
	if Periods(-1, 1) != nil || Periods(maxPeriods+1, 1) != nil {
		t.Error("absurd numbers of periods are not refused")
	}
}

func BenchmarkOnePenalty(b *testing.B) {
	g := hs()
	fouls := []Foul{{B, "12", 60, true, at(2, 3, 5)}}
	goals := []Goal{{A, at(2, 2, 50)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(g, fouls, goals); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFullBox(b *testing.B) {
	g := hs()
	fouls := []Foul{
		{B, "1", 60, true, at(2, 3, 5)}, {B, "2", 30, true, at(2, 3, 5)}, {A, "3", 60, true, at(2, 3, 5)},
		{B, "4", 60, false, at(2, 3, 0)}, {B, "5", 120, true, at(2, 2, 58)}, {B, "1", 30, true, at(2, 2, 50)},
	}
	goals := []Goal{{A, at(2, 2, 45)}, {B, at(2, 2, 30)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(g, fouls, goals); err != nil {
			b.Fatal(err)
		}
	}
}

func TestOnePenaltyIsCheap(t *testing.T) {
	g := hs()
	fouls := []Foul{{B, "12", 60, true, at(2, 3, 5)}}
	goals := []Goal{{A, at(2, 2, 50)}}
	n := testing.AllocsPerRun(100, func() { _, _ = Run(g, fouls, goals) })
	if n >= 10 {
		t.Errorf("one penalty takes %v allocations, want fewer than 10", n)
	}
}
