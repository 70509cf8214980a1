package bot

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sidewall/answers/book"
)

// Bounds of what a draft's reply shows; all of it is in its view.
const (
	shownProse   = 3 // contradictions
	shownValues  = 3
	shownDiff    = 8 // lines
	shownAnswers = 3
	mostDiff     = 200 // lines, in the view
)

// shown is a draft as its admin sees it: what contradicts the sheet first, then
// the values or the lines that change, and what would be answered differently.
func (e *Editing) shown(ctx context.Context, d *draft, pr *book.Proposal, lang string) (*Told, error) {
	p, err := e.o.Editor.Preview(ctx, pr)
	if err != nil {
		return nil, fmt.Errorf("look at a proposal: %w", err)
	}
	w := editWordsOf(lang)
	t := told(lang, w.draft, d.ID, d.What)
	some := func(in []string, most int, format string) {
		for i, s := range in {
			if i == most {
				t.line(w.more, len(in)-most)
				break
			}
			t.line(format, s)
		}
	}
	some(p.Contradictions, shownProse, w.contradicts)
	values := changedValues(pr.Changes(), pr.To.Sheet.Divisions, lang)
	for i, v := range values {
		if i == shownValues {
			t.line(w.more, len(values)-i)
			break
		}
		for _, l := range v.lines(w) {
			t.line("%s", l)
		}
	}
	diff := diffLines(pr)
	if len(values) == 0 {
		if touchesSheet(pr) {
			t.line("%s", w.sameValue)
		}
		few := someOfBoth(diff, shownDiff)
		for _, l := range few {
			t.line("%s", l)
		}
		if n := len(diff) - len(few); n > 0 {
			t.line(w.more, n)
		}
	}
	var differs []string
	for _, c := range p.Answers {
		differs = append(differs, fmt.Sprintf(w.differs, c.Question, c.Division, c.Before, c.After))
	}
	some(differs, shownAnswers, "%s")
	some(p.Findings, shownProse, w.finding)
	if e.o.Confirm > 1 {
		t.line(w.two, e.o.Confirm)
		t.line(w.stillOf, len(d.Approved), e.o.Confirm)
	}
	t.Controls = []Control{{"publish:" + d.ID, w.publish}, {"cancel:" + d.ID, w.cancel}, {"draft:" + d.ID, w.show}}

	t.title = tidy(d.What)
	if len(p.Contradictions) > 0 {
		t.Blocks = append(t.Blocks, Block{Heading: fmt.Sprintf(w.contradicts, ""), Text: strings.Join(p.Contradictions, "\n")})
	}
	var rows []string
	for _, v := range values {
		rows = append(rows, v.lines(w)...)
		rows = append(rows, "")
	}
	for _, b := range []Block{
		{Heading: w.values, Text: strings.TrimSpace(strings.Join(rows, "\n"))},
		{Heading: w.difference, Text: strings.Join(diff[:min(len(diff), mostDiff)], "\n")},
		{Heading: w.answers, Text: strings.Join(differs, "\n")},
		{Heading: w.lint, Text: strings.Join(p.Findings, "\n")},
	} {
		if b.Text != "" {
			t.Blocks = append(t.Blocks, b)
		}
	}
	return t, nil
}

func touchesSheet(pr *book.Proposal) bool {
	return slices.ContainsFunc(pr.Files, func(f book.FileChange) bool { return strings.HasPrefix(f.File, "sheet/") })
}

// diffLines are the lines that a proposal takes out and puts in, without the rest.
func diffLines(pr *book.Proposal) []string {
	var out []string
	for l := range strings.Lines(pr.Diff()) {
		l = strings.TrimRight(l, "\r\n")
		switch {
		case strings.HasPrefix(l, "--- "), strings.HasPrefix(l, "+++ "), l == "":
		case l[0] == '-':
			out = append(out, "− "+strings.TrimSpace(l[1:]))
		case l[0] == '+':
			out = append(out, "+ "+strings.TrimSpace(l[1:]))
		}
	}
	return slices.DeleteFunc(out, func(l string) bool { return len(strings.Fields(l)) < 2 })
}

// someOfBoth are the first lines of a difference, some that go and some that come:
// where a text is written anew what goes would fill them all.
func someOfBoth(diff []string, most int) []string {
	if len(diff) <= most {
		return diff
	}
	left := map[bool]int{}
	for _, l := range diff {
		left[strings.HasPrefix(l, "+")]++
	}
	take := map[bool]int{true: min(left[true], max(most/2, most-left[false]))}
	take[false] = most - take[true]
	var out []string
	for _, l := range diff {
		if in := strings.HasPrefix(l, "+"); take[in] > 0 {
			take[in]--
			out = append(out, l)
		}
	}
	return out
}

