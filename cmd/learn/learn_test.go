package main

import (
	"context"
	"path/filepath"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

// The questions that say only their topic were learned from, so nearly all of
// them must come out; fewer says that lexicons, cues and weights have drifted
// apart and the weights must be learned anew.
func TestTopicsHold(t *testing.T) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	d, err := answers.New(b)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Warm(); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("../../testdata/questions/topics/*.jsonl")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files: %v", len(files), err)
	}
	on, _ := measure.NewDate(2027, 4, 10)
	all, right, outside, answered := 0, 0, 0, 0
	for _, f := range files {
		ls, err := read([]string{f})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range ls {
			if l.Want.Topic == "summary" {
				continue // the search is not here
			}
			a, err := d.Ask(context.Background(), answers.Request{Text: l.Q, On: on}, nil)
			if err != nil {
				t.Fatal(err)
			}
			all++
			if a.Topic == l.Want.Topic {
				right++
			}
			if l.Want.Topic == "" {
				outside++
				if a.Topic != "" {
					answered++
				}
			}
		}
	}
	t.Logf("%d of %d topics right; %d of %d out of scope answered", right, all, answered, outside)
	if right*100 < all*95 {
		t.Errorf("%d of %d topics are right, want 95 %%: run go run ./cmd/learn", right, all)
	}
	if answered*100 > outside*5 {
		t.Errorf("%d of %d questions out of scope are answered, want 5 %% at most", answered, outside)
	}
}
