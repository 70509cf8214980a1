package question

import (
	"sidewall/answers/measure"
)

// ValKind is the shape of a fact.
type ValKind uint8

// The shapes of a fact.
const (
	NoVal ValKind = iota
	LengthVal
	WeightVal
	SpanVal   // milliseconds
	ClockVal  // seconds left in a period
	CountVal  // thousandths
	WarmthVal // thousandths of °F
	WordVal
	FlagVal // Lo is 1 or 0
	DayVal  // Lo..Hi, the days that it may be
	ObjVal  // something structured, in Obj
)

// Val is the value of a fact in base units; Lo and Hi differ for a range
// ("two steps" is 1 to 2 yards).
type Val struct {
	Kind   ValKind
	Lo, Hi int64
	Word   string
	Obj    any
}

// Fact is one thing understood, and the tokens it was read from.
type Fact struct {
	Name       string
	Val        Val
	start, end int
}

// Facts are what a question says, by name.
type Facts []Fact

// Get finds a fact.
func (f Facts) Get(name string) (Val, bool) {
	for i := range f {
		if f[i].Name == name {
			return f[i].Val, true
		}
	}
	return Val{}, false
}

// Set puts a fact, replacing one of the same name.
func (f Facts) Set(name string, v Val) Facts {
	for i := range f {
		if f[i].Name == name {
			f[i].Val = v
			return f
		}
	}
	return append(f, Fact{Name: name, Val: v})
}

// Drop takes a fact away.
func (f Facts) Drop(name string) Facts {
	for i := range f {
		if f[i].Name == name {
			return append(f[:i:i], f[i+1:]...)
		}
	}
	return f
}

// Reader reads one fact out of a span of a question.
type Reader func(q *Question, s Scope) (Val, span, bool)

// Want is a fact that a topic can use and how it is read.
type Want struct {
	Name string
	Read Reader
}

// Scope is the part of the question that is read: a clause, or all of it.
type Scope struct{ start, end int }

func (s Scope) holds(start, end int) bool { return start >= s.start && end <= s.end }

// Whole is the scope of the whole question.
func (q *Question) Whole() Scope { return Scope{0, len(q.toks)} }

// Fill reads the facts of a topic from a scope. What is said later in the
// question counts where a reader finds several.
func (q *Question) Fill(wants []Want, s Scope, into Facts) Facts {
	for i := range q.Quantities {
		q.Quantities[i].used = false
	}
	for _, w := range wants {
		if v, sp, ok := w.Read(q, s); ok {
			into = append(into, Fact{w.Name, v, sp.start, sp.end})
		}
	}
	return into
}

// Tagged reads a word fact from a group of tags: with "act", the tag
// "act:one-handed" gives "one-handed". A negated phrase gives nothing.
func Tagged(group string) Reader { return TaggedOf(group, nil) }

// TaggedOf reads the words of a group that are listed; of several the first in
// the list wins, so that the more telling one can go first. nil takes any, the
// last one said.
func TaggedOf(group string, order []string) Reader {
	prefix := group + ":"
	return func(q *Question, s Scope) (Val, span, bool) {
		var best Val
		var at span
		rank := len(order)
		found := false
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) || h.negated {
				continue
			}
			for _, t := range h.tags {
				name := q.x.names[t]
				if len(name) <= len(prefix) || name[:len(prefix)] != prefix {
					continue
				}
				v := name[len(prefix):]
				if order == nil {
					best, at, found = Val{Kind: WordVal, Word: v}, span{h.start, h.end}, true
					continue
				}
				for r, o := range order {
					if o == v && r < rank {
						best, at, rank, found = Val{Kind: WordVal, Word: v}, span{h.start, h.end}, r, true
					}
				}
			}
		}
		return best, at, found
	}
}

// Flagged reads a yes-or-no fact: a phrase of yes says true, one of no says
// false, and a negation turns either round. The one said last counts.
func Flagged(yes, no []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		var v Val
		var at span
		found := false
		put := func(tags []string, value bool) {
			for _, name := range tags {
				t, ok := q.x.tags[name]
				if !ok {
					continue
				}
				for k := range q.hits {
					h := &q.hits[k]
					if !s.holds(h.start, h.end) || !contains(h.tags, t) || found && h.start < at.start {
						continue
					}
					lo := int64(0)
					if value != h.negated {
						lo = 1
					}
					v, at, found = Val{Kind: FlagVal, Lo: lo, Hi: lo}, span{h.start, h.end}, true
				}
			}
		}
		put(yes, true)
		put(no, false)
		return v, at, found
	}
}

