package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var asked = regexp.MustCompile(`^\$ (?:sidewall|go run \./cmd/sidewall) ask "(.*)"$`)

// TestReadme runs the questions of README and wants the answers that stand
// there, line by line; "…" stands for the rest of one.
func TestReadme(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(top, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, must := range []string{"    go run ./cmd/sidewall ask \"U11 attack, 45-inch stick?\"\n", "    go test ./...\n"} {
		if !strings.Contains(string(raw), must) {
			t.Errorf("README lacks the command %q", must)
		}
	}
	// The first answer stands apart from its command.
	lines := strings.Split(strings.Replace(string(raw), "The first prints\n", "    $ sidewall ask \"U11 attack, 45-inch stick?\"", 1), "\n")
	examples := 0
	for i := 0; i < len(lines); i++ {
		m := asked.FindStringSubmatch(strings.TrimPrefix(lines[i], "    "))
		if m == nil {
			continue
		}
		examples++
		var want []string
		for i++; i < len(lines) && strings.HasPrefix(lines[i], "    "); i++ {
			want = append(want, lines[i][4:])
		}
		var out, errs strings.Builder
		if code := execute(t.Context(), []string{"ask", "--date", "2027-04-10", m[1]}, strings.NewReader(""), &out, &errs); code != 0 {
			t.Errorf("%q: exit code %d: %s", m[1], code, errs.String())
		}
		text := strings.Join(want, "\n")
		start, open := strings.CutSuffix(text, "…")
		if got := strings.TrimSuffix(out.String(), "\n"); got != text && !(open && strings.HasPrefix(got, start)) {
			t.Errorf("%q\nREADME says\n%s\nthe program says\n%s", m[1], text, got)
		}
	}
	if examples < 5 {
		t.Errorf("README has only %d examples", examples)
	}
}
