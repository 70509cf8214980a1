package checks

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"testing"

	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/config"
)

// shop is the shipped book with a recogniser that knows its divisions.
type shop struct {
	book *book.Book
	rec  *question.Recogniser
}

func openShop(tb testing.TB) *shop {
	tb.Helper()
	b, err := book.Load(tb.Context(), config.ShippedBook())
	if err != nil {
		tb.Fatal(err)
	}
	var v question.Vocabulary
	for _, d := range b.Divisions {
		v.Divisions = append(v.Divisions, question.Division{ID: d.ID, Under: d.Under, Band: d.Band, Aliases: d.Aliases})
	}
	r, err := question.NewRecogniser(v)
	if err != nil {
		tb.Fatal(err)
	}
	return &shop{b, r}
}

// release decides a question that is taken to be about release times, for the
// division it names or the one bound; without one for every division, as the
// desk does: those for whom the book has no rule are left out, and where the
// others differ the division is asked for.
func (s *shop) release(tb testing.TB, text, bound string, before question.Facts) (Ruling, question.Facts) {
	tb.Helper()
	q := s.rec.Read(text, "")
	check := releaseTime()
	facts := q.Fill(check.Wants, q.Whole(), nil)
	for _, old := range before {
		now, ok := facts.Get(old.Name)
		if !ok {
			facts = append(facts, old)
			continue
		}
		if m, ok := now.Obj.(question.Merger); ok {
			now.Obj = m.Over(old.Val.Obj)
			facts = facts.Set(old.Name, now)
		}
	}
	ds := q.Divisions(q.Whole())
	if len(ds) == 0 && bound != "" {
		ds = append(ds, s.book.Sheet.DivisionIndex(bound))
	}
	if v, ok := before.Get("division"); ok && len(ds) == 0 {
		ds = append(ds, int(v.Lo))
	}
	known := len(ds) > 0
	if known {
		facts = facts.Set("division", question.Val{Lo: int64(ds[0])})
	} else {
		for i := range s.book.Divisions {
			ds = append(ds, i)
		}
	}
	var out *Ruling
	for _, d := range ds {
		c := Case{Sheet: s.book.Sheet, On: measure.Date(20270410), Division: d, DivKnown: known, Topic: check.Topic, Facts: facts, Asked: q.Asked(q.Whole())}
		check.Decide(&c)
		switch {
		case c.Verdict == answer.NoAnswer && out != nil:
		case out == nil || out.Verdict == answer.NoAnswer:
			r := c.Ruling
			out = &r
		case out.Verdict != c.Verdict || c.Verdict == answer.Info && !(answer.Val{Kind: answer.Rows, R: []answer.Fields{out.Values()}}).Equal(answer.Val{Kind: answer.Rows, R: []answer.Fields{c.Values()}}):
			var r Ruling
			r.Need("division")
			out = &r
			return *out, facts
		}
	}
	return *out, facts
}

type wanted struct {
	ID       string `json:"id"`
	Q        string `json:"q"`
	Division string `json:"division"`
	Thread   string `json:"thread"`
	Want     struct {
		Topic   string         `json:"topic"`
		Verdict string         `json:"verdict"`
		Also    []string       `json:"also"`
		Values  map[string]any `json:"values"`
		Facts   map[string]any `json:"facts"`
	} `json:"want"`
}

// TestReleaseTimeCorpus asks the development corpus's questions about release
// times, the topic given.
func TestReleaseTimeCorpus(t *testing.T) {
	s := openShop(t)
	total, right := 0, 0
	for _, file := range []string{"en-game.jsonl", "es.jsonl"} {
		f, err := os.Open("../../testdata/questions/" + file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		threads := map[string]question.Facts{}
		sc := bufio.NewScanner(f)
		sc.Buffer(nil, 1<<20)
		for sc.Scan() {
			var w wanted
			if err := json.Unmarshal(sc.Bytes(), &w); err != nil {
				t.Fatal(err)
			}
			if w.Want.Topic != releaseTopic {
				continue
			}
			r, facts := s.release(t, w.Q, w.Division, threads[w.Thread])
			if w.Thread != "" {
				threads[w.Thread] = facts
			}
			total++
			if why := differs(&w, &r); why != "" {
				t.Logf("%s %q: %s", w.ID, w.Q, why)
				continue
			}
			right++
		}
	}
	t.Logf("%d of %d right", right, total)
	if right*100 < total*95 {
		t.Errorf("%d of %d right, want 95 in a hundred", right, total)
	}
}

func differs(w *wanted, r *Ruling) string {
	got, err := answer.Fields(r.Values()).MarshalJSON()
	if err != nil {
		return err.Error()
	}
	if r.Verdict != w.Want.Verdict {
		ok := false
		for _, a := range w.Want.Also {
			ok = ok || a == r.Verdict
		}
		if !ok {
			return "verdict " + r.Verdict + " (" + r.Head + ") " + string(got)
		}
	}
	var have map[string]any
	if err := json.Unmarshal(got, &have); err != nil {
		return err.Error()
	}
	for k, v := range w.Want.Values {
		if !within(v, have[k]) {
			return k + ": " + string(got)
		}
	}
	return ""
}

// within says whether everything wanted is there.
func within(want, have any) bool {
	switch w := want.(type) {
	case float64:
		h, ok := have.(float64)
		return ok && math.Abs(h-w) <= 0.02
	case []any:
		h, ok := have.([]any)
		if !ok || len(h) != len(w) {
			return false
		}
		for i := range w {
			if !within(w[i], h[i]) {
				return false
			}
		}
		return true
	case map[string]any:
		h, ok := have.(map[string]any)
		for k, v := range w {
			if !ok || !within(v, h[k]) {
				return false
			}
		}
		return ok
	}
	return want == have
}
