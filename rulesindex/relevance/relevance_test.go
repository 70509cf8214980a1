package relevance_test

import (
	"math"
	"strings"
	"testing"

	"sidewall/rulesindex/relevance"
)

func TestScore(t *testing.T) {
	for _, tt := range []struct {
		name             string
		ranks            []int
		first, mrr, ndcg float64
	}{
		{"nothing asked", nil, 0, 0, 0},
		{"first", []int{1}, 1, 1, 1},
		{"third", []int{3}, 0, 1.0 / 3, 0.5},
		{"not found", []int{0}, 0, 0, 0},
		{"eleventh does not count", []int{11}, 0, 0, 0},
		{"one of each", []int{1, 3, 0, 7}, 0.25, (1 + 1.0/3 + 1.0/7) / 4, (1 + 0.5 + 1.0/3) / 4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var s relevance.Score
			for _, r := range tt.ranks {
				s.Add(r)
			}
			for _, x := range []struct {
				what      string
				got, want float64
			}{{"success@1", s.First(), tt.first}, {"MRR@10", s.MRR(), tt.mrr}, {"nDCG@10", s.NDCG(), tt.ndcg}} {
				if math.Abs(x.got-x.want) > 1e-12 {
					t.Errorf("%s is %v, want %v", x.what, x.got, x.want)
				}
			}
		})
	}
}

func TestReadAndRank(t *testing.T) {
	const lines = `{"q": "a", "want": {"id": "one", "section": "S"}, "also": ["two", {"id": "three", "section": "T"}]}

{"q": "b", "want": "one", "section": "S"}
{"q": "c", "want": "one"}
`
	qs, err := relevance.Read(strings.NewReader(lines), "in.jsonl")
	if err != nil || len(qs) != 3 {
		t.Fatalf("%d questions, %v", len(qs), err)
	}
	place := func(s string) relevance.Place {
		id, section, _ := strings.Cut(s, "/")
		return relevance.Place{ID: id, Section: section}
	}
	for _, tt := range []struct {
		q                int
		hits             string
		summary, section int
	}{
		{0, "", 0, 0},
		{0, "x/S one/S", 2, 2},
		{0, "one/other x/S two/any", 1, 3},
		{0, "three/S three/T", 1, 2},
		{1, "one/other one/S", 1, 2},
		{2, "x/y one/other", 2, 2},
		{2, "x x x x x x x x x x one", 0, 0},
	} {
		var hits []relevance.Place
		for _, h := range strings.Fields(tt.hits) {
			hits = append(hits, place(h))
		}
		if summary, section := qs[tt.q].Rank(hits); summary != tt.summary || section != tt.section {
			t.Errorf("%s: %q is at %d and %d, want %d and %d", qs[tt.q].Text, tt.hits, summary, section, tt.summary, tt.section)
		}
	}
	unknown := relevance.Unknown(qs, map[string][]string{"one": {"S"}, "three": {"U"}})
	if len(unknown) != 2 || !strings.Contains(unknown[0], `"two"`) || !strings.Contains(unknown[1], `"T"`) {
		t.Errorf("unknown labels: %q", unknown)
	}
}

func TestReadRefuses(t *testing.T) {
	for _, tt := range []struct{ line, want string }{
		{`{"q": "a"`, "in.jsonl:2: unexpected end"},
		{`{"q": "a"}`, "in.jsonl:2: a question needs"},
		{`{"want": "one"}`, "in.jsonl:2: a question needs"},
		{`{"q": "a", "want": 3}`, "in.jsonl:2: json: cannot unmarshal"},
	} {
		_, err := relevance.Read(strings.NewReader(`{"q": "ok", "want": "one"}`+"\n"+tt.line+"\n"), "in.jsonl")
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %s", tt.line, err, tt.want)
		}
	}
}
