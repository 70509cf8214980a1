package rulesindex_test

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"sidewall/answers/book"
	"sidewall/rulesindex"
)

// edition is a small book whose one summary about gloves names its edition.
func edition(n int) *book.Book {
	sum := func(id, title, text string) *book.Summary {
		return &book.Summary{ID: id, Title: title, Sections: []book.Section{{Heading: "All of it", Text: text, Line: 3}}}
	}
	return &book.Book{Summaries: []*book.Summary{
		sum(fmt.Sprintf("gloves-%d", n), "Gloves", fmt.Sprintf("Gloves have whole palms. Edition %d.", n)),
		sum("lightning", "Lightning", "Thunder stops the game."),
		sum("snacks", "Snacks", "Bring oranges."),
	}}
}

// TestSwapUnderLoad replaces the index again and again while others search: no
// search fails, none is empty, none sees two editions, and old ones close.
func TestSwapUnderLoad(t *testing.T) {
	const editions, workers = 25, 4
	first := mustBuild(t, edition(0))
	live := rulesindex.NewLive(first)
	all := []*rulesindex.Index{first}
	var done atomic.Bool
	var searches atomic.Int64
	started := make(chan struct{}, workers)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			last := -1
			once := sync.OnceFunc(func() { started <- struct{}{} })
			defer once() // also where a search fails, so that the test ends
			for !done.Load() {
				hits, err := live.Search(t.Context(), rulesindex.Query{Text: "do gloves have palms"})
				if err != nil || len(hits) == 0 {
					t.Errorf("search: %v, %d hits", err, len(hits))
					return
				}
				var inID, inText int
				if _, err := fmt.Sscanf(hits[0].ID, "gloves-%d", &inID); err != nil {
					t.Errorf("hit %q: %v", hits[0].ID, err)
					return
				}
				if _, err := fmt.Sscanf(hits[0].Snippet, "Gloves have whole palms. Edition %d.", &inText); err != nil || inID != inText || inID < last {
					t.Errorf("hit %q says %q after edition %d: %v", hits[0].ID, hits[0].Snippet, last, err)
					return
				}
				last = inID
				searches.Add(1)
				once()
			}
		})
	}
	for range workers {
		<-started
	}
	for n := 1; n < editions; n++ {
		ix := mustBuild(t, edition(n))
		all = append(all, ix)
		live.Swap(ix)
	}
	done.Store(true)
	wg.Wait()
	if err := live.Close(); err != nil {
		t.Fatal(err)
	}
	for i, ix := range all {
		if _, err := ix.Search(t.Context(), rulesindex.Query{Text: "gloves"}); !errors.Is(err, rulesindex.ErrClosed) {
			t.Errorf("edition %d still answers: %v", i, err)
		}
		if err := ix.Close(); err != nil {
			t.Errorf("closing edition %d again: %v", i, err)
		}
	}
	if _, err := live.Search(t.Context(), rulesindex.Query{Text: "gloves"}); !errors.Is(err, rulesindex.ErrClosed) {
		t.Errorf("a closed Live answers: %v", err)
	}
	t.Logf("%d searches over %d editions", searches.Load(), editions)
}

func mustBuild(t testing.TB, b *book.Book) *rulesindex.Index {
	t.Helper()
	ix, err := rulesindex.Build(t.Context(), b, rulesindex.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return ix
}
