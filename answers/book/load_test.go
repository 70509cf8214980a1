package book_test

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
	"sidewall/config"
)

func load(t *testing.T, fsys fs.FS) *book.Book {
	t.Helper()
	b, err := book.Load(t.Context(), fsys)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestValues(t *testing.T) {
	b := load(t, smallBook(t))
	in := int64(measure.Inch)
	for _, c := range []struct {
		topic, key, division, position string
		on                             measure.Date
		want                           sheet.Value
		replaced                       string
	}{
		{"sticks", "short", "U9", "attack", 20270410, sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: 37 * in, Hi: 42 * in, Text: "37–42 in"}, "40–42 in"},
		{"sticks", "short", "U9", "attack", 20131231, sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: 40 * in, Hi: 42 * in, Text: "40–42 in"}, ""},
		{"sticks", "short", "U9", "goalkeeper", 20270410, sheet.Value{}, ""},
		{"sticks", "short", "U9", "attack", 20091231, sheet.Value{}, ""},
		// until is inclusive.
		{"sticks", "long", "U11", "defense", 20131231, sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: 47 * in, Hi: 52 * in, Text: "47–52 in"}, "52–72 in"},
		{"sticks", "long", "U11", "defense", 20140101, sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: 47 * in, Hi: 54 * in, Text: "47–54 in"}, "52–72 in"},
		// Barred: the lower layer does not shine through.
		{"sticks", "long", "U9", "defense", 20270410, sheet.Value{Kind: sheet.Barred, Text: "none"}, "52–72 in"},
		{"sticks", "most-long", "U11", "attack", 20270831, sheet.Value{Kind: sheet.Number, Lo: 1000, Hi: 1000, Text: "1"}, "2"},
		{"sticks", "most-long", "U11", "attack", 20270901, sheet.Value{Kind: sheet.Number, Lo: 2000, Hi: 2000, Text: "2"}, "4"},
		// A block resolves field by field.
		{"fouls", "slashing.max", "U9", "attack", 20270410, sheet.Value{Kind: sheet.Number, Unit: measure.Lasting, Lo: 120_000, Hi: 120_000, Text: "120 s"}, "3 min"},
		{"fouls", "slashing.min", "U9", "attack", 20270410, sheet.Value{Kind: sheet.Number, Unit: measure.Lasting, Lo: 60_000, Hi: 60_000, Text: "60 s"}, ""},
		{"fouls", "slashing.class", "U9", "attack", 20270410, sheet.Value{Kind: sheet.Word, Words: []string{"personal"}, Text: "personal"}, ""},
		{"fouls", "slashing.releasable", "U9", "attack", 20270410, sheet.Value{Kind: sheet.Flag, Lo: 1, Hi: 1, Text: "true"}, ""},
		{"fouls", "colors", "HS", "attack", 20270410, sheet.Value{Kind: sheet.Words, Words: []string{"clear", "white"}, Text: "clear, white"}, ""},
		{"fouls", "ball", "HS", "attack", 20270410, sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: 31 * in / 4, Hi: 8 * in, Text: "7 3/4–8 in"}, ""},
	} {
		win, replaced := b.Sheet.Lookup(c.topic, c.key, b.Sheet.DivisionIndex(c.division), sheet.PositionIndex(c.position), c.on)
		var got sheet.Value
		if win != nil {
			got = win.Value
		}
		text := ""
		if replaced != nil {
			text = replaced.Value.Text
		}
		if got.Kind != c.want.Kind || got.Unit != c.want.Unit || got.Lo != c.want.Lo || got.Hi != c.want.Hi || got.Text != c.want.Text || strings.Join(got.Words, "|") != strings.Join(c.want.Words, "|") || text != c.replaced {
			t.Errorf("%s %s %s %s on %s: %+v replacing %q, want %+v replacing %q", c.topic, c.key, c.division, c.position, c.on, got, text, c.want, c.replaced)
		}
	}
	for _, r := range b.Sheet.All() {
		if r.Source == nil || r.Mark == "" || r.Line == 0 || r.Col == 0 || !strings.HasPrefix(r.File, "sheet/") {
			t.Errorf("%s lacks a source, mark or place: %+v", r.Basis(), r)
		}
	}
	if r := b.Sheet.Records("sticks", "long"); len(r) != 4 || r[len(r)-1].Layer != 0 {
		t.Errorf("long has %d records", len(r))
	}
}

