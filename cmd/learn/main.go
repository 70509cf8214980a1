// Command learn fits the weights that correct the topic cues to labelled
// questions, and writes them as data:
//
//	go run ./cmd/learn
//
// reads testdata/questions, its topics and the search's dev questions, and writes
// answers/question/data/weights.txt; -o and file names choose others.
// It is a logistic regression over the concepts, words and pairs of a question,
// on top of the hand-written cues' sums. Run it after changing lexicons, cues or
// corpora; with -test FILE… it prints how many topics of other questions come out
// right, and writes nothing.
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/question"
	"sidewall/config"
)

type example struct {
	q     string
	topic int
	sums  []float64 // of the cues, by topic; [0] is the threshold
	feats []int
}

type labelled struct {
	Q      string
	Thread string
	Want   struct{ Topic, Section string }
	Parts  []json.RawMessage
}

func main() {
	out := flag.String("o", "", "where to write the weights")
	test := flag.String("test", "", "comma-separated files of questions to test on instead of writing")
	epochs := flag.Int("epochs", 15, "passes over the questions")
	decay := flag.Float64("decay", 3e-4, "how strongly weights are drawn to 0")
	rare := flag.Int("rare", 3, "features seen less often are left out")
	pairRare := flag.Int("pair-rare", 5, "likewise pairs")
	flag.Parse()
	files := flag.Args()
	if len(files) == 0 {
		var err error
		if files, err = corpora("testdata/questions"); err != nil {
			fmt.Fprintln(os.Stderr, "learn:", err)
			os.Exit(1)
		}
		if *out == "" && *test == "" {
			*out = "answers/question/data/weights.txt"
		}
	}
	if err := run(files, *out, *test, *epochs, *decay, *rare, *pairRare); err != nil {
		fmt.Fprintln(os.Stderr, "learn:", err)
		os.Exit(1)
	}
}

// corpora are the files that are learned from: the graded questions, those that
// say only their topic, and the search's dev half.
func corpora(dir string) ([]string, error) {
	var files []string
	for _, pattern := range [...]string{"*.jsonl", "topics/*.jsonl", "search/dev.jsonl"} {
		more, err := filepath.Glob(filepath.Join(dir, filepath.FromSlash(pattern)))
		if err != nil {
			return nil, fmt.Errorf("find the questions: %w", err)
		}
		files = append(files, more...)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("no questions in %s: run this at the top of the repo", dir)
	}
	return files, nil
}

// cuePoint is how much one point of a hand-written cue weighs in the logistic model.
const cuePoint = 0.2

type trainer struct {
	rec    *question.Recogniser
	topics []string
	at     map[string]int
	feats  map[string]int
	names  []string
	w      [][]float64 // feature, topic
	g      [][]float64 // squared gradients
	bias   []float64
	gb     []float64
}

func run(files []string, out, test string, epochs int, decay float64, rare, pairRare int) error {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		return fmt.Errorf("load the book: %w", err)
	}
	rec, err := question.NewRecogniser(answers.Vocabulary(b))
	if err != nil {
		return fmt.Errorf("make the recogniser: %w", err)
	}
	t := &trainer{rec: rec, at: map[string]int{"": 0}, topics: []string{""}, feats: map[string]int{}}
	for name := range rec.Read("x", "en").CueSums() {
		t.topics = append(t.topics, name)
	}
	t.topics = append(t.topics, "summary")
	sort.Strings(t.topics[1:])
	for i, n := range t.topics {
		t.at[n] = i
	}
	ls, err := read(files)
	if err != nil {
		return err
	}
	counts := map[string]int{}
	var qs []*question.Question
	for _, l := range ls {
		q := rec.Read(l.Q, "")
		qs = append(qs, q)
		for _, f := range q.FeatureNames() {
			counts[f]++
		}
	}
	var names []string
	for f, n := range counts {
		min := rare
		if f[0] == 'p' || f[0] == 'b' {
			min = pairRare
		}
		if n >= min {
			names = append(names, f)
		}
	}
	for i := range question.StrangeSteps {
		names = append(names, fmt.Sprintf("m:%d", i), fmt.Sprintf("n:%d", i))
	}
	sort.Strings(names)
	t.names = names
	for i, f := range names {
		t.feats[f] = i
	}
	var train []example
	for i, l := range ls {
		own := map[string]int{}
		for _, f := range qs[i].FeatureNames() {
			own[f]++
		}
		e := t.example(l, qs[i])
		// a question must not be what makes its own words known
		t.strange(&e, qs[i], func(word string) bool { f := "w:" + word; return counts[f]-own[f] >= rare })
		train = append(train, e)
	}
	t.fit(train, epochs, decay)
	fmt.Printf("%d questions, %d features; on themselves: %s\n", len(train), len(names), t.score(train))
	if test != "" {
		for _, f := range strings.Split(test, ",") {
			ls, err := read([]string{f})
			if err != nil {
				return err
			}
			var ex []example
			for _, l := range ls {
				q := rec.Read(l.Q, "")
				e := t.example(l, q)
				t.strange(&e, q, func(word string) bool { _, ok := t.feats["w:"+word]; return ok })
				ex = append(ex, e)
			}
			fmt.Printf("%s: %s\n", f, t.score(ex))
		}
		return nil
	}
	if out == "" {
		return nil
	}
	return t.write(out)
}

