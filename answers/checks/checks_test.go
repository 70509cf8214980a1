package checks_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/checks"
	"sidewall/answers/lang"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
	"sidewall/config"
)

// shipped is the shipped book and a recogniser of its words, made once.
var shipped = sync.OnceValues(func() (*book.Book, *question.Recogniser) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		panic(err)
	}
	var v question.Vocabulary
	for _, d := range b.Divisions {
		v.Divisions = append(v.Divisions, question.Division{ID: d.ID, Under: d.Under, Band: d.Band, Aliases: d.Aliases})
	}
	r, err := question.NewRecogniser(v)
	if err != nil {
		panic(err)
	}
	return b, r
})

// texts are the texts of answers, loaded once.
var texts = sync.OnceValue(func() *lang.Texts {
	t, err := lang.Load()
	if err != nil {
		panic(err)
	}
	return t
})

// rule runs a topic's check for one division, position and day, over the shipped
// book. asked is only how it is asked ("can he", "how many"); what it says of
// lengths and things comes as facts. Division and position may be empty.
func rule(t *testing.T, topic, division, position, date, asked string, facts ...question.Fact) *checks.Case {
	t.Helper()
	b, r := shipped()
	on, err := measure.ParseDate(date)
	if err != nil {
		t.Fatal(err)
	}
	c := &checks.Case{Sheet: b.Sheet, On: on, Topic: topic, Facts: facts, Birth: birth(on),
		DivKnown: division != "", PosKnown: position != ""}
	if division != "" {
		if c.Division = b.Sheet.DivisionIndex(division); c.Division < 0 {
			t.Fatalf("no division %q", division)
		}
	}
	if position != "" {
		if c.Position = sheet.PositionIndex(position); c.Position < 0 {
			t.Fatalf("no position %q", position)
		}
	}
	c.Grades = func(g int) (string, bool) {
		for _, d := range b.Divisions {
			if slices.Contains(d.UsualGrades, g) || len(d.UsualGrades) == 0 && slices.Contains(d.Grades, g) {
				return d.ID, true
			}
		}
		return "", false
	}
	q := r.Read(asked, "en")
	c.Asked = q.Asked(q.Whole())
	for _, k := range checks.All() {
		if k.Topic == topic {
			k.Decide(c)
			return c
		}
	}
	t.Fatalf("no topic %q", topic)
	return nil
}

// birth places birth dates by a table of windows, seen in the age tables (Youth
// age and eligibility guidelines): the first day of U15, U13, U11 and U9.
func birth(on measure.Date) func(from, to measure.Date, spring int) checks.Windows {
	table := map[int][4]measure.Date{
		2015: {19990901, 20010901, 20030901, 20050901},
		2027: {20110901, 20130901, 20150901, 20170901},
	}
	return func(from, to measure.Date, spring int) checks.Windows {
		if spring == 0 {
			spring = on.Year()
		}
		starts, ids := table[spring], [...]string{"HS", "U15", "U13", "U11", "U9"}
		place := func(d measure.Date) int {
			i := 0
			for i < len(starts) && d >= starts[i] {
				i++
			}
			return i
		}
		cutoff := measure.Date((spring-1)*10000 + 831)
		i := place(from)
		w := checks.Windows{Division: ids[i], Last: ids[place(to)], Cutoff: cutoff, AgeOnCutoff: from.AgeOn(cutoff), Season: spring, To: cutoff}
		if i > 0 {
			w.From = starts[i-1]
		}
		if i < len(starts) {
			w.To = starts[i].AddDays(-1)
		}
		w.Future = from > on
		w.Over = from.AgeOn(cutoff) > 19
		return w
	}
}

// The facts of tests, in the units in which people say them.
func inches(name string, v float64) question.Fact {
	return scaled(name, question.LengthVal, v, float64(measure.Inch))
}
func cm(name string, v float64) question.Fact {
	return scaled(name, question.LengthVal, v, float64(measure.Centimetre))
}
func ounces(v float64) question.Fact {
	return scaled("weight_oz", question.WeightVal, v, float64(measure.Ounce))
}
func count(name string, v float64) question.Fact {
	return scaled(name, question.CountVal, v, float64(measure.One))
}

func scaled(name string, k question.ValKind, v, unit float64) question.Fact {
	n := int64(math.Round(v * unit))
	return question.Fact{Name: name, Val: question.Val{Kind: k, Lo: n, Hi: n}}
}

func word(name, w string) question.Fact {
	return question.Fact{Name: name, Val: question.Val{Kind: question.WordVal, Word: w}}
}

func flag(name string, yes bool) question.Fact {
	v := question.Val{Kind: question.FlagVal}
	if yes {
		v.Lo, v.Hi = 1, 1
	}
	return question.Fact{Name: name, Val: v}
}

func born(from, to measure.Date) question.Fact {
	return question.Fact{Name: "birth_date", Val: question.Val{Kind: question.DayVal, Lo: int64(from), Hi: int64(to)}}
}

// value is a value of a ruling as text, number or pair, for comparison.
func value(c *checks.Case, name string) any {
	v, ok := answer.Fields(c.Values()).Get(name)
	if !ok {
		return nil
	}
	switch v.Kind {
	case answer.Num:
		return round(v.A)
	case answer.Range:
		return [2]float64{round(v.A), round(v.B)}
	case answer.Text:
		return v.S
	case answer.Bool:
		return v.A != 0
	case answer.List:
		return v.L
	}
	return nil
}

func round(f float64) float64 { return math.Round(f*1000) / 1000 }

// row is one case of a table: what is asked of whom on which day (2027-04-10
// where it says none), and what must come out.
type row struct {
	name, division, position, on, asked string
	facts                               []question.Fact
	verdict                             string
	values                              map[string]any // a nil value must be absent
	missing                             string
}

func (r row) run(t *testing.T, topic string) {
	t.Helper()
	on := r.on
	if on == "" {
		on = "2027-04-10"
	}
	c := rule(t, topic, r.division, r.position, on, r.asked, r.facts...)
	if c.Verdict != r.verdict {
		t.Errorf("verdict %q (%s), want %q", c.Verdict, c.Head, r.verdict)
	}
	for name, want := range r.values {
		if got := value(c, name); !equal(got, want) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	if r.missing != "" && (len(c.Missing()) == 0 || c.Missing()[0] != r.missing) {
		t.Errorf("asks for %v, want %s", c.Missing(), r.missing)
	}
	for _, key := range append(slices.Clone(c.Lines()), c.Head) {
		for _, l := range lang.Languages {
			if !texts().Has(l, topic, key) && !texts().Has(l, "common", key) {
				t.Errorf("%s has no text %s/%s", l, topic, key)
			}
		}
	}
	switch c.Verdict {
	case answer.Legal, answer.NotLegal, answer.Info:
		if len(c.Basis()) == 0 {
			t.Error("rests on no record of the sheet")
		}
	}
}

// equal compares values; lists are sets.
func equal(a, b any) bool {
	x, ok1 := a.([]string)
	y, ok2 := b.([]string)
	if !ok1 || !ok2 {
		return a == b
	}
	x, y = slices.Clone(x), slices.Clone(y)
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

func table(t *testing.T, topic string, rows []row) {
	t.Helper()
	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) { r.run(t, topic) })
	}
}

type facts = []question.Fact
type values = map[string]any
type pair = [2]float64
