package rulesindex_test

import (
	"bufio"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
	"sidewall/rulesindex"
)

// aCase is a labelled question; no want means that nothing may be found.
type aCase struct {
	Q        string   `json:"q"`
	Want     string   `json:"want"`
	Also     []string `json:"also"` // as right as want
	Section  string   `json:"section"`
	Division string   `json:"division"`
	Lang     string   `json:"lang"`
}

const onDay = measure.Date(20270410)

func cases(t testing.TB, name string) []aCase {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "search", name+".jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []aCase
	sc := bufio.NewScanner(f)
	for n := 1; sc.Scan(); n++ {
		var c aCase
		if err := json.Unmarshal(sc.Bytes(), &c); err != nil {
			t.Fatalf("%s.jsonl:%d: %v", name, n, err)
		}
		out = append(out, c)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func shippedBook(t testing.TB) *book.Book {
	t.Helper()
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func shippedIndex(t testing.TB) *rulesindex.Index {
	t.Helper()
	return build(t, shippedBook(t))
}

func build(t testing.TB, b *book.Book) *rulesindex.Index {
	t.Helper()
	ix, err := rulesindex.Build(context.Background(), b, rulesindex.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := ix.Close(); err != nil {
			t.Error(err)
		}
	})
	return ix
}

// TestFindsTheSummary measures the labelled questions over the shipped book.
// The floors stand a little under what was measured, so that a worse ranking fails.
func TestFindsTheSummary(t *testing.T) {
	ix := shippedIndex(t)
	for _, set := range []struct {
		name             string
		first, mrr, sect float64
	}{
		{"english", 0.85, 0.87, 0.75},
		{"spanish", 0.88, 0.88, 0},
		{"misspelt", 0.95, 0.95, 0},
		{"held-out", 0.62, 0.65, 0}, // nothing was tuned on these
	} {
		t.Run(set.name, func(t *testing.T) {
			var first, mrr, sections, inSection float64
			all := cases(t, set.name)
			for _, c := range all {
				hits, err := ix.Search(t.Context(), rulesindex.Query{Text: c.Q, Lang: c.Lang, Division: c.Division, On: onDay, Limit: 10})
				if err != nil {
					t.Fatalf("%q: %v", c.Q, err)
				}
				right := append([]string{c.Want}, c.Also...)
				at := slices.IndexFunc(hits, func(h rulesindex.Hit) bool { return slices.Contains(right, h.ID) })
				if at == 0 {
					first++
				} else {
					t.Logf("%q: want %s, found it at %d of %v", c.Q, c.Want, at, ids(hits))
				}
				if at >= 0 {
					mrr += 1 / float64(at+1)
				}
				if c.Section != "" && at >= 0 && hits[at].ID == c.Want {
					sections++
					if hits[at].Section == c.Section {
						inSection++
					} else {
						t.Logf("%q: want section %q, got %q", c.Q, c.Section, hits[at].Section)
					}
				}
			}
			n := float64(len(all))
			t.Logf("%s: %d questions, first %.3f, MRR %.3f, right section %.0f of %.0f", set.name, len(all), first/n, mrr/n, inSection, sections)
			if first/n < set.first || mrr/n < set.mrr || inSection < set.sect*sections {
				t.Errorf("below the floors: first %.3f, MRR %.3f, sections %.3f", set.first, set.mrr, set.sect)
			}
		})
	}
}

func ids(hits []rulesindex.Hit) []string {
	var out []string
	for _, h := range hits {
		out = append(out, h.ID)
	}
	return out
}

// TestFindsNothing asks what the book does not answer. A hit that is less than half
// sure is a guess, which nobody is shown.
func TestFindsNothing(t *testing.T) {
	ix := shippedIndex(t)
	all := cases(t, "nothing")
	silent := 0
	for _, c := range all {
		hits, err := ix.Search(t.Context(), rulesindex.Query{Text: c.Q, On: onDay, Limit: 3})
		if err != nil {
			t.Fatalf("%q: %v", c.Q, err)
		}
		if len(hits) == 0 || hits[0].Score < 0.5 {
			silent++
			continue
		}
		t.Logf("%q: found %s %q (%.2f)", c.Q, hits[0].ID, hits[0].Section, hits[0].Score)
	}
	t.Logf("%d of %d questions found nothing", silent, len(all))
	if share := float64(silent) / float64(len(all)); share < 0.95 {
		t.Errorf("%.3f found nothing, want 0.95", share)
	}
}
