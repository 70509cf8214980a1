package answers_test

import (
	"context"
	"runtime"
	"slices"
	"testing"
)

// Budgets of a structured question, words to answer object: counts, which are
// the same on every machine (times are in the benchmarks).
const (
	mostAllocs = 150
	mostBytes  = 15_000
)

// TestBudget keeps the median question of the corpora within its allocations and
// bytes, and every one within four times that.
func TestBudget(t *testing.T) {
	if raceOn {
		t.Skip("the race detector allocates too, and empties pools; CI runs this once without it")
	}
	d, reqs := desk(t), requests(t)
	ctx := context.Background()
	var allocs, bytes []uint64
	var before, after runtime.MemStats
	for _, r := range reqs {
		if _, err := d.Ask(ctx, r, nil); err != nil { // warm
			t.Fatal(err)
		}
	}
	for i, r := range reqs {
		if i%7 != 0 { // reading the memory statistics stops the world: a seventh will do
			continue
		}
		runtime.ReadMemStats(&before)
		if _, err := d.Ask(ctx, r, nil); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		a, b := after.Mallocs-before.Mallocs, after.TotalAlloc-before.TotalAlloc
		if a > 4*mostAllocs {
			t.Errorf("%d allocations for %q", a, r.Text)
		}
		allocs, bytes = append(allocs, a), append(bytes, b)
	}
	slices.Sort(allocs)
	slices.Sort(bytes)
	if m := allocs[len(allocs)/2]; m > mostAllocs {
		t.Errorf("median %d allocations, at most %d", m, mostAllocs)
	}
	if m := bytes[len(bytes)/2]; m > mostBytes {
		t.Errorf("median %d bytes, at most %d", m, mostBytes)
	}
	t.Logf("%d questions: median %d allocations, %d bytes; 99th percentile %d, %d", len(allocs), allocs[len(allocs)/2], bytes[len(bytes)/2], allocs[len(allocs)*99/100], bytes[len(bytes)*99/100])
}
