package question

import (
	"slices"
	"strconv"

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
		return v, span{s.start, s.end}, true
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
		return v, span{s.start, s.end}, ok
	}
}

// cue is a set of the story's tags.
type storyCue uint64

const (
	cOurs storyCue = 1 << iota
	cTheirs
	cOur
	cTheir
	cWe
	cThey
	cA
	cB
	cBoth
	cSame
	cOn
	cBy
	cGoal
	cPast
	cPassive
	cNoGoal
	cCancel
	cAgain
	cIf
	cNot
	cLeft
	cAt
	cFrom
	cLater
	cOut
	cStart
	cLast
	cGoto
	cRunning
	cStopped
	cEach
	cOne
	cRather
	cPlus
	cGets
	cPenalty
	cTechnical
	cReleasable
	cLocked
	cPerson
)

var storyCues = [...]string{"ours", "theirs", "our", "their", "we", "they", "a", "b", "both", "same", "on", "by", "goal", "past",
	"passive", "nogoal", "cancel", "again", "if", "not", "left", "at", "from", "later", "out", "start", "last", "goto", "running",
	"stopped", "each", "one", "rather", "plus", "gets", "penalty", "technical", "releasable", "locked"}

const (
	storyPrefix = "story:"
	foulPrefix  = "foul:"
)

// bit of a tag; foul is the id where it names one.
func storyTag(name string) (bit storyCue, foul string) {
	switch {
	case name == "person":
		return cPerson, ""
	case len(name) > len(foulPrefix) && name[:len(foulPrefix)] == foulPrefix:
		switch id := name[len(foulPrefix):]; id {
		case "personal", "technical":
			return 0, ""
		default:
			return 0, id
		}
	case len(name) > len(storyPrefix) && name[:len(storyPrefix)] == storyPrefix:
		for i, c := range storyCues {
			if c == name[len(storyPrefix):] {
				return 1 << i, ""
			}
		}
	}
	return 0, ""
}

// storyHit is the longest phrase of a story at a token.
type storyHit struct {
	bits storyCue
	foul string
	end  int
}

// storyWalker finds it, whatever the lexicons' longer phrases are.
type storyWalker struct {
	q     *Question
	langs uint8
	limit int
	best  storyHit
}

func (w *storyWalker) walk(i int, node int32) {
	x := w.q.x
	if node != 0 && i > w.best.end {
		if p, ok := x.out[node]; ok {
			var bits storyCue
			var foul string
			for _, t := range p.in(w.langs) {
				b, f := storyTag(x.names[t])
				bits |= b
				if f != "" {
					foul = f
				}
			}
			if bits != 0 || foul != "" {
				w.best = storyHit{bits, foul, i}
			}
		}
	}
	if i >= w.limit {
		return
	}
	t := &w.q.toks[i]
	for k := 0; k < int(t.nids); k++ {
		if n, ok := x.next[edge{node, t.ids[k]}]; ok {
			w.walk(i+1, n)
		}
	}
	if node != 0 && t.kind == markToken && (t.text == "-" || t.text == "/") {
		w.walk(i+1, node)
	}
}

// groupWalker finds the longest phrase with a tag of a group at a token, be it
// inside a longer phrase of something else ("the 4th", "de un minuto").
type groupWalker struct {
	q     *Question
	langs uint8
	want  group
	tag   Tag
	end   int
}

func (w *groupWalker) walk(i int, node int32) {
	x := w.q.x
	if node != 0 && i > w.end {
		if p, ok := x.out[node]; ok {
			for _, t := range p.in(w.langs) {
				if x.info[t].group == w.want {
					w.tag, w.end = t, i
				}
			}
		}
	}
	if i >= len(w.q.toks) {
		return
	}
	t := &w.q.toks[i]
	for k := 0; k < int(t.nids); k++ {
		if n, ok := x.next[edge{node, t.ids[k]}]; ok {
			w.walk(i+1, n)
		}
	}
}

// group is the longest phrase at token i with a tag of a group.
func (r *storyReader) group(i int, g group) (Tag, int, bool) {
	if i < r.s.start || i >= r.s.end {
		return noTag, i, false
	}
	w := groupWalker{q: r.q, langs: r.langs(), want: g, tag: noTag}
	w.walk(i, 0)
	return w.tag, w.end, w.tag != noTag && w.end <= r.s.end
}

// itemKind is what a part of a story is.
type itemKind uint8

const (
	iWho itemKind = iota
	iFoul
	iLength
	iClock
	iPeriod
	iGoal
	iTeam
	iLocked
	iCount
	iCue // anything else, in bits
)

// item is one part of a story, in the order of the text.
type item struct {
	kind       itemKind
	start, end int
	n          int    // seconds, period, count
	word       string // who, foul
	bits       storyCue
	team       Team
	used       bool
	noted      bool // a clock that says it is one ("left", "at", a period beside it)
	period     int  // of a clock
	own        bool // of a clock: its period was said with it
}

// storyReader is one reading.
type storyReader struct {
	q     *Question
	s     Scope
	items []item
	out   Story
}

// Story reads the penalty story of a scope; ok is false where there is none.
func (q *Question) Story(s Scope) (*Story, bool) {
	s.start, s.end = max(s.start, 0), min(s.end, len(q.toks))
	if s.start >= s.end {
		return nil, false
	}
	var buf [64]item
	r := storyReader{q: q, s: s, items: buf[:0]}
	r.scan()
	r.lengthsFirst()
	r.clockPeriods()
	r.goals()
	r.lengths()
	r.penalties()
	r.settle()
	st := r.out
	if len(st.Penalties) == 0 && len(st.Goals) == 0 && !st.NoGoal && st.PeriodS == 0 && !st.Running && !st.Stopped {
		return nil, false
	}
	return &st, true
}

func (r *storyReader) langs() uint8 {
	if r.q.Lang == "es" {
		return langEN | langES
	}
	return langEN
}

func (r *storyReader) hit(i int) storyHit {
	w := storyWalker{q: r.q, langs: r.langs(), limit: r.s.end}
	w.walk(i, 0)
	return w.best
}

// cue says whether the phrase at token i has one of the tags.
func (r *storyReader) cue(i int, bits storyCue) bool {
	return i >= r.s.start && i < r.s.end && r.hit(i).bits&bits != 0
}

func (r *storyReader) add(it item) { r.items = append(r.items, it) }

