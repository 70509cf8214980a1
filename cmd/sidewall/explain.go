package main

import (
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/checks"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// explain says what was recognised from which words, how likely each topic was,
// and which values applied and which lost.
func (q *asker) explain(w io.Writer, req answers.Request, a *answer.Answer) error {
	read, err := q.read(req.Text)
	if err != nil {
		return err
	}
	e := &explainer{w: w}
	e.line("")
	e.line("Understood (language %s):", read.Lang)
	for _, word := range read.Words() {
		note := ""
		if word.Negated {
			note += ", negated"
		}
		if word.Fixed {
			note += ", spelling corrected"
		}
		e.line("  %q: %s%s", word.Text, strings.Join(word.Tags, ", "), note)
	}
	for _, u := range read.Quantities {
		e.line("  %q: a quantity", read.TextOf(u))
	}
	e.line("Topics:")
	for i, s := range read.TopicScores() {
		if i == 5 {
			break
		}
		e.line("  %3d  %s (%s)", s.Sum, s.Topic, strings.Join(read.Cues(s.Topic), "; "))
	}
	on := req.On
	if on == 0 {
		on = measure.DateOf(time.Now())
	}
	parts := a.Parts
	if len(parts) == 0 {
		parts = []*answer.Answer{a}
	}
	for _, p := range parts {
		q.explainValues(e, p, on)
	}
	for _, f := range a.Summaries {
		if f.Score > 0 {
			e.line("Summary %s, section %q: score %.2f", f.ID, f.Section, f.Score)
		}
	}
	return e.err
}

type explainer struct {
	w   io.Writer
	err error
}

func (e *explainer) line(format string, args ...any) {
	if e.err == nil {
		_, e.err = fmt.Fprintf(e.w, format+"\n", args...)
	}
}

// explainValues lists the values of an answer's topic: first the one that
// holds, then those that it overrides.
func (q *asker) explainValues(e *explainer, a *answer.Answer, on measure.Date) {
	i := slices.IndexFunc(q.Checks(), func(c *checks.Check) bool { return c.Topic == a.Topic })
	if i < 0 {
		return
	}
	e.line("Values for %s on %s (facts %s):", a.Topic, on, factsText(a.Facts))
	s := q.Book().Sheet
	type seen struct{ win, next *sheet.Record }
	told := map[seen]bool{}
	for _, r := range s.All() {
		if !q.uses(a, q.Checks()[i], r) {
			continue
		}
		for d := range s.Divisions {
			for p := range sheet.Positions {
				trace := s.Trace(r.Topic, r.Key, d, p, on)
				if len(trace) == 0 || trace[0] != r || !about(a, s, d, p) {
					continue
				}
				k := seen{win: trace[0]}
				if len(trace) > 1 {
					k.next = trace[1]
				}
				if told[k] {
					continue
				}
				told[k] = true
				e.line("  %s, %s %s: %s", r.Basis(), s.Divisions[d], sheet.Positions[p], recordText(s, r))
				for _, lost := range trace[1:] {
					e.line("    overrides %s", recordText(s, lost))
				}
			}
		}
	}
}

// uses says whether an answer rests on a record; an answer that names none may
// rest on any that its check reads.
func (q *asker) uses(a *answer.Answer, c *checks.Check, r *sheet.Record) bool {
	reads := slices.ContainsFunc(c.Keys, func(pattern string) bool {
		ok, err := path.Match(pattern, r.Topic+"/"+r.Key)
		return ok && err == nil
	})
	if !reads || len(a.Basis) == 0 {
		return reads
	}
	return slices.ContainsFunc(a.Basis, func(b answer.Basis) bool {
		return b.Value == r.Value.Text && b.From == r.From.String() && b.Layer == q.Book().Sheet.Layers[r.Layer].ID
	})
}

// about says whether an answer's facts allow a division and a position.
func about(a *answer.Answer, s *sheet.Sheet, d, p int) bool {
	if v, ok := a.Facts.Get("division"); ok && v.S != s.Divisions[d] {
		return false
	}
	if v, ok := a.Facts.Get("position"); ok {
		m, known := sheet.PositionMask(v.S)
		return !known || m.Has(p)
	}
	return true
}

func recordText(s *sheet.Sheet, r *sheet.Record) string {
	out := fmt.Sprintf("%s (%s layer, from %s", r.Value.Text, s.Layers[r.Layer].ID, r.From)
	if r.Until != 0 {
		out += " until " + r.Until.String()
	}
	if r.Source != nil {
		out += ", " + r.Source.String()
	}
	return out + fmt.Sprintf(", %s:%d)", r.File, r.Line)
}

func factsText(f answer.Fields) string {
	raw, err := f.MarshalJSON()
	if err != nil {
		return err.Error()
	}
	return string(raw)
}
