package rulesindex

import (
	"context"
	"fmt"

	"github.com/blevesearch/bleve/v2"
)

// Bare prepares the query that a search sends to bleve, and returns what sends it
// and nothing more: what a search costs beyond it is this package's own. It is for
// benchmarks and budgets; nil where the book has none of the words.
func (ix *Index) Bare(q Query) func(context.Context) error {
	sc := &scratch{}
	sc.words.split(q.Text, maxWords)
	bq := ix.bleveQuery(ix.understand(sc, q.Lang, span{0, sc.words.len()}))
	if bq == nil {
		return nil
	}
	return func(ctx context.Context) error {
		if _, err := ix.bleve.SearchInContext(ctx, bleve.NewSearchRequestOptions(bq, candidates, 0, false)); err != nil {
			return fmt.Errorf("searching the summaries: %w", err)
		}
		return nil
	}
}
