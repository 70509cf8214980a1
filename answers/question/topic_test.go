package question_test

import (
	"bufio"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/question"
	"sidewall/config"
)

type labelled struct {
	ID, Q, Division, Position, Thread string
	Want                              struct{ Topic, Verdict string }
}

func readLabelled(t *testing.T, pattern string) []labelled {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	var out []labelled
	for _, f := range files {
		h, err := os.Open(f)
		if err != nil {
			t.Fatal(err)
		}
		defer h.Close()
		sc := bufio.NewScanner(h)
		sc.Buffer(nil, 1<<20)
		for sc.Scan() {
			var l labelled
			if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
				t.Fatalf("%s: %v", f, err)
			}
			out = append(out, l)
		}
	}
	return out
}

func recogniser(t testing.TB) *question.Recogniser {
	t.Helper()
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	r, err := question.NewRecogniser(answers.Vocabulary(b))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestTopicShow(t *testing.T) {
	pat := os.Getenv("SHOW")
	if pat == "" {
		t.Skip("set SHOW to a corpus file")
	}
	r := recogniser(t)
	conf := map[string]int{}
	n, right := 0, 0
	for _, l := range readLabelled(t, "../../testdata/questions/"+pat) {
		if l.Thread != "" {
			continue
		}
		q := r.Read(l.Q, "")
		sc := q.TopicScores()
		got := ""
		if ps, out := q.Outside(q.Topics()); !out && len(ps) > 0 {
			got = ps[0].Topic
		}
		n++
		if got == l.Want.Topic {
			right++
			continue
		}
		conf[l.Want.Topic+" -> "+got]++
		var tags []string
		for _, w := range q.Words() {
			if x := strings.Join(w.Tags, ","); x != "fn" {
				n := ""
				if w.Negated {
					n = "!"
				}
				tags = append(tags, n+w.Text+"="+x)
			}
		}
		t.Logf("%s want %s got %v | %s | %v", l.ID, l.Want.Topic, sc[:min(3, len(sc))], l.Q, tags)
	}
	var ks []string
	for k := range conf {
		ks = append(ks, k)
	}
	sort.Slice(ks, func(i, j int) bool { return conf[ks[i]] > conf[ks[j]] })
	for _, k := range ks {
		t.Log(conf[k], k)
	}
	t.Logf("%d of %d", right, n)
}