// scan cuts the text into items.
func (r *storyReader) scan() {
	q := r.q
	next := 0 // quantity
	for i := r.s.start; i < r.s.end; {
		for next < len(q.Quantities) && q.Quantities[next].start < i {
			next++
		}
		h := r.hit(i)
		if next < len(q.Quantities) && q.Quantities[next].start == i && q.Quantities[next].end <= r.s.end && (h.end == 0 || h.end <= q.Quantities[next].end || h.bits&(cLast|cStart) == 0) {
			if end := r.quantity(&q.Quantities[next], h); end > i {
				i = end
				continue
			}
		}
		if end, ok := r.label(i); ok {
			i = end
			continue
		}
		if end, ok := r.hidden(i); ok {
			i = end
			continue
		}
		if h.end == 0 {
			i++
			continue
		}
		r.phrase(i, h)
		i = h.end
	}
}

// phrase makes an item of words.
func (r *storyReader) phrase(i int, h storyHit) {
	it := item{kind: iCue, start: i, end: h.end, bits: h.bits, team: teamOf(h.bits)}
	switch {
	case h.bits&(cLocked|cReleasable) != 0:
		it.kind, it.n = iLocked, int(SaidYes)
		if h.bits&cLocked == 0 {
			it.n = int(SaidNo)
			if r.cue(i-1, cNot) || r.q.mark(i-1, "-") && r.cue(i-2, cNot) {
				it.n = int(SaidYes)
			}
		}
	case h.foul != "":
		it.kind, it.word = iFoul, h.foul
	case h.bits&cTechnical != 0:
		it.kind = iFoul
	case h.bits&cNoGoal != 0:
		r.out.NoGoal = true
		return
	case h.bits&cGoal != 0:
		it.kind = iGoal
	case h.bits&cRunning != 0:
		r.out.Running = true
		return
	case h.bits&cStopped != 0:
		r.out.Stopped = true
		return
	case h.bits&cOne != 0:
		r.out.OnePlayer = true
		return
	case h.bits&cLast != 0:
		it.kind, it.n = iPeriod, LastPeriod
		if _, end, ok := r.group(h.end, gPeriodWord); ok {
			it.end = end
		}
	case h.bits&cStart != 0:
		it.kind, it.n, it.noted = iClock, FullClock, true
	case h.bits&cGoto != 0:
	case it.team != NoTeam:
		it.kind = iTeam
	}
	r.add(it)
}

func teamOf(b storyCue) Team {
	switch {
	case b&(cOurs|cOur|cWe) != 0 && b&(cTheirs|cTheir|cThey) == 0:
		return Ours
	case b&(cTheirs|cTheir|cThey) != 0:
		return Theirs
	case b&cA != 0:
		return TeamA
	case b&cB != 0:
		return TeamB
	}
	return NoTeam
}

// label reads A1, B2, and the team in "A scores".
func (r *storyReader) label(i int) (int, bool) {
	q := r.q
	team := NoTeam
	switch {
	case q.wordAt(i, "a"):
		team = TeamA
	case q.wordAt(i, "b"):
		team = TeamB
	default:
		return i, false
	}
	if q.isNum(i+1) && q.toks[i+1].glued && i+1 < r.s.end && !q.toks[i+1].frac && len(q.toks[i+1].text) <= 2 {
		word := "A"
		if team == TeamB {
			word = "B"
		}
		r.add(item{kind: iWho, start: i, end: i + 2, word: word + q.toks[i+1].text, team: team})
		return i + 2, true
	}
	if i+1 >= r.s.end {
		return i, false
	}
	h := r.hit(i + 1)
	if h.bits&(cGoal|cGets) == 0 {
		if team == TeamB && (r.cue(i-1, cBy|cOn) || r.q.wordAt(i-1, "team")) {
			r.add(item{kind: iTeam, start: i, end: i + 1, team: team})
			return i + 1, true
		}
		return i, false
	}
	// "a goal" is no team, "A scores" is one
	if team == TeamA && h.bits&cGoal != 0 && !q.wordAt(i+1, "scores") && !q.wordAt(i+1, "scored") && !q.wordAt(i+1, "anota") && !q.wordAt(i+1, "anoto") {
		return i, false
	}
	if team == TeamA && h.bits&cGoal == 0 {
		return i, false
	}
	r.add(item{kind: iTeam, start: i, end: i + 1, team: team, bits: cWe})
	return i + 1, true
}

// hidden reads what the quantities leave out because longer phrases or slips
// stand over it: "minuto y medio", "de un minuto", "8:00 second quarter".
func (r *storyReader) hidden(i int) (int, bool) {
	q := r.q
	if t, end, ok := r.group(i, gUnit); ok && q.x.info[t].unitKind == Span {
		n := measure.One
		told := q.article(i-1) || q.wordAt(i-1, "one") || q.wordAt(i-1, "uno")
		if q.isNum(i-1) && !q.mark(i-2, ":") {
			n, told = q.toks[i-1].milli, true
		} else if w, e, ok := r.group(i-1, gNum); ok && e == i {
			n, told = q.x.info[w].n*measure.One, true
		}
		e := end
		if half, he, ok := q.halfAfterUnit(end); ok && he <= r.s.end {
			n, e, told = n+half, he, true
		}
		if told {
			ms := scale(n, q.x.info[t].n)
			r.span(max(i-1, r.s.start), e, ms, ms)
			return e, true
		}
	}
	if t, end, ok := r.group(i, gOrd); ok && q.isNum(i-1) && q.mark(i-2, ":") {
		return r.ordinalPeriod(i, end, int(q.x.info[t].n))
	}
	return i, false
}

// ordinalPeriod makes a period of an ordinal and the word that may follow it.
func (r *storyReader) ordinalPeriod(start, end, n int) (int, bool) {
	if n < 1 || n > 9 {
		return start, false
	}
	if r.periodWord(end) {
		end++
	} else if !r.periodOrdinal(end) {
		return start, false
	}
	r.add(item{kind: iPeriod, start: start, end: end, n: n})
	return end, true
}

