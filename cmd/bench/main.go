// Command bench measures the program beside its peers, in one run on one machine:
// bleve with its default mapping and SQLite's FTS5 over the same summaries.
//
//	go run ./cmd/bench                      speed, memory and questions a second
//	go run ./cmd/bench -quality -ir DIR     how good the search is
//
// DEVELOPERS.md says how to read what it prints.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"sidewall/answers/book"
	"sidewall/config"
)

type options struct {
	quality  bool
	ir       string // the folder of the open collections
	testdata string
	sizes    []int
	count    int
	out      string
}

func main() {
	testing.Init() // its flags say how long a benchmark runs
	var o options
	var sizes, benchtime string
	flag.BoolVar(&o.quality, "quality", false, "measure how good the search is, not how fast")
	flag.StringVar(&o.ir, "ir", os.Getenv("SIDEWALL_IR"), "with -quality: the folder of the open collections, if there is one")
	flag.StringVar(&o.testdata, "testdata", "testdata", "the folder of the labelled questions")
	flag.StringVar(&sizes, "sizes", "300,10000", "how many summaries to build an index of; 100000 takes minutes and some gigabytes")
	flag.IntVar(&o.count, "count", 5, "how often each benchmark runs")
	flag.StringVar(&benchtime, "benchtime", "200ms", "how long each run of a benchmark takes")
	flag.StringVar(&o.out, "o", "", "a file for the lines that benchstat reads")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := flag.Set("test.benchtime", benchtime)
	for s := range strings.SplitSeq(sizes, ",") {
		if s = strings.TrimSpace(s); s == "" {
			continue
		}
		n, bad := strconv.Atoi(s)
		if bad != nil || n <= 0 {
			err = errors.Join(err, fmt.Errorf("-sizes: %q is no number of summaries", s))
		}
		o.sizes = append(o.sizes, n)
	}
	if err == nil && (flag.NArg() > 0 || o.count < 1) {
		err = errors.New("no arguments, and -count of at least 1")
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(2)
	}
	if err := run(ctx, os.Stdout, o); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, w io.Writer, o options) error {
	b, err := book.Load(ctx, config.ShippedBook())
	if err != nil {
		return fmt.Errorf("load the shipped book: %w", err)
	}
	if !o.quality {
		return speed(ctx, w, b, o)
	}
	var cs []*collection
	for _, name := range []string{"questions/search/dev", "questions/search/test", "search/english", "search/held-out"} {
		c, err := bookCollection(b, filepath.Join(o.testdata, filepath.FromSlash(name)+".jsonl"))
		if err != nil {
			return err
		}
		cs = append(cs, c)
	}
	if o.ir != "" {
		c, err := stackFAQ(filepath.Join(o.ir, "stackfaq", "stackExchange-FAQ.json"))
		if err != nil {
			return err
		}
		cs = append(cs, c)
	}
	return quality(ctx, w, cs)
}
