package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// arrow says what one package, or the packages under a folder ("bot/*"), may
// import of the project. Each line is an arrow of the house; DEVELOPERS.md draws it.
type arrow struct {
	from string
	to   []string
}

// The first line that matches a package counts. "…" is everything.
var arrows = []arrow{
	{"cmd/*", []string{"…"}},
	{"config", nil},
	{"answers/measure", nil},
	{"answers/markdown", nil},
	{"answers/answer", []string{"answers/measure"}},
	{"answers/penalty", []string{"answers/measure"}},
	{"answers/sheet", []string{"answers/measure"}},
	{"answers/question", []string{"answers/measure"}},
	{"answers/lang", []string{"answers/answer", "answers/measure"}},
	{"answers/book", []string{"answers/sheet", "answers/measure"}},
	{"answers/checks", []string{"answers/answer", "answers/question", "answers/sheet", "answers/penalty", "answers/lang", "answers/measure"}},
	{"answers/lint", []string{"answers/book", "answers/sheet", "answers/question", "answers/checks", "answers/measure"}},
	{"answers", []string{"answers/answer", "answers/checks", "answers/question", "answers/book", "answers/sheet", "answers/lang", "answers/measure"}},
	{"rulesindex", []string{"answers/book", "answers/markdown", "answers/measure"}},
	{"bot/*", []string{"bot", "answers/answer", "answers/book", "answers/lang", "answers/markdown", "answers/measure"}},
	{"bot", []string{"answers", "answers/answer", "answers/book", "answers/lang", "answers/measure"}},
}

// What nothing under a folder may import from outside, its own imports' imports
// apart: answers knows no chat, no index and no network.
var forbidden = map[string][]string{
	"answers":    {"net", "net/http", "github.com/blevesearch", "github.com/slack-go", "maunium.net", "github.com/spf13", "database/sql"},
	"rulesindex": {"net", "net/http", "github.com/slack-go", "maunium.net", "github.com/spf13", "database/sql"},
	"bot":        {"github.com/blevesearch", "github.com/spf13"},
	"config":     {"github.com/blevesearch", "github.com/slack-go", "maunium.net", "net/http"},
}

const (
	module    = "sidewall"
	fakeSlack = "bot/slackchat/fakeslack"
	top       = "../.." // of the project, seen from this package
)

func allowed(from, to string, test bool) bool {
	if test && (to == "config" || inAnswers(to) && (inAnswers(from) || strings.HasPrefix(from, "bot/"))) { // tests load and ask the shipped book
		return true
	}
	if to == fakeSlack { // nothing but tests may know it
		return test && (from == "bot/slackchat" || strings.HasPrefix(from, "cmd/"))
	}
	for _, a := range arrows {
		if folder, ok := strings.CutSuffix(a.from, "/*"); ok && strings.HasPrefix(from, folder+"/") || a.from == from {
			return slices.Contains(a.to, to) || slices.Contains(a.to, "…")
		}
	}
	return false
}

func inAnswers(pkg string) bool { return pkg == "answers" || strings.HasPrefix(pkg, "answers/") }

