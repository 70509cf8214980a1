package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/rulesindex"
	"sidewall/rulesindex/relevance"
)

// benchDay is the day of every question.
const benchDay = measure.Date(20270410)

// structured reads the questions that a check answers.
func structured(testdata string) ([]answers.Request, error) {
	files, err := filepath.Glob(filepath.Join(testdata, "questions", "*.jsonl"))
	if err != nil || len(files) == 0 {
		return nil, fmt.Errorf("no questions under %s: %w", testdata, err)
	}
	var out []answers.Request
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("read the questions: %w", err)
		}
		dec := json.NewDecoder(bytes.NewReader(raw))
		for {
			var l struct {
				Q, Division, Position, Thread string
				Want                          struct{ Topic string }
			}
			if err := dec.Decode(&l); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			if l.Thread == "" && l.Want.Topic != "" && l.Want.Topic != "summary" {
				out = append(out, answers.Request{Text: l.Q, Division: l.Division, Position: l.Position, On: benchDay})
			}
		}
	}
	return out, nil
}

// searcher lets the desk search an index.
type searcher struct{ live *rulesindex.Live }

func (s searcher) Search(ctx context.Context, q answers.Search) ([]answer.Found, error) {
	hits, err := s.live.Search(ctx, rulesindex.Query{Text: q.Text, Lang: q.Lang, Division: q.Division, On: q.On, Limit: q.Limit})
	if err != nil {
		return nil, err
	}
	out := make([]answer.Found, len(hits))
	for i, h := range hits {
		out[i] = answer.Found{ID: h.ID, Title: h.Title, Section: h.Section, Score: h.Score, Snippet: h.Snippet}
	}
	return out, nil
}

// grown is the book with its summaries repeated up to n, each copy with a word of
// its own, so that the vocabulary grows as a real book's does.
func grown(b *book.Book, n int) *book.Book {
	out := *b
	out.Summaries = slices.Clone(b.Summaries[:min(n, len(b.Summaries))])
	for i := 0; len(out.Summaries) < n; i++ {
		s := *b.Summaries[i%len(b.Summaries)]
		s.ID = fmt.Sprintf("%s-%d", s.ID, i)
		s.Title = fmt.Sprintf("%s zq%dx", s.Title, i)
		out.Summaries = append(out.Summaries, &s)
	}
	return &out
}

// bench runs benchmarks and keeps their lines.
type bench struct {
	w     io.Writer // what people read
	lines io.Writer // what benchstat reads
	count int
	err   error
}

// run is the median time of an operation. Every run is one line.
func (t *bench) run(name string, op func(i int) error) float64 {
	if t.err != nil {
		return 0
	}
	times := make([]float64, 0, t.count)
	for range t.count {
		r := testing.Benchmark(func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				if err := op(i); err != nil {
					t.err = fmt.Errorf("%s: %w", name, err)
					b.FailNow()
				}
			}
		})
		if t.err != nil {
			return 0
		}
		fmt.Fprintf(t.lines, "Benchmark%s-%d\t%s\t%s\n", name, runtime.GOMAXPROCS(0), r.String(), r.MemString())
		times = append(times, float64(r.T.Nanoseconds())/float64(r.N))
	}
	slices.Sort(times)
	return times[len(times)/2]
}

// ratio prints two medians of one run against each other.
func (t *bench) ratio(what string, ours, theirs float64) {
	if t.err == nil {
		fmt.Fprintf(t.w, "%-52s %10.1f µs %10.1f µs %8.2f\n", what, ours/1e3, theirs/1e3, ours/theirs)
	}
}