// Measure reads a quantity of a kind: Dims are the dimensions it may have ("" is
// none said); bare numbers count in BareUnit where they lie between BareLo and
// BareHi. Used quantities are passed over, so that two wants never share one.
type Measure struct {
	Kind           Kind
	Dims           []string
	BareUnit       int64 // base units of a bare number; 0 takes none
	BareLo, BareHi int64 // whole numbers, inclusive
	BareDims       []string
	First          bool // the first that fits rather than the last
	Units          []string
	Pairs          bool  // a pair of numbers is a range
	Most           int64 // base units; more is another measure. 0 for no bound
}

func (m Measure) dimFits(q *Question, u *Quantity, dims []string) (int, bool) {
	role := ""
	if u.Role != noTag {
		role = q.x.info[u.Role].value
	}
	for i, d := range dims {
		if d == role || d == "*" {
			return i, true
		}
	}
	return 0, false
}

// Reader is the measure as a reader; of several fits the dimension named first wins.
func (m Measure) Reader() Reader {
	kinds := map[Kind]ValKind{Length: LengthVal, Weight: WeightVal, Span: SpanVal, Clock: ClockVal, Warmth: WarmthVal, Humid: CountVal, Day: DayVal, Age: CountVal, Grade: CountVal, Period: CountVal, Half: CountVal, Season: CountVal, Bare: CountVal}
	vk := kinds[m.Kind]
	return func(q *Question, s Scope) (Val, span, bool) {
		best, rank := -1, 1<<30
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.used || !s.holds(u.start, u.end) {
				continue
			}
			r := 0
			switch {
			case u.Kind == m.Kind && m.Kind != Bare && m.Most > 0 && u.Lo > m.Most:
				continue
			case u.Kind == m.Kind && m.Kind != Bare:
				fit, ok := 0, true
				if m.Dims != nil {
					fit, ok = m.dimFits(q, u, m.Dims)
				}
				if !ok {
					continue
				}
				r = fit
				if m.Units != nil && u.Unit >= 0 {
					ok = false
					for _, n := range m.Units {
						ok = ok || q.x.info[u.Unit].value == n
					}
					if !ok {
						continue
					}
				}
			case (u.Kind == Bare || u.Kind == Pair && m.Pairs) && m.BareUnit != 0:
				lo, hi := u.Lo/measure.One, u.Hi/measure.One
				if lo < m.BareLo || hi > m.BareHi {
					continue
				}
				dims := m.BareDims
				if dims == nil {
					dims = m.Dims
				}
				fit := 0
				if dims != nil {
					var ok bool
					if fit, ok = m.dimFits(q, u, dims); !ok {
						continue
					}
				}
				r = 100 + fit
			default:
				continue
			}
			if r < rank || r == rank && !m.First {
				best, rank = i, r
			}
		}
		if best < 0 {
			return Val{}, span{}, false
		}
		u := &q.Quantities[best]
		u.used = true
		v := Val{Kind: vk, Lo: u.Lo, Hi: u.Hi}
		if (u.Kind == Bare || u.Kind == Pair) && m.BareUnit != 0 && m.Kind != Bare {
			v.Lo, v.Hi = scale(u.Lo, m.BareUnit), scale(u.Hi, m.BareUnit)
		}
		switch u.Kind {
		case Age, Grade, Period, Half, Season:
			v.Lo, v.Hi = v.Lo*measure.One, v.Hi*measure.One
		}
		return v, span{u.start, u.end}, true
	}
}

// CountOf reads how many of a thing there are: a bare number before one of the
// tags (within three words), or after it where none stands before.
func CountOf(tags ...string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best, cost := -1, 100
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind != Bare || u.used || !s.holds(u.start, u.end) {
				continue
			}
			for k := range q.hits {
				h := &q.hits[k]
				if !s.holds(h.start, h.end) || q.toks[h.start].sent != q.toks[u.start].sent {
					continue
				}
				for _, name := range tags {
					t, ok := q.x.tags[name]
					if !ok || !contains(h.tags, t) {
						continue
					}
					c := 100
					if h.start >= u.end {
						c = h.start - u.end
						if c > 5 {
							c += 6
						}
					} else if h.end <= u.start {
						c = 4 + u.start - h.end
					}
					if c < cost {
						best, cost = i, c
					}
				}
			}
		}
		if best < 0 {
			return Val{}, span{}, false
		}
		u := &q.Quantities[best]
		u.used = true
		return Val{Kind: CountVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}, true
	}
}

// Or tries readers in turn.
func Or(rs ...Reader) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for _, r := range rs {
			if v, sp, ok := r(q, s); ok {
				return v, sp, ok
			}
		}
		return Val{}, span{}, false
	}
}

// Short reads only questions of at most so many words: "and clear?".
func Short(read Reader, words int) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		if q.WordCount() > words {
			return Val{}, span{}, false
		}
		return read(q, s)
	}
}