// quantity makes an item of a quantity; it returns where to go on, or u.start
// where the quantity is none of a story.
func (r *storyReader) quantity(u *Quantity, h storyHit) int {
	q := r.q
	switch u.Kind {
	case Jersey:
		r.add(item{kind: iWho, start: u.start, end: u.end, word: strconv.FormatInt(u.Lo/measure.One, 10)})
		return r.numberList(u)
	case Clock:
		if !u.ofDay {
			r.add(item{kind: iClock, start: u.start, end: u.end, n: int(u.Lo)})
		}
		return u.end
	case Span:
		return r.span(u.start, u.end, u.Lo, u.Hi)
	case Period:
		r.add(item{kind: iPeriod, start: u.start, end: u.end, n: int(u.Lo)})
		for i := u.start; i < u.end; i++ {
			r.periodWord(i) // notes that it is a quarter
		}
		return u.end
	case Half:
		if u.Lo >= 1 && u.Lo <= halfPeriods {
			r.add(item{kind: iPeriod, start: u.start, end: u.end, n: FirstHalf + int(u.Lo) - 1})
		}
		return u.end
	case Ordinal:
		end, _ := r.ordinalPeriod(u.start, u.end, int(u.Lo))
		return max(end, u.end)
	case Bare:
		if e := u.end; u.Lo%measure.One == 0 && e < r.s.end && q.toks[e].glued && q.isNum(e-1) { // "4th" where a phrase of it stands in the way
			if _, end, ok := r.group(e, gOrdSuffix); ok {
				end, _ = r.ordinalPeriod(u.start, end, int(u.Lo/measure.One))
				return max(end, u.end)
			}
		}
		return r.bare(u)
	case Length: // "1m slash"
		if u.Unit >= 0 && q.x.info[u.Unit].value == "m" && u.Lo == u.Hi && u.end < r.s.end && r.hit(u.end).foul != "" {
			ms := u.Lo / int64(measure.Metre) * int64(measure.Minute)
			return r.span(u.start, u.end, ms, ms)
		}
		return u.end
	}
	if h.end > u.end {
		return u.start
	}
	return u.end
}

// periodOrdinal says whether an ordinal that ends at token i can be a period:
// "the 3rd", but not "the 3rd foul".
func (r *storyReader) periodOrdinal(i int) bool {
	if i >= r.s.end {
		return true
	}
	h := r.hit(i)
	if h.foul != "" || h.bits&(cPenalty|cPerson|cGoal|cTechnical) != 0 {
		return false
	}
	_, _, unit := r.group(i, gUnit)
	_, _, thing := r.group(i, gStickWord)
	return !unit && !thing
}

// numberList reads on in "numbers 5, 6, 7 and 8".
func (r *storyReader) numberList(u *Quantity) int {
	q := r.q
	end := u.end
	if q.mark(u.start, "#") {
		return end
	}
	for {
		j := end
		if q.mark(j, ",") {
			j++
		}
		if q.joins(j) {
			j++
		}
		if j == end || j >= r.s.end || !q.isNum(j) || q.toks[j].frac || len(q.toks[j].text) > 2 || q.mark(j+1, ":") {
			return end
		}
		if _, _, ok := q.unit(j + 1); ok && !q.wordAt(j+1, "in") { // "7 and 8 in that order"
			return end
		}
		if j+1 < r.s.end && r.hit(j+1).foul != "" {
			return end
		}
		r.add(item{kind: iWho, start: j, end: j + 1, word: q.toks[j].text})
		end = j + 1
	}
}

// longestTold bounds what is read as a penalty's length, far above any.
const longestTold = 10 * 60

// span makes a length of a penalty, a clock ("25 seconds left"), a length of a
// period ("12 minute quarters") or a time after the restart of a span of time.
func (r *storyReader) span(start, end int, lo, hi int64) int {
	q := r.q
	n := int(lo / int64(measure.Second))
	switch {
	case q.mark(end, "-") && r.periodWord(end+1), r.periodWord(end):
		r.out.PeriodS = n
		return end
	case r.periodWord(start-2) && (q.wordAt(start-1, "of") || q.wordAt(start-1, "de") || q.wordAt(start-1, "are") || q.wordAt(start-1, "son")):
		r.out.PeriodS = n
		return end
	case lo != hi || n <= 0:
		return end
	case r.cue(end, cLeft) || r.cue(end+1, cLeft) && !q.mark(end, ",") || r.cue(start-1, cLeft) && !r.cue(start-1, cAt) || r.cue(start-2, cLeft) && q.article(start-1):
		r.add(item{kind: iClock, start: start, end: end, n: n, noted: true})
	case r.cue(end, cLater):
		r.add(item{kind: iClock, start: start, end: end, n: n, bits: cLater})
	case n <= longestTold:
		r.add(item{kind: iLength, start: start, end: end, n: n})
	}
	return end
}

func (r *storyReader) periodWord(i int) bool {
	t, _, ok := r.group(i, gPeriodWord)
	if ok && r.q.x.info[t].n == 4 || r.q.wordAt(i, "cuarto") {
		r.out.Quarters = true
		return true
	}
	return ok
}

// bare makes an item of a number without a unit: how many penalties, a player
// ("12 has a slash"), minutes ("1 for slashing"), or a clock without its colon.
func (r *storyReader) bare(u *Quantity) int {
	q := r.q
	n := int(u.Lo / measure.One)
	t := &q.toks[u.start]
	before := r.cue(u.start-1, cAt|cFrom) || q.mark(u.start-1, "@")
	left := r.cue(u.end, cLeft)
	if t.kind == numberToken && u.end == u.start+1 {
		if m, s, ok := dotted(t.text); ok && (before || left) { // 3.20
			r.add(item{kind: iClock, start: u.start, end: u.end, n: m*60 + s, noted: true})
			return u.end
		}
		if len(t.text) >= 3 && len(t.text) <= 4 && !t.frac && n%100 < 60 && (before || left) { // 320
			r.add(item{kind: iClock, start: u.start, end: u.end, n: n/100*60 + n%100, noted: true})
			return u.end
		}
		if before && u.end < r.s.end && q.isNum(u.end) && len(q.toks[u.end].text) == 2 && len(t.text) <= 2 && !t.frac && q.toks[u.end].milli < 60*measure.One { // 3 20
			if _, _, unit := q.unit(u.end + 1); !unit {
				r.add(item{kind: iClock, start: u.start, end: u.end + 1, n: n*60 + int(q.toks[u.end].milli/measure.One), noted: true})
				return u.end + 1
			}
		}
	}
	if u.Lo%measure.One != 0 || u.Lo != u.Hi || u.end >= r.s.end {
		return u.end
	}
	h := r.hit(u.end)
	if m, ok := q.number(u.end); ok {
		if n >= 2 && n <= 9 { // "four 30 second holds"
			if ut, _, ok := q.unit(m.end); ok && q.x.info[ut].unitKind == Span {
				r.add(item{kind: iCount, start: u.start, end: u.end, n: n})
			}
		}
		return u.end
	}
	switch {
	case n >= 2 && n <= 9 && (h.foul != "" || h.bits&(cTechnical|cPenalty|cLocked|cReleasable) != 0):
		r.add(item{kind: iCount, start: u.start, end: u.end, n: n})
	case h.bits&cGets != 0 && (q.wordAt(u.end, "for") || q.wordAt(u.end, "por")) && u.end+1 < r.s.end && r.foulNear(u.end+1, 2):
		if n >= 1 && n <= 5 {
			n *= 60
		} else if n%15 != 0 || n > longestTold {
			return u.end
		}
		r.add(item{kind: iLength, start: u.start, end: u.end, n: n})
	case h.bits&cGets != 0 && t.kind == numberToken && len(t.text) <= 2 && !t.frac && r.penaltyNear(h.end, 4):
		r.add(item{kind: iWho, start: u.start, end: u.end, word: t.text})
	}
	return u.end
}

