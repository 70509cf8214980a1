// Package answer says what an answer is: its verdict, its values, the rules it
// rests on and its caution. No answer can be made without a caution.
package answer

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strconv"
)

// Kinds of an answer.
const (
	Check   = "check"   // computed from the sheet
	Summary = "summary" // found in the club's summaries
	Clarify = "clarify" // one more fact is asked for
	None    = "none"    // nothing reliable was found
)

// Verdicts.
const (
	Legal    = "legal"
	NotLegal = "not_legal"
	Depends  = "depends"
	Info     = "info"
	Need     = "need"
	NoAnswer = "none"
)

// Basis is one rule that an answer rests on.
type Basis struct {
	Layer    string `json:"layer"`
	Rule     string `json:"rule"`
	Value    string `json:"value"`
	From     string `json:"from"`
	Source   string `json:"source"`
	Replaces string `json:"replaces,omitempty"`

	// Layer and Value as people read them, in the answer's language.
	LayerName string `json:"layer_name,omitempty"`
	Says      string `json:"says,omitempty"`
}

// LayerText is the layer's name, or its id where it has none.
func (b *Basis) LayerText() string {
	if b.LayerName != "" {
		return b.LayerName
	}
	return b.Layer
}

// ValueText is the value as people read it.
func (b *Basis) ValueText() string {
	if b.Says != "" {
		return b.Says
	}
	return b.Value
}

// Found is a summary shown or linked.
type Found struct {
	ID      string  `json:"id"`
	Title   string  `json:"title"`
	Section string  `json:"section"`
	Score   float64 `json:"score"`
	Snippet string  `json:"snippet"`
}

// Answer is one answer, whatever asked for it. Its fields are fixed by the
// project's answer contract.
type Answer struct {
	ID, Question string
	Kind         string
	Topic        string
	Verdict      string
	Facts        Fields
	Values       Fields
	Headline     string
	Detail       []string
	Basis        []Basis
	Summaries    []Found
	Missing      []string
	Choices      []string // likely values of what is missing, for buttons and numbers
	Lang         string
	Revision     string // the book's revision
	Parts        []*Answer

	caution string
}

// ErrNoCaution is what writing an answer without a caution gives.
var ErrNoCaution = errors.New("an answer without its caution")

// New makes an answer with its caution; an empty caution is a programming error
// and panics.
func New(kind, topic, verdict, caution string) *Answer {
	if caution == "" {
		panic(ErrNoCaution)
	}
	return &Answer{Kind: kind, Topic: topic, Verdict: verdict, caution: caution}
}

// Caution defers to the officials, and for safety topics to the licensed.
func (a *Answer) Caution() string { return a.caution }

// object is the JSON form.
type object struct {
	ID        string   `json:"id"`
	Question  string   `json:"question"`
	Kind      string   `json:"kind"`
	Topic     string   `json:"topic"`
	Verdict   string   `json:"verdict"`
	Facts     Fields   `json:"facts"`
	Values    Fields   `json:"values"`
	Headline  string   `json:"headline"`
	Detail    []string `json:"detail"`
	Basis     []Basis  `json:"basis"`
	Summaries []Found  `json:"summaries"`
	Missing   []string `json:"missing"`
	Choices   []string `json:"choices,omitempty"`
	Caution   string   `json:"caution"`
	Lang      string   `json:"lang,omitempty"`
	Revision  string   `json:"revision,omitempty"`
	Parts     []object `json:"parts,omitempty"`
}

