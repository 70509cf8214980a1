package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"reflect"
	"slices"
	"sort"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/measure"
)

// want is the label of one question: what a right answer must say.
type want struct {
	Topic   string         `json:"topic"`
	Verdict string         `json:"verdict"`
	Also    []string       `json:"also"` // other verdicts that are equally right
	Values  map[string]any `json:"values"`
	Facts   map[string]any `json:"facts"`
}

// labelled is one line of a question corpus: a batch line with its label.
type labelled struct {
	ID       string `json:"id"`
	Q        string `json:"q"`
	Division string `json:"division"`
	Position string `json:"position"`
	Date     string `json:"date"`
	Thread   string `json:"thread"`
	Want     want   `json:"want"`
	Parts    []want `json:"parts"`
	Gap      string `json:"gap"` // why this line is known to fail; it is counted apart
	Source   string `json:"source"`

	file string
	line int
}

// outcome is how an answer compares with its label.
type outcome string

const (
	right        outcome = "right"
	wrongTopic   outcome = "topic"
	wrongVerdict outcome = "verdict"
	wrongValues  outcome = "values"
	wrongFacts   outcome = "facts"
	needless     outcome = "need"
	noneGiven    outcome = "none"
)

// readCorpus reads labelled questions, one JSON object a line.
func readCorpus(name string) ([]labelled, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("open questions: %w", err)
	}
	defer f.Close()
	var out []labelled
	sc := bufio.NewScanner(f)
	sc.Buffer(make([]byte, 0, 64<<10), 4<<20)
	for n := 1; sc.Scan(); n++ {
		if len(strings.TrimSpace(sc.Text())) == 0 {
			continue
		}
		l := labelled{file: name, line: n}
		if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		out = append(out, l)
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	return out, nil
}

// run asks one labelled question.
func run(ctx context.Context, d *answers.Desk, l *labelled, threads map[string]*answers.Thread) (*answer.Answer, error) {
	req := answers.Request{ID: l.ID, Text: l.Q, Division: l.Division, Position: l.Position}
	if l.Date != "" {
		day, err := measure.ParseDate(l.Date)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", l.file, l.line, err)
		}
		req.On = day
	}
	var th *answers.Thread
	if l.Thread != "" {
		if th = threads[l.Thread]; th == nil {
			th = &answers.Thread{}
			threads[l.Thread] = th
		}
	}
	return d.Ask(ctx, req, th)
}

// judge compares an answer with its label.
func judge(l *labelled, a *answer.Answer) (outcome, string) {
	if o, why := judgeOne(&l.Want, a); o != right {
		return o, why
	}
	if len(l.Parts) > 1 {
		if len(a.Parts) < len(l.Parts) {
			return wrongValues, fmt.Sprintf("%d parts, want %d", len(a.Parts), len(l.Parts))
		}
		for i := range l.Parts {
			if o, why := judgeOne(&l.Parts[i], a.Parts[i]); o != right {
				return o, fmt.Sprintf("part %d: %s", i+1, why)
			}
		}
	}
	return right, ""
}

func judgeOne(w *want, a *answer.Answer) (outcome, string) {
	ok := a.Verdict == w.Verdict || slices.Contains(w.Also, a.Verdict)
	switch {
	case w.Verdict == answer.NoAnswer && w.Topic == "" && a.Verdict == answer.NoAnswer:
		return right, ""
	case !ok && a.Verdict == answer.NoAnswer:
		return noneGiven, "none"
	case a.Topic != w.Topic:
		return wrongTopic, fmt.Sprintf("topic %q (%s), want %q (%s)", a.Topic, a.Verdict, w.Topic, w.Verdict)
	case !ok && a.Verdict == answer.Need:
		return needless, fmt.Sprintf("need %v, want %s", a.Missing, w.Verdict)
	case !ok:
		return wrongVerdict, fmt.Sprintf("%s, want %s", a.Verdict, w.Verdict)
	}
	if a.Verdict != w.Verdict {
		return right, "" // another verdict that is right too; its values are its own
	}
	if why := compare(w.Values, a.Values); why != "" {
		return wrongValues, why
	}
	if why := compare(w.Facts, a.Facts); why != "" {
		return wrongFacts, why
	}
	return right, ""
}

// compare says which wanted field is missing or different; "" for none.
func compare(w map[string]any, got answer.Fields) string {
	if len(w) == 0 {
		return ""
	}
	raw, err := got.MarshalJSON()
	if err != nil {
		return err.Error()
	}
	var have map[string]any
	if err := json.Unmarshal(raw, &have); err != nil {
		return err.Error()
	}
	keys := make([]string, 0, len(w))
	for k := range w {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		h, ok := have[k]
		if !ok {
			return fmt.Sprintf("%s is missing, want %v", k, w[k])
		}
		if !alike(w[k], h) {
			return fmt.Sprintf("%s is %v, want %v", k, h, w[k])
		}
	}
	return ""
}

// tolerance of converted values, from the answer contract.
const tolerance = 0.02

