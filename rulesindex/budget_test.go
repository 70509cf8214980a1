package rulesindex_test

import (
	"testing"

	"sidewall/rulesindex"
)

// The budget of a search in allocations, which are the same on every machine: so
// many times those of the bleve query that it sends, and a few of its own.
const (
	mostTimes = 1.3
	mostMore  = 150
)

// TestBudget holds every question of the English cases to the budget.
func TestBudget(t *testing.T) {
	ix := shippedIndex(t)
	checked := 0
	for i, c := range cases(t, "english") {
		if i%5 != 0 { // each is measured over several runs: a fifth will do
			continue
		}
		q := rulesindex.Query{Text: c.Q, On: onDay}
		bare := ix.Bare(q)
		if bare == nil {
			continue
		}
		checked++
		sent := testing.AllocsPerRun(5, func() {
			if err := bare(t.Context()); err != nil {
				t.Fatal(err)
			}
		})
		all := testing.AllocsPerRun(5, func() {
			if _, err := ix.Search(t.Context(), q); err != nil {
				t.Fatal(err)
			}
		})
		if all > mostTimes*sent+mostMore {
			t.Errorf("%q: %.0f allocations, its bare query %.0f", c.Q, all, sent)
		}
	}
	if checked < 20 {
		t.Errorf("only %d questions were measured", checked)
	}
}
