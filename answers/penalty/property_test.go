package penalty

import (
	"cmp"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// day is a match day drawn at random: small numbers, so that readings collide often.
type day struct {
	game  Game
	fouls []Foul
	goals []Goal
}

func (d day) run(t interface{ Fatalf(string, ...any) }) Result {
	r, err := Run(d.game, d.fouls, d.goals)
	if err != nil {
		t.Fatalf("Run(%+v): %v", d, err)
	}
	return r
}

type dayForm struct {
	players      int  // jersey numbers a side
	single       bool // one foul a player
	oneRestart   bool // all fouls of a player before one restart
	roomy        bool // nobody ever waits
	suddenDeaths bool
}

func drawDay(t *rapid.T, form dayForm) day {
	seconds := rapid.IntRange(0, 12)
	g := Game{
		PeriodS:    rapid.SliceOfN(rapid.IntRange(1, 12), 1, 3).Draw(t, "periods"),
		Overtimes:  rapid.IntRange(-1, 2).Draw(t, "overtimes"),
		OvertimeS:  rapid.IntRange(1, 6).Draw(t, "overtime"),
		MaxServing: rapid.IntRange(1, 3).Draw(t, "serving"),
	}
	if form.roomy {
		g.MaxServing = 2 * form.players
	}
	last := len(g.PeriodS) + g.Overtimes
	if g.Overtimes == Unlimited {
		last = len(g.PeriodS) + 2
	}
	instant := func(name string) Instant {
		p := rapid.IntRange(1, last).Draw(t, name+" period")
		l := g.OvertimeS
		if p <= len(g.PeriodS) {
			l = g.PeriodS[p-1]
		}
		return Instant{p, min(seconds.Draw(t, name+" clock"), l)}
	}
	d := day{game: g}
	seen := map[string]Instant{}
	for range rapid.IntRange(0, 8).Draw(t, "fouls") {
		f := Foul{
			Side:       Side(rapid.IntRange(0, 1).Draw(t, "side")),
			Who:        fmt.Sprint(rapid.IntRange(1, form.players).Draw(t, "who")),
			LengthS:    rapid.IntRange(1, 12).Draw(t, "length"),
			Releasable: rapid.Bool().Draw(t, "releasable"),
			At:         instant("foul"),
		}
		id := f.Side.String() + f.Who
		first, again := seen[id]
		if again && form.single {
			continue
		}
		if again && form.oneRestart {
			f.At = first
		}
		seen[id] = f.At
		d.fouls = append(d.fouls, f)
	}
	for range rapid.IntRange(0, 5).Draw(t, "goals") {
		d.goals = append(d.goals, Goal{Side(rapid.IntRange(0, 1).Draw(t, "by")), instant("goal")})
	}
	if form.suddenDeaths && rapid.Bool().Draw(t, "sudden") {
		d.game.SuddenVictory = true
		d.cut()
	}
	return d
}

// cut drops what comes after the overtime goal that ends the game.
func (d *day) cut() {
	end := forever
	for _, g := range d.goals {
		if g.At.Period > len(d.game.PeriodS) {
			end = min(end, d.abs(g.At))
		}
	}
	d.goals = slices.DeleteFunc(d.goals, func(g Goal) bool { return d.abs(g.At) > end })
	d.fouls = slices.DeleteFunc(d.fouls, func(f Foul) bool { return d.abs(f.At) > end })
}

// abs counts the seconds of play up to a reading, one at a time.
func (d day) abs(at Instant) int {
	t := 0
	for p := 1; p < at.Period; p++ {
		t += d.length(p)
	}
	return t + d.length(at.Period) - at.ClockLeftS
}

func (d day) length(period int) int {
	if period <= len(d.game.PeriodS) {
		return d.game.PeriodS[period-1]
	}
	return d.game.OvertimeS
}

// checkInvariants holds for whatever was played.
func checkInvariants(t interface{ Errorf(string, ...any) }, d day, r Result) {
	if len(r.Outcomes) != len(d.fouls) {
		t.Errorf("%d outcomes for %d fouls", len(r.Outcomes), len(d.fouls))
		return
	}
	for i, o := range r.Outcomes {
		f := d.fouls[i]
		if o.ServedS < 0 || o.WaivedS < 0 || o.LeftoverS < 0 || o.WaitedS < 0 || o.ServedS > f.LengthS {
			t.Errorf("foul %d: served %d, waived %d, left %d, waited %d of %d s", i, o.ServedS, o.WaivedS, o.LeftoverS, o.WaitedS, f.LengthS)
		}
		if o.ServedS+o.WaivedS+o.LeftoverS != f.LengthS {
			t.Errorf("foul %d: served %d + waived %d + left %d is not %d s", i, o.ServedS, o.WaivedS, o.LeftoverS, f.LengthS)
		}
		if o.NonReleasableS < 0 || o.NonReleasableS > f.LengthS || (!f.Releasable && o.NonReleasableS != f.LengthS) {
			t.Errorf("foul %d: %d of %d s non-releasable", i, o.NonReleasableS, f.LengthS)
		}
		switch o.Ending {
		case ByTime:
			if o.ServedS != f.LengthS || o.Goal != -1 {
				t.Errorf("foul %d: by time with %d of %d s, goal %d", i, o.ServedS, f.LengthS, o.Goal)
			}
		case ByGoal:
			if !f.Releasable || o.ServedS < o.NonReleasableS || o.WaivedS == 0 {
				t.Errorf("foul %d: a goal released him after %d s, %d non-releasable", i, o.ServedS, o.NonReleasableS)
			}
			if g := d.goals[o.Goal]; g.By == f.Side || g.At != o.End {
				t.Errorf("foul %d of %v: released at %v by %+v", i, f.Side, o.End, g)
			}
		case GameOver:
			if o.LeftoverS == 0 || o.WaivedS != 0 {
				t.Errorf("foul %d: game over with %d s left and %d waived", i, o.LeftoverS, o.WaivedS)
			}
		default:
			t.Errorf("foul %d: ending %v", i, o.Ending)
		}
		if len(d.game.DeadBalls) == 0 && o.Started && d.abs(o.End)-d.abs(o.Start) != o.ServedS {
			t.Errorf("foul %d: %v to %v is not %d s", i, o.Start, o.End, o.ServedS)
		}
	}
	for i, e := range r.Timeline {
		if i > 0 && d.abs(e.At) < d.abs(r.Timeline[i-1].At) {
			t.Errorf("event %d is before the one before it", i)
		}
		for _, b := range e.Box {
			if b.Serving < 0 || b.Waiting < 0 || b.Serving > d.game.MaxServing {
				t.Errorf("event %d: box %+v of %d", i, b, d.game.MaxServing)
			}
		}
	}
}

func TestNobodyServesMoreThanHisTime(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawDay(t, dayForm{players: 4, suddenDeaths: true})
		checkInvariants(t, d, d.run(t))
	})
}