func (a *Answer) object() (object, error) {
	if a.caution == "" {
		return object{}, ErrNoCaution
	}
	o := object{ID: a.ID, Question: a.Question, Kind: a.Kind, Topic: a.Topic, Verdict: a.Verdict, Facts: a.Facts, Values: a.Values,
		Headline: a.Headline, Detail: a.Detail, Basis: a.Basis, Summaries: a.Summaries, Missing: a.Missing, Choices: a.Choices,
		Caution: a.caution, Lang: a.Lang, Revision: a.Revision}
	if o.Detail == nil {
		o.Detail = []string{}
	}
	if o.Basis == nil {
		o.Basis = []Basis{}
	}
	if o.Summaries == nil {
		o.Summaries = []Found{}
	}
	if o.Missing == nil {
		o.Missing = []string{}
	}
	for _, p := range a.Parts {
		po, err := p.object()
		if err != nil {
			return object{}, err
		}
		o.Parts = append(o.Parts, po)
	}
	return o, nil
}

// MarshalJSON writes the contract's object; it fails for an answer without caution.
func (a *Answer) MarshalJSON() ([]byte, error) {
	o, err := a.object()
	if err != nil {
		return nil, err
	}
	return json.Marshal(o)
}

// ValKind is the shape of a field's value.
type ValKind uint8

// Shapes of a field's value.
const (
	Num ValKind = iota
	Range
	Text
	Bool
	List
	Rows // a list of field lists
)

// Val is the value of a field, in the contract's units.
type Val struct {
	Kind ValKind
	A, B float64
	S    string
	L    []string
	R    []Fields
}

// Equal says whether two values are the same; lists are sets.
func (v Val) Equal(o Val) bool {
	if v.Kind != o.Kind || v.A != o.A || v.S != o.S || len(v.L) != len(o.L) || len(v.R) != len(o.R) || v.Kind == Range && v.B != o.B {
		return false
	}
	for _, s := range v.L {
		if !slices.Contains(o.L, s) {
			return false
		}
	}
	for i := range v.R {
		if len(v.R[i]) != len(o.R[i]) {
			return false
		}
		for j := range v.R[i] {
			if v.R[i][j].Name != o.R[i][j].Name || !v.R[i][j].Val.Equal(o.R[i][j].Val) {
				return false
			}
		}
	}
	return true
}

// Field is a named value.
type Field struct {
	Name string
	Val  Val
}

// Fields are named values in a fixed order; as JSON they are one object.
type Fields []Field

// Get finds a field by name.
func (f Fields) Get(name string) (Val, bool) {
	for i := range f {
		if f[i].Name == name {
			return f[i].Val, true
		}
	}
	return Val{}, false
}

// MarshalJSON writes the fields as an object.
func (f Fields) MarshalJSON() ([]byte, error) { return f.append(make([]byte, 0, 64)), nil }

func (f Fields) append(b []byte) []byte {
	b = append(b, '{')
	for i := range f {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendQuote(b, f[i].Name)
		b = append(b, ':')
		b = f[i].Val.append(b)
	}
	return append(b, '}')
}

func (v Val) append(b []byte) []byte {
	switch v.Kind {
	case Num:
		return appendNumber(b, v.A)
	case Range:
		b = append(b, '[')
		b = appendNumber(b, v.A)
		b = append(b, ',')
		b = appendNumber(b, v.B)
		return append(b, ']')
	case Text:
		return appendString(b, v.S)
	case Bool:
		return strconv.AppendBool(b, v.A != 0)
	case List:
		b = append(b, '[')
		for i, s := range v.L {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendString(b, s)
		}
		return append(b, ']')
	case Rows:
		b = append(b, '[')
		for i, r := range v.R {
			if i > 0 {
				b = append(b, ',')
			}
			b = r.append(b)
		}
		return append(b, ']')
	}
	return append(b, "null"...)
}

func appendString(b []byte, s string) []byte {
	j, err := json.Marshal(s)
	if err != nil { // a string always marshals
		return append(b, `""`...)
	}
	return append(b, j...)
}

// appendNumber writes at most four decimals, so that conversions stay exact enough and read well.
func appendNumber(b []byte, f float64) []byte {
	f = math.Round(f*1e4) / 1e4
	return strconv.AppendFloat(b, f, 'f', -1, 64)
}
