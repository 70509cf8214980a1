// Package checks decides: facts and a sheet in, a ruling out. One topic a file;
// no parsing and no rule number stands here.
package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// Case is one question asked of one division, one position and one day, and
// the ruling that a check writes about it. The desk runs a check once for each
// division and position that the question may mean and compares the rulings, so
// a check never has to think about what is not known of them.
type Case struct {
	Sheet    *sheet.Sheet
	On       measure.Date
	Division int // index into Sheet.Divisions
	Position int // index into sheet.Positions
	PosKnown bool
	DivKnown bool
	Topic    string
	Facts    question.Facts
	Asked    question.Asked
	Birth    func(from, to measure.Date, spring int) Windows // spring 0 is the season of On
	Grades   func(grade int) (division string, ok bool)      // the usual division of a school grade
	Ruling
}

// Windows is what the book's divisions say of a span of birth dates.
type Windows struct {
	Division, Last string // ids for the first and the last day of the span
	AgeOnCutoff    int
	Cutoff         measure.Date
	From, To       measure.Date // the window of Division; From is 0 for the oldest
	Season         int
	Over           bool // older than the book's people
	Future         bool
}

// Ruling is what a check decided. Texts are keys into package lang.
type Ruling struct {
	Verdict string
	Head    string // key of the headline
	Safety  bool   // the safety caution goes with it
	As      string // another topic that it turned out to be; "" for the one asked

	lines   [10]string
	nLines  int
	values  [14]answer.Field
	nValues int
	params  [12]answer.Field // for texts only
	nParams int
	basis   [10]Used
	nBasis  int
	missing [4]string
	nMiss   int
}

// Used is a record that the ruling rests on and the one that it replaces.
type Used struct{ Win, Replaced *sheet.Record }

// Reset makes the ruling empty.
func (r *Ruling) Reset() {
	r.Verdict, r.Head, r.Safety, r.As = "", "", false, ""
	r.nLines, r.nValues, r.nParams, r.nBasis, r.nMiss = 0, 0, 0, 0, 0
}

// Rule sets the verdict and the headline's key.
func (r *Ruling) Rule(verdict, head string) { r.Verdict, r.Head = verdict, head }

// Line adds a line of detail by its key.
func (r *Ruling) Line(key string) {
	if r.nLines < len(r.lines) {
		r.lines[r.nLines] = key
		r.nLines++
	}
}

// Lines are the keys of the detail.
func (r *Ruling) Lines() []string { return r.lines[:r.nLines] }

// Need asks for facts, the most useful first.
func (r *Ruling) Need(facts ...string) {
	r.Verdict, r.Head, r.nMiss = answer.Need, "need-"+facts[0], 0
	for _, f := range facts {
		if r.nMiss < len(r.missing) {
			r.missing[r.nMiss] = f
			r.nMiss++
		}
	}
}

// Missing are the facts asked for.
func (r *Ruling) Missing() []string { return r.missing[:r.nMiss] }

// NotCovered says that the book has no rule for it.
func (r *Ruling) NotCovered() { r.Verdict, r.Head = answer.NoAnswer, "not-covered" }

// Put adds a value of the answer.
func (r *Ruling) Put(name string, v answer.Val) {
	for i := 0; i < r.nValues; i++ {
		if r.values[i].Name == name {
			r.values[i].Val = v
			return
		}
	}
	if r.nValues < len(r.values) {
		r.values[r.nValues] = answer.Field{Name: name, Val: v}
		r.nValues++
	}
}

// PutNum, PutBool, PutText and PutList are Put for one shape.
func (r *Ruling) PutNum(name string, f float64) {
	r.Put(name, answer.Val{Kind: answer.Num, A: f, B: f})
}

// PutRange adds a range.
func (r *Ruling) PutRange(name string, lo, hi float64) {
	r.Put(name, answer.Val{Kind: answer.Range, A: lo, B: hi})
}

// PutBool adds a yes or no.
func (r *Ruling) PutBool(name string, b bool) {
	v := answer.Val{Kind: answer.Bool}
	if b {
		v.A = 1
	}
	r.Put(name, v)
}

// PutText adds a word.
func (r *Ruling) PutText(name, s string) { r.Put(name, answer.Val{Kind: answer.Text, S: s}) }

// PutList adds a set of words.
func (r *Ruling) PutList(name string, l []string) { r.Put(name, answer.Val{Kind: answer.List, L: l}) }

// Param gives a text a value that the answer does not carry.
func (r *Ruling) Param(name string, v answer.Val) {
	if r.nParams < len(r.params) {
		r.params[r.nParams] = answer.Field{Name: name, Val: v}
		r.nParams++
	}
}