// TestArrows reads the imports of every file and holds them against the arrows.
func TestArrows(t *testing.T) {
	files := 0
	err := filepath.WalkDir(top, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if base := d.Name(); name != top && (base == "testdata" || strings.HasPrefix(base, ".")) {
				return fs.SkipDir
			}
			return nil
		}
		if filepath.Ext(name) != ".go" {
			return nil
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(top, name)
		if err != nil {
			return err
		}
		from, test := path.Dir(filepath.ToSlash(rel)), strings.HasSuffix(name, "_test.go")
		for _, spec := range f.Imports {
			to, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if to == "C" {
				t.Errorf("%s uses cgo; the program is built without", rel)
			}
			if own, ok := strings.CutPrefix(to, module+"/"); ok {
				// A package's own test may import the package itself.
				if !(test && own == from) && !allowed(from, own, test) {
					t.Errorf("%s imports %s: no arrow leads there", rel, own)
				}
				continue
			}
			folder, _, _ := strings.Cut(from, "/")
			for _, no := range forbidden[folder] {
				if !test && (to == no || strings.Contains(no, ".") && strings.HasPrefix(to, no+"/")) {
					t.Errorf("%s imports %s, which nothing in %s may", rel, to, folder)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 50 {
		t.Errorf("only %d files were looked at", files)
	}
}

// TestArrowsRefuse keeps the rule itself from going soft.
func TestArrowsRefuse(t *testing.T) {
	tests := []struct {
		from, to string
		test     bool
		want     bool
	}{
		{"answers", "rulesindex", false, false},
		{"answers/question", "answers/sheet", false, false},
		{"answers/checks", "answers/book", false, false},
		{"answers/measure", "answers/answer", false, false},
		{"answers/book", "config", false, false},
		{"answers/book", "config", true, true},
		{"answers/checks", "answers/book", true, true},
		{"answers/checks", "rulesindex", true, false},
		{"rulesindex", "answers", false, false},
		{"bot/terminal", "bot/slackchat", false, false},
		{"bot/terminal", "answers", false, false},
		{"bot/terminal", "answers", true, true},
		{"bot/terminal", "bot/slackchat", true, false},
		{"bot/terminal", "bot", false, true},
		{"cmd/sidewall", "rulesindex", false, true},
		{"elsewhere", "answers", false, false},
		{"bot/slackchat", fakeSlack, true, true},
		{"bot/slackchat", fakeSlack, false, false},
		{"cmd/sidewall", fakeSlack, false, false},
		{"bot/matrixchat", fakeSlack, true, false},
	}
	for _, tt := range tests {
		if got := allowed(tt.from, tt.to, tt.test); got != tt.want {
			t.Errorf("allowed(%s, %s, test %v) = %v", tt.from, tt.to, tt.test, got)
		}
	}
}

// TestTopLevel holds the top of the project to what belongs there; scripts go
// into .ci, tools into go.mod, commands into DEVELOPERS.md.
func TestTopLevel(t *testing.T) {
	want := []string{"cmd", "config", "answers", "rulesindex", "bot", "testdata", ".ci",
		"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE", ".gitignore", ".golangci.yml"}
	ignored := []string{".git", "sidewall", "sidewall.db", "sidewall.db-lock"} // git's own, and what a run leaves behind
	es, err := os.ReadDir(top)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range es {
		if !slices.Contains(want, e.Name()) && !slices.Contains(ignored, e.Name()) {
			t.Errorf("%s does not belong at the top level", e.Name())
		}
	}
	for _, name := range []string{"README.md", "DEVELOPERS.md", "LICENSE", ".ci/run"} {
		if _, err := os.Stat(filepath.Join(top, name)); err != nil {
			t.Errorf("%s is missing: %v", name, err)
		}
	}
}

// TestGoVersion keeps a tool from raising the Go version that a club needs.
func TestGoVersion(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(top, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(raw)) {
		if v, ok := strings.CutPrefix(strings.TrimSpace(line), "go "); ok && v != "1.26" && !strings.HasPrefix(v, "1.26.") {
			t.Errorf("go.mod asks for go %s", v)
		}
		if strings.HasPrefix(line, "toolchain ") {
			t.Errorf("go.mod asks for a %s", strings.TrimSpace(line))
		}
	}
}

// heavy are packages that cost every command too much as it starts, whether it
// uses them or not; and what to do instead.
var heavy = map[string]string{
	"github.com/yuin/goldmark/extension":             "it compiles a link finder's expressions, as much memory as a book takes; answers/markdown has tables and struck out words",
	"maunium.net/go/mautrix/format":                  "it links goldmark/extension and golang.org/x/net/html; answers/markdown and matrixchat's htmlText do its work",
	"golang.org/x/net/html":                          "it fills its tables of names, used or not; matrixchat's htmlText reads what clients write",
	"github.com/prometheus/client_golang/prometheus": "with procfs and client_model it costs each command milliseconds; metrics.go writes the same text with VictoriaMetrics/metrics",
}

// TestNothingHeavy fails where one of them is linked again.
func TestNothingHeavy(t *testing.T) {
	for _, tags := range []string{"", "goolm"} {
		out, err := exec.Command("go", "list", "-deps", "-tags", tags, ".").Output()
		if err != nil {
			t.Fatalf("listing what the program links: %v", err)
		}
		for pkg := range strings.Lines(string(out)) {
			pkg = strings.TrimSpace(pkg)
			if why, ok := heavy[pkg]; ok {
				t.Errorf("the program (tags %q) links %s: %s", tags, pkg, why)
			}
		}
	}
}