func read(files []string) ([]labelled, error) {
	var out []labelled
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("open questions: %w", err)
		}
		seen := map[string]bool{}
		sc := bufio.NewScanner(f)
		sc.Buffer(nil, 4<<20)
		for n := 1; sc.Scan(); n++ {
			var l labelled
			if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
				f.Close()
				return nil, fmt.Errorf("%s:%d: %w", name, n, err)
			}
			if l.Want.Section != "" { // of the search corpora
				l.Want.Topic = "summary"
			}
			later := l.Thread != "" && seen[l.Thread]
			seen[l.Thread] = true
			if later || len(l.Parts) > 0 || len(l.Q) > question.MaxLen {
				continue // what follows in a thread says its topic no more; two parts have two
			}
			out = append(out, l)
		}
		f.Close()
		if err := sc.Err(); err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
	}
	return out, nil
}

func (t *trainer) example(l labelled, q *question.Question) example {
	e := example{q: l.Q, topic: t.at[l.Want.Topic], sums: make([]float64, len(t.topics))} // a topic that is none of the checks' counts as none
	e.sums[0], e.sums[t.at["summary"]] = question.Enough-0.5, question.Enough-0.5
	for name, n := range q.CueSums() {
		e.sums[t.at[name]] = float64(n)
	}
	for _, f := range q.FeatureNames() {
		if i, ok := t.feats[f]; ok {
			e.feats = append(e.feats, i)
		}
	}
	return e
}

// strange adds the features of words that no other question has.
func (t *trainer) strange(e *example, q *question.Question, known func(word string) bool) {
	for _, f := range q.StrangeNames(known) {
		if i, ok := t.feats[f]; ok {
			e.feats = append(e.feats, i)
		}
	}
}

func (t *trainer) logits(e *example, out []float64) {
	for k := range out {
		out[k] = cuePoint*e.sums[k] + t.bias[k]
	}
	for _, f := range e.feats {
		for k, w := range t.w[f] {
			out[k] += w
		}
	}
}

func (t *trainer) fit(ex []example, epochs int, decay float64) {
	n := len(t.topics)
	t.w, t.g = make([][]float64, len(t.names)), make([][]float64, len(t.names))
	for i := range t.w {
		t.w[i], t.g[i] = make([]float64, n), make([]float64, n)
	}
	t.bias, t.gb = make([]float64, n), make([]float64, n)
	rng := rand.New(rand.NewPCG(1, 2)) // the same weights every time
	p := make([]float64, n)
	order := make([]int, len(ex))
	for i := range order {
		order[i] = i
	}
	const rate = 0.08
	for range epochs {
		rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, i := range order {
			e := &ex[i]
			t.logits(e, p)
			softmax(p)
			p[e.topic]--
			for k := range p {
				t.gb[k] += p[k] * p[k]
				t.bias[k] -= rate * p[k] / (1e-6 + math.Sqrt(t.gb[k]))
			}
			// long questions have many features: each moves less
			s := 1 / math.Sqrt(float64(len(e.feats))+1)
			for _, f := range e.feats {
				w, g := t.w[f], t.g[f]
				for k := range p {
					d := p[k]*s + decay*w[k]
					g[k] += d * d
					if g[k] > 0 {
						w[k] -= rate * d / (1e-2 + math.Sqrt(g[k]))
					}
				}
			}
		}
	}
}

func softmax(p []float64) {
	m := p[0]
	for _, x := range p {
		m = math.Max(m, x)
	}
	sum := 0.0
	for i := range p {
		p[i] = math.Exp(p[i] - m)
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
	}
}

func (t *trainer) score(ex []example) string {
	right, cues := 0, 0
	p := make([]float64, len(t.topics))
	for i := range ex {
		t.logits(&ex[i], p)
		if argmax(p) == ex[i].topic {
			right++
		}
		if argmax(ex[i].sums) == ex[i].topic {
			cues++
		}
	}
	n := float64(len(ex))
	return fmt.Sprintf("%d topics, %.1f %% right (cues alone %.1f %%)", len(ex), 100*float64(right)/n, 100*float64(cues)/n)
}

func argmax(p []float64) int {
	best := 0
	for i := range p {
		if p[i] > p[best] {
			best = i
		}
	}
	return best
}

// least is the smallest weight that is kept, in hundredths of a cue point: smaller ones
// change next to nothing and fill the file.
const least = 50

// write keeps the weights, in hundredths of a cue point.
func (t *trainer) write(name string) error {
	var b strings.Builder
	b.WriteString("# Learned by cmd/learn from testdata/questions; see learned.go. Do not edit.\n")
	row := func(feature string, w []float64) {
		var parts []string
		for k, x := range w {
			if n := int(math.Round(100 * x / cuePoint)); n >= least || n <= -least {
				parts = append(parts, fmt.Sprintf("%s=%d", t.topics[k], n))
			}
		}
		if len(parts) == 0 && strings.HasPrefix(feature, "w:") {
			parts = append(parts, "=0") // a word that says nothing is known all the same
		}
		if len(parts) > 0 {
			b.WriteString(feature + " " + strings.Join(parts, " ") + "\n")
		}
	}
	row("bias", t.bias)
	for i, f := range t.names {
		row(f, t.w[i])
	}
	if err := os.WriteFile(name, []byte(b.String()), 0o644); err != nil {
		return fmt.Errorf("write the weights: %w", err)
	}
	return nil
}