// ParamNum is Param for a number.
func (r *Ruling) ParamNum(name string, f float64) { r.Param(name, answer.Val{Kind: answer.Num, A: f}) }

// ParamText is Param for a word.
func (r *Ruling) ParamText(name, s string) { r.Param(name, answer.Val{Kind: answer.Text, S: s}) }

// Values are the values of the answer.
func (r *Ruling) Values() []answer.Field { return r.values[:r.nValues] }

// Params are the values for texts only.
func (r *Ruling) Params() []answer.Field { return r.params[:r.nParams] }

// Basis are the records used.
func (r *Ruling) Basis() []Used { return r.basis[:r.nBasis] }

// Find looks a value up for the case's division, position and day, and notes it
// as a basis of the ruling. A record that says "none" is found too; nil where
// the book is silent.
func (c *Case) Find(topic, key string) *sheet.Record {
	return c.FindAt(topic, key, c.Position)
}

// FindAt is Find for another position.
func (c *Case) FindAt(topic, key string, position int) *sheet.Record {
	win, lost := c.Sheet.Lookup(topic, key, c.Division, position, c.On)
	if win != nil {
		c.Use(win, lost)
	}
	return win
}

// Peek is Find without noting a basis.
func (c *Case) Peek(topic, key string) *sheet.Record {
	win, _ := c.Sheet.Lookup(topic, key, c.Division, c.Position, c.On)
	return win
}

// Use notes a record as a basis, once.
func (c *Case) Use(win, lost *sheet.Record) {
	for i := 0; i < c.nBasis; i++ {
		if c.basis[i].Win == win {
			return
		}
	}
	if c.nBasis < len(c.basis) {
		c.basis[c.nBasis] = Used{win, lost}
		c.nBasis++
	}
}

// Range finds a range; ok is false where the book is silent or says none.
func (c *Case) Range(topic, key string) (lo, hi int64, ok bool) {
	r := c.Find(topic, key)
	if r == nil || r.Value.Kind != sheet.Range && r.Value.Kind != sheet.Number {
		return 0, 0, false
	}
	return r.Value.Lo, r.Value.Hi, true
}

// Number finds a number in base units.
func (c *Case) Number(topic, key string) (int64, bool) {
	lo, _, ok := c.Range(topic, key)
	return lo, ok
}

// Flag finds a yes or no.
func (c *Case) Flag(topic, key string) (yes, ok bool) {
	r := c.Find(topic, key)
	if r == nil || r.Value.Kind != sheet.Flag {
		return false, false
	}
	return r.Value.Lo != 0, true
}

// Word finds a word.
func (c *Case) Word(topic, key string) (string, bool) {
	r := c.Find(topic, key)
	if r == nil || r.Value.Kind != sheet.Word {
		return "", false
	}
	return r.Value.Words[0], true
}

// Words finds a set of words (one word is a set of one).
func (c *Case) Words(topic, key string) ([]string, bool) {
	r := c.Find(topic, key)
	if r == nil || r.Value.Kind != sheet.Words && r.Value.Kind != sheet.Word {
		return nil, false
	}
	return r.Value.Words, true
}

// Fact finds a fact.
func (c *Case) Fact(name string) (question.Val, bool) { return c.Facts.Get(name) }

// Told finds a word fact; "" where it was not said.
func (c *Case) Told(name string) string {
	v, _ := c.Facts.Get(name)
	return v.Word
}

// Said finds a yes-or-no fact.
func (c *Case) Said(name string) (yes, ok bool) {
	v, ok := c.Facts.Get(name)
	return v.Lo != 0, ok
}

// Goalkeeper says whether the case's position is the goalkeeper.
func (c *Case) Goalkeeper() bool { return sheet.Goalkeeper.Has(c.Position) }

// In is a length in inches, for values.
func In(v int64) float64 { return measure.Length(v).Inches() }

// Yd is a length in yards, for values.
func Yd(v int64) float64 { return measure.Length(v).Yards() }

// Sec is a span in seconds, for values.
func Sec(v int64) float64 { return measure.Span(v).Seconds() }

// Oz is a weight in ounces, for values.
func Oz(v int64) float64 { return measure.Mass(v).Ounces() }

// N is a count, for values.
func N(v int64) float64 { return float64(v) / float64(measure.One) }

// near is how close to an edge a measurement has to be for the advice to measure
// again: a quarter inch, as the answer contract says.
const near = int64(measure.Inch / 4)

// Edge adds the advice to measure again where v is within a quarter inch of an
// edge, and says whether it did.
func (c *Case) Edge(v int64, edges ...int64) bool {
	for _, e := range edges {
		if d := v - e; d <= near && d >= -near {
			c.Line("measure-again")
			return true
		}
	}
	return false
}
