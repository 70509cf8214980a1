package question

import (
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strconv"
	"strings"
)

// A topic's cues are data: lines of a weight and the concepts that must be
// there ("!" before one that must not, "|" between alternatives, "foul:*" for any
// concept of that group). A cue that
// matches adds its weight. The topic with the highest sum is asked about.
//
//	topic crosse-length
//	5 stick q:len !head
type topicRule struct {
	name string
	cues []cue
}

type cue struct {
	weight int
	all    []Tag
	none   []Tag
	any    [][]Tag
	text   string
}

func loadTopics(fsys fs.FS, x *lexicon) ([]*topicRule, error) {
	files, err := fs.Glob(fsys, "data/topics/*.txt")
	if err != nil {
		return nil, fmt.Errorf("list topics: %w", err)
	}
	sort.Strings(files)
	var out []*topicRule
	for _, f := range files {
		raw, err := fs.ReadFile(fsys, f)
		if err != nil {
			return nil, fmt.Errorf("read topic: %w", err)
		}
		t := &topicRule{name: strings.TrimSuffix(path.Base(f), ".txt")}
		for n, line := range strings.Split(string(raw), "\n") {
			line, _, _ = strings.Cut(line, "#")
			fields := strings.Fields(line)
			if len(fields) == 0 {
				continue
			}
			c := cue{text: strings.Join(fields, " ")}
			if c.weight, err = strconv.Atoi(fields[0]); err != nil {
				return nil, fmt.Errorf("%s:%d: want a weight first, have %q", f, n+1, fields[0])
			}
			for _, w := range fields[1:] {
				if neg, ok := strings.CutPrefix(w, "!"); ok {
					tag, err := x.tag(neg)
					if err != nil {
						return nil, err
					}
					c.none = append(c.none, tag)
					continue
				}
				var alt []Tag
				for _, a := range strings.Split(w, "|") {
					if prefix, ok := strings.CutSuffix(a, "*"); ok {
						for k, name := range x.names {
							if strings.HasPrefix(name, prefix) {
								alt = append(alt, Tag(k))
							}
						}
						continue
					}
					tag, err := x.tag(a)
					if err != nil {
						return nil, err
					}
					alt = append(alt, tag)
				}
				if len(alt) == 1 {
					c.all = append(c.all, alt[0])
				} else {
					c.any = append(c.any, alt)
				}
			}
			t.cues = append(t.cues, c)
		}
		out = append(out, t)
	}
	return out, nil
}

func (c *cue) match(s *tagSet) bool {
	for _, t := range c.all {
		if !s.has(t) {
			return false
		}
	}
	for _, t := range c.none {
		if s.has(t) {
			return false
		}
	}
next:
	for _, alt := range c.any {
		for _, t := range alt {
			if s.has(t) {
				continue next
			}
		}
		return false
	}
	return true
}

// Score is a topic with the sum of its cues.
type Score struct {
	Topic string
	Sum   int
}

// Scores of all topics over a set of concepts, best first; ties by name.
func (q *Question) scores(sc Scope, s *tagSet, out []Score) []Score {
	var sums [maxTopics]int32
	q.r.cueSums(s, sums[:len(q.r.topics)])
	q.learned(sc, s, sums[:len(q.r.topics)])
	for k, t := range q.r.topics {
		if sums[k] > 0 {
			out = append(out, Score{t.name, int(sums[k])})
		}
	}
	sortScores(out)
	return out
}

// cueSums are the sums of the hand-written cues of each topic.
func (r *Recogniser) cueSums(s *tagSet, sums []int32) {
	for i, t := range r.topics {
		for k := range t.cues {
			if t.cues[k].match(s) {
				sums[i] += int32(t.cues[k].weight)
			}
		}
	}
}

// CueSums are the sums of the hand-written cues by topic, for learning.
func (q *Question) CueSums() map[string]int {
	sums := make([]int32, len(q.r.topics))
	q.r.cueSums(&q.set, sums)
	out := make(map[string]int, len(sums))
	for i, t := range q.r.topics {
		out[t.name] = int(sums[i])
	}
	return out
}