// alike compares values: numbers within the tolerance, lists of words as sets,
// lists of rows field by field.
func alike(w, h any) bool {
	switch w := w.(type) {
	case float64:
		f, ok := h.(float64)
		return ok && math.Abs(f-w) <= tolerance+1e-9
	case []any:
		l, ok := h.([]any)
		if !ok || len(l) != len(w) {
			return false
		}
		set := len(w) > 0
		for _, x := range w {
			_, isText := x.(string)
			set = set && isText
		}
		if set {
			return sameSet(w, l)
		}
		for i := range w {
			if !alike(w[i], l[i]) {
				return false
			}
		}
		return true
	case map[string]any:
		m, ok := h.(map[string]any)
		if !ok {
			return false
		}
		for k, v := range w {
			if !alike(v, m[k]) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(w, h)
}

func sameSet(a, b []any) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return true
}

// tally counts outcomes by topic.
type tally struct {
	by        map[string]map[outcome]int
	confusion map[string]int
	dangerous int // a legal or not_legal where the label says otherwise
	gaps      int
	total     int
	right     int
}

func (t *tally) add(l *labelled, a *answer.Answer, o outcome) {
	if l.Gap != "" && o != right {
		t.gaps++
		return
	}
	name := l.Want.Topic
	if name == "" {
		name = "(outside)"
	}
	if t.by == nil {
		t.by, t.confusion = map[string]map[outcome]int{}, map[string]int{}
	}
	if t.by[name] == nil {
		t.by[name] = map[outcome]int{}
	}
	t.by[name][o]++
	t.total++
	if o == right {
		t.right++
	}
	if a.Topic != l.Want.Topic && o != right {
		got := a.Topic
		if got == "" {
			got = "(none)"
		}
		t.confusion[name+" → "+got]++
	}
	if dangerous(l, a) {
		t.dangerous++
	}
}

// dangerous says whether an answer gives a legal or not_legal that the label does not allow.
func dangerous(l *labelled, a *answer.Answer) bool {
	if a.Verdict != answer.Legal && a.Verdict != answer.NotLegal {
		return false
	}
	return a.Verdict != l.Want.Verdict && !slices.Contains(l.Want.Also, a.Verdict)
}

func (t *tally) print(w io.Writer) {
	tw := tabwriter.NewWriter(w, 2, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(tw, "topic\tquestions\tright\tverdict\tvalues\tfacts\tneed\tnone\ttopic\t")
	names := make([]string, 0, len(t.by))
	for n := range t.by {
		names = append(names, n)
	}
	sort.Strings(names)
	sum := map[outcome]int{}
	row := func(name string, c map[outcome]int) {
		n := 0
		for _, v := range c {
			n += v
		}
		fmt.Fprintf(tw, "%s\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t\n", name, n, c[right], c[wrongVerdict], c[wrongValues], c[wrongFacts], c[needless], c[noneGiven], c[wrongTopic])
	}
	for _, n := range names {
		row(n, t.by[n])
		for o, v := range t.by[n] {
			sum[o] += v
		}
	}
	row("all", sum)
	tw.Flush()
	type pair struct {
		name string
		n    int
	}
	var ps []pair
	for k, n := range t.confusion {
		ps = append(ps, pair{k, n})
	}
	sort.Slice(ps, func(i, j int) bool { return ps[i].n > ps[j].n || ps[i].n == ps[j].n && ps[i].name < ps[j].name })
	for i, p := range ps {
		if i == 0 {
			fmt.Fprintln(w, "\ntaken for another topic:")
		}
		if i == 25 {
			fmt.Fprintf(w, "  and %d more\n", len(ps)-i)
			break
		}
		fmt.Fprintf(w, "  %3d  %s\n", p.n, p.name)
	}
	share := 0.0
	if t.total > 0 {
		share = 100 * float64(t.right) / float64(t.total)
	}
	fmt.Fprintf(w, "\n%d of %d right (%.1f %%), %d wrong legal or not_legal", t.right, t.total, share, t.dangerous)
	if t.gaps > 0 {
		fmt.Fprintf(w, ", %d known gaps apart", t.gaps)
	}
	fmt.Fprintln(w)
}

func gradeCommand() *cobra.Command {
	var bookDir, topic string
	var show, search bool
	cmd := &cobra.Command{
		Use:   "grade FILE...",
		Short: "Ask labelled questions and compare the answers with their labels",
		Long: "Ask the questions of one or more files (one JSON object a line, a batch line with a \"want\")\n" +
			"and count, for each topic, what was right and what was not. Exit 1 when an answer said\n" +
			"legal or not legal against its label.\n\n" +
			"With --search the labels name a summary and a section ({\"q\": \"...\", \"want\": {\"id\": \"...\", \"section\": \"...\"}}),\n" +
			"and the search of the summaries is measured: success@1, MRR@10 and nDCG@10.",
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if search {
				return runGradeSearch(cmd, bookDir, args, show)
			}
			d, done, err := openDesk(cmd.Context(), bookDir)
			if err != nil {
				return err
			}
			defer done()
			var t tally
			for _, name := range args {
				ls, err := readCorpus(name)
				if err != nil {
					return usageError{err}
				}
				threads := map[string]*answers.Thread{}
				for i := range ls {
					a, err := run(cmd.Context(), d, &ls[i], threads)
					if err != nil {
						return err
					}
					o, why := judge(&ls[i], a)
					t.add(&ls[i], a, o)
					if show && o != right && ls[i].Gap == "" && (topic == "" || topic == ls[i].Want.Topic || topic == a.Topic) {
						danger := ""
						if dangerous(&ls[i], a) {
							danger = " DANGER"
						}
						fmt.Fprintf(cmd.OutOrStdout(), "%s%s [%s] %s | %s | %s | got %s\n", ls[i].ID, danger, ls[i].Want.Topic, why, ls[i].Q, ls[i].Division, a.Headline)
					}
				}
			}
			t.print(cmd.OutOrStdout())
			if t.dangerous > 0 {
				return failure{fmt.Errorf("%d answers said legal or not legal against their label", t.dangerous)}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&bookDir, "book", "", "the book's folder (default: the book in the program)")
	cmd.Flags().BoolVar(&search, "search", false, "measure the search of the summaries: success@1, MRR@10, nDCG@10")
	cmd.Flags().BoolVar(&show, "show", false, "print each question that was not right")
	cmd.Flags().StringVar(&topic, "topic", "", "with --show: only questions of this topic, or answered as it")
	return cmd
}
