package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"text/tabwriter"

	"sidewall/answers/book"
	"sidewall/rulesindex/relevance"
)

// A collection is documents and the questions that they answer.
type collection struct {
	name      string
	book      *book.Book
	docs      []document
	questions []relevance.Question
	sections  bool // the labels name sections
}

// bookCollection is the shipped book with one file of labelled questions.
func bookCollection(b *book.Book, file string) (*collection, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("open the questions: %w", err)
	}
	defer f.Close()
	qs, err := relevance.Read(f, file)
	if err != nil {
		return nil, err
	}
	return &collection{filepath.Base(file), b, documents(b), qs, true}, nil
}

// texts takes one string or a list of them, and leaves out what the data marks as unusable.
type texts []string

func (t *texts) UnmarshalJSON(raw []byte) error {
	var list []*string
	if err := json.Unmarshal(raw, &list); err != nil {
		var one *string
		if err := json.Unmarshal(raw, &one); err != nil {
			return err
		}
		list = []*string{one}
	}
	for _, s := range list {
		if s != nil && *s != "" && *s != "*" {
			*t = append(*t, *s)
		}
	}
	return nil
}

// stackFAQ is the open collection of question threads: a thread is a summary, its
// question the title; each paraphrase asks for its thread.
func stackFAQ(file string) (*collection, error) {
	raw, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read the collection: %w", err)
	}
	var data struct {
		Root struct {
			Pairs []struct {
				Rephr    texts  `json:"rephr"`
				Question string `json:"question"`
				Answer   texts  `json:"answer"`
			} `json:"qapair"`
		} `json:"root"`
	}
	if err := json.Unmarshal(raw, &data); err != nil {
		return nil, fmt.Errorf("read the collection %s: %w", file, err)
	}
	c := &collection{name: "stackfaq", book: &book.Book{}}
	for i, p := range data.Root.Pairs {
		s := &book.Summary{ID: strconv.Itoa(i), Title: p.Question}
		body := ""
		for _, a := range p.Answer {
			s.Sections = append(s.Sections, book.Section{Text: a})
			body += a + "\n\n"
		}
		c.book.Summaries = append(c.book.Summaries, s)
		c.docs = append(c.docs, document{place: relevance.Place{ID: s.ID}, Title: p.Question, Body: body})
		for _, q := range p.Rephr {
			c.questions = append(c.questions, relevance.Question{Text: q, Want: relevance.Place{ID: s.ID}})
		}
	}
	if len(c.questions) == 0 {
		return nil, fmt.Errorf("%s holds no questions", file)
	}
	return c, nil
}

// measured is one engine over one collection.
type measured struct {
	summary, section relevance.Score
}

func (c *collection) measure(ctx context.Context, e engine) (m measured, err error) {
	for i := range c.questions {
		q := &c.questions[i]
		// Several sections of a summary may stand before the next summary.
		hits, err := e.search(ctx, q.Text, q.Lang, 6*relevance.Depth)
		if err != nil {
			return m, err
		}
		summary, section := q.Rank(once(hits))
		m.summary.Add(summary)
		m.section.Add(section)
	}
	return m, nil
}

// makers are the engines of the quality table, the project's first.
func (c *collection) makers(ctx context.Context) []struct {
	name string
	make func() (engine, error)
} {
	return []struct {
		name string
		make func() (engine, error)
	}{
		{"sidewall", func() (engine, error) { return newOurs(ctx, c.book, false) }},
		{"sidewall, order alone", func() (engine, error) { return newOurs(ctx, c.book, true) }},
		{"bleve, default mapping", func() (engine, error) { return newBleve(c.docs, "", "") }},
		{"bleve, en, tf-idf", func() (engine, error) { return newBleve(c.docs, "en", "") }},
		{"bleve, en, bm25", func() (engine, error) { return newBleve(c.docs, "en", "bm25") }},
		{"FTS5 bm25, unicode61", func() (engine, error) { return newFTS(ctx, c.docs, "unicode61") }},
		{"FTS5 bm25, porter", func() (engine, error) { return newFTS(ctx, c.docs, "porter unicode61") }},
	}
}

// quality prints the table of DEVELOPERS.md.
func quality(ctx context.Context, w io.Writer, cs []*collection) error {
	for _, c := range cs {
		tw := tabwriter.NewWriter(w, 2, 4, 2, ' ', 0)
		fmt.Fprintf(tw, "| %s (%d questions, %d documents)\t| success@1\t| MRR@10\t| nDCG@10", c.name, len(c.questions), len(c.docs))
		if c.sections {
			fmt.Fprint(tw, "\t| section@1\t| nDCG@10 by section")
		}
		fmt.Fprintln(tw, "\t|")
		for _, mk := range c.makers(ctx) {
			e, err := mk.make()
			if err != nil {
				return fmt.Errorf("%s over %s: %w", mk.name, c.name, err)
			}
			m, err := c.measure(ctx, e)
			if err = errors.Join(err, e.close()); err != nil {
				return fmt.Errorf("%s over %s: %w", mk.name, c.name, err)
			}
			fmt.Fprintf(tw, "| %s\t| %.4f\t| %.4f\t| %.4f", mk.name, m.summary.First(), m.summary.MRR(), m.summary.NDCG())
			if c.sections {
				fmt.Fprintf(tw, "\t| %.4f\t| %.4f", m.section.First(), m.section.NDCG())
			}
			fmt.Fprintln(tw, "\t|")
		}
		if err := tw.Flush(); err != nil {
			return fmt.Errorf("write the table: %w", err)
		}
		fmt.Fprintln(w)
	}
	return nil
}