// released is when each penalty ended in seconds of play; one that the game
// cut short counts as after everything.
func released(d day, r Result) []int {
	out := make([]int, len(r.Outcomes))
	for i, o := range r.Outcomes {
		out[i] = forever
		if o.Released() {
			out[i] = d.abs(o.End)
		}
	}
	return out
}

// This is about penalties, or stacks of them, from one restart. A player who
// fouls again later can be worse off for a goal: he may find the box full that he
// would not have left, or a releasable penalty running that would have come
// after the non-releasable one.
func TestAGoalNeverLengthensAPenalty(t *testing.T) {
	t.Parallel()
	for _, form := range []dayForm{{players: 4, single: true}, {players: 2, oneRestart: true}, {players: 4, single: true, roomy: true}} {
		rapid.Check(t, func(t *rapid.T) {
			d := drawDay(t, form)
			more := d
			extra := drawDay(t, dayForm{players: 1})
			for _, g := range extra.goals {
				if g.At.Period <= len(d.game.PeriodS) && g.At.ClockLeftS <= d.length(g.At.Period) {
					more.goals = append(slices.Clone(more.goals), g)
				}
			}
			before, after := d.run(t), more.run(t)
			b, a := released(d, before), released(more, after)
			for i := range b {
				if a[i] > b[i] {
					t.Errorf("foul %d (%+v) ends at second %d, with more goals at %d", i, d.fouls[i], b[i], a[i])
				}
				// Served time can only be compared where nobody's turn moves up.
				if form.roomy && form.single && after.Outcomes[i].ServedS > before.Outcomes[i].ServedS {
					t.Errorf("foul %d serves %d s, with more goals %d", i, before.Outcomes[i].ServedS, after.Outcomes[i].ServedS)
				}
			}
		})
	}
}

