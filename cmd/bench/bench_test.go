package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sidewall/rulesindex/relevance"
)

func TestFTSQuery(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", ""},
		{"?!", ""},
		{"face-off NOT \"now\"", `"face" OR "off" OR "NOT" OR "now"`},
		{"¿Dónde?", `"Dónde"`},
	} {
		if got := ftsQuery(tt.text); got != tt.want {
			t.Errorf("%q: %s, want %s", tt.text, got, tt.want)
		}
	}
}

// TestQuality runs every engine over a small collection in the open one's form.
func TestQuality(t *testing.T) {
	type pair struct {
		Rephr    any `json:"rephr"`
		Question any `json:"question"`
		Answer   any `json:"answer"`
	}
	raw, err := json.Marshal(map[string]any{"root": map[string]any{"qapair": []pair{
		{[]any{"washing the gloves", "*", nil, ""}, "How do I wash gloves?", "Cool water, then air."},
		{"where may the car stand", "Parking at the field", []any{"Cars stand in the gravel lot.", "Not on the bridge."}},
		{[]any{"broken whistle"}, "Who has a whistle?", []any{"The table has a spare."}},
	}}})
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "c.json")
	if err := os.WriteFile(name, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := stackFAQ(name)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.questions) != 3 || len(c.docs) != 3 {
		t.Fatalf("%d questions and %d documents", len(c.questions), len(c.docs))
	}
	for _, mk := range c.makers(t.Context()) {
		e, err := mk.make()
		if err != nil {
			t.Fatalf("%s: %v", mk.name, err)
		}
		hits, err := e.search(t.Context(), "the gravel lot for cars", "", 5)
		if err != nil || len(hits) == 0 || hits[0].ID != "1" {
			t.Errorf("%s finds %v, %v", mk.name, hits, err)
		}
		if err := e.close(); err != nil {
			t.Errorf("%s: %v", mk.name, err)
		}
	}
	var out bytes.Buffer
	if err := quality(t.Context(), &out, []*collection{c}); err != nil || strings.Count(out.String(), "\n") != 9 {
		t.Errorf("the table: %v\n%s", err, out.String())
	}
}

func TestOnce(t *testing.T) {
	got := once([]relevance.Place{{ID: "a", Section: "1"}, {ID: "b"}, {ID: "a", Section: "2"}})
	if len(got) != 2 || got[0].Section != "1" || got[1].ID != "b" {
		t.Errorf("got %v", got)
	}
}
