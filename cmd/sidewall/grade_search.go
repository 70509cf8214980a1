package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/rulesindex"
	"sidewall/rulesindex/relevance"
)

// searchDay is the day of a labelled question that names none: a fixed one, so
// that the numbers are the same next year.
const searchDay = measure.Date(20270410)

// searchTally is how the search did over one set of questions.
type searchTally struct {
	summary, section relevance.Score
	silent           int // nothing found

	// What the desk makes of the same questions. A check is right where one covers
	// the matter: labels of summaries cannot judge it, so it is only counted.
	deskRight, deskWrong, deskCheck, deskNone int
}

// gradeSearch asks the search itself for ten hits a question, then the desk.
type gradeSearch struct {
	desk  *answers.Desk
	index *rulesindex.Index
	out   io.Writer
	show  bool
}

func (g *gradeSearch) one(ctx context.Context, t *searchTally, q *relevance.Question) error {
	on := searchDay
	if q.Date != "" {
		var err error
		if on, err = measure.ParseDate(q.Date); err != nil {
			return usageError{fmt.Errorf("%q: %w", q.Text, err)}
		}
	}
	hits, err := g.index.Search(ctx, rulesindex.Query{Text: q.Text, Lang: q.Lang, Division: q.Division, On: on, Limit: relevance.Depth})
	if err != nil {
		return fmt.Errorf("%q: %w", q.Text, err)
	}
	places := make([]relevance.Place, len(hits))
	for i, h := range hits {
		places[i] = relevance.Place{ID: h.ID, Section: h.Section}
	}
	summary, section := q.Rank(places)
	t.summary.Add(summary)
	t.section.Add(section)
	if len(hits) == 0 {
		t.silent++
	}
	if g.show && section != 1 {
		got := "nothing"
		if len(places) > 0 {
			got = fmt.Sprintf("%s › %s (%.2f)", places[0].ID, places[0].Section, hits[0].Score)
		}
		fmt.Fprintf(g.out, "%s summary at %d, section at %d | %s | want %s › %s | got %s\n", q.ID, summary, section, q.Text, q.Want.ID, q.Want.Section, got)
	}
	a, err := g.desk.Ask(ctx, answers.Request{Text: q.Text, Division: q.Division, Position: q.Position, On: on, Lang: q.Lang}, nil)
	if err != nil {
		return fmt.Errorf("%q: %w", q.Text, err)
	}
	switch {
	case a.Kind == answer.Summary && len(a.Summaries) > 0:
		if right, _ := q.Right(relevance.Place{ID: a.Summaries[0].ID, Section: a.Summaries[0].Section}); right {
			t.deskRight++
		} else {
			t.deskWrong++
		}
	case a.Verdict == answer.NoAnswer && a.Topic == "":
		t.deskNone++
	default:
		t.deskCheck++
	}
	return nil
}

func (t *searchTally) print(w io.Writer, name string) {
	tw := tabwriter.NewWriter(w, 2, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tw, "%s\tquestions\tsuccess@1\tMRR@10\tnDCG@10\t\n", name)
	for _, r := range []struct {
		name string
		s    *relevance.Score
	}{{"summary", &t.summary}, {"and section", &t.section}} {
		fmt.Fprintf(tw, "%s\t%d\t%.4f\t%.4f\t%.4f\t\n", r.name, r.s.N, r.s.First(), r.s.MRR(), r.s.NDCG())
	}
	tw.Flush()
	fmt.Fprintf(w, "nothing found: %d. At the desk: %d the right summary, %d another, %d a check, %d no answer.\n\n", t.silent, t.deskRight, t.deskWrong, t.deskCheck, t.deskNone)
}

func (t *searchTally) join(o *searchTally) {
	t.summary.Join(&o.summary)
	t.section.Join(&o.section)
	t.silent += o.silent
	t.deskRight += o.deskRight
	t.deskWrong += o.deskWrong
	t.deskCheck += o.deskCheck
	t.deskNone += o.deskNone
}

// headings are the sections of each summary of a book.
func headings(b *book.Book) map[string][]string {
	out := make(map[string][]string, len(b.Summaries))
	for _, s := range b.Summaries {
		heads := []string{}
		for _, sec := range s.Sections {
			heads = append(heads, sec.Heading)
		}
		out[s.ID] = heads
	}
	return out
}

func runGradeSearch(cmd *cobra.Command, bookDir string, files []string, show bool) error {
	ctx := cmd.Context()
	d, done, err := openDesk(ctx, bookDir)
	if err != nil {
		return err
	}
	defer done()
	ix, err := rulesindex.Build(ctx, d.Book(), rulesindex.Options{})
	if err != nil {
		return fmt.Errorf("index the summaries: %w", err)
	}
	defer func() { _ = ix.Close() }() // it lives in memory: there is nothing to lose
	g := &gradeSearch{desk: d, index: ix, out: cmd.OutOrStdout(), show: show}
	var all searchTally
	for _, name := range files {
		qs, err := readSearchQuestions(name, d.Book())
		if err != nil {
			return usageError{err}
		}
		var t searchTally
		for i := range qs {
			if err := g.one(ctx, &t, &qs[i]); err != nil {
				return err
			}
		}
		t.print(cmd.OutOrStdout(), filepath.Base(name))
		all.join(&t)
	}
	if len(files) > 1 {
		all.print(cmd.OutOrStdout(), "all")
	}
	return nil
}

// readSearchQuestions reads a file of labels and holds them against the book: a
// label that names no section of it would only look like a bad search.
func readSearchQuestions(name string, b *book.Book) ([]relevance.Question, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("open questions: %w", err)
	}
	defer f.Close()
	qs, err := relevance.Read(f, name)
	if err != nil {
		return nil, err
	}
	if bad := relevance.Unknown(qs, headings(b)); len(bad) > 0 {
		return nil, fmt.Errorf("%s: labels that are not in the book: %s", name, strings.Join(bad, "; "))
	}
	return qs, nil
}