// With room for everybody the order of entry says nothing but the order of one
// player's penalties from one restart; that one is kept here.
func TestOrderOfEntryDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawDay(t, dayForm{players: 3, roomy: true, suddenDeaths: true})
		perm := rapid.Permutation(indexes(len(d.fouls))).Draw(t, "order")
		// Put each player's own fouls back into the order in which he got them.
		byPlayer := map[string][]int{}
		key := func(i int) string { return d.fouls[i].Side.String() + d.fouls[i].Who }
		for i := range d.fouls {
			byPlayer[key(i)] = append(byPlayer[key(i)], i)
		}
		for k, i := range perm {
			own := byPlayer[key(i)]
			perm[k], byPlayer[key(i)] = own[0], own[1:]
		}
		e := day{game: d.game}
		for _, i := range perm {
			e.fouls = append(e.fouls, d.fouls[i])
		}
		goalPerm := rapid.Permutation(indexes(len(d.goals))).Draw(t, "goal order")
		for _, i := range goalPerm {
			e.goals = append(e.goals, d.goals[i])
		}
		r, q := d.run(t), e.run(t)
		for k, i := range perm {
			want, got := r.Outcomes[i], q.Outcomes[k]
			want.Goal, got.Goal = 0, 0 // two goals at one clock may change places
			if want.Ending == ByGoal && d.abs(want.End) == d.abs(got.End) {
				got.End = want.End // 0:00 and the next full clock are one second
			}
			if want != got {
				t.Errorf("foul %+v:\n      as given %+v\nin other order %+v", d.fouls[i], want, got)
			}
		}
	})
}

func indexes(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}

func TestNoGoalTouchesNonReleasableTime(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawDay(t, dayForm{players: 4, single: true, roomy: true})
		for i := range d.fouls {
			d.fouls[i].Releasable = false
		}
		without := d
		without.goals = nil
		r, q := d.run(t), without.run(t)
		for i := range r.Outcomes {
			if r.Outcomes[i] != q.Outcomes[i] {
				t.Errorf("foul %d: %+v with goals, %+v without", i, r.Outcomes[i], q.Outcomes[i])
			}
		}
	})
}

// TestServedIsWhatTheRulesSay plays the same day second by second, by the
// letter of the rules and in another way than the engine does.
func TestServedIsWhatTheRulesSay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawDay(t, dayForm{players: 4, suddenDeaths: true})
		r := d.run(t)
		served, gone := bySecond(d)
		for i, o := range r.Outcomes {
			end := -1
			if o.Released() {
				end = d.abs(o.End)
			}
			if o.ServedS != served[i] || end != gone[i] {
				t.Errorf("foul %d %+v: served %d until %d, second by second %d until %d", i, d.fouls[i], o.ServedS, end, served[i], gone[i])
			}
		}
	})
}

// tick is a penalty counted down second by second.
type tick struct {
	i          int // the foul
	hard, soft int // seconds to go that no goal touches, and that one does
}

// kid is a player of the reference: his penalties, the first of them runs if he
// is on a seat.
type kid struct {
	name   string
	seated bool
	freed  bool // a goal ended what ran, the next has to wait for the restart
	todo   []*tick
}

// bySecond returns the seconds served of each foul, and the second at which it
// was over, -1 where the game ended first.
func bySecond(d day) (served, gone []int) {
	served, gone = make([]int, len(d.fouls)), make([]int, len(d.fouls))
	for i := range gone {
		gone[i] = -1
	}
	end := 0
	for p := 1; p <= len(d.game.PeriodS)+max(d.game.Overtimes, 0); p++ {
		end += d.length(p)
	}
	if d.game.Overtimes == Unlimited {
		end += 1000
	}
	var line [2][]*kid // in order of arrival
	seat := func(s int) {
		n := 0
		for _, k := range line[s] {
			if k.seated {
				n++
			}
		}
		for _, k := range line[s] {
			if !k.seated && n < d.game.MaxServing {
				k.seated = true
				n++
			}
		}
	}
	sweep := func(s, now int, byGoal bool) { // take away what is over
		for _, k := range line[s] {
			if k.seated && k.todo[0].hard+k.todo[0].soft <= 0 {
				gone[k.todo[0].i] = now
				k.todo = k.todo[1:]
				k.freed = byGoal
			}
		}
		line[s] = slices.DeleteFunc(line[s], func(k *kid) bool { return len(k.todo) == 0 })
	}
	for now := 0; now <= end; now++ {
		for s := range line {
			for _, k := range line[s] {
				if !k.seated {
					continue
				}
				k.freed = false
				served[k.todo[0].i]++
				if k.todo[0].hard > 0 {
					k.todo[0].hard--
				} else {
					k.todo[0].soft--
				}
			}
			sweep(s, now, false)
			if now < end {
				seat(s)
			}
		}
		var scoredOn [2]bool
		over := false
		for _, g := range d.goals {
			if d.abs(g.At) == now {
				scoredOn[1-g.By] = true
				over = over || (d.game.SuddenVictory && g.At.Period > len(d.game.PeriodS))
			}
		}
		for s := range line {
			for _, k := range line[s] {
				if scoredOn[s] && k.seated && now < end && k.todo[0].hard == 0 {
					k.todo[0].soft = 0
				}
				// At the last second of the game the next penalty has not begun.
				if scoredOn[s] && k.seated && now == end && k.todo[0].hard == 0 && begun(served, d, k.todo[0]) {
					k.todo[0].soft = 0
				}
			}
			sweep(s, now, true)
		}
		if over || now == end {
			break
		}
		arrivals(d, now, &line)
		seat(0)
		seat(1)
	}
	return served, gone
}

