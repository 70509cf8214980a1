package question

// storyCue is a set of the story's tags.
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
	cSoft
	cPerson
)

var storyCues = [...]string{"ours", "theirs", "our", "their", "we", "they", "a", "b", "both", "same", "on", "by", "goal", "past",
	"passive", "nogoal", "cancel", "again", "if", "not", "left", "at", "from", "later", "out", "start", "last", "goto", "running",
	"stopped", "each", "one", "rather", "plus", "gets", "penalty", "technical", "releasable", "locked", "soft"}

const (
	storyPrefix = "story:"
	foulPrefix  = "foul:"
)

// storyTag is the bit of a tag; foul is the id where it names one.
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
	seen bool
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
		if p := x.at(node); p != nil {
			var bits storyCue
			var foul string
			for _, t := range w.q.x.closed(p, w.langs) {
				b, f := storyTag(x.names[t])
				bits |= b
				if f != "" {
					foul = f
				}
			}
			if bits != 0 || foul != "" {
				w.best = storyHit{bits: bits, foul: foul, end: i}
			}
		}
	}
	if i >= w.limit {
		return
	}
	t := &w.q.toks[i]
	for k := 0; k < int(t.nids); k++ {
		if n, ok := x.next[edge(node, t.ids[k])]; ok {
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
		if p := x.at(node); p != nil {
			for _, t := range w.q.x.closed(p, w.langs) {
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
		if n, ok := x.next[edge(node, t.ids[k])]; ok {
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
	cache []storyHit // by token
	out   Story
}

// Story reads the penalty story of a scope; ok is false where there is none.
func (q *Question) Story(s Scope) (*Story, bool) {
	s.start, s.end = max(s.start, 0), min(s.end, len(q.toks))
	if s.start >= s.end {
		return nil, false
	}
	var buf [64]item
	var cache [64]storyHit
	r := storyReader{q: q, s: s, items: buf[:0]}
	if len(q.toks) <= len(cache) {
		r.cache = cache[:len(q.toks)]
	} else {
		r.cache = make([]storyHit, len(q.toks))
	}
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
	if i < 0 || i >= len(r.cache) {
		return storyHit{}
	}
	c := &r.cache[i]
	if !c.seen {
		w := storyWalker{q: r.q, langs: r.langs(), limit: r.s.end}
		w.walk(i, 0)
		*c = w.best
		c.seen = true
	}
	return *c
}

// cue says whether the phrase at token i has one of the tags.
func (r *storyReader) cue(i int, bits storyCue) bool {
	return i >= r.s.start && i < r.s.end && r.hit(i).bits&bits != 0
}

func (r *storyReader) add(it item) { r.items = append(r.items, it) }

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