func speed(ctx context.Context, w io.Writer, b *book.Book, o options) (err error) {
	t := &bench{w: w, lines: io.Discard, count: o.count}
	if o.out != "" {
		f, err := os.Create(o.out)
		if err != nil {
			return fmt.Errorf("make the file for benchstat: %w", err)
		}
		buf := bufio.NewWriter(f)
		defer func() { err = errors.Join(err, buf.Flush(), f.Close()) }()
		fmt.Fprintf(buf, "goos: %s\ngoarch: %s\npkg: sidewall/cmd/bench\n", runtime.GOOS, runtime.GOARCH)
		t.lines = buf
	}
	reqs, err := structured(o.testdata)
	if err != nil {
		return err
	}
	c, err := bookCollection(b, filepath.Join(o.testdata, "questions", "search", "dev.jsonl"))
	if err != nil {
		return err
	}
	if err := t.questions(ctx, b, c, reqs); err != nil {
		return err
	}
	for _, n := range o.sizes {
		if err := t.size(ctx, grown(b, n), n, c.questions); err != nil {
			return err
		}
	}
	return t.throughput(ctx, b, c, reqs)
}

func openDesk(ctx context.Context, b *book.Book) (*answers.Desk, *rulesindex.Live, error) {
	ix, err := rulesindex.Build(ctx, b, rulesindex.Options{})
	if err != nil {
		return nil, nil, fmt.Errorf("index the summaries: %w", err)
	}
	live := rulesindex.NewLive(ix)
	d, err := answers.New(b, answers.WithSearch(searcher{live}))
	if err == nil {
		err = d.Warm()
	}
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("make the desk: %w", err), live.Close())
	}
	return d, live, nil
}

// questions compares single questions over the shipped book.
func (t *bench) questions(ctx context.Context, b *book.Book, c *collection, reqs []answers.Request) (err error) {
	d, live, err := openDesk(ctx, b)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, live.Close()) }()
	bl, err := newBleve(c.docs, "", "")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, bl.close()) }()
	fts, err := newFTS(ctx, c.docs, "porter unicode61")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, fts.close()) }()

	fmt.Fprintf(t.w, "%-52s %13s %13s %8s\n", "shipped book, median of each", "sidewall", "peer", "ratio")
	ask := t.run("Structured/sidewall", func(i int) error {
		_, err := d.Ask(ctx, reqs[i%len(reqs)], nil)
		return err
	})
	via := func(e engine) func(int) error {
		return func(i int) error {
			_, err := e.search(ctx, reqs[i%len(reqs)].Text, "", 3)
			return err
		}
	}
	t.ratio("a structured question / bleve, the same words", ask, t.run("Structured/bleve", via(bl)))
	t.ratio("a structured question / FTS5, the same words", ask, t.run("Structured/fts5", via(fts)))

	qs := c.questions
	find := t.run("Summary/sidewall", func(i int) error {
		_, err := live.Search(ctx, rulesindex.Query{Text: qs[i%len(qs)].Text, Lang: qs[i%len(qs)].Lang, On: benchDay})
		return err
	})
	ix, err := rulesindex.Build(ctx, b, rulesindex.Options{})
	if err != nil {
		return fmt.Errorf("index the summaries: %w", err)
	}
	defer func() { err = errors.Join(err, ix.Close()) }()
	t.ratio("a summary question / the bleve query it sends", find, t.run("Summary/bare", bare(ctx, ix, qs)))
	t.ratio("a summary question / FTS5 bm25", find, t.run("Summary/fts5", func(i int) error {
		_, err := fts.search(ctx, qs[i%len(qs)].Text, "", 3)
		return err
	}))
	return t.err
}

// bare sends the bleve queries of the questions, and nothing else.
func bare(ctx context.Context, ix *rulesindex.Index, qs []relevance.Question) func(int) error {
	var sends []func(context.Context) error
	for _, q := range qs {
		if send := ix.Bare(rulesindex.Query{Text: q.Text, Lang: q.Lang}); send != nil {
			sends = append(sends, send)
		}
	}
	return func(i int) error { return sends[i%len(sends)](ctx) }
}