// dotted splits "3.20".
func dotted(s string) (m, sec int, ok bool) {
	for i := 1; i < len(s) && i <= 2; i++ {
		if s[i] != '.' && s[i] != ',' || len(s) != i+3 {
			continue
		}
		m, err := strconv.Atoi(s[:i])
		sec, err2 := strconv.Atoi(s[i+1:])
		return m, sec, err == nil && err2 == nil && sec < 60
	}
	return 0, 0, false
}

// foulNear says whether a foul is named within n tokens from i.
func (r *storyReader) foulNear(i, n int) bool {
	for k := i; k < min(i+n, r.s.end); k++ {
		if h := r.hit(k); h.foul != "" || h.bits&cTechnical != 0 {
			return true
		}
	}
	return false
}

// penaltyNear is foulNear, or a span of time that can be a penalty.
func (r *storyReader) penaltyNear(i, n int) bool {
	if r.foulNear(i, n) {
		return true
	}
	for k := range r.q.Quantities {
		if u := &r.q.Quantities[k]; u.Kind == Span && u.start >= i && u.start < i+n {
			return true
		}
	}
	return false
}

// sentenceEnd says whether a sentence ends between tokens a and b.
func (r *storyReader) sentenceEnd(a, b int) bool {
	return a < b && a >= 0 && b < len(r.q.toks) && r.q.toks[a].sent != r.q.toks[b].sent
}

func (r *storyReader) comma(a, b int) bool {
	for i := a; i < b; i++ {
		if r.q.mark(i, ",") || r.q.mark(i, ";") || r.q.mark(i, ".") || r.q.mark(i, "?") || r.q.mark(i, ":") {
			return true
		}
	}
	return false
}

// lengthsFirst takes "1:00" for a length where it stands like one.
func (r *storyReader) lengthsFirst() {
	clocks, periods := 0, 0
	for i := range r.items {
		switch r.items[i].kind {
		case iClock:
			clocks++
		case iPeriod:
			periods++
		}
	}
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iClock || it.noted || it.bits&cLater != 0 || it.n <= 0 || it.n > longestTold/2 || it.n%30 != 0 {
			continue
		}
		if r.cue(it.start-1, cAt|cFrom|cLeft) && !r.q.wordAt(it.start-1, "of") || r.cue(it.end, cLeft) || r.q.mark(it.start-1, "@") {
			continue
		}
		if i+1 < len(r.items) && r.items[i+1].kind == iPeriod && r.items[i+1].start-it.end <= 3 && !r.comma(it.end, r.items[i+1].start) {
			continue
		}
		after := i+1 < len(r.items) && r.penal(&r.items[i+1]) && r.items[i+1].start-it.end <= 3 && !r.comma(it.end, r.items[i+1].start)
		behind := i > 0 && r.penal(&r.items[i-1]) && it.start-r.items[i-1].end <= 1 && !r.comma(r.items[i-1].end, it.start)
		if after && (clocks > 1 || periods == 0) || behind && clocks > 1 && !r.lengthNear(i) {
			it.kind = iLength
			clocks--
		}
	}
}

func (r *storyReader) penal(it *item) bool {
	return it.kind == iFoul || it.kind == iLocked || it.kind == iCue && it.bits&cPenalty != 0
}

// lengthNear says whether the foul before the clock items[i] has its length already.
func (r *storyReader) lengthNear(i int) bool {
	for k := i - 1; k >= 0; k-- {
		switch r.items[k].kind {
		case iLength:
			return true
		case iWho, iClock:
			return false
		}
	}
	return false
}

// clockPeriods gives clocks the periods that stand beside them, and the others
// the one said before.
func (r *storyReader) clockPeriods() {
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iPeriod {
			continue
		}
		// "we go to overtime", "when is he back in the third" is not when it was
		for k := i - 1; k >= 0 && it.start-r.items[k].end <= 2; k-- {
			if b := r.items[k].bits; b&(cGoto|cOut) != 0 && r.items[k].kind == iCue && !(r.items[k].bits&cOut == 0 && r.q.wordAt(r.items[k].start, "to") && k > 0 && r.items[k-1].kind == iClock) {
				it.used = true
			}
		}
	}
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock {
			continue
		}
		for k := i + 1; k < len(r.items); k++ {
			p := &r.items[k]
			if p.kind == iCue && p.bits&(cOut|cGoto) == 0 {
				continue
			}
			if p.kind == iPeriod && !p.used && p.start-c.end <= 5 && !r.sentenceEnd(c.end-1, p.start) && (!r.comma(c.end, p.start) || !r.nextIsClock(k)) {
				c.period, c.own, c.noted, p.used = p.n, true, true, true
			}
			break
		}
	}
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock || c.own {
			continue
		}
		for k := i - 1; k >= 0; k-- {
			p := &r.items[k]
			if p.kind == iCue {
				continue
			}
			if p.kind == iPeriod && !p.used && c.start-p.end <= 5 {
				c.period, c.own, p.used = p.n, true, true
				c.noted = c.noted || c.start-p.end <= 2
			}
			break
		}
	}
	first := noPeriod
	for i := range r.items {
		if r.items[i].kind == iPeriod && (!r.items[i].used || r.ownedBy(i)) {
			first = r.items[i].n
			break
		}
	}
	now := first
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock {
			continue
		}
		if c.own {
			now = c.period
		} else {
			c.period = now
		}
	}
}

// nextIsClock says whether the period items[k] goes better with a clock after it.
func (r *storyReader) nextIsClock(k int) bool {
	return k+1 < len(r.items) && r.items[k+1].kind == iClock && r.items[k+1].start-r.items[k].end <= 3
}

// ownedBy says whether a clock took the period.
func (r *storyReader) ownedBy(k int) bool {
	for i := range r.items {
		if c := &r.items[i]; c.kind == iClock && c.own && c.period == r.items[k].n {
			return true
		}
	}
	return false
}

