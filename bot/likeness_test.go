package bot

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestGroupMissed(t *testing.T) {
	day := time.Date(2027, 4, 1, 9, 0, 0, 0, time.UTC)
	var in []Missed
	for i, text := range []string{
		"where do we park for away games?", "parking for the away game", "Where's parking at away games",
		"is a tinted visor ok for my son", "are tinted visors allowed", "¿puede llevar visera oscura?",
		"who washes the jerseys", "is it ok?", "and him?", "how do i wash a jersey",
	} {
		in = append(in, Missed{Text: text, Why: WhyNone, At: day.Add(time.Duration(i) * time.Hour)})
	}
	var got []string
	total := 0
	for _, g := range GroupMissed(in) {
		got = append(got, strings.Join(append([]string{g.Text}, g.Others...), " | "))
		total += g.Count
		if g.First.After(g.Last) || g.Whys[WhyNone] != g.Count {
			t.Errorf("%+v", g)
		}
	}
	if total != len(in) {
		t.Errorf("%d of %d questions", total, len(in))
	}
	for _, want := range []string{"park", "tinted", "wash"} {
		n := 0
		for _, g := range got {
			if strings.Contains(g, want) {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%d groups about %s: %q", n, want, got)
		}
	}
	if len(GroupMissed(nil)) != 0 {
		t.Error("groups of nothing")
	}
}

// Every question is counted once, whatever it says.
func TestGroupMissedLosesNone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOf(rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"a stick", "sticks", "", "a glove and a stick", "glove"}))).Draw(t, "texts")
		in := make([]Missed, len(texts))
		for i, s := range texts {
			in[i] = Missed{Text: s, Why: WhyNeed}
		}
		total, last := 0, len(in)
		for _, g := range GroupMissed(in) {
			total += g.Count
			if g.Count > last {
				t.Fatalf("a group of %d after one of %d", g.Count, last)
			}
			last = g.Count
		}
		if total != len(in) {
			t.Fatalf("%d of %d", total, len(in))
		}
	})
}
