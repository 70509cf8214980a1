package lint_test

import (
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"sidewall/answers/book"
	"sidewall/answers/lint"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
	"sidewall/config"
)

var update = flag.Bool("update", false, "write the expected texts anew")

const booksDir = "../../testdata/books"

func TestShippedBook(t *testing.T) {
	fsys := config.ShippedBook()
	b, err := book.Load(t.Context(), fsys)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range lint.Lint(t.Context(), fsys, b, lint.Options{}) {
		t.Error(f)
	}
}

// smallBook is the book good/small, with lines added to files and others
// changed: pairs of old and new.
func smallBook(t *testing.T, changes map[string][]string) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	dir := os.DirFS(filepath.Join(booksDir, "good/small"))
	err := fs.WalkDir(dir, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(dir, name)
		text := string(data)
		for pair := range slices.Chunk(changes[name], 2) {
			if !strings.Contains(text, pair[0]) {
				t.Fatalf("%s has no %q", name, pair[0])
			}
			text = strings.Replace(text, pair[0], pair[1], 1)
		}
		out[name] = &fstest.MapFile{Data: []byte(text)}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestFindings(t *testing.T) {
	var all strings.Builder
	for _, c := range []struct {
		name    string // the finding, or what there is none of
		changes map[string][]string
		read    []string
		none    bool
	}{
		{name: "nothing", none: true},
		{name: "schema", changes: map[string][]string{"book.yaml": {"club: Three", "club: Three"}}},
		{name: "silence", changes: map[string][]string{"sheet/sticks.yaml": {
			// A value that ends with nothing after it, and one that leaves out the middle division.
			"  - {key: most-long, value: 4", "  - {key: ended, value: 3, layer: youth, divisions: [U11], until: 2019-12-31, source: rules}\n" +
				"  - {key: middle, value: 1, layer: club, divisions: [U9, HS], positions: [goalkeeper], from: 2020-01-01, source: ours}\n  - {key: most-long, value: 4",
		}}},
		{name: "silence", none: true, changes: map[string][]string{"sheet/sticks.yaml": {
			"  - {key: most-long, value: 4", "  - {key: ended, value: 3, layer: youth, divisions: [U11], until: 2019-12-31, source: rules}\n" +
				"  - {key: ended, value: none, layer: youth, divisions: [U11], from: 2020-01-01, source: rules}\n  - {key: most-long, value: 4",
		}}},
		{name: "never-wins", changes: map[string][]string{"sheet/sticks.yaml": {
			"  - {key: most-long, value: 4", "  - {key: most-long, value: 7, layer: youth, from: 2026-09-01, until: 2026-12-31, source: rules}\n  - {key: most-long, value: 6, layer: club, divisions: [HS], source: ours}\n  - {key: most-long, value: 4",
		}}},
		{name: "no-source", changes: map[string][]string{
			"sheet/sticks.yaml":        {"positions: [field], source: rules}", "positions: [field]}"},
			"summaries/first-stick.md": {"sources: [common-practice]\n", ""},
		}},
		{name: "unused-source", changes: map[string][]string{"sources.yaml": {"sources:\n", "sources:\n  - {id: old, kind: own, title: An old decision, mark: I}\n"}}},
		{name: "prose", changes: map[string][]string{"sheet/sticks.yaml": {"value: [37, 42]", "value: [37, 43]"}}},
		{name: "stale", changes: map[string][]string{"summaries/first-stick.md": {"reviewed: 2026-08-20", "reviewed: 2025-08-31"}}},
		{name: "stale", none: true, changes: map[string][]string{"summaries/first-stick.md": {"reviewed: 2026-08-20", "reviewed: 2025-09-01"}}},
		{name: "unread-key", read: []string{"sticks: *", "fouls: slashing.*", "fouls: ball"}},
		{name: "unread-key", none: true, read: []string{"*"}},
	} {
		fsys := smallBook(t, c.changes)
		b, err := book.Load(t.Context(), fsys)
		if err != nil {
			t.Fatal(err)
		}
		o := lint.Options{ReadKeys: c.read}
		for _, n := range lint.Names() {
			if n != c.name && (c.name != "nothing" || n == "schema") {
				o.Off = append(o.Off, n)
			}
		}
		got := lint.Lint(t.Context(), fsys, b, o)
		if c.none != (len(got) == 0) {
			t.Errorf("%s: %d findings: %v", c.name, len(got), got)
		}
		for _, f := range got {
			if f.Name != c.name {
				t.Errorf("%s is switched off, but told %s", f.Name, f)
			}
			fmt.Fprintln(&all, f)
		}
		o.Off = append(o.Off, c.name)
		if got := lint.Lint(t.Context(), fsys, b, o); len(got) > 0 {
			t.Errorf("everything is switched off, but %v", got)
		}
	}
	file := filepath.Join(booksDir, "lint.want")
	if *update {
		if err := os.WriteFile(file, []byte(all.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if all.String() != string(want) {
		t.Errorf("got:\n%s\nwant:\n%s", all.String(), want)
	}
}

// Random records: where loading would find no tie, the sheet's answer is the
// one that the rules, worked out apart from the sheet, give; where it would,
// lint finds the tie as well.
func TestResolutionAgreesWithTheSheet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := []measure.Date{20100101, 20140101, 20180101, 20260901}
		recs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) *sheet.Record {
			r := &sheet.Record{
				Topic: "t", Key: "k", File: "sheet/t.yaml", Source: &sheet.Source{ID: "s"},
				Layer:     rapid.IntRange(0, 2).Draw(t, "layer"),
				Divisions: sheet.Mask(rapid.IntRange(1, 7).Draw(t, "divisions")),
				Positions: rapid.SampledFrom([]sheet.Mask{sheet.AllPositions, sheet.FieldPositions, sheet.Goalkeeper, 1, 6}).Draw(t, "positions"),
				From:      rapid.SampledFrom(days).Draw(t, "from"),
			}
			if rapid.Bool().Draw(t, "ends") {
				r.Until = r.From.AddDays(rapid.IntRange(0, 3000).Draw(t, "days"))
			}
			return r
		}), 1, 6).Draw(t, "records")
		tie := false
		for i, r := range recs {
			r.Line = i + 1
			for _, o := range recs[:i] {
				tie = tie || book.Tie(o, r)
			}
		}
		layers := []sheet.Layer{{ID: "a"}, {ID: "b"}, {ID: "c"}}
		s := sheet.New(layers, []string{"U9", "U11", "HS"}, map[string]*sheet.Topic{"t": {ID: "t"}}, recs)
		b := &book.Book{Sheet: s, Season: book.Season{From: 20260901, To: 20270831}}
		o := lint.Options{}
		for _, n := range lint.Names() {
			if n != "resolution" {
				o.Off = append(o.Off, n)
			}
		}
		found := lint.Lint(t.Context(), fstest.MapFS{}, b, o)
		if !tie && len(found) > 0 {
			t.Fatalf("no tie, but %v", found)
		}
		// A tie in a lower layer, or under a still narrower record, may never
		// show: loading refuses it all the same.
		for _, f := range found {
			if !strings.Contains(f.What, "ties with") {
				t.Fatalf("%v", f)
			}
		}
		if tie && len(found) == 0 {
			for _, r := range recs {
				for _, q := range recs {
					if r != q && book.Tie(r, q) && shows(s, r, q) {
						t.Fatalf("a tie that lint misses: %+v and %+v", r, q)
					}
				}
			}
		}
	})
}

// shows says whether two records tie on top somewhere: both hold, and no other
// record of their layer or above does.
func shows(s *sheet.Sheet, a, b *sheet.Record) bool {
	on := max(a.From, b.From)
	for d := range s.Divisions {
		for p := range sheet.Positions {
			if !a.Holds(d, p, on) || !b.Holds(d, p, on) {
				continue
			}
			if !slices.ContainsFunc(s.All(), func(r *sheet.Record) bool {
				return r != a && r != b && r.Layer >= a.Layer && r.Holds(d, p, on)
			}) {
				return true
			}
		}
	}
	return false
}

func TestNamesAreUnique(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range lint.Checks() {
		if seen[c.Name] || c.Help == "" {
			t.Error(errors.New(c.Name))
		}
		seen[c.Name] = true
	}
}
