package question

import (
	"fmt"
	"math"
	"math/bits"
	"sort"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
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
// row, "p:" two concepts, the names in order, "n:" how many words no labelled
// question has, "m:" how large a part they are. The topic "" is: none of them. After
// the comment and the bias the lines stand in the order of their bytes.
type weights struct {
	topics []string // index of a topic; 0 is ""
	at     map[string]int
	raw    string // the features' lines, in the order of their bytes
	bias   []weight

	// The first question looks its few features up in the text, by halves; from the
	// second on a table answers. A program that answers one question is spared
	// the table, and one that answers many pays for it once.
	asked atomic.Bool
	once  sync.Once
	table atomic.Pointer[weightTable]
	err   error
}

type weight struct {
	topic int32
	n     int32 // hundredths of a point
}

// hundredths of a point.
const hundred = 100

func (r *Recogniser) loadWeights() error {
	w := &weights{at: map[string]int{"": 0}, topics: []string{""}}
	for _, t := range r.topics {
		w.at[t.name] = len(w.topics)
		w.topics = append(w.topics, t.name)
	}
	w.at[summaryTopic] = len(w.topics)
	w.topics = append(w.topics, summaryTopic)
	rest := weightsText
	for strings.HasPrefix(rest, "#") {
		_, rest, _ = strings.Cut(rest, "\n")
	}
	line, rest, _ := strings.Cut(rest, "\n")
	feature, row, _ := strings.Cut(line, " ")
	if feature != "bias" {
		return fmt.Errorf("data/weights.txt: want the bias first, have %q", feature)
	}
	w.raw = rest
	var err error
	if w.bias, err = w.row(nil, row); err != nil {
		return err
	}
	r.w = w
	return nil
}

// row reads "topic=number topic=number", behind what out has.
func (w *weights) row(out []weight, text string) ([]weight, error) {
	for text != "" {
		var one string
		one, text, _ = strings.Cut(text, " ")
		name, value, ok := strings.Cut(one, "=")
		v, err := strconv.Atoi(value)
		if !ok || err != nil {
			return out, fmt.Errorf("data/weights.txt: want topic=number, have %q", one)
		}
		if t, ok := w.at[name]; ok { // else a topic that is no more
			out = append(out, weight{int32(t), int32(v)})
		}
	}
	return out, nil
}

// find gives the weights of a feature out of the text, as they are written.
func (w *weights) find(feature []byte) (string, bool) {
	lo, hi := 0, len(w.raw)
	for lo < hi {
		mid := (lo + hi) / 2
		start := strings.LastIndexByte(w.raw[:mid], '\n') + 1
		end := len(w.raw)
		if n := strings.IndexByte(w.raw[start:], '\n'); n >= 0 {
			end = start + n
		}
		name, row, _ := strings.Cut(w.raw[start:end], " ")
		switch strings.Compare(name, string(feature)) {
		case 0:
			return row, true
		case -1:
			lo = end + 1
		default:
			hi = start
		}
	}
	return "", false
}

// weightTable is the features by number, for a program that answers many questions.
type weightTable struct {
	tag            []int32          // feature by tag, -1 for none
	neg            []int32          // by negated tag
	words          map[string]int32 // a word's number
	word           []int32          // feature by word number, -1 for none
	bigram         map[uint64]int32
	pair           map[uint32]int32
	mates          []tagSet            // by tag, those that it has a pair with
	leads          []bool              // by word number, whether a pair of words begins with it
	strange, share [StrangeSteps]int32 // feature by step, -1 for none
	row            [][]weight          // by feature
}

// warm makes the table, once.
func (w *weights) warm(x *lexicon) error {
	w.once.Do(func() {
		t, err := w.tabulate(x)
		if err != nil {
			w.err = err
			return
		}
		w.table.Store(t)
	})
	return w.err
}

func (w *weights) tabulate(x *lexicon) (*weightTable, error) {
	n := len(x.names)
	t := &weightTable{tag: make([]int32, n), neg: make([]int32, n)}
	for i := range t.tag {
		t.tag[i], t.neg[i] = -1, -1
	}
	for i := range StrangeSteps {
		t.strange[i], t.share[i] = -1, -1
	}
	lines := strings.Count(w.raw, "\n")
	t.words = make(map[string]int32, lines)
	t.word = make([]int32, 0, lines)
	t.bigram = make(map[uint64]int32, lines)
	t.pair = make(map[uint32]int32, lines)
	t.row = make([][]weight, 0, lines)
	t.mates = make([]tagSet, n)
	for rest := w.raw; rest != ""; {
		var line string
		line, rest, _ = strings.Cut(rest, "\n")
		feature, text, _ := strings.Cut(line, " ")
		row, err := w.row(nil, text)
		if err != nil {
			return nil, err
		}
		t.put(x, feature, row)
	}
	return t, nil
}

func (w *weightTable) put(x *lexicon, feature string, row []weight) {
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
		n := w.number(a)
		w.bigram[uint64(n)<<32|uint64(w.number(b))] = f
		w.leads[n] = true
	case "p":
		a, b, _ := strings.Cut(text, "&")
		ta, oka := x.tags[a]
		tb, okb := x.tags[b]
		if !oka || !okb {
			return
		}
		w.pair[pairKey(ta, tb)] = f
		w.mates[ta].add(tb)
		w.mates[tb].add(ta)
	case "n", "m":
		k, err := strconv.Atoi(text)
		if err != nil || k < 0 || k >= StrangeSteps {
			return
		}
		if kind == "n" {
			w.strange[k] = f
		} else {
			w.share[k] = f
		}
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

func (w *weightTable) number(word string) int32 {
	if n, ok := w.words[word]; ok {
		return n
	}
	n := int32(len(w.words))
	w.words[word] = n
	w.word = append(w.word, -1)
	w.leads = append(w.leads, false)
	return n
}

// numberOf is the number of a question's word, -1 where the weights do not know
// it; it is looked up once.
func (w *weightTable) numberOf(t *token) int32 {
	if t.num == 0 {
		t.num = -1
		if n, ok := w.words[t.text]; ok {
			t.num = n + 1
		}
	}
	return max(t.num-1, -1)
}

// known says whether a labelled question has a word.
func (w *weightTable) known(t *token) bool {
	n := w.numberOf(t)
	return n >= 0 && w.word[n] >= 0
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
func (q *Question) features(s Scope, set *tagSet, f func([]weight)) {
	w := q.r.w
	if q.later {
		_ = w.warm(q.r.x) // the text still answers where it fails; Warm tells
	}
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
	if t := w.table.Load(); t != nil {
		q.tableFeatures(t, s, tags, f)
		return
	}
	q.textFeatures(w, s, tags, f)
}

func (q *Question) tableFeatures(w *weightTable, s Scope, tags []Tag, f func([]weight)) {
	for i, t := range tags {
		if k := w.tag[t]; k >= 0 {
			f(w.row[k])
		}
		mates := &w.mates[t]
		for _, u := range tags[i+1:] {
			if mates.has(u) {
				f(w.row[w.pair[pairKey(t, u)]])
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
				f(w.row[n])
			}
		}
	}
	n, m := q.strange(s, func(i int) bool { return w.known(&q.toks[i]) })
	if k := w.strange[n]; k >= 0 {
		f(w.row[k])
	}
	if k := w.share[m]; k >= 0 {
		f(w.row[k])
	}
	prev := int32(-1)
	for i := s.start; i < s.end; i++ {
		t := &q.toks[i]
		n := int32(-1)
		if t.kind == wordToken {
			n = w.numberOf(t)
		}
		if n < 0 {
			prev = -1
			continue
		}
		if k := w.word[n]; k >= 0 {
			f(w.row[k])
		}
		if prev >= 0 && w.leads[prev] {
			if k, ok := w.bigram[uint64(prev)<<32|uint64(n)]; ok {
				f(w.row[k])
			}
		}
		prev = n
	}
}

// textFeatures does what tableFeatures does, by the features' names.
func (q *Question) textFeatures(w *weights, s Scope, tags []Tag, f func([]weight)) {
	var key []byte
	var row []weight
	try := func(parts ...string) {
		key = key[:0]
		for _, p := range parts {
			key = append(key, p...)
		}
		text, ok := w.find(key)
		if !ok {
			return
		}
		var err error
		if row, err = w.row(row[:0], text); err == nil {
			f(row)
		}
	}
	name := func(t Tag) string { return q.x.names[t] }
	for i, t := range tags {
		try("t:", name(t))
		for _, u := range tags[i+1:] {
			try("p:", min(name(t), name(u)), "&", max(name(t), name(u)))
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if !h.negated || !s.holds(h.start, h.end) {
			continue
		}
		for _, t := range h.tags {
			try("!:", name(t))
		}
	}
	n, m := q.strange(s, q.knownWord())
	try("n:", strconv.Itoa(n))
	try("m:", strconv.Itoa(m))
	prev := ""
	for i := s.start; i < s.end; i++ {
		t := &q.toks[i]
		if t.kind != wordToken {
			prev = ""
			continue
		}
		try("w:", t.text)
		if prev != "" {
			try("b:", prev, "_", t.text)
		}
		prev = t.text
	}
}

// StrangeSteps is how finely strange words are told apart.
const StrangeSteps = 6

// strangeLen is the length from which a word says something of a topic.
const strangeLen = 4

// strange counts the words of a scope that neither a lexicon nor a labelled
// question knows, up to a few, and what share of the longer words they are.
func (q *Question) strange(s Scope, known func(i int) bool) (n, share int) {
	words := 0
	for i := s.start; i < s.end; i++ {
		t := &q.toks[i]
		if t.kind != wordToken || len(t.text) < strangeLen {
			continue
		}
		words++
		if q.hitAt[i] < 0 && !known(i) {
			n++
		}
	}
	if n > 0 {
		share = min(1+n*(2*StrangeSteps-4)/max(words, 3)/2, StrangeSteps-1)
	}
	return min(n, StrangeSteps-1), share
}

// Strange is how many words of the question neither a lexicon nor a labelled
// question knows, up to a few.
func (q *Question) Strange() int {
	n, _ := q.strange(q.Whole(), q.knownWord())
	return n
}

// knownWord says of a word whether a labelled question has it.
func (q *Question) knownWord() func(i int) bool {
	w := q.r.w
	if t := w.table.Load(); t != nil {
		return func(i int) bool { return t.known(&q.toks[i]) }
	}
	var key []byte
	return func(i int) bool {
		key = append(append(key[:0], "w:"...), q.toks[i].text...)
		_, ok := w.find(key)
		return ok
	}
}

// StrangeNames are the features of strange words, for learning.
func (q *Question) StrangeNames(known func(word string) bool) []string {
	n, m := q.strange(q.Whole(), func(i int) bool { return known(q.toks[i].text) })
	return []string{"n:" + strconv.Itoa(n), "m:" + strconv.Itoa(m)}
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
			a, b := q.x.names[t], q.x.names[u]
			seen["p:"+min(a, b)+"&"+max(a, b)] = true
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

// summaryTopic is what the club's summaries answer and no check.
const summaryTopic = "summary"

// weigh sums the learned weights by topic, "" first and the summaries last.
func (q *Question) weigh(s Scope, set *tagSet) [maxTopics]int32 {
	w := q.r.w
	var acc [maxTopics]int32
	for _, b := range w.bias {
		acc[b.topic] += b.n
	}
	q.features(s, set, func(row []weight) {
		for _, x := range row {
			acc[x.topic] += x.n
		}
	})
	return acc
}

// Summarised says by how many points the question looks more like one that the
// club's summaries answer than like one about something else.
func (q *Question) Summarised() int {
	acc := q.weigh(q.Whole(), &q.set)
	return int(acc[len(q.r.topics)+1]-acc[0]) / hundred
}

// learned adds the learned weights to the cues' sums. The score of "none of
// them" becomes the threshold, so that a topic with Enough is likelier than none.
func (q *Question) learned(s Scope, set *tagSet, sums []int32) {
	if s.end-s.start < len(q.toks) {
		return // learned from whole questions, not from clauses
	}
	acc := q.weigh(s, set)
	none := max(acc[0], acc[len(sums)+1])
	for i := range sums {
		d := int32(math.Round(float64(acc[i+1]-none) / hundred))
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
	mostDoubt = 25
)

// maxTopics bounds the topics and "none of them".
const maxTopics = 64