// begun reports whether any of a penalty has run.
func begun(served []int, d day, k *tick) bool { return served[k.i] > 0 }

// arrivals takes in the fouls of the restart at this second.
func arrivals(d day, now int, line *[2][]*kid) {
	var came [2][]*kid // only what this restart brought
	for i, f := range d.fouls {
		if d.abs(f.At) != now {
			continue
		}
		k := &tick{i: i, hard: f.LengthS}
		if f.Releasable {
			k.hard, k.soft = 0, f.LengthS
		}
		s := int(f.Side)
		at := slices.IndexFunc(came[s], func(c *kid) bool { return c.name == f.Who })
		if at < 0 {
			came[s] = append(came[s], &kid{name: f.Who})
			at = len(came[s]) - 1
		}
		c := came[s][at]
		if f.Releasable {
			c.todo = append(c.todo, k)
		} else { // before the first releasable one
			n := 0
			for n < len(c.todo) && c.todo[n].soft == 0 {
				n++
			}
			c.todo = slices.Insert(c.todo, n, k)
		}
	}
	sum := func(c *kid) (total, soft int) {
		for _, k := range c.todo {
			total += k.hard + k.soft
			soft += k.soft
		}
		return total, soft
	}
	var sorted [2][]*kid
	for s := range came {
		sorted[s] = slices.Clone(came[s])
		slices.SortFunc(sorted[s], func(a, b *kid) int {
			at, as := sum(a)
			bt, bs := sum(b)
			return cmp.Or(bt-at, as-bs, cmp.Compare(a.name, b.name))
		})
	}
	for n := 0; n < len(sorted[0]) && n < len(sorted[1]); n++ {
		x, _ := sum(sorted[0][n])
		y, _ := sum(sorted[1][n])
		for s := range sorted {
			common := min(x, y)
			for _, k := range sorted[s][n].todo {
				both := min(common, k.hard+k.soft)
				common -= both
				if both > k.hard {
					k.soft -= both - k.hard
					k.hard = both
				}
			}
		}
	}
	rank := func(k *tick) int {
		switch {
		case !d.fouls[k.i].Releasable:
			return 0
		case k.soft == 0:
			return 1
		case k.hard > 0:
			return 2
		}
		return 3
	}
	for s := range came {
		for _, c := range came[s] {
			at := slices.IndexFunc(line[s], func(k *kid) bool { return k.name == c.name })
			if at < 0 {
				line[s] = append(line[s], c)
				continue
			}
			k := line[s][at]
			k.todo = append(k.todo, c.todo...)
			rest := k.todo
			if k.seated && !k.freed {
				rest = k.todo[1:] // what runs is not interrupted
			}
			slices.SortStableFunc(rest, func(a, b *tick) int { return rank(a) - rank(b) })
		}
	}
}

// FuzzRun reads a day from bytes, sense or nonsense: no panic, an error or a
// result that adds up.
func FuzzRun(f *testing.F) {
	f.Add([]byte{4, 60, 1, 20, 3, 0, 2, 0, 1, 30, 1, 1, 40, 1, 2, 30, 0, 1, 40, 0, 1, 20})
	f.Add([]byte{1, 10, 255, 5, 1, 1, 1, 1, 1, 1, 1, 1, 1})
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		next := func() int {
			if len(data) == 0 {
				return 0
			}
			v := int(int8(data[0]))
			data = data[1:]
			return v
		}
		when := func() Instant { return Instant{next(), next()} }
		d := day{game: Game{
			PeriodS: Periods(next(), next()), Overtimes: next(), OvertimeS: next(),
			MaxServing: next(), SuddenVictory: next()&1 == 1,
		}}
		for range min(max(next(), 0), 12) {
			length := next()
			if length == 127 {
				length = int(^uint(0) >> 1)
			}
			d.fouls = append(d.fouls, Foul{Side(next()), []string{"", "1", "2", "3"}[next()&3], length, next()&1 == 1, when()})
		}
		for range min(max(next(), 0), 12) {
			d.goals = append(d.goals, Goal{Side(next()), when()})
		}
		for range min(max(next(), 0), 3) {
			d.game.DeadBalls = append(d.game.DeadBalls, Span{when(), when()})
		}
		r, err := Run(d.game, d.fouls, d.goals)
		if err != nil {
			if err.Error() == "" || r.Outcomes != nil {
				t.Errorf("error %q with result %+v", err, r)
			}
			return
		}
		checkInvariants(t, d, r)
	})
}
