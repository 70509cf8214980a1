// Package sheet keeps layered, dated, sourced rule values and finds the one
// that holds for a division, a position and a day.
//
// Resolution: the highest layer wins, then the narrower scope (a proper subset
// of division and position pairs), then the latest From not after the day.
// The values that lose are kept, so that an answer can name what was replaced.
package sheet

import (
	"math/bits"
	"sort"

	"sidewall/answers/measure"
)

// Kind is the shape of a value.
type Kind uint8

// The shapes of a value.
const (
	Silent Kind = iota // no value: what the zero Value is
	Barred             // an explicit "none": nothing below shines through
	Flag               // yes or no; Lo is 1 or 0
	Number             // Lo == Hi, in Unit's base units
	Range              // Lo to Hi, both ends inside
	Word               // one word, in Words[0]
	Words              // several words, a set
)

// Value is one value of a sheet.
type Value struct {
	Kind   Kind
	Unit   measure.Unit
	Lo, Hi int64
	Words  []string
	Text   string // as written in the book, with its unit
}

// Text2 is a text in both languages.
type Text2 struct{ EN, ES string }

// In is the text in a language ("es" or anything else for English); English
// stands in where the other is missing.
func (t Text2) In(lang string) string {
	if lang == "es" && t.ES != "" {
		return t.ES
	}
	return t.EN
}

// Source is where a value comes from.
type Source struct {
	ID      string
	Kind    string // published, common-practice, from-memory, own
	Title   string
	Edition string
	Rule    string
	Mark    string // P seen, R restated, C common practice, M memory, D worked out, I invented for the demo
	Note    string
	File    string
	Line    int
}

// String is the source as an answer shows it.
func (s *Source) String() string {
	out := s.Title
	if s.Edition != "" {
		out += ", " + s.Edition
	}
	if s.Rule != "" {
		out += ", " + s.Rule
	}
	return out
}

// Layer is one layer of rules; a higher index overrides a lower one.
type Layer struct {
	ID      string
	Name    Text2
	Default Mask // the divisions of a record that names none
}

// Record is one value with its scope, dates and source.
type Record struct {
	Topic, Key string
	Layer      int // index into Sheet.Layers
	Divisions  Mask
	Positions  Mask
	From       measure.Date
	Until      measure.Date // inclusive; 0 is open
	Value      Value
	Source     *Source
	Mark       string // the record's own mark, else its source's
	Note       Text2
	File       string
	Line, Col  int

	basis string // "topic: key", made once
}

// Mask is a set of divisions or positions by index.
type Mask uint32

// Has says whether index i is in the set.
func (m Mask) Has(i int) bool { return m&(1<<uint(i)) != 0 }

// The positions, in the order of their indexes; the first three are "field".
var Positions = [...]string{"attack", "midfield", "defense", "goalkeeper"}

// Masks of positions.
const (
	FieldPositions Mask = 1<<3 - 1
	Goalkeeper     Mask = 1 << 3
	AllPositions   Mask = 1<<4 - 1
)

// PositionMask is the set that a position's name stands for ("field" is three).
func PositionMask(name string) (Mask, bool) {
	switch name {
	case "field":
		return FieldPositions, true
	case "":
		return AllPositions, true
	}
	for i, p := range Positions {
		if p == name {
			return 1 << uint(i), true
		}
	}
	return 0, false
}

type id struct{ topic, key string }

// Sheet holds the records of a book.
type Sheet struct {
	Layers    []Layer
	Divisions []string // ids, youngest first
	Topics    map[string]*Topic
	all       []*Record
	by        map[id][]*Record
}

// Topic is a sheet file's heading: its title and the names of its keys and words.
type Topic struct {
	ID    string
	Title Text2
	Names map[string]Name
	Order []string // keys in the order of the file
	File  string
	Line  int // of its heading
}

// Name is how a key or a word value is called, and what else people call it.
type Name struct {
	Text   Text2
	AlsoEN []string
	AlsoES []string
	Line   int
}

// New makes a sheet of records; it sorts them by precedence.
func New(layers []Layer, divisions []string, topics map[string]*Topic, recs []*Record) *Sheet {
	s := &Sheet{Layers: layers, Divisions: divisions, Topics: topics, all: recs, by: make(map[id][]*Record, len(recs))}
	for _, r := range recs {
		r.basis = r.Topic + ": " + r.Key
		k := id{r.Topic, r.Key}
		s.by[k] = append(s.by[k], r)
	}
	for _, rs := range s.by {
		sort.SliceStable(rs, func(i, j int) bool { return before(rs[i], rs[j]) })
	}
	return s
}

func before(a, b *Record) bool {
	if a.Layer != b.Layer {
		return a.Layer > b.Layer
	}
	if x, y := a.size(), b.size(); x != y {
		return x < y
	}
	return a.From > b.From
}

func (r *Record) size() int {
	return bits.OnesCount32(uint32(r.Divisions)) * bits.OnesCount32(uint32(r.Positions))
}

// Basis is the record's name as an answer's basis shows it.
func (r *Record) Basis() string { return r.basis }

// Holds says whether the record speaks for division d and position p (indexes) on a day.
func (r *Record) Holds(d, p int, on measure.Date) bool {
	return r.Divisions.Has(d) && r.Positions.Has(p) && r.From <= on && (r.Until == 0 || on <= r.Until)
}

// All are the records in the order in which the book lists them.
func (s *Sheet) All() []*Record { return s.all }

// Records are the records of one key by precedence, the winner first.
func (s *Sheet) Records(topic, key string) []*Record { return s.by[id{topic, key}] }

// Lookup finds the record that wins and the one that it replaces, which is nil
// where it replaces none. The winner is nil where the book is silent; a winner
// whose value is Barred says that there is none.
func (s *Sheet) Lookup(topic, key string, division, position int, on measure.Date) (win, replaced *Record) {
	for _, r := range s.by[id{topic, key}] {
		if !r.Holds(division, position, on) {
			continue
		}
		if win != nil {
			return win, r
		}
		win = r
	}
	return win, nil
}

// Trace lists every record of the key that holds for the scope on the day, the
// winner first.
func (s *Sheet) Trace(topic, key string, division, position int, on measure.Date) []*Record {
	var out []*Record
	for _, r := range s.by[id{topic, key}] {
		if r.Holds(division, position, on) {
			out = append(out, r)
		}
	}
	return out
}

// DivisionIndex is the index of a division's id, or -1.
func (s *Sheet) DivisionIndex(id string) int {
	for i, d := range s.Divisions {
		if d == id {
			return i
		}
	}
	return -1
}

// PositionIndex is the index of a single position, or -1 ("field" is not single).
func PositionIndex(name string) int {
	for i, p := range Positions {
		if p == name {
			return i
		}
	}
	return -1
}
