package answers_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/config"
)

// FuzzAsk asks two questions of any text in one conversation: the desk may not
// panic or fail, and each answer has its caution, a headline and a known verdict.
func FuzzAsk(f *testing.F) {
	for _, s := range [][2]string{
		{"U11 attack, 43 inch stick?", "and at U13?"}, {"can we body check", "u15"}, {"is a 44 legal", "cut 2 inches off"},
		{"¿un palo de 112 cm para portero sub-11?", "y si es defensa"}, {"#4 slashing 1:00 at 6:00 in the 2nd, goal at 5:40", "when is he out"},
		{"", "?"}, {"3", "4 1/2"}, {"born 2/30/2016", "9/1/2015"}, {"heat index 99 humidity", "-4 f"}, {"\xff\x00", "“”½'\""},
		{"two in the box, U9, and does he need rib pads and a cup?", "no"}, {"99999999999999999999 inches", "1/0 in"},
	} {
		f.Add(s[0], s[1], false)
		f.Add(s[1], s[0], true)
	}
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		f.Fatal(err)
	}
	today := time.Date(2027, 4, 10, 12, 0, 0, 0, time.UTC)
	d, err := answers.New(b, answers.WithClock(func() time.Time { return today }))
	if err != nil {
		f.Fatal(err)
	}
	verdicts := []string{answer.Legal, answer.NotLegal, answer.Depends, answer.Info, answer.Need, answer.NoAnswer}
	f.Fuzz(func(t *testing.T, one, two string, bound bool) {
		req := answers.Request{}
		if bound {
			req.Division, req.Position, req.Lang = d.Book().Divisions[0].ID, "goalie", "es"
		}
		thread := &answers.Thread{}
		for _, text := range [...]string{one, two} {
			req.Text = text
			a, err := d.Ask(context.Background(), req, thread)
			if err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			for _, p := range append([]*answer.Answer{a}, a.Parts...) {
				if p.Caution() == "" || p.Headline == "" {
					t.Errorf("%q: caution %q, headline %q", text, p.Caution(), p.Headline)
				}
				if !slices.Contains(verdicts, p.Verdict) {
					t.Errorf("%q: verdict %q", text, p.Verdict)
				}
				if (p.Verdict == answer.Need) != (len(p.Missing) > 0) {
					t.Errorf("%q: %s, missing %v", text, p.Verdict, p.Missing)
				}
			}
			if _, err := a.MarshalJSON(); err != nil {
				t.Errorf("%q: %v", text, err)
			}
		}
	})
}