// goals finds the goals, whose they are and their clocks.
func (r *storyReader) goals() {
	for i := range r.items {
		g := &r.items[i]
		if g.kind != iGoal {
			continue
		}
		g.used = true
		if r.denied(i) {
			continue
		}
		sc := Scored{By: r.scorer(i), Clock: NoClock, Past: g.bits&cPast != 0 && !r.cond(i)}
		c := r.goalClock(i)
		if c < 0 {
			if n := len(r.out.Goals); n > 0 && r.out.Goals[n-1].By == NoTeam && sc.By != NoTeam && r.tells(i) { // "the goal was against us"
				r.out.Goals[n-1].By = sc.By
				continue
			}
			if n := len(r.out.Goals); n > 0 && r.out.Goals[n-1].Clock != NoClock && !r.cond(i) {
				continue // the same goal again: "does the goal let him out"
			}
			r.out.Goals = append(r.out.Goals, sc)
			continue
		}
		for {
			it := &r.items[c]
			it.used = true
			one := sc
			if it.bits&cLater != 0 {
				one.AfterS = it.n
			} else {
				one.Clock, one.Period = it.n, it.period
				if !it.own {
					one.Period = -it.period // inherited: may be the next one
				}
			}
			r.out.Goals = append(r.out.Goals, one)
			next := r.moreClocks(c)
			if next < 0 {
				break
			}
			c = next
		}
	}
}

// denied says whether the goal did not happen.
func (r *storyReader) denied(i int) bool {
	g := &r.items[i]
	for k := i - 1; k >= 0 && k >= i-2; k-- {
		if it := &r.items[k]; it.bits&cNot != 0 && it.kind == iCue && g.start-it.end <= 2 && !r.comma(it.end, g.start) {
			return true
		}
	}
	for k := i + 1; k < len(r.items) && k <= i+4; k++ {
		if it := &r.items[k]; it.bits&cCancel != 0 && !r.sentenceEnd(g.end-1, it.start) {
			return true
		}
	}
	return false
}

// cond says whether the goal is a "what if".
func (r *storyReader) cond(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if it := &r.items[k]; it.kind == iCue && it.bits&cIf != 0 && r.items[i].start-it.end <= 5 {
			return true
		}
	}
	return false
}

// tells says whether a goal is only spoken about: no clock stands after it.
func (r *storyReader) tells(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		if r.items[k].kind == iClock && !r.items[k].used {
			return false
		}
	}
	return true
}

// scorer says whose goal items[i] is.
func (r *storyReader) scorer(i int) Team {
	g := &r.items[i]
	passive := g.bits&cPassive != 0
	if g.team != NoTeam && !passive {
		return g.team
	}
	if !passive {
		// "goal by them", "goal against us", "scored on us"
		for k := i + 1; k < len(r.items) && k <= i+3; k++ {
			it := &r.items[k]
			if it.kind == iCue {
				continue
			}
			if it.kind != iTeam || it.start-g.end > 4 || r.comma(g.end, it.start) {
				break
			}
			if on := r.cue(it.start-1, cOn) && !r.cue(it.start-1, cBy); on {
				return it.team.Other()
			}
			if r.cue(it.start-1, cBy) || r.q.wordAt(it.start-1, "for") || r.q.wordAt(it.start-1, "from") || r.q.wordAt(it.start-1, "para") || it.bits&(cOurs|cTheirs) != 0 {
				return it.team
			}
			if r.q.wordAt(it.start-1, "was") || r.q.wordAt(it.start-1, "is") || r.q.wordAt(it.start-1, "fue") {
				return it.team
			}
			break
		}
	}
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		it := &r.items[k]
		if it.kind == iCue {
			continue
		}
		if it.kind != iTeam || g.start-it.end > 4 || r.sentenceEnd(it.start, g.start) || r.comma(it.end, g.start) {
			break
		}
		it.used = true
		if passive {
			return it.team.Other()
		}
		return it.team
	}
	if passive { // "got scored on at 7:25"
		return Theirs
	}
	if r.q.Lang == "es" && g.bits&cPast == 0 && !r.nounGoal(g) || r.q.Lang == "es" && !r.nounGoal(g) { // "anotan": they
		return Theirs
	}
	return NoTeam
}

func (r *storyReader) nounGoal(g *item) bool {
	return g.end == g.start+1 && (r.q.wordAt(g.start, "gol") || r.q.wordAt(g.start, "goles") || r.q.wordAt(g.start, "goal") || r.q.wordAt(g.start, "goals"))
}

// goalClock finds the clock of a goal: the next one, or one just before it.
func (r *storyReader) goalClock(i int) int {
	g := &r.items[i]
	after := -1
	for k := i + 1; k < len(r.items); k++ {
		it := &r.items[k]
		if it.kind == iClock && !it.used {
			if !r.cue(it.start-1, cFrom) {
				after = k
			}
			break
		}
		if it.kind == iFoul || it.kind == iWho || it.kind == iGoal || it.kind == iLength || it.kind == iCue && it.bits&cOut != 0 {
			break
		}
	}
	if after >= 0 && r.sentenceEnd(g.end-1, r.items[after].start) {
		after = -1
	}
	before := -1
	for k := i - 1; k >= 0; k-- {
		it := &r.items[k]
		if it.kind == iClock {
			if !it.used && g.start-it.end <= 6 && !r.comma(it.end, g.start) && !r.cue(it.start-1, cFrom) {
				before = k
			}
			break
		}
		if it.kind != iTeam && it.kind != iCue && it.kind != iPeriod {
			break
		}
	}
	if after >= 0 && before >= 0 {
		// "at 7:25 they scored and at 6:50 we scored"
		for k := after + 1; k < len(r.items); k++ {
			it := &r.items[k]
			if it.kind == iGoal && it.start-r.items[after].end <= 5 && !r.comma(r.items[after].end, it.start) && r.otherRestart(before) {
				return before
			}
			if it.kind != iTeam && it.kind != iCue {
				break
			}
		}
	}
	if after >= 0 {
		return after
	}
	if before >= 0 && r.otherRestart(before) {
		return before
	}
	return -1
}

// otherRestart says whether a clock other than items[k] is there for the fouls,
// or no foul at all.
func (r *storyReader) otherRestart(k int) bool {
	foul := false
	for i := range r.items {
		it := &r.items[i]
		if it.kind == iClock && i != k && !it.used {
			return true
		}
		foul = foul || it.kind == iFoul || it.kind == iLength || it.kind == iWho
	}
	return !foul
}

