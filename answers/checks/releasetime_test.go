package checks

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"testing"

	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/lang"
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

// TestReleaseTimeWorked asks the worked examples of the rule facts as questions.
// Marks: D worked out from the rules, P the published text was seen, R restated
// by an officials' association, M from memory.
func TestReleaseTimeWorked(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	const hs = "NFHS Boys Lacrosse Rules Book, rule 7: "
	for _, tc := range []struct {
		name, source, bound, text, verdict, values string
	}{
		{"a: a goal releases", "facts (a), D of " + hs + "a goal releases releasable time (R)", "HS",
			"slash, one minute releasable from 8:00 in the 1st, they score at 7:25. when is he back", "info",
			`{"release_period":1,"release_clock":"7:25","at_goal":true,"served_s":35}`},
		{"b: not a non-releasable one", "facts (b), D of " + hs + "non-releasable time (R)", "HS",
			"one minute non-releasable from 8:00 in the 1st, they score at 7:25. when is he back", "info",
			`{"release_period":1,"release_clock":"7:00","at_goal":false,"served_s":60}`},
		{"c: over the end of a period, U13", "facts (c), D of M; 10:00 periods: Boys Youth Rules Guidebook, 2016, p. 32 (P)", "U13",
			"technical foul, 30 seconds, 0:20 left in the 1st. back when", "info",
			`{"release_period":2,"release_clock":"9:50","at_goal":false,"served_s":30}`},
		{"c: U11, 8:00 stop time", "the same", "U11",
			"technical foul, 30 seconds, 0:20 left in the 1st. back when", "info",
			`{"release_period":2,"release_clock":"7:50","at_goal":false,"served_s":30}`},
		{"c: U11, 12:00 running time", "the same", "U11",
			"running time. technical foul, 30 seconds, 0:20 left in the 1st. back when", "info",
			`{"release_period":2,"release_clock":"11:50","at_goal":false,"served_s":30}`},
		{"c: no division, they differ", "the same, with the answer contract's rule on divisions", "",
			"technical foul, 30 seconds, 0:20 left in the 1st. back when", "need", `{}`},
		{"d: time common to both", "facts (d), P: NFHS Boys Lacrosse Rules Book, 7-6, case 4.10 D", "HS",
			"B1 0:30 hold, A2 1:00 slash, same restart at 8:00 of the 2nd. when are they out", "info",
			`{"release_period":2,"release_clock":"7:30","at_goal":false,"served_s":30,"releases":[` +
				`{"who":"B1","team":"B","release_period":2,"release_clock":"7:30","served_s":30,"at_goal":false},` +
				`{"who":"A2","team":"A","release_period":2,"release_clock":"7:00","served_s":60,"at_goal":false}]}`},
		{"e: matched, two goals", "facts (e), D", "HS",
			"B1 2:00 slash and A2 1:00 slash, both from 12:00 of the 1st. A scores at 11:20 and 10:40. when are they out", "info",
			`{"release_period":1,"release_clock":"10:40","at_goal":true,"served_s":80,"releases":[` +
				`{"who":"B1","team":"B","release_period":1,"release_clock":"10:40","served_s":80,"at_goal":true},` +
				`{"who":"A2","team":"A","release_period":1,"release_clock":"11:00","served_s":60,"at_goal":false}]}`},
		{"f: one of each kind", "facts (f), D", "HS",
			"B1 1:00 unsportsmanlike and B2 1:00 trip from 12:00 of the 1st, A scores at 11:45. when are they out", "info",
			`{"release_period":1,"release_clock":"11:00","at_goal":false,"served_s":60,"releases":[` +
				`{"who":"B1","team":"B","release_period":1,"release_clock":"11:00","served_s":60,"at_goal":false},` +
				`{"who":"B2","team":"B","release_period":1,"release_clock":"11:45","served_s":15,"at_goal":true}]}`},
		{"g: the fourth starts when the goal makes room", "facts (g), R", "HS",
			"four technicals from 8:00 of the 1st: B1, B2, B3 and B4. A scores at 7:50. when are they out", "info",
			`{"release_period":1,"release_clock":"7:50","at_goal":true,"served_s":10,"releases":[` +
				`{"who":"B1","team":"B","release_period":1,"release_clock":"7:50","served_s":10,"at_goal":true},` +
				`{"who":"B2","team":"B","release_period":1,"release_clock":"7:50","served_s":10,"at_goal":true},` +
				`{"who":"B3","team":"B","release_period":1,"release_clock":"7:50","served_s":10,"at_goal":true},` +
				`{"who":"B4","team":"B","release_period":1,"release_clock":"7:20","served_s":30,"at_goal":false}]}`},
		{"two overtimes, then a tie", "Boys Youth Rules Guidebook, 2016, p. 32 (P): U13", "U13",
			"second overtime, 0:20 left, one minute slash. when is he back", "info", `{"at_goal":false,"served_s":20,"left_s":40}`},
		{"overtime repeated", "NFHS Boys Lacrosse Rules Book (P): overtime", "HS",
			"second overtime, 0:20 left, one minute slash. when is he back", "info",
			`{"release_period":7,"release_clock":"3:20","at_goal":false,"served_s":60}`},
		{"no overtime", "Boys Youth Rules Guidebook, 2016, p. 32 (P): U11", "U11",
			"0:20 left in the 4th, one minute slash. when is he back", "info", `{"at_goal":false,"served_s":20,"left_s":40}`},
		{"two halves", "the league's decision for U9 (I)", "U9",
			"0:20 left in the first half, one minute slash. when is he back", "info",
			`{"release_period":2,"release_clock":"19:20","at_goal":false,"served_s":60}`},
		{"a fixed time from the sheet", "NFHS boys lacrosse rules changes, 2020, 5-5 (P): illegal crosse, two minutes, non-releasable", "",
			"illegal crosse at 5:00 in the 2nd, they scored at 4:30. when is he back", "info",
			`{"release_period":2,"release_clock":"3:00","at_goal":false,"served_s":120}`},
		{"a range that was not said", "facts, table of fouls: slashing 60 to 180 (R)", "U13", "slash at 5:00 in the 2nd. when is he back", "need", `{}`},
		{"no clock", "the answer contract: one more fact is asked for", "U13", "one minute slash. when is he back", "need", `{}`},
		{"no period, and it does not matter", "D: the clock is the same in every period", "U13", "one minute slash at 5:00. when is he back", "info",
			`{"release_clock":"4:00","at_goal":false,"served_s":60}`},
		{"no period, and it matters", "D: in the last period there is no next", "U13", "one minute slash at 0:20. when is he back", "need", `{}`},
		{"roughness in high school", "facts, table of fouls: unless it targets (R)", "HS",
			"unnecessary roughness, one minute, 5:00 in the 2nd, they scored at 4:30. when is he back", "need", `{}`},
		{"roughness in youth", "facts, table of fouls: NR in youth (C)", "U13",
			"unnecessary roughness, one minute, 5:00 in the 2nd, they scored at 4:30. when is he back", "info",
			`{"release_period":2,"release_clock":"4:00","at_goal":false,"served_s":60}`},
		{"a clock that this age does not have", "D of 10:00 periods", "U13", "one minute slash at 11:30 in the 2nd. when is he back", "need", `{}`},
		{"an own goal releases nobody", hs + "it releases the team scored on (R)", "U13",
			"our #5 one minute slash from 5:00 in the 2nd, WE scored at 4:30. when is he back", "info",
			`{"release_period":2,"release_clock":"4:00","at_goal":false,"served_s":60}`},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r, _ := s.release(t, tc.text, tc.bound, nil)
			got, err := answer.Fields(r.Values()).MarshalJSON()
			if err != nil {
				t.Fatal(err)
			}
			if r.Verdict != tc.verdict || tc.verdict == answer.Info && string(got) != tc.values {
				t.Errorf("%q (source: %s)\n got %s %s (%s)\nwant %s %s", tc.text, tc.source, r.Verdict, got, r.Head, tc.verdict, tc.values)
			}
		})
	}
}

