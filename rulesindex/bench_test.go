package rulesindex

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"sidewall/answers/book"
	"sidewall/config"
)

func benchQuestions(b *testing.B) []string {
	b.Helper()
	f, err := os.Open("../testdata/search/english.jsonl")
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	var out []string
	for sc := bufio.NewScanner(f); sc.Scan(); {
		var c struct{ Q string }
		if err := json.Unmarshal(sc.Bytes(), &c); err != nil {
			b.Fatal(err)
		}
		out = append(out, c.Q)
	}
	return out
}

// benchBook is the shipped book, its summaries repeated up to n.
func benchBook(b *testing.B, n int) *book.Book {
	b.Helper()
	bk, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		b.Fatal(err)
	}
	own := bk.Summaries
	for i := 0; len(bk.Summaries) < n; i++ {
		s := *own[i%len(own)]
		s.ID = fmt.Sprintf("%s-%d", s.ID, i)
		// A word of its own keeps the vocabulary growing as a real book's does.
		s.Title = fmt.Sprintf("%s zq%dx", s.Title, i)
		bk.Summaries = append(bk.Summaries, &s)
	}
	return bk
}

func benchIndex(b *testing.B, n int) *Index {
	b.Helper()
	ix, err := Build(context.Background(), benchBook(b, n), Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := ix.Close(); err != nil {
			b.Error(err)
		}
	})
	return ix
}

// BenchmarkSearch compares a search with the bare bleve query that it sends,
// both over the whole English corpus; compare the two lines of one run.
func BenchmarkSearch(b *testing.B) {
	qs := benchQuestions(b)
	for _, n := range []int{0, 10_000} {
		name := "shipped"
		if n > 0 {
			if testing.Short() {
				continue
			}
			name = fmt.Sprint(n)
		}
		b.Run(name, func(b *testing.B) {
			ix := benchIndex(b, n)
			b.Run("search", func(b *testing.B) {
				b.ReportAllocs()
				for i := 0; b.Loop(); i++ {
					if _, err := ix.Search(context.Background(), Query{Text: qs[i%len(qs)], On: 20270410}); err != nil {
						b.Fatal(err)
					}
				}
			})
			b.Run("bleve", func(b *testing.B) {
				var bare []query.Query
				for _, q := range qs {
					sc := &scratch{}
					sc.words.split(q, maxWords)
					if bq := ix.bleveQuery(ix.understand(sc, "", span{0, sc.words.len()})); bq != nil {
						bare = append(bare, bq)
					}
				}
				b.ReportAllocs()
				for i := 0; b.Loop(); i++ {
					if _, err := ix.bleve.Search(bleve.NewSearchRequestOptions(bare[i%len(bare)], candidates, 0, false)); err != nil {
						b.Fatal(err)
					}
				}
			})
		})
	}
}

// BenchmarkBuild is what the first question that searches pays.
func BenchmarkBuild(b *testing.B) {
	bk := benchBook(b, 0)
	b.ReportAllocs()
	for b.Loop() {
		ix, err := Build(context.Background(), bk, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := ix.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
