package question

import (
	"bytes"
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
	out := make([]*topicRule, 0, len(files))
	b := cueReader{x: x}
	for _, f := range files {
		raw, err := fs.ReadFile(fsys, f)
		if err != nil {
			return nil, fmt.Errorf("read topic: %w", err)
		}
		t := &topicRule{name: strings.TrimSuffix(path.Base(f), ".txt")}
		t.cues = make([]cue, 0, bytes.Count(raw, []byte{'\n'}))
		n := 0
		for line := range strings.Lines(string(raw)) {
			n++
			line, _, _ = strings.Cut(line, "#")
			if line = strings.TrimSpace(line); line == "" {
				continue
			}
			c, err := b.cue(line)
			if err != nil {
				return nil, fmt.Errorf("%s:%d: %w", f, n, err)
			}
			t.cues = append(t.cues, c)
		}
		out = append(out, t)
	}
	return out, nil
}

// cueReader reads cues; their tags stand together in few pieces of memory.
type cueReader struct {
	x    *lexicon
	room []Tag
	alts [][]Tag
}

// cue reads one line.
func (b *cueReader) cue(line string) (cue, error) {
	c := cue{text: line}
	first, rest, _ := strings.Cut(line, " ")
	var err error
	if c.weight, err = strconv.Atoi(first); err != nil {
		return c, fmt.Errorf("want a weight first, have %q", first)
	}
	var all, none []Tag // few: what is kept is copied
	var allRoom, noneRoom [24]Tag
	all, none = allRoom[:0], noneRoom[:0]
	from := len(b.alts)
	for w := range strings.FieldsSeq(rest) {
		if neg, ok := strings.CutPrefix(w, "!"); ok {
			tag, err := b.x.tag(neg)
			if err != nil {
				return c, err
			}
			none = append(none, tag)
			continue
		}
		if !strings.ContainsAny(w, "|*") {
			tag, err := b.x.tag(w)
			if err != nil {
				return c, err
			}
			all = append(all, tag)
			continue
		}
		alt, err := b.alternatives(w)
		if err != nil {
			return c, err
		}
		b.alts = append(b.alts, alt)
	}
	c.all, c.none, c.any = b.keep(all), b.keep(none), b.alts[from:len(b.alts):len(b.alts)]
	return c, nil
}

// alternatives reads "a|b|group:*".
func (b *cueReader) alternatives(w string) ([]Tag, error) {
	var room [64]Tag
	alt := room[:0]
	for a := range strings.SplitSeq(w, "|") {
		if prefix, ok := strings.CutSuffix(a, "*"); ok {
			for k, name := range b.x.names {
				if strings.HasPrefix(name, prefix) {
					alt = append(alt, Tag(k))
				}
			}
			continue
		}
		tag, err := b.x.tag(a)
		if err != nil {
			return nil, err
		}
		alt = append(alt, tag)
	}
	return b.keep(alt), nil
}

// keep copies tags to where they stay.
func (b *cueReader) keep(tags []Tag) []Tag {
	if len(tags) == 0 {
		return nil
	}
	const piece = 2048
	if len(b.room)+len(tags) > cap(b.room) {
		b.room = make([]Tag, 0, max(piece, len(tags)))
	}
	from := len(b.room)
	b.room = append(b.room, tags...)
	return b.room[from:len(b.room):len(b.room)]
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
	if s == &q.set {
		q.cues, q.summed = sums, true
	}
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
