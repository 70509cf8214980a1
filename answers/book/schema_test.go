package book

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// The loader and the schemas each list the keys: they must list the same.
func TestSchemasKnowTheLoadersKeys(t *testing.T) {
	type schema struct {
		Properties map[string]*schema
		Items      *schema
		Enum       []string
	}
	read := func(name string) *schema {
		data, err := os.ReadFile("../../config/book/schema/" + name)
		if err != nil {
			t.Fatal(err)
		}
		var s schema
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatal(err)
		}
		return &s
	}
	same := func(what string, got, want []string) {
		got, want = slices.Sorted(slices.Values(got)), slices.Sorted(slices.Values(want))
		if !slices.Equal(got, want) {
			t.Errorf("%s: the schema has %v, the loader %v", what, got, want)
		}
	}
	keys := func(s *schema) (out []string) {
		for k := range s.Properties {
			out = append(out, k)
		}
		return out
	}
	b, so, sh := read("book.schema.json"), read("sources.schema.json"), read("sheet.schema.json")
	same("book.yaml", keys(b), bookKeys)
	same("contact", keys(b.Properties["contact"]), contactKeys)
	same("season", keys(b.Properties["season"]), seasonKeys)
	same("cutoff", keys(b.Properties["cutoff"]), cutoffKeys)
	same("layers", keys(b.Properties["layers"].Items), layerKeys)
	same("divisions", keys(b.Properties["divisions"].Items), divisionKeys)
	same("sources.yaml", keys(so), sourcesKeys)
	same("a source", keys(so.Properties["sources"].Items), sourceKeys)
	same("kinds", so.Properties["sources"].Items.Properties["kind"].Enum, sourceKinds)
	same("marks", so.Properties["sources"].Items.Properties["mark"].Enum, marks)
	same("a sheet file", keys(sh), sheetKeys)
	value := sh.Properties["values"].Items
	same("a value", keys(value), recordKeys)
	same("units", value.Properties["unit"].Enum, measure.UnitNames())
	same("positions", value.Properties["positions"].Items.Enum, append(sheet.Positions[:], "field"))
}

func TestNearest(t *testing.T) {
	of := []string{"value", "unit", "layer", "divisions", "positions", "U9", "U11"}
	for name, want := range map[string]string{
		"valeu": "value", "Value": "value", "unti": "unit", "division": "divisions", "postions": "positions",
		"u11": "U11", "U-11": "U11", "U12": "", "x": "", "": "", "completely": "",
	} {
		if got := nearest(name, of); got != want {
			t.Errorf("nearest(%q) = %q, want %q", name, got, want)
		}
	}
}

func TestIsNumber(t *testing.T) {
	for s, want := range map[string]bool{
		"0": true, "42": true, "7.75": true, "0.5": true, "-5": true, "1/2": true, "53 1/3": true,
		"": false, ".5": false, "5.": false, "010": false, "1e9": false, "1_000": false, "0x10": false, "1/0": false, "a": false,
		"1 2": false, "1 /2": false, "--1": false, "1234567890123456789012345": false,
	} {
		if isNumber(s) != want {
			t.Errorf("isNumber(%q) = %v", s, !want)
		}
	}
}