// moreClocks finds a further goal by the same side: "at 9:20 and at 8:40".
func (r *storyReader) moreClocks(c int) int {
	for k := c + 1; k < len(r.items); k++ {
		it := &r.items[k]
		switch {
		case it.kind == iClock && !it.used:
			if r.sentenceEnd(r.items[c].end-1, it.start) || it.start-r.items[c].end > 6 || r.cue(it.start-1, cFrom) || it.bits&cLater != 0 {
				return -1
			}
			// another goal's own clock stands before it
			for j := k + 1; j < len(r.items); j++ {
				if r.items[j].kind == iGoal && r.items[j].start-it.end <= 5 && !r.comma(it.end, r.items[j].start) && !r.clockAfter(j) {
					return -1
				}
				if r.items[j].kind != iTeam && r.items[j].kind != iCue && r.items[j].kind != iPeriod {
					break
				}
			}
			return k
		case it.kind == iCue && it.bits&cOut == 0, it.kind == iPeriod:
		default:
			return -1
		}
	}
	return -1
}

func (r *storyReader) clockAfter(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		switch it := &r.items[k]; it.kind {
		case iClock:
			return it.start-r.items[i].end <= 5
		case iTeam, iCue:
		default:
			return false
		}
	}
	return false
}

// lengths drops what is said of time and is no penalty's length.
func (r *storyReader) lengths() {
	for i := range r.items {
		it := &r.items[i]
		if it.kind == iLength && i > 0 && r.items[i-1].kind == iClock && r.items[i-1].used && r.q.wordAt(it.end, "after") {
			it.used = true
		}
	}
}

// draft is a penalty that is being put together.
type draft struct {
	Told
	start, end int
	count      int
	hasFoul    bool
	from       int // the draft that it shares foul and length with, -1 none
	teamAt     int // where its team was said
	whoAt      int // where its player was said
}

func (d *draft) empty() bool { return !d.hasFoul && d.LengthS == 0 }

// penalties puts the penalties together from who, foul and length.
func (r *storyReader) penalties() {
	var buf [8]draft
	ds := buf[:0]
	cur := -1
	open := func(at int) *draft {
		ds = append(ds, draft{Told: Told{Clock: NoClock}, start: at, end: at, from: -1, teamAt: -1, whoAt: -1})
		cur = len(ds) - 1
		return &ds[cur]
	}
	at := func(i int) *draft {
		if cur < 0 {
			return open(r.items[i].start)
		}
		return &ds[cur]
	}
	count, countEnd := 0, -1
	rather := false
	for i := range r.items {
		it := &r.items[i]
		var d *draft
		switch it.kind {
		case iCue:
			if it.bits&cRather != 0 && cur >= 0 {
				rather = true
			}
			continue
		case iCount:
			count, countEnd = it.n, it.end
			continue
		case iWho:
			known := slices.IndexFunc(ds, func(o draft) bool { return o.Who == it.word && (it.team == NoTeam || o.Team == it.team) })
			switch {
			case known >= 0 && ds[known].empty():
				cur = known
				d = &ds[cur]
			case known >= 0 && !r.startsPenalty(i):
				continue // "#40 has to wait"
			case cur >= 0 && ds[cur].Who == "" && !ds[cur].closed(r, it):
				d = &ds[cur]
			default:
				d = open(it.start)
			}
			d.Who, d.whoAt = it.word, it.start
			if it.team != NoTeam {
				d.Team, d.teamAt = it.team, it.start
			}
		case iFoul:
			if r.notFoul(i) {
				continue
			}
			d = at(i)
			if d.hasFoul {
				switch {
				case rather:
					d.Foul, d.Technical = "", false
				case it.word == "":
					continue // "a hold, so a technical"
				case r.joined(i) && (it.word != d.Foul || r.lengthAhead(i)), r.lengthAhead(i) && d.LengthS > 0:
					d = open(it.start)
				default:
					continue // named twice, or two words for one act
				}
			}
			d.Foul, d.hasFoul, rather = it.word, true, false
			d.Technical = it.word == ""
		case iLength:
			if it.used {
				continue
			}
			d = at(i)
			if d.LengthS > 0 {
				switch {
				case rather:
				case r.startsPenalty(i):
					d = open(it.start)
				default:
					continue
				}
			} else if d.hasFoul && r.startsPenalty(i) && r.wholeAhead(i) {
				d = open(it.start) // "illegal crosse and a one minute slash"
			}
			d.LengthS, rather = it.n, false
		case iLocked:
			if r.asksAbout(i) {
				continue
			}
			d = at(i)
			d.Locked = Yes(it.n)
			if r.eachBefore(i) {
				for k := range ds {
					ds[k].Locked = d.Locked
				}
			}
		default:
			continue
		}
		if count > 0 && it.start-countEnd <= 3 && d.count == 0 {
			d.count, count = count, 0
		}
		d.end = it.end
	}
	r.share(ds)
	r.teams(ds)
	r.restarts(ds)
	r.multiply(ds)
}

// closed says whether the penalty is complete, so that a player named now has
// one of his own: "slash one minute, #7 hold 30 seconds".
func (d *draft) closed(r *storyReader, who *item) bool {
	if !d.hasFoul || d.LengthS == 0 {
		return false
	}
	for i := range r.items {
		it := &r.items[i]
		if it.start <= who.start || it.kind == iCue || it.kind == iTeam {
			continue
		}
		return (it.kind == iFoul || it.kind == iLength) && it.start-who.end <= 5 && !r.joined(i)
	}
	return false
}

// startsPenalty says whether items[i], a player or a length, has a penalty after it.
func (r *storyReader) startsPenalty(i int) bool {
	it := &r.items[i]
	for k := i + 1; k < len(r.items); k++ {
		n := &r.items[k]
		if n.start-it.end > 5 || r.sentenceEnd(it.end-1, n.start) {
			return false
		}
		switch n.kind {
		case iFoul:
			return true
		case iLength:
			return it.kind == iWho
		case iWho:
			return it.kind == iLength && n.start-it.end <= 3
		case iLocked:
			return it.kind == iLength
		case iCue:
			if n.bits&cPenalty != 0 && it.kind == iLength {
				return true
			}
		case iTeam:
		default:
			return false
		}
	}
	return false
}

// wholeAhead says whether the length items[i] is joined to what stands before it
// and belongs to a foul after it.
func (r *storyReader) wholeAhead(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		switch r.items[k].kind {
		case iFoul:
			return r.joined(i) && !r.comma(r.items[i].end, r.items[k].start)
		case iCue:
		default:
			return false
		}
	}
	return false
}

// lengthAhead says whether a length follows the foul items[i] or stands right before it.
func (r *storyReader) lengthAhead(i int) bool {
	it := &r.items[i]
	return i+1 < len(r.items) && r.items[i+1].kind == iLength && r.items[i+1].start-it.end <= 3 && !r.sentenceEnd(it.start, r.items[i+1].start)
}

