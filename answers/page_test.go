package answers_test

import (
	"context"
	"testing"

	"sidewall/answers"
)

// A page to read on is about the item that was asked about, or there is none.
func TestItemPage(t *testing.T) {
	d := desk(t)
	for q, want := range map[string]string{
		"can he wear earrings, U13":                             "jewelry-and-medical-items",
		"does a U11 defender have to wear rib pads":             "rib-pads",
		"are metal cleats ok":                                   "shoes-and-spikes",
		"does a U15 middie need shoulder pads":                  "shoulder-and-arm-pads",
		"does the U9 goalie have to wear shin guards in a game": "",
	} {
		a, err := d.Ask(context.Background(), answers.Request{Text: q}, nil)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if len(a.Summaries) > 0 {
			got = a.Summaries[0].ID
		}
		if a.Topic != "gear-item" || got != want {
			t.Errorf("%q: topic %s reads on in %q, want %q", q, a.Topic, got, want)
		}
	}
}