// TestReleaseTimeTexts: every text that a ruling names exists in both languages.
func TestReleaseTimeTexts(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	texts, err := lang.Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"one minute slash at 5:00 in the 2nd, they scored at 4:30", "one minute slash at 5:00 in the 2nd, goal at 4:30", "one minute slash at 5:00", "one minute slash at 5:00, they score at 4:30",
		"U11 one minute slash at 0:20 in the 4th", "U15 one minute slash at 0:20 in the 4th", "U15 overtime one minute slash at 3:20, they score at 3:00", "slash at 3:20 in the 2nd", "slash", "one minute penalty 5:00 in the 2nd they scored at 4:30",
		"one minute slash at 5:00 in the 2nd and they scored", "our #1 slash one minute and their #2 slash one minute 5:00 in the 2nd, goal at 4:30", "U13 one minute slash at 11:00 in the 2nd", "U9 one minute slash in the 3rd at 5:00",
		"four technicals from 8:00 of the 1st: #1, #2, #3 and #4. they score at 7:50", "U11 #1 and #2 each one minute slash 0:20 in the 4th", "#1 and #2 each one minute slash 5:00", "our #1 slash one minute, their #2 hold 30 seconds, 5:00 in the 2nd",
		"our #5 one minute slash from 5:00 in the 2nd, WE scored at 4:30", "3 min non releasable 5:00 in the 2nd", "U13 one minute slash 0:20 in the 2nd, they score at 11:00 in the 3rd", "one minute slash 0:20",
	} {
		r, _ := s.release(t, text, "", nil)
		for _, l := range lang.Languages {
			for _, key := range append([]string{r.Head}, r.Lines()...) {
				if !texts.Has(l, releaseTopic, key) && !texts.Has(l, "common", key) {
					t.Errorf("%q: no text %q in %s", text, key, l)
				}
			}
		}
	}
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
			for _, name := range []string{"period", "clock", "period_length_s"} {
				if v, ok := facts.Get(name); ok && w.Want.Facts[name] != nil {
					got := any(float64(v.Lo) / float64(one))
					if name == "clock" {
						got = measure.Clock(int(v.Lo))
					}
					if !within(w.Want.Facts[name], got) {
						t.Logf("%s %q: %s is %v, want %v", w.ID, w.Q, name, got, w.Want.Facts[name])
					}
				} else if w.Want.Facts[name] != nil {
					t.Logf("%s %q: no %s", w.ID, w.Q, name)
				}
			}
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