// joined says whether "and", "plus" or a comma stands before items[i].
func (r *storyReader) joined(i int) bool {
	from := r.s.start
	for k := i - 1; k >= 0; k-- {
		if r.items[k].kind != iCue {
			from = r.items[k].end
			break
		}
	}
	to := r.items[i].start
	for k := from; k < to; k++ {
		if r.cue(k, cPlus) || r.q.mark(k, "+") {
			return true
		}
	}
	return r.comma(from, to)
}

// notFoul says whether the foul items[i] is denied: "not a slash".
func (r *storyReader) notFoul(i int) bool {
	if i == 0 {
		return false
	}
	p := &r.items[i-1]
	return p.kind == iCue && p.bits&cNot != 0 && p.bits&cRather == 0 && r.items[i].start-p.end <= 1 && !r.comma(p.end, r.items[i].start)
}

// asksAbout says whether "releasable" is asked, not said.
func (r *storyReader) asksAbout(i int) bool {
	q, at := r.q, r.items[i].start
	for k := at - 1; k >= at-2 && k >= r.s.start; k-- {
		if q.wordAt(k, "whether") || q.wordAt(k, "if") || q.wordAt(k, "si") || q.wordAt(k, "or") || q.wordAt(k, "o") {
			return true
		}
	}
	for _, p := range [...]string{"it", "that", "this", "he", "they"} {
		if q.wordAt(at-1, p) && (q.wordAt(at-2, "is") || q.wordAt(at-2, "was") || q.wordAt(at-2, "are")) {
			return true
		}
	}
	return q.wordAt(at-1, "es") || q.wordAt(r.items[i].end, "or") || q.wordAt(r.items[i].end, "o")
}

// eachBefore says whether "both" or "all" stands shortly before items[i].
func (r *storyReader) eachBefore(i int) bool {
	at := r.items[i].start
	for k := at - 1; k >= at-3 && k >= r.s.start; k-- {
		if r.q.mark(k, ",") {
			return false
		}
		if r.cue(k, cEach) {
			return true
		}
	}
	return r.items[i].bits&cEach != 0
}

// share gives players who were listed together their foul and length.
func (r *storyReader) share(ds []draft) {
	for k := len(ds) - 1; k >= 0; k-- {
		if !ds[k].empty() {
			continue
		}
		from := -1
		if k+1 < len(ds) && (!ds[k+1].empty()) && ds[k+1].start-ds[k].end <= 4 && !r.sentenceEnd(ds[k].start, ds[k+1].start) {
			from = k + 1
		}
		for j := k - 1; j >= 0 && from < 0; j-- {
			if !ds[j].empty() {
				from = j
			}
		}
		for j := k + 1; j < len(ds) && from < 0; j++ {
			if !ds[j].empty() {
				from = j
			}
		}
		if from >= 0 {
			d, o := &ds[k], &ds[from]
			d.Foul, d.Technical, d.LengthS, d.Locked, d.hasFoul = o.Foul, o.Technical, o.LengthS, o.Locked, o.hasFoul
			for o.from >= 0 {
				from = o.from
				o = &ds[from]
			}
			d.from = from
		}
	}
	// "a minute each"
	long, n := 0, 0
	for k := range ds {
		if ds[k].LengthS > 0 && ds[k].from < 0 {
			long, n = ds[k].LengthS, n+1
		}
	}
	if n == 1 && len(ds) > 1 {
		for i := range r.items {
			it := &r.items[i]
			if it.kind != iLength || it.n != long || !r.cue(it.end, cEach) && !r.cue(it.end+1, cEach) && !r.eachBefore(i) {
				continue
			}
			for k := range ds {
				if ds[k].LengthS == 0 {
					ds[k].LengthS = long
				}
			}
		}
	}
	for k := 1; k < len(ds); k++ { // "#12: slash plus unsportsmanlike"
		if ds[k].Who == "" && ds[k-1].Who != "" {
			ds[k].Who = ds[k-1].Who
			if ds[k].Team == NoTeam {
				ds[k].Team = ds[k-1].Team
			}
		}
	}
}

// teams finds out whose each penalty is.
func (r *storyReader) teams(ds []draft) {
	said := 0
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iTeam || it.used || it.team == NoTeam {
			continue
		}
		next := i + 1
		for next < len(r.items) && r.items[next].kind == iCue {
			next++
		}
		near := func(reach int) bool {
			return next < len(r.items) && r.items[next].start-it.end <= reach && !r.comma(it.end, r.items[next].start)
		}
		strong := it.bits&(cOurs|cTheirs|cA|cB) != 0 || r.cue(it.start-1, cOn)
		switch {
		case it.bits&(cOur|cTheir|cA|cB|cWe|cThey) != 0 && near(3) && r.items[next].kind == iWho && !r.cue(it.start-1, cOn):
			r.setTeam(ds, r.at(ds, r.items[next].start), it)
			said++
		case it.bits&(cOur|cTheir) != 0 && it.bits&(cOurs|cTheirs) == 0:
			if !r.cue(it.end, cPerson) && !r.cue(it.end+1, cPerson) || near(1) && r.items[next].kind == iGoal {
				continue
			}
			if k := r.after(ds, it.start); k >= 0 && ds[k].teamAt < 0 && ds[k].start-it.end <= 6 && !r.cue(it.start-1, cOn) {
				r.setTeam(ds, k, it)
			} else {
				r.setTeam(ds, r.before(ds, it.start), it)
			}
			said++
		case strong:
			k := r.before(ds, it.start)
			if k < 0 {
				k = 0
			}
			if k >= len(ds) {
				continue
			}
			if r.eachBefore(i) || len(ds) > 1 && said == 0 && ds[k].whoAt >= 0 && it.start-ds[k].whoAt > 3 && r.onlyTeam(i) {
				for j := range ds {
					if ds[j].teamAt < 0 {
						r.setTeam(ds, j, it)
					}
				}
			} else if ds[k].teamAt < 0 {
				r.setTeam(ds, k, it)
			}
			said++
		case it.bits&(cWe|cThey) != 0 && near(5) && (r.items[next].kind == iFoul || r.items[next].kind == iLength):
			gets := false
			for k := it.end; k < r.items[next].start; k++ {
				gets = gets || r.cue(k, cGets)
			}
			if gets {
				r.setTeam(ds, r.at(ds, r.items[next].start), it)
				said++
			}
		}
	}
	for k := range ds {
		if ds[k].Team != NoTeam {
			continue
		}
		for j := range ds {
			if ds[j].Who == ds[k].Who && ds[k].Who != "" && ds[j].Team != NoTeam {
				ds[k].Team = ds[j].Team
			}
		}
		if k > 0 && ds[k].Team == NoTeam {
			ds[k].Team = ds[k-1].Team
		}
	}
	for k := len(ds) - 2; k >= 0; k-- { // who is named beside one of theirs, without more, is ours
		if ds[k].Team == NoTeam && ds[k+1].Team != NoTeam {
			switch ds[k+1].Team {
			case Theirs:
				ds[k].Team = Ours
			default:
				ds[k].Team = ds[k+1].Team
			}
		}
	}
}

