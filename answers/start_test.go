package answers_test

import (
	"context"
	"runtime"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/question"
	"sidewall/config"
)

// BenchmarkStart is what `sidewall ask` does before it reads the question.
func BenchmarkStart(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		bk, err := book.Load(context.Background(), config.ShippedBook())
		if err != nil {
			b.Fatal(err)
		}
		if _, err := answers.New(bk); err != nil {
			b.Fatal(err)
		}
	}
}

// TestStartBudget keeps what one question costs from nothing to its answer: on a
// small machine the memory that is touched for the first time is most of the time.
// What is counted is the same on every machine.
func TestStartBudget(t *testing.T) {
	if raceOn {
		t.Skip("the race detector allocates too")
	}
	tests := []struct {
		text          string
		allocs, bytes uint64 // at most; a fifth above what they were when this was written
	}{
		{"U11 attack, 45-inch stick?", 16_700, 1_890_000},
		{"¿Palo de 45 pulgadas para ataque U11?", 22_600, 2_300_000},
	}
	var before, after runtime.MemStats
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			for range 2 { // the first run makes what lives as long as the process
				runtime.ReadMemStats(&before)
				ahead := question.ReadAheadFor(tt.text)
				b, err := book.Load(t.Context(), config.ShippedBook())
				if err != nil {
					t.Fatal(err)
				}
				d, err := answers.New(b, answers.WithReadAhead(ahead))
				if err != nil {
					t.Fatal(err)
				}
				if _, err := d.Ask(t.Context(), answers.Request{Text: tt.text}, nil); err != nil {
					t.Fatal(err)
				}
				runtime.ReadMemStats(&after)
			}
			allocs, bytes := after.Mallocs-before.Mallocs, after.TotalAlloc-before.TotalAlloc
			t.Logf("%d allocations, %d bytes", allocs, bytes)
			if allocs > tt.allocs || bytes > tt.bytes {
				t.Errorf("%d allocations and %d bytes; at most %d and %d", allocs, bytes, tt.allocs, tt.bytes)
			}
		})
	}
}
