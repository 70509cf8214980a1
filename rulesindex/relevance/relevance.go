// Package relevance measures a ranked list against labelled questions: how often
// the first hit is right, and how far down the right one stands otherwise.
package relevance

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
)

// Depth is how many hits count.
const Depth = 10

// Place is a section of a summary; without a section, all of the summary.
type Place struct {
	ID      string `json:"id"`
	Section string `json:"section"`
}

// UnmarshalJSON also takes a summary's id alone.
func (p *Place) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '"' {
		return json.Unmarshal(b, &p.ID)
	}
	type plain Place
	return json.Unmarshal(b, (*plain)(p))
}

// Question is a question and the place that answers it, or any of those in Also.
type Question struct {
	ID       string  `json:"id"`
	Text     string  `json:"q"`
	Lang     string  `json:"lang"`
	Division string  `json:"division"`
	Position string  `json:"position"`
	Date     string  `json:"date"`
	Want     Place   `json:"want"`
	Section  string  `json:"section"` // of a want that is an id alone
	Also     []Place `json:"also"`
}

// Read reads labelled questions, one JSON object a line; name is for the errors.
func Read(r io.Reader, name string) ([]Question, error) {
	var out []Question
	sc := bufio.NewScanner(r)
	sc.Buffer(make([]byte, 0, 64<<10), 4<<20)
	for n := 1; sc.Scan(); n++ {
		line := bytes.TrimSpace(sc.Bytes())
		if len(line) == 0 {
			continue
		}
		var q Question
		if err := json.Unmarshal(line, &q); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		if q.Want.Section == "" {
			q.Want.Section = q.Section
		}
		if q.Text == "" || q.Want.ID == "" {
			return nil, fmt.Errorf("%s:%d: a question needs a \"q\" and a \"want\" with the id of a summary", name, n)
		}
		out = append(out, q)
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	return out, nil
}

// Right says whether a hit answers the question: its summary, and its section too.
func (q *Question) Right(hit Place) (summary, section bool) {
	for _, p := range append([]Place{q.Want}, q.Also...) {
		if p.ID == hit.ID {
			summary = true
			section = section || p.Section == "" || p.Section == hit.Section
		}
	}
	return summary, section
}

// Rank is the place of the first right hit among the first ten, counted from 1,
// by its summary and by its section; 0 where there is none.
func (q *Question) Rank(hits []Place) (summary, section int) {
	for i, h := range hits[:min(len(hits), Depth)] {
		inSummary, inSection := q.Right(h)
		if inSummary && summary == 0 {
			summary = i + 1
		}
		if inSection && section == 0 {
			section = i + 1
		}
	}
	return summary, section
}

// Score adds up ranks.
type Score struct {
	N                int
	first, mrr, ndcg float64
}

// Add counts one question; rank is that of the first right hit, 0 for none. Several
// right places are alternatives: a list need not have them all, so the first one
// alone counts and the ideal list begins with it.
func (s *Score) Add(rank int) {
	s.N++
	if rank < 1 || rank > Depth {
		return
	}
	if rank == 1 {
		s.first++
	}
	s.mrr += 1 / float64(rank)
	s.ndcg += 1 / math.Log2(float64(rank)+1)
}

// Join adds the questions of another score.
func (s *Score) Join(o *Score) {
	s.N += o.N
	s.first += o.first
	s.mrr += o.mrr
	s.ndcg += o.ndcg
}

func (s *Score) mean(sum float64) float64 {
	if s.N == 0 {
		return 0
	}
	return sum / float64(s.N)
}

// First is success@1, the share of questions whose first hit is right.
func (s *Score) First() float64 { return s.mean(s.first) }

// MRR is MRR@10, the mean of one over the rank.
func (s *Score) MRR() float64 { return s.mean(s.mrr) }

// NDCG is nDCG@10 with gains of 0 and 1.
func (s *Score) NDCG() float64 { return s.mean(s.ndcg) }

// Unknown lists the labels that name what the book does not have; sections holds
// the headings of each summary.
func Unknown(qs []Question, sections map[string][]string) []string {
	var out []string
	for _, q := range qs {
		for _, p := range append([]Place{q.Want}, q.Also...) {
			heads, ok := sections[p.ID]
			switch {
			case !ok:
				out = append(out, fmt.Sprintf("%q: no summary %q", q.Text, p.ID))
			case p.Section != "" && !slices.Contains(heads, p.Section):
				out = append(out, fmt.Sprintf("%q: %q has no section %q", q.Text, p.ID, p.Section))
			}
		}
	}
	return out
}