// onlyTeam says whether no other team is named for the penalties.
func (r *storyReader) onlyTeam(i int) bool {
	for k := range r.items {
		if it := &r.items[k]; k != i && it.kind == iTeam && !it.used && it.team == r.items[i].team.Other() {
			return false
		}
	}
	return true
}

func (r *storyReader) setTeam(ds []draft, k int, it *item) {
	if k >= 0 && k < len(ds) {
		ds[k].Team, ds[k].teamAt = it.team, it.start
	}
}

// at is the penalty that a token is part of; before and after are the nearest.
func (r *storyReader) at(ds []draft, i int) int {
	for k := range ds {
		if ds[k].start <= i && i < ds[k].end || ds[k].whoAt == i {
			return k
		}
	}
	return r.after(ds, i)
}

func (r *storyReader) before(ds []draft, i int) int {
	best := -1
	for k := range ds {
		if ds[k].start < i {
			best = k
		}
	}
	return best
}

func (r *storyReader) after(ds []draft, i int) int {
	for k := range ds {
		if ds[k].start >= i {
			return k
		}
	}
	return -1
}

// restarts gives each penalty the clock of its restart.
func (r *storyReader) restarts(ds []draft) {
	var buf [16]int
	cs := buf[:0]
	for pass := range 2 { // a clock at which he is said to be back counts only if there is no other
		for i := range r.items {
			c := &r.items[i]
			if c.kind != iClock || c.used || c.bits&cLater != 0 || pass == 0 && r.isOut(c) {
				continue
			}
			cs = append(cs, i)
		}
		if len(cs) > 0 {
			break
		}
	}
	period := noPeriod
	for i := range r.items {
		if it := &r.items[i]; it.kind == iPeriod && !it.used {
			period = it.n
			break
		}
	}
	if len(cs) == 0 {
		for k := range ds {
			ds[k].Period = period
		}
		if len(ds) == 0 && period != noPeriod {
			r.out.Penalties = append(r.out.Penalties, Told{Clock: NoClock, Period: period})
		}
		return
	}
	if len(ds) == 0 {
		c := &r.items[r.best(cs)]
		r.out.Penalties = append(r.out.Penalties, Told{Clock: c.n, Period: c.period})
		return
	}
	if len(ds) == 1 {
		c := &r.items[r.best(cs)]
		ds[0].Clock, ds[0].Period = c.n, c.period
		return
	}
	prefix := r.items[cs[0]].start < ds[0].start
	for k := range ds {
		d := &ds[k]
		pick := -1
		for _, i := range cs {
			c := &r.items[i]
			switch {
			case prefix && c.start < d.start:
				pick = i
			case !prefix && c.start > d.start && pick < 0:
				pick = i
			}
		}
		if pick < 0 && prefix {
			pick = cs[0]
		} else if pick < 0 {
			pick = cs[len(cs)-1]
		}
		d.Clock, d.Period = r.items[pick].n, r.items[pick].period
	}
}

// isOut says whether the clock is said to be that of a release: "back at 2:20".
func (r *storyReader) isOut(c *item) bool {
	for k := c.start - 1; k >= c.start-2 && k >= r.s.start; k-- {
		if r.cue(k, cOut) {
			return true
		}
		if !r.cue(k, cAt) {
			return false
		}
	}
	return false
}

// best is the clock that most looks like a restart's, the first of equals.
func (r *storyReader) best(cs []int) int {
	best, top := cs[0], -1
	for _, i := range cs {
		c := &r.items[i]
		score := 0
		if c.own {
			score += 2
		}
		if c.noted || r.cue(c.end, cLeft) {
			score++
		}
		if r.cue(c.start-1, cAt|cFrom) || r.q.mark(c.start-1, "@") {
			score++
		}
		if score > top {
			best, top = i, score
		}
	}
	return best
}

// multiply writes the penalties out: "four technicals" are four.
func (r *storyReader) multiply(ds []draft) {
	if len(ds) == 0 {
		return
	}
	out := make([]Told, 0, len(ds)+2)
	for k := range ds {
		d := &ds[k]
		if d.empty() && d.Who == "" && d.Locked == Unsaid {
			continue
		}
		out = append(out, d.Told)
		group, last := 0, true
		from := k
		if d.from >= 0 {
			from = d.from
		}
		for j := range ds {
			if j == from || ds[j].from == from {
				group++
				last = j <= k
			}
		}
		for n := ds[from].count; last && group < n; group++ { // those without a number come after the others
			t := d.Told
			t.Who = ""
			out = append(out, t)
		}
	}
	if len(out) == 1 && r.bothTeams() {
		out = append(out, out[0])
		out[0].Team, out[1].Team = Ours, Theirs
	} else if len(out) == 2 && out[0].Team == NoTeam && out[1].Team == NoTeam && r.bothTeams() {
		out[0].Team, out[1].Team = Ours, Theirs
	}
	r.out.Penalties = out
}

// bothTeams says whether "both teams" got the penalty.
func (r *storyReader) bothTeams() bool {
	for i := range r.items {
		if it := &r.items[i]; it.kind == iCue && it.bits&cBoth != 0 {
			return true
		}
	}
	return false
}

// settle works out what one part of the story says of another.
func (r *storyReader) settle() {
	st := &r.out
	for i := range r.items {
		if it := &r.items[i]; it.kind == iCue {
			st.extend = it.bits&cPlus != 0 && it.start <= r.s.start+1
			break
		}
	}
	first := Told{Clock: NoClock}
	if len(st.Penalties) > 0 {
		first = st.Penalties[0]
	}
	for k := range st.Goals {
		g := &st.Goals[k]
		if g.Period < 0 {
			if g.Period = -g.Period; ordinary(g.Period) && first.Clock >= 0 && g.Period == first.Period && g.Clock > first.Clock {
				g.Period++
			}
		}
		if g.AfterS > 0 && first.Clock >= g.AfterS {
			g.Clock, g.Period, g.AfterS = first.Clock-g.AfterS, first.Period, 0
		}
	}
	if len(st.Goals) > 0 {
		for k := range st.Goals {
			if st.Goals[k].Clock != NoClock {
				st.NoGoal = false
			}
		}
	}
}
