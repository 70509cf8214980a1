package question

import (
	"fmt"
	"slices"
	"strings"
)

// heardAs is what was heard for some words, and what was said.
type heardAs struct{ heard, said []token }

// readHeard reads the words that dictation gets wrong, by their first word: all of
// them, or (toks not nil) those that may begin at one of the tokens.
func readHeard(toks []token) (map[string][]heardAs, error) {
	out := make(map[string][]heardAs, 128)
	n := 0
	for line := range strings.Lines(heardText) {
		n++
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		heard, said, ok := strings.Cut(line, " > ")
		if toks != nil && ok && !slices.ContainsFunc(toks, func(t token) bool { return strings.HasPrefix(heard, t.text) }) {
			continue
		}
		h := heardAs{tokenize(heard, nil), tokenize(said, nil)}
		if !ok || len(h.said) == 0 || len(h.heard) == 0 {
			return nil, fmt.Errorf("data/heard.txt:%d: want \"heard > said\", have %q", n, line)
		}
		first := h.heard[0].text
		out[first] = append(out[first], h)
	}
	return out, nil
}

// hearRight puts what was said in the place of what was heard.
func (q *Question) hearRight() {
	first := -1
	for i := range q.toks {
		if len(q.r.heard[q.toks[i].text]) > 0 && q.heardAt(i) != nil {
			first = i
			break
		}
	}
	if first < 0 {
		return // nearly always
	}
	out := append([]token(nil), q.toks[:first]...)
	for i := first; i < len(q.toks); {
		h := q.heardAt(i)
		if h == nil {
			out = append(out, q.toks[i])
			i++
			continue
		}
		for k, t := range h.said {
			t.sent = q.toks[i].sent
			t.glued = t.glued && k > 0 || k == 0 && q.toks[i].glued
			out = append(out, t)
		}
		i += len(h.heard)
	}
	q.toks = out
}

// heardAt is the longest entry whose words stand at token i.
func (q *Question) heardAt(i int) *heardAs {
	var best *heardAs
	list := q.r.heard[q.toks[i].text]
next:
	for k := range list {
		h := &list[k]
		if i+len(h.heard) > len(q.toks) || best != nil && len(best.heard) >= len(h.heard) {
			continue
		}
		for j := range h.heard {
			if q.toks[i+j].text != h.heard[j].text || q.toks[i+j].sent != q.toks[i].sent {
				continue next
			}
		}
		best = h
	}
	return best
}
