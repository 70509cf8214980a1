package question

import (
	"fmt"
	"io/fs"
	"math"
	"math/bits"
	"sort"
	"strconv"
	"strings"
)

// Learned weights correct the sums of the hand-written cues: how much each
// concept, word, pair of words and pair of concepts speaks for a topic, learned
// from the labelled questions by `go run ./cmd/learn` and kept as data
// (data/weights.txt). A line is a feature and its weights in hundredths of a cue
// point:
//
//	t:stick crosse-length=120 crosse-choice=85
//
// Features: "t:" a concept, "!:" a negated one, "w:" a word, "b:" two words in a
// row, "p:" two concepts. The topic "" is: none of them.
type weights struct {
	topics []string // index of a topic; 0 is ""
	at     map[string]int
	tag    []int32          // feature by tag, -1 for none
	neg    []int32          // by negated tag
	words  map[string]int32 // a word's number
	word   map[int32]int32  // feature by word number
	bigram map[uint64]int32
	pair   map[uint32]int32
	row    [][]weight // by feature
	bias   []weight
}

type weight struct {
	topic int32
	n     int32 // hundredths of a point
}

// hundredths of a point.
const hundred = 100

func (r *Recogniser) loadWeights() error {
	raw, err := fs.ReadFile(data, "data/weights.txt")
	if err != nil {
		return fmt.Errorf("read weights: %w", err)
	}
	w := &weights{at: map[string]int{"": 0}, topics: []string{""}}
	for _, t := range r.topics {
		w.at[t.name] = len(w.topics)
		w.topics = append(w.topics, t.name)
	}
	n := len(r.x.names)
	w.tag, w.neg = make([]int32, n), make([]int32, n)
	for i := range w.tag {
		w.tag[i], w.neg[i] = -1, -1
	}
	lines := strings.Count(string(raw), "\n")
	w.words = make(map[string]int32, lines)
	w.word = make(map[int32]int32, lines)
	w.bigram = make(map[uint64]int32, lines)
	w.pair = make(map[uint32]int32, lines)
	w.row = make([][]weight, 0, lines)
	rest := string(raw)
	for num := 1; rest != ""; num++ {
		var line string
		line, rest, _ = strings.Cut(rest, "\n")
		if line == "" || line[0] == '#' {
			continue
		}
		feature, ws, _ := strings.Cut(line, " ")
		var row []weight
		for ws != "" {
			var one string
			one, ws, _ = strings.Cut(ws, " ")
			name, value, ok := strings.Cut(one, "=")
			v, err := strconv.Atoi(value)
			if !ok || err != nil {
				return fmt.Errorf("data/weights.txt:%d: want topic=number, have %q", num, one)
			}
			t, ok := w.at[name]
			if !ok {
				continue // a topic that is no more
			}
			row = append(row, weight{int32(t), int32(v)})
		}
		w.put(r.x, feature, row)
	}
	r.w = w
	return nil
}

func (w *weights) put(x *lexicon, feature string, row []weight) {
	if feature == "bias" {
		w.bias = row
		return
	}
	f := int32(len(w.row))
	kind, text, _ := strings.Cut(feature, ":")
	switch kind {
	case "t", "!":
		t, ok := x.tags[text]
		if !ok {
			return // a concept that is no more
		}
		if kind == "t" {
			w.tag[t] = f
		} else {
			w.neg[t] = f
		}
	case "w":
		w.word[w.number(text)] = f
	case "b":
		a, b, _ := strings.Cut(text, "_")
		w.bigram[uint64(w.number(a))<<32|uint64(w.number(b))] = f
	case "p":
		a, b, _ := strings.Cut(text, "&")
		ta, oka := x.tags[a]
		tb, okb := x.tags[b]
		if !oka || !okb {
			return
		}
		w.pair[pairKey(ta, tb)] = f
	default:
		return
	}
	w.row = append(w.row, row)
}

func pairKey(a, b Tag) uint32 {
	if a > b {
		a, b = b, a
	}
	return uint32(a)<<16 | uint32(b)
}

func (w *weights) number(word string) int32 {
	if n, ok := w.words[word]; ok {
		return n
	}
	n := int32(len(w.words))
	w.words[word] = n
	return n
}

