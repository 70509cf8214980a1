package answers_test

import (
	"bufio"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

// line is one question of the corpora.
type line struct {
	ID, Q, Division, Position, Date, Thread string
	Want                                    struct{ Topic, Verdict string }
}

func corpus(t testing.TB) []line {
	t.Helper()
	files, err := filepath.Glob("../testdata/questions/*.jsonl")
	if err != nil || len(files) == 0 {
		t.Fatalf("no corpora: %v", err)
	}
	var out []line
	for _, f := range files {
		h, err := os.Open(f)
		if err != nil {
			t.Fatal(err)
		}
		defer h.Close()
		sc := bufio.NewScanner(h)
		sc.Buffer(nil, 1<<20)
		for sc.Scan() {
			var l line
			if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
				t.Fatalf("%s: %v", f, err)
			}
			out = append(out, l)
		}
	}
	return out
}

func desk(t testing.TB) *answers.Desk {
	t.Helper()
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	d, err := answers.New(b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func requests(t testing.TB) []answers.Request {
	var out []answers.Request
	for _, l := range corpus(t) {
		if l.Thread != "" || l.Want.Topic == "" {
			continue
		}
		on, _ := measure.ParseDate(l.Date)
		out = append(out, answers.Request{Text: l.Q, Division: l.Division, Position: l.Position, On: on})
	}
	return out
}

// BenchmarkStructured answers the structured questions of all corpora in turn;
// "median-ns" is the median over questions.
func BenchmarkStructured(b *testing.B) {
	d, reqs := desk(b), requests(b)
	ctx := context.Background()
	times := make([]time.Duration, 0, b.N)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		start := time.Now()
		if _, err := d.Ask(ctx, reqs[i%len(reqs)], nil); err != nil {
			b.Fatal(err)
		}
		times = append(times, time.Since(start))
		i++
	}
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)/2].Nanoseconds()), "median-ns")
}
