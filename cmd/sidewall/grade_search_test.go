package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sidewall/answers/book"
	"sidewall/config"
)

// TestGradeSearch measures the labelled questions as the command does. The floors
// stand a little under what was measured, so that a worse search fails; nothing was
// tuned on the second set.
func TestGradeSearch(t *testing.T) {
	row := regexp.MustCompile(`(?m)^ *(summary|and section) +(\d+) +([\d.]+) +([\d.]+) +([\d.]+) *$`)
	total := 0
	for _, set := range []struct {
		name           string
		first, section float64 // success@1
		ndcg           float64
	}{
		{"dev", 0.62, 0.46, 0.68},
		{"test", 0.56, 0.40, 0.63},
	} {
		t.Run(set.name, func(t *testing.T) {
			var out bytes.Buffer
			cmd := gradeCommand()
			cmd.SetOut(&out)
			cmd.SetArgs([]string{"--search", filepath.Join("..", "..", "testdata", "questions", "search", set.name+".jsonl")})
			if err := cmd.ExecuteContext(t.Context()); err != nil {
				t.Fatal(err)
			}
			rows := row.FindAllStringSubmatch(out.String(), -1)
			if len(rows) != 2 {
				t.Fatalf("no table in\n%s", out.String())
			}
			number := func(s string) float64 {
				f, err := strconv.ParseFloat(s, 64)
				if err != nil {
					t.Fatal(err)
				}
				return f
			}
			total += int(number(rows[0][2]))
			if got := number(rows[0][3]); got < set.first {
				t.Errorf("success@1 is %.4f, at least %.2f", got, set.first)
			}
			if got := number(rows[0][5]); got < set.ndcg {
				t.Errorf("nDCG@10 is %.4f, at least %.2f", got, set.ndcg)
			}
			if got := number(rows[1][3]); got < set.section {
				t.Errorf("success@1 by section is %.4f, at least %.2f", got, set.section)
			}
			t.Log("\n" + out.String())
		})
	}
	if total < 250 {
		t.Errorf("only %d questions", total)
	}
}

// TestGradeSearchLabels refuses labels that are not in the book.
func TestGradeSearchLabels(t *testing.T) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	s := b.Summaries[0]
	for _, tt := range []struct{ name, want, err string }{
		{"right", fmt.Sprintf(`{"id": %q, "section": %q}`, s.ID, s.Sections[0].Heading), ""},
		{"id alone", strconv.Quote(s.ID), ""},
		{"no such summary", `{"id": "no-such"}`, "no summary"},
		{"no such section", fmt.Sprintf(`{"id": %q, "section": "No such"}`, s.ID), "has no section"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			name := filepath.Join(t.TempDir(), "q.jsonl")
			if err := os.WriteFile(name, []byte(`{"q": "anything", "want": `+tt.want+"}\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			_, err := readSearchQuestions(name, b)
			if tt.err == "" && err != nil || tt.err != "" && (err == nil || !strings.Contains(err.Error(), tt.err)) {
				t.Errorf("got %v, want %q", err, tt.err)
			}
		})
	}
}