// heap is what lives on the heap.
func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// size builds an index of n summaries, replaces it while it serves, and compares its
// search with the bare query. A build takes seconds: it is timed once.
func (t *bench) size(ctx context.Context, b *book.Book, n int, qs []relevance.Question) (err error) {
	before := heap()
	start := time.Now()
	ix, err := rulesindex.Build(ctx, b, rulesindex.Options{})
	if err != nil {
		return fmt.Errorf("index %d summaries: %w", n, err)
	}
	built := time.Since(start)
	used := int64(heap()) - int64(before)
	fmt.Fprintf(t.lines, "BenchmarkBuild/%d-%d\t1\t%d ns/op\t%d heap-B\n", n, runtime.GOMAXPROCS(0), built.Nanoseconds(), used)

	find := t.run(fmt.Sprintf("Summary%d/sidewall", n), func(i int) error {
		_, err := ix.Search(ctx, rulesindex.Query{Text: qs[i%len(qs)].Text, Lang: qs[i%len(qs)].Lang})
		return err
	})
	sent := t.run(fmt.Sprintf("Summary%d/bare", n), bare(ctx, ix, qs))

	live := rulesindex.NewLive(ix)
	defer func() { err = errors.Join(err, live.Close()) }()
	reloaded, asked, err := reload(ctx, live, b, qs)
	if err != nil {
		return fmt.Errorf("reload %d summaries: %w", n, err)
	}
	fmt.Fprintf(t.lines, "BenchmarkReload/%d-%d\t1\t%d ns/op\t%d questions\n", n, runtime.GOMAXPROCS(0), reloaded.Nanoseconds(), asked)
	fmt.Fprintf(t.w, "%d summaries: built in %.2f s, reloaded in %.2f s while %d questions were answered, %.1f MB of heap\n",
		n, built.Seconds(), reloaded.Seconds(), asked, float64(used)/1e6)
	t.ratio("  a summary question / the bleve query it sends", find, sent)
	return t.err
}

// reload builds anew and swaps while another goroutine keeps asking.
func reload(ctx context.Context, live *rulesindex.Live, b *book.Book, qs []relevance.Question) (time.Duration, int64, error) {
	var asked atomic.Int64
	stop := make(chan struct{})
	failed := make(chan error, 1)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				failed <- nil
				return
			default:
			}
			if _, err := live.Search(ctx, rulesindex.Query{Text: qs[i%len(qs)].Text}); err != nil {
				failed <- err
				return
			}
			asked.Add(1)
		}
	}()
	start := time.Now()
	next, err := rulesindex.Build(ctx, b, rulesindex.Options{})
	if err == nil {
		live.Swap(next)
	}
	took := time.Since(start)
	close(stop)
	return took, asked.Load(), errors.Join(err, <-failed)
}

// throughput counts the questions a second, nine structured ones to one that
// searches, on one core and on two.
func (t *bench) throughput(ctx context.Context, b *book.Book, c *collection, reqs []answers.Request) (err error) {
	d, live, err := openDesk(ctx, b)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, live.Close()) }()
	mixed := func(i int) answers.Request {
		if i%10 == 9 {
			q := c.questions[i/10%len(c.questions)]
			return answers.Request{Text: q.Text, Lang: q.Lang, On: benchDay}
		}
		return reqs[i%len(reqs)]
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, cores := range []int{1, 2} {
		runtime.GOMAXPROCS(cores)
		var best float64
		for range t.count {
			perSecond, err := rate(ctx, d, mixed, cores)
			if err != nil {
				return err
			}
			best = max(best, perSecond)
			fmt.Fprintf(t.lines, "BenchmarkThroughput/cores=%d\t1\t%.0f questions/s\n", cores, perSecond)
		}
		fmt.Fprintf(t.w, "%d core(s): %.0f questions a second (the best of %d runs)\n", cores, best, t.count)
	}
	return t.err
}

func rate(ctx context.Context, d *answers.Desk, mixed func(int) answers.Request, workers int) (float64, error) {
	const questions = 4000
	var next atomic.Int64
	var wg sync.WaitGroup
	errs := make([]error, workers)
	start := time.Now()
	for w := range workers {
		wg.Go(func() {
			for i := next.Add(1); i <= questions && errs[w] == nil; i = next.Add(1) {
				_, errs[w] = d.Ask(ctx, mixed(int(i)), nil)
			}
		})
	}
	wg.Wait()
	return questions / time.Since(start).Seconds(), errors.Join(errs...)
}