func TestBookYAML(t *testing.T) {
	b := load(t, smallBook(t))
	if b.MaxAge != 19 || b.Cutoff != (book.Cutoff{Month: 8, Day: 31}) || b.Season != (book.Season{Name: "2027", From: 20260901, To: 20270831}) {
		t.Errorf("%d %v %v", b.MaxAge, b.Cutoff, b.Season)
	}
	if b.Contact.Name.In("es") != "la persona de reglas" || b.Contact.Address != "rules@threeponds.example" {
		t.Errorf("%v", b.Contact)
	}
	d := b.Divisions[0]
	if d.ID != "U9" || d.Under != 9 || d.Band != 8 || len(d.Grades) != 4 || len(d.UsualGrades) != 2 || d.Line != 10 {
		t.Errorf("%+v", d)
	}
	if b.Divisions[2].Under != 0 || len(b.Divisions[2].Aliases) != 2 {
		t.Errorf("%+v", b.Divisions[2])
	}
	if n := b.Sheet.Topics["sticks"].Names["short"]; n.Text.In("es") != "palo corto" || len(n.AlsoEN) != 1 || n.Line != 4 {
		t.Errorf("%+v", n)
	}
}

func TestSections(t *testing.T) {
	s := load(t, smallBook(t)).Summaries[0]
	if s.ID != "first-stick" || s.Line != 2 || s.BodyLine != 13 || len(s.Questions) != 1 || s.Reviewed != 20260820 {
		t.Errorf("%+v", s)
	}
	want := []book.Section{
		{"", "Buy one stick, and a wall.", 13},
		{"Length", "U9 and U11: short crosse 37 to 42 in.\n\n```\n## not a heading\n```", 15},
		{"Care", "Dry it.", 22},
	}
	if len(s.Sections) != len(want) {
		t.Fatalf("%+v", s.Sections)
	}
	for i, w := range want {
		if s.Sections[i] != w {
			t.Errorf("section %d: %+v, want %+v", i, s.Sections[i], w)
		}
	}
}

// Editors write byte order marks and carriage returns; neither is an error nor
// moves a line.
func TestOtherEditors(t *testing.T) {
	b := smallBook(t)
	for name, f := range b {
		b[name] = &fstest.MapFile{Data: append([]byte("\uFEFF"), bytes.ReplaceAll(f.Data, []byte("\n"), []byte("\r\n"))...)}
	}
	got := load(t, b)
	if s := got.Summaries[0].Sections[1]; s.Line != 15 || strings.Contains(s.Text, "\r") {
		t.Errorf("%+v", s)
	}
}

func TestRevision(t *testing.T) {
	one := load(t, smallBook(t)).Revision
	if again := load(t, smallBook(t)).Revision; again != one {
		t.Errorf("%s and %s for one book", one, again)
	}
	b := smallBook(t)
	b["sheet/fouls.yaml"].Data = append(b["sheet/fouls.yaml"].Data, "# a word\n"...)
	if other := load(t, b).Revision; other == one {
		t.Error("another content, but the same revision")
	}
	b = smallBook(t)
	b["README.txt"] = &fstest.MapFile{Data: []byte("not of the book")}
	if other := load(t, b).Revision; other != one {
		t.Error("a file that is not of the book changed the revision")
	}
}

func TestLargeFile(t *testing.T) {
	b := smallBook(t)
	b["sheet/fouls.yaml"].Data = append(b["sheet/fouls.yaml"].Data, bytes.Repeat([]byte("# filler\n"), 1<<17)...)
	_, err := book.Load(t.Context(), b)
	var errs book.Errors
	if !errors.As(err, &errs) || len(errs) != 1 || errs[0].File != "sheet/fouls.yaml" || errs[0].What != "the file is larger than 1 MiB" {
		t.Errorf("%v", err)
	}
}

// The full parser takes a minute for a mebibyte of this.
func TestLongListEndsSoon(t *testing.T) {
	b := smallBook(t)
	b["sheet/long.yaml"] = &fstest.MapFile{Data: []byte("topic: long\ntitle: long\nvalues:\n  - key: a\n    value: [" + strings.Repeat("1, ", 200_000) + "\"1\\n\"]\n")}
	_, err := book.Load(t.Context(), b)
	var errs book.Errors
	if !errors.As(err, &errs) || len(errs) != 1 || errs[0].Line != 5 || !strings.Contains(errs[0].What, "128 KiB") {
		t.Errorf("%.300v", err)
	}
}

func TestLoadEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := book.Load(ctx, smallBook(t)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, err := book.Load(t.Context(), os.DirFS(filepath.Join(t.TempDir(), "nowhere"))); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a folder that is not there: %v", err)
	}
}

