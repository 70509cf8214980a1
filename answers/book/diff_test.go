package book_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

func diffText(t *testing.T, cs []*book.Changed, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, c := range cs {
		fmt.Fprintf(&b, "%s %s %s: %s > %s\n", c.Topic, c.Key, c.Position(), c.Was("en"), c.Is("en"))
	}
	return b.String()
}

func TestDiff(t *testing.T) {
	b := load(t, smallBook(t))
	for _, tt := range []struct {
		division string
		on, to   measure.Date
		want     string
	}{
		// 2014 brought the youth its own lengths; the goalkeeper has none in this book.
		{"U11", 20131231, 20140101, "sticks short field: 40–42 in > 37–42 in\nsticks long field: 47–52 in > 47–54 in\n"},
		{"U9", 20131231, 20140101, "sticks short field: 40–42 in > 37–42 in\nsticks long field: 52–72 in > none\n"},
		{"HS", 20131231, 20140101, ""},
		{"U11", 20260831, 20260901, "sticks most-long : 2 > 1\n"},
		{"U11", 20270831, 20270901, "sticks most-long : 1 > 2\n"},
		{"U11", 20270410, 20270410, ""},
	} {
		cs, err := book.Diff(b, b, tt.division, tt.on, tt.to)
		if got := diffText(t, cs, err); got != tt.want {
			t.Errorf("%s from %s to %s:\n%swant:\n%s", tt.division, tt.on, tt.to, got, tt.want)
		}
	}
	if _, err := book.Diff(b, b, "U12", 20270101, 20270101); err == nil || !strings.Contains(err.Error(), "U9, U11, HS") {
		t.Errorf("%v", err)
	}
	cs, err := b.SeasonChanges("U9")
	// U9 has fewer long crosses in this season, and the season's last day is still in it.
	if got := diffText(t, cs, err); got != "fouls slashing.max : 3 min > 120 s\nsticks most-long : 2 > 1\n" {
		t.Errorf("this season: %s", got)
	}
	if c := cs[1]; c.Why("en") != "For this season only." || c.Why("es") != "Solo esta temporada." || c.Source() != "Decision of our board [I]" {
		t.Errorf("%q %q %q", c.Why("en"), c.Why("es"), c.Source())
	}
	if got, want := cs[1].Line("en"), "sticks: most-long: 2 → 1; For this season only."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := cs[0].Line("es"), "faltas: slashing, max: 3 min → 120 s; club, desde 2026-09-01"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	var table bytes.Buffer
	if err := book.WriteDiff(&table, cs); err != nil || !strings.Contains(table.String(), "sticks: most-long     all") {
		t.Errorf("%v\n%s", err, &table)
	}
}

// Against looking every value up on both days: nothing is left out, nothing is
// there that is the same.
func TestDiffIsComplete(t *testing.T) {
	b := load(t, config.ShippedBook())
	days := []measure.Date{20100101, 20131231, 20140101, 20170101, 20190101, 20220101, 20240101, 20260901, 20270410}
	told := 0
	for i, on := range days[1:] {
		for d, id := range b.Sheet.Divisions {
			cs, err := book.Diff(b, b, id, days[i], on)
			if err != nil {
				t.Fatal(err)
			}
			in := map[string]bool{}
			for _, c := range cs {
				for p := range 4 {
					if c.Positions.Has(p) {
						in[fmt.Sprint(c.Topic, c.Key, p)] = true
					}
				}
			}
			for topic, tt := range b.Sheet.Topics {
				for _, key := range tt.Order {
					for p := range 4 {
						was, _ := b.Sheet.Lookup(topic, key, d, p, days[i])
						is, _ := b.Sheet.Lookup(topic, key, d, p, on)
						differ := (was == nil) != (is == nil) || was != nil && was.Value.Text != is.Value.Text
						if differ != in[fmt.Sprint(topic, key, p)] {
							t.Errorf("%s %s %s position %d from %s to %s: differs %v", id, topic, key, p, days[i], on, differ)
						}
						if differ {
							told++
						}
					}
				}
			}
		}
	}
	if told == 0 {
		t.Error("nothing ever changed")
	}
}

func TestProposalChanges(t *testing.T) {
	dir := folder(t, smallBook(t))
	p := publisher(t, dir)
	pr := propose(t, p, longAtU11)
	cs := pr.Changes()
	if got := diffText(t, cs["U11"], nil); len(cs) != 1 || got != "sticks long field: 47–54 in > 48–55 in\n" {
		t.Errorf("%d divisions: %s", len(cs), got)
	}
	if cs := propose(t, p, book.SummaryText{ID: "first-stick", Text: "Other."}).Changes(); len(cs) != 0 {
		t.Errorf("%v", cs)
	}
}

func TestConfirm(t *testing.T) {
	b := load(t, smallBook(t))
	const decided = "fouls: slashing.max 120 s: decided for a season before\nfouls: stop-at 105 °F: decided for a season before\n"
	var got []string
	for _, c := range b.Confirm(book.Season{Name: "2027", From: 20260901, To: 20270831}) {
		got = append(got, c.Record.Basis()+" "+c.Record.Value.Text+": "+c.Why)
	}
	if want := decided + "sticks: most-long 1: decided for a season before"; strings.Join(got, "\n") != want {
		t.Errorf("%s", strings.Join(got, "\n"))
	}
	got = nil
	for _, c := range b.Confirm(book.Season{Name: "2028", From: 20270901, To: 20280831}) {
		got = append(got, c.Record.Basis()+" "+c.Record.Value.Text+": "+c.Why)
	}
	if want := decided + "sticks: most-long 1: it ends on 2027-08-31"; strings.Join(got, "\n") != want {
		t.Errorf("%s", strings.Join(got, "\n"))
	}
}