// learnable says whether a concept may be a feature: those that only help to
// read numbers are not, nor are the divisions of one book.
func (x *lexicon) learnable(t Tag) bool {
	switch x.info[t].group {
	case gNum, gPart, gDenom, gUnit, gMonth, gOrd, gOrdSuffix, gUnder, gAndUnder, gAfterIn, gStickWord, gDiv, gAgeNext, gAgeIs:
		return false
	}
	switch n := x.names[t]; {
	case n == "fn", n == "neutral":
		return false
	case strings.HasPrefix(n, "story:"), strings.HasPrefix(n, "cnt:"), strings.HasPrefix(n, "side:"), strings.HasPrefix(n, "dayclock:"):
		return false
	}
	return true
}

// features calls f for each learned feature in a scope.
func (q *Question) features(s Scope, set *tagSet, f func(feature int32)) {
	w := q.r.w
	var buf [64]Tag
	tags := buf[:0]
	for word := range set {
		left := set[word]
		for left != 0 {
			t := Tag(word<<6 + bits.TrailingZeros64(left))
			left &= left - 1
			if q.r.learn[t] && len(tags) < cap(tags) {
				tags = append(tags, t)
			}
		}
	}
	for i, t := range tags {
		if k := w.tag[t]; k >= 0 {
			f(k)
		}
		for _, u := range tags[i+1:] {
			if k, ok := w.pair[pairKey(t, u)]; ok {
				f(k)
			}
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if !h.negated || !s.holds(h.start, h.end) {
			continue
		}
		for _, t := range h.tags {
			if n := w.neg[t]; n >= 0 {
				f(n)
			}
		}
	}
	prev := int32(-1)
	for i := s.start; i < s.end; i++ {
		t := &q.toks[i]
		if t.kind != wordToken {
			prev = -1
			continue
		}
		n, ok := w.words[t.text]
		if !ok {
			prev = -1
			continue
		}
		if k, ok := w.word[n]; ok {
			f(k)
		}
		if prev >= 0 {
			if k, ok := w.bigram[uint64(prev)<<32|uint64(n)]; ok {
				f(k)
			}
		}
		prev = n
	}
}

// FeatureNames are all possible features of the question, for learning: the
// names of concepts, words and their pairs that occur in it.
func (q *Question) FeatureNames() []string {
	seen := map[string]bool{}
	var tags []Tag
	for t := range q.x.names {
		if q.set.has(Tag(t)) && q.r.learn[t] {
			tags = append(tags, Tag(t))
		}
	}
	if len(tags) > 64 {
		tags = tags[:64]
	}
	for i, t := range tags {
		seen["t:"+q.x.names[t]] = true
		for _, u := range tags[i+1:] {
			a, b := t, u
			if a > b {
				a, b = b, a
			}
			seen["p:"+q.x.names[a]+"&"+q.x.names[b]] = true
		}
	}
	for k := range q.hits {
		if q.hits[k].negated {
			for _, t := range q.hits[k].tags {
				if q.r.learn[t] {
					seen["!:"+q.x.names[t]] = true
				}
			}
		}
	}
	prev := ""
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken {
			prev = ""
			continue
		}
		seen["w:"+t.text] = true
		if prev != "" {
			seen["b:"+prev+"_"+t.text] = true
		}
		prev = t.text
	}
	out := make([]string, 0, len(seen))
	for s := range seen {
		out = append(out, s)
	}
	sort.Strings(out)
	return out
}

// learned adds the learned weights to the cues' sums. The score of "none of
// them" becomes the threshold, so that a topic with Enough is likelier than none.
func (q *Question) learned(s Scope, set *tagSet, sums []int32) {
	w := q.r.w
	var acc [maxTopics]int32
	for _, b := range w.bias {
		acc[b.topic] += b.n
	}
	q.features(s, set, func(f int32) {
		for _, x := range w.row[f] {
			acc[x.topic] += x.n
		}
	})
	for i := range sums {
		d := int32(math.Round(float64(acc[i+1]-acc[0]) / hundred))
		if sums[i] >= clear && d < -mostDoubt {
			d = -mostDoubt
		}
		sums[i] += d
	}
}

// A topic whose own cues reach clear loses at most mostDoubt points to what was
// learned: a plain question must not be lost to words that no corpus had.
const (
	clear     = 8
	mostDoubt = 2
)

// maxTopics bounds the topics and "none of them".
const maxTopics = 64
