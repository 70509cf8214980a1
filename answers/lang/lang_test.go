package lang

import "testing"

func TestTextsInBothLanguages(t *testing.T) {
	texts, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	if err := texts.Check(); err != nil {
		t.Error(err)
	}
	if !texts.Has("es", "common", "yes") || !texts.Has("en", "common", "yes") {
		t.Error("common/yes is missing")
	}
}
