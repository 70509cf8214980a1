package main

import (
	"context"
	"database/sql"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/index/scorch"
	_ "modernc.org/sqlite" // FTS5

	"sidewall/answers/book"
	"sidewall/rulesindex"
	"sidewall/rulesindex/relevance"
)

// A document is what every engine gets: a section of a summary, or a whole text.
type document struct {
	place                           relevance.Place
	Title, Questions, Heading, Body string
}

// documents are the sections of a book's summaries.
func documents(b *book.Book) []document {
	var out []document
	for _, s := range b.Summaries {
		questions := strings.Join(s.Questions, " ")
		for _, sec := range s.Sections {
			out = append(out, document{relevance.Place{ID: s.ID, Section: sec.Heading}, s.Title, questions, sec.Heading, sec.Text})
		}
	}
	return out
}

// An engine ranks documents. What it returns may name a summary more than once.
type engine interface {
	search(ctx context.Context, text, lang string, limit int) ([]relevance.Place, error)
	close() error
}

// once keeps the first hit of each summary.
func once(hits []relevance.Place) []relevance.Place {
	seen := map[string]bool{}
	out := hits[:0]
	for _, h := range hits {
		if !seen[h.ID] {
			seen[h.ID] = true
			out = append(out, h)
		}
	}
	return out
}

// ours is the project's index, as the program builds it.
type ours struct {
	ix  *rulesindex.Index
	all bool // the order alone, without the thresholds
}

func newOurs(ctx context.Context, b *book.Book, all bool) (*ours, error) {
	ix, err := rulesindex.Build(ctx, b, rulesindex.Options{})
	if err != nil {
		return nil, fmt.Errorf("index the summaries: %w", err)
	}
	return &ours{ix, all}, nil
}

func (o *ours) search(ctx context.Context, text, lang string, limit int) ([]relevance.Place, error) {
	hits, err := o.ix.Search(ctx, rulesindex.Query{Text: text, Lang: lang, Limit: limit, All: o.all})
	if err != nil {
		return nil, fmt.Errorf("sidewall: %w", err)
	}
	out := make([]relevance.Place, len(hits))
	for i, h := range hits {
		out[i] = relevance.Place{ID: h.ID, Section: h.Section}
	}
	return out, nil
}

func (o *ours) close() error { return o.ix.Close() }

// bleveEngine is bleve with its default mapping, or with one analyzer and scoring
// for all fields: a match query over everything that a document says.
type bleveEngine struct {
	ix   bleve.Index
	docs []document
}

func newBleve(docs []document, analyzer, scoring string) (*bleveEngine, error) {
	m := bleve.NewIndexMapping()
	if analyzer != "" {
		m.DefaultAnalyzer = analyzer
	}
	if scoring != "" {
		m.ScoringModel = scoring
	}
	// In memory, as ours; NewMemOnly is its slower store.
	ix, err := bleve.NewUsing("", m, scorch.Name, scorch.Name, nil)
	if err != nil {
		return nil, fmt.Errorf("open bleve: %w", err)
	}
	batch := ix.NewBatch()
	for i, d := range docs {
		if err := batch.Index(strconv.Itoa(i), map[string]any{"title": d.Title, "questions": d.Questions, "heading": d.Heading, "body": d.Body}); err != nil {
			return nil, fmt.Errorf("index with bleve: %w", err)
		}
	}
	if err := ix.Batch(batch); err != nil {
		return nil, fmt.Errorf("index with bleve: %w", err)
	}
	return &bleveEngine{ix, docs}, nil
}

func (e *bleveEngine) search(ctx context.Context, text, _ string, limit int) ([]relevance.Place, error) {
	req := bleve.NewSearchRequestOptions(bleve.NewMatchQuery(text), limit, 0, false)
	req.SortBy([]string{"-_score", "_id"})
	res, err := e.ix.SearchInContext(ctx, req)
	if err != nil {
		return nil, fmt.Errorf("search with bleve: %w", err)
	}
	out := make([]relevance.Place, 0, len(res.Hits))
	for _, h := range res.Hits {
		n, err := strconv.Atoi(h.ID)
		if err != nil || n >= len(e.docs) {
			return nil, fmt.Errorf("bleve found the document %q", h.ID)
		}
		out = append(out, e.docs[n].place)
	}
	return out, nil
}

func (e *bleveEngine) close() error { return e.ix.Close() }

// ftsEngine is SQLite's full-text index with its bm25, all columns alike.
type ftsEngine struct {
	db   *sql.DB
	find *sql.Stmt
	docs []document
}

func newFTS(ctx context.Context, docs []document, tokenizer string) (*ftsEngine, error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, fmt.Errorf("open SQLite: %w", err)
	}
	db.SetMaxOpenConns(1) // each connection would have a memory of its own
	e := &ftsEngine{db: db, docs: docs}
	if err := e.fill(ctx, tokenizer); err != nil {
		_ = db.Close()
		return nil, fmt.Errorf("fill FTS5: %w", err)
	}
	return e, nil
}

func (e *ftsEngine) fill(ctx context.Context, tokenizer string) error {
	if _, err := e.db.ExecContext(ctx, `CREATE VIRTUAL TABLE docs USING fts5(title, questions, heading, body, tokenize='`+tokenizer+`')`); err != nil {
		return err
	}
	tx, err := e.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	ins, err := tx.PrepareContext(ctx, `INSERT INTO docs(rowid, title, questions, heading, body) VALUES(?, ?, ?, ?, ?)`)
	if err != nil {
		return err
	}
	for i, d := range e.docs {
		if _, err := ins.ExecContext(ctx, i+1, d.Title, d.Questions, d.Heading, d.Body); err != nil {
			return err
		}
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	e.find, err = e.db.PrepareContext(ctx, `SELECT rowid FROM docs WHERE docs MATCH ? ORDER BY bm25(docs), rowid LIMIT ?`)
	return err
}

// ftsQuery asks for any of the words; quoted, so that none is an operator.
func ftsQuery(text string) string {
	words := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if len(words) == 0 {
		return ""
	}
	return `"` + strings.Join(words, `" OR "`) + `"`
}

func (e *ftsEngine) search(ctx context.Context, text, _ string, limit int) ([]relevance.Place, error) {
	q := ftsQuery(text)
	if q == "" {
		return nil, nil
	}
	rows, err := e.find.QueryContext(ctx, q, limit)
	if err != nil {
		return nil, fmt.Errorf("search with FTS5: %w", err)
	}
	defer rows.Close()
	out := make([]relevance.Place, 0, limit)
	for rows.Next() {
		var id int
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("search with FTS5: %w", err)
		}
		out = append(out, e.docs[id-1].place)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("search with FTS5: %w", err)
	}
	return out, nil
}

func (e *ftsEngine) close() error { return e.db.Close() }
