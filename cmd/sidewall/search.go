package main

import (
	"context"
	"fmt"
	"sync"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/rulesindex"
)

// lazySearch searches a book's summaries. It builds the index when the first
// question needs it, and not before: most questions never do.
type lazySearch struct {
	book *book.Book

	mu    sync.Mutex
	index *rulesindex.Index
}

// Search satisfies answers.Searcher.
func (l *lazySearch) Search(ctx context.Context, s answers.Search) ([]answer.Found, error) {
	ix, err := l.open(ctx)
	if err != nil {
		return nil, err
	}
	hits, err := ix.Search(ctx, rulesindex.Query{Text: s.Text, Lang: s.Lang, Division: s.Division, On: s.On, Limit: s.Limit})
	if err != nil {
		return nil, err
	}
	return found(hits), nil
}

func found(hits []rulesindex.Hit) []answer.Found {
	out := make([]answer.Found, len(hits))
	for i, h := range hits {
		out[i] = answer.Found{ID: h.ID, Title: h.Title, Section: h.Section, Score: h.Score, Snippet: h.Snippet}
	}
	return out
}

func (l *lazySearch) open(ctx context.Context) (*rulesindex.Index, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.index == nil {
		// Built to the end whatever becomes of this question: the next one needs it too.
		ix, err := rulesindex.Build(context.WithoutCancel(ctx), l.book, rulesindex.Options{})
		if err != nil {
			return nil, fmt.Errorf("index the summaries: %w", err)
		}
		l.index = ix
	}
	return l.index, nil
}

func (l *lazySearch) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.index != nil {
		_ = l.index.Close() // it lives in memory: there is nothing to lose
		l.index = nil
	}
}