func TestNew(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "club", "book")
	if err := book.New(dir, config.ShippedBook()); err != nil {
		t.Fatal(err)
	}
	if mine, shipped := load(t, os.DirFS(dir)), load(t, config.ShippedBook()); mine.Revision != shipped.Revision {
		t.Errorf("the copy's revision is %s, the shipped book's %s", mine.Revision, shipped.Revision)
	}
	if _, err := os.Stat(filepath.Join(dir, "schema", "sheet.schema.json")); err != nil {
		t.Error(err)
	}
	before, err := os.ReadFile(filepath.Join(dir, "book.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "book.yaml"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := book.New(dir, config.ShippedBook()); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("into a folder with a book: %v", err)
	}
	if after, _ := os.ReadFile(filepath.Join(dir, "book.yaml")); string(after) != "mine" || len(before) == 0 {
		t.Error("New wrote over a club's book")
	}
	if err := book.New(filepath.Join(dir, "book.yaml"), config.ShippedBook()); err == nil {
		t.Error("a file is no folder to write a book into")
	}
}

func schemas(t *testing.T) fs.FS {
	t.Helper()
	sub, err := fs.Sub(config.ShippedBook(), "schema")
	if err != nil {
		t.Fatal(err)
	}
	return sub
}

func TestCheckSchemas(t *testing.T) {
	b := fstest.MapFS{
		"book.yaml":    {Data: []byte("# yaml-language-server: $schema=schema/book.schema.json\nclub: A\ncontact: {name: B, address: c}\nseason: {name: 2027, from: 2026-09-01, to: 2027-08-31}\ncutoff: {month: 13, day: 31}\nlayers:\n  - {id: club, name: {en: club}}\ndivisions:\n  - {id: HS, grade: 9}\n")},
		"sources.yaml": {Data: []byte("sources:\n  - {id: own, kind: mine, title: A}\n")},
		"sheet/a.yaml": {Data: []byte("# yaml-language-server: $schema=../schema/sheet.schema.json\ntopic: a\ntitle: {en: A}\nvalues:\n  - key: one\n    value: [1, 2]\n    unit: inch\n    layer: club\n    source: own\n    from: 01.01.2020\n")},
	}
	got := ""
	for _, e := range book.CheckSchemas(b, schemas(t)) {
		got += e.Error() + "\n"
	}
	golden(t, filepath.Join(booksDir, "schema-errors.want"), got)
	if errs := book.CheckSchemas(smallBook(t), fstest.MapFS{}); len(errs) != 3 {
		t.Errorf("without schemas: %v", errs)
	}
}

func FuzzLoadSheet(f *testing.F) {
	for name, file := range smallBook(f) {
		if strings.HasPrefix(name, "sheet/") {
			f.Add(string(file.Data))
		}
	}
	f.Add("topic: sticks\ntitle: a\nvalues:\n- key: a\n  value: {b: 1 in, c: [1, 2]}\n  layer: club\n")
	f.Add("c: \r\r\r\r\r a\n\x00")
	f.Add("a: &a [*a]\n? b\n: c\n--- |\n x")
	base := smallBook(f)
	f.Fuzz(func(t *testing.T, text string) {
		b := fstest.MapFS{}
		for name, file := range base {
			b[name] = file
		}
		b["sheet/sticks.yaml"] = &fstest.MapFile{Data: []byte(text)}
		check(t, b)
	})
}

func FuzzLoadSummary(f *testing.F) {
	base := smallBook(f)
	f.Add(string(base["summaries/first-stick.md"].Data))
	f.Add("---\nid: first-stick\n---\n## a\n~~~\n")
	f.Fuzz(func(t *testing.T, text string) {
		b := fstest.MapFS{}
		for name, file := range base {
			b[name] = file
		}
		b["summaries/first-stick.md"] = &fstest.MapFile{Data: []byte(text)}
		check(t, b)
	})
}

// check holds whatever a file says: a book or Errors with places inside the
// files, never both, never a panic.
func check(t *testing.T, fsys fstest.MapFS) {
	t.Helper()
	b, err := book.Load(t.Context(), fsys)
	if (b == nil) == (err == nil) {
		t.Fatalf("book %v and error %v", b, err)
	}
	var errs book.Errors
	if err != nil && !errors.As(err, &errs) {
		t.Fatalf("%v", err)
	}
	for _, e := range errs {
		data := string(fsys[e.File].Data)
		lines := strings.Count(data, "\n") + strings.Count(data, "\r") + 1
		if e.What == "" || e.Fix == "" || e.Line < 0 || e.Line > lines+1 || e.Line > 0 && e.Col < 1 || e.String() == "" {
			t.Fatalf("%+v (of %d lines)", e, lines)
		}
	}
}