// changedValue is one value that changes alike for some divisions.
type changedValue struct {
	*book.Changed
	divisions []string
	lang      string
}

// changedValues puts the divisions together for which a value changes alike.
func changedValues(changes map[string][]*book.Changed, divisions []string, lang string) []changedValue {
	var out []changedValue
	for _, d := range divisions {
		for _, c := range changes[d] {
			i := slices.IndexFunc(out, func(o changedValue) bool {
				return alike(o.Changed, c)
			})
			if i < 0 {
				out = append(out, changedValue{c, nil, lang})
				i = len(out) - 1
			}
			out[i].divisions = append(out[i].divisions, d)
		}
	}
	return out
}

// alike says whether two values change from the same to the same.
func alike(a, b *book.Changed) bool {
	for _, after := range []bool{false, true} {
		if of(a, after) != of(b, after) {
			return false
		}
	}
	return a.Topic == b.Topic && a.Key == b.Key && a.Positions == b.Positions
}

// side is a value before or after, as the book writes it.
type side struct{ value, from, source string }

func of(c *book.Changed, after bool) (s side) {
	r := c.Before
	if after {
		r = c.After
	}
	if r == nil {
		return s
	}
	s.value, s.from = r.Value.Text, r.From.String()
	if r.Source != nil {
		s.source = tidy(r.Source.String())
	}
	return s
}

func (v *changedValue) name() string { return v.Title.In(v.lang) + ": " + v.Name.In(v.lang) }

// whom it is for, in words.
func (v *changedValue) whom(w *editWords) string {
	position := v.Position()
	if position == "" {
		return strings.Join(v.divisions, ", ")
	}
	names := wordsOf(v.lang).positions
	var out []string
	for _, p := range strings.FieldsFunc(position, func(r rune) bool { return r == ' ' || r == ',' }) {
		if n := names[p]; n != "" {
			p = n
		}
		out = append(out, p)
	}
	return strings.Join(v.divisions, ", ") + " (" + strings.Join(out, ", ") + ")"
}

// lines are the value as rows of a table.
func (v *changedValue) lines(w *editWords) []string {
	return []string{
		fmt.Sprintf(w.what, v.name()),
		fmt.Sprintf(w.whom, v.whom(w)),
		fmt.Sprintf(w.before, of(v.Changed, false).whole(w, v.lang)),
		fmt.Sprintf(w.after, of(v.Changed, true).whole(w, v.lang)) + v.layer(),
	}
}

func (v *changedValue) layer() string {
	if v.After == nil {
		return ""
	}
	return "; " + fmt.Sprintf(wordsOf(v.lang).layer, v.AfterLayer.Name.In(v.lang))
}

// short is the value alone.
func (s side) short(w *editWords) string {
	if s.value == "" {
		return w.nowhere
	}
	return s.value
}

// whole is the value with its day and where it comes from.
func (s side) whole(w *editWords, lang string) string {
	if s.value == "" {
		return w.nowhere
	}
	out := s.value + ", " + fmt.Sprintf(wordsOf(lang).from, s.from)
	if s.source != "" {
		out += "; " + s.source
	}
	return out
}

// seasonChanges tells what changed for a division this season, to anybody.
func seasonChanges(bk *book.Book, division, lang, caution string, all bool) (*Told, error) {
	w := editWordsOf(lang)
	if division == "" {
		return told(lang, w.changesWhich, strings.Join(bk.Sheet.Divisions, ", ")), nil
	}
	cs, err := bk.SeasonChanges(division)
	if err != nil {
		return nil, fmt.Errorf("compare the season with the one before: %w", err)
	}
	t := told(lang, w.changesNone, division, bk.Season.Name)
	t.Caution = caution
	if len(cs) == 0 {
		return t, nil
	}
	t = told(lang, w.changes, division, bk.Season.Name)
	t.Caution, t.title, t.view = caution, t.Headline, all
	const few = 3 // with the headline and the caution, five lines
	var rows []string
	for i, c := range cs {
		v := changedValue{c, []string{division}, lang}
		name := v.name()
		if p := c.Position(); p != "" {
			name += " (" + strings.TrimSuffix(strings.TrimPrefix(v.whom(w), division+" ("), ")") + ")"
		}
		row := fmt.Sprintf(w.changesLine, name, of(c, true).short(w), of(c, false).short(w), c.Why(lang))
		if i < few {
			t.line("%s", row)
		}
		if s := c.Source(); s != "" {
			row += "; " + s
		}
		rows = append(rows, tidy(row))
	}
	if len(cs) > few {
		t.Controls = []Control{{"changes:" + division, fmt.Sprintf("%s (%d)", w.changesAll, len(cs))}}
	}
	t.Blocks = []Block{{Heading: t.Headline, Text: strings.Join(rows, "\n")}, {Text: caution}}
	return t, nil
}
