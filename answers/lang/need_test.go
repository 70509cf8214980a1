package lang

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What a check asks back for must have a question in both languages: a key that is
// shown to a coach is no question.
func TestNeedsAreAsked(t *testing.T) {
	files, err := filepath.Glob("../checks/*.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d checks: %v", len(files), err)
	}
	need := regexp.MustCompile(`\.Need\("([a-z_]+)"`)
	for _, lang := range [...]string{"en", "es"} {
		texts := ""
		names, err := filepath.Glob(lang + "/*.txt")
		if err != nil || len(names) == 0 {
			t.Fatalf("%d texts: %v", len(names), err)
		}
		for _, n := range names {
			raw, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			texts += "\n" + string(raw)
		}
		for _, f := range files {
			raw, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range need.FindAllStringSubmatch(string(raw), -1) {
				if !strings.Contains(texts, "\nneed-"+m[1]+": ") {
					t.Errorf("%s asks for %s, and no text in %s does", filepath.Base(f), m[1], lang)
				}
			}
		}
	}
}
