package book_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// folder writes a book in memory to a folder of its own.
func folder(t testing.TB, files fstest.MapFS) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "ours")
	if err := book.New(dir, files); err != nil {
		t.Fatal(err)
	}
	return dir
}

var noon = time.Date(2027, 1, 20, 12, 0, 0, 0, time.UTC)

func publisher(t testing.TB, dir string, opts ...book.PublishOption) *book.Publisher {
	t.Helper()
	p, err := book.NewPublisher(dir, append([]book.PublishOption{book.WithNow(func() time.Time { return noon })}, opts...)...)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func propose(t testing.TB, p *book.Publisher, cs ...book.Change) *book.Proposal {
	t.Helper()
	pr, err := p.Propose(t.Context(), cs...)
	if err != nil {
		t.Fatal(err)
	}
	return pr
}

func publish(t testing.TB, p *book.Publisher, why string, cs ...book.Change) *book.Record {
	t.Helper()
	r, err := p.Publish(t.Context(), propose(t, p, cs...), book.Note{By: "admin 7", Why: why})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func loadDir(t testing.TB, dir string) *book.Book {
	t.Helper()
	b, err := book.LoadDir(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func read(t testing.TB, dir, name string) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func summaryText(t testing.TB, b *book.Book, id string) string {
	t.Helper()
	for _, s := range b.Summaries {
		if s.ID == id {
			return strings.TrimSpace(s.Body)
		}
	}
	t.Fatalf("the book has no summary %s", id)
	return ""
}

var longAtU11 = book.PutValue{
	Topic: "sticks", Key: "long", Layer: "club", Divisions: []string{"U11"}, Positions: []string{"field"},
	Value: "48 to 55", Unit: "in", From: "2027-03-01", NewSource: "decision of 12 January",
}

func TestPublishAndUndo(t *testing.T) {
	dir := folder(t, smallBook(t))
	p := publisher(t, dir)
	first := loadDir(t, dir)
	r := publish(t, p, "dry it well", book.SummaryText{ID: "first-stick", Text: "Dry it well.\n", Reviewed: 20270120})
	if r.Number != 1 || r.By != "admin 7" || r.Why != "dry it well" || !r.At.Equal(noon) || r.Base != first.Revision || r.Edited {
		t.Errorf("%+v", r)
	}
	b := loadDir(t, dir)
	if b.Revision != r.Revision || summaryText(t, b, "first-stick") != "Dry it well." || b.Summaries[0].Reviewed != 20270120 {
		t.Errorf("%s %+v", b.Revision, b.Summaries[0])
	}
	two := publish(t, p, "", longAtU11)
	if two.Number != 2 || !strings.Contains(two.Why, "sticks: long U11 field is 48 to 55 in from 2027-03-01") || len(two.Files) != 2 {
		t.Errorf("%+v", two)
	}

	h, err := p.History(t.Context(), 0)
	if err != nil || len(h) != 2 || h[0].Number != 2 || h[1].Number != 1 {
		t.Fatalf("%d records, %v", len(h), err)
	}
	if d := h[1].Files[0].Diff(); !strings.Contains(d, "\n+Dry it well.\n") || !strings.Contains(d, "\n-reviewed: 2026-08-20\n") {
		t.Errorf("difference:\n%s", d)
	}

	// Undo goes a step further back each time.
	for _, want := range []int{2, 1} {
		u, err := p.Undo(t.Context(), 0, book.Note{By: "admin 8"})
		if err != nil || u.Undoes != want {
			t.Fatalf("%+v, %v; want an undo of %d", u, err, want)
		}
	}
	if got := loadDir(t, dir); got.Revision != first.Revision {
		t.Errorf("after two undos the revision is %s, not %s", got.Revision, first.Revision)
	}
	if _, err := p.Undo(t.Context(), 0, book.Note{By: "admin 8"}); err == nil || !strings.Contains(err.Error(), "nothing to undo") {
		t.Errorf("a third undo: %v", err)
	}
	// By its number an undo is undone.
	if u, err := p.Undo(t.Context(), 4, book.Note{By: "admin 8"}); err != nil || u.Revision != r.Revision {
		t.Errorf("%+v, %v", u, err)
	}
	for ref, want := range map[string]string{"0": first.Revision, "#1": r.Revision, "2": two.Revision, "3": r.Revision, "5": r.Revision, first.Revision[:6]: first.Revision, two.Revision: two.Revision} {
		old, fsys, err := book.At(t.Context(), dir, ref)
		if err != nil || old.Revision != want || fsys == nil {
			t.Errorf("at %s: %v, want %s", ref, err, want)
		}
	}
	for _, ref := range []string{"6", "-1", "abc", "zzzzzzzz", ""} {
		if _, _, err := book.At(t.Context(), dir, ref); err == nil {
			t.Errorf("at %q there is a revision", ref)
		}
	}
}

func TestUndoRefuses(t *testing.T) {
	dir := folder(t, smallBook(t))
	p := publisher(t, dir)
	publish(t, p, "one", book.SummaryText{ID: "first-stick", Text: "One."})
	publish(t, p, "two", book.SummaryText{ID: "first-stick", Text: "Two."})
	if _, err := p.ProposeUndo(t.Context(), 1); err == nil || !strings.Contains(err.Error(), "by revision 2 (two); undo that first") {
		t.Errorf("%v", err)
	}
	name := filepath.Join(dir, "summaries/first-stick.md")
	if err := os.WriteFile(name, []byte(strings.Replace(read(t, dir, "summaries/first-stick.md"), "Two.", "Three.", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := p.ProposeUndo(t.Context(), 0); err == nil || !strings.Contains(err.Error(), "in the folder") {
		t.Errorf("%v", err)
	}
	if _, _, err := book.At(t.Context(), dir, "2"); err == nil || !strings.Contains(err.Error(), "edited the folder") {
		t.Errorf("%v", err)
	}
	// What somebody edited by hand is told in the next record, and a file keeps its mode.
	if r := publish(t, p, "four", book.SummaryText{ID: "first-stick", Text: "Four."}); !r.Edited {
		t.Errorf("%+v", r)
	}
	if st, err := os.Stat(name); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", st.Mode(), err)
	}
}

// Of two admins who publish at once the second is told, and nothing is lost.
func TestTwoAtOnce(t *testing.T) {
	dir := folder(t, smallBook(t))
	one, two := publisher(t, dir), publisher(t, dir)
	a := propose(t, one, book.SummaryText{ID: "first-stick", Text: "From one."})
	b := propose(t, two, book.SummaryText{ID: "first-stick", Text: "From two."})
	c := propose(t, two, longAtU11)
	if _, err := one.Publish(t.Context(), a, book.Note{By: "one", Why: "mine"}); err != nil {
		t.Fatal(err)
	}
	var stale *book.StaleError
	if _, err := two.Publish(t.Context(), b, book.Note{By: "two"}); !errors.As(err, &stale) || len(stale.Since) != 1 || stale.Since[0].By != "one" || len(stale.Both) != 1 {
		t.Fatalf("%v", err)
	}
	if !strings.Contains(stale.Error(), "one has published revision 1 meanwhile (mine), and changed summaries/first-stick.md too") {
		t.Errorf("%v", stale)
	}
	if _, err := two.Publish(t.Context(), c, book.Note{By: "two"}); !errors.As(err, &stale) || len(stale.Both) != 0 {
		t.Fatalf("%v", err)
	}
	if got := summaryText(t, loadDir(t, dir), "first-stick"); got != "From one." {
		t.Errorf("%q", got)
	}
	// The second goes on where the first left off.
	publish(t, two, "", longAtU11)
	got := loadDir(t, dir)
	if w, _ := got.Sheet.Lookup("sticks", "long", got.Sheet.DivisionIndex("U11"), 0, 20270301); w.Value.Text != "48–55 in" || summaryText(t, got, "first-stick") != "From one." {
		t.Errorf("%s %q", w.Value.Text, summaryText(t, got, "first-stick"))
	}
	// An edit in the folder counts as well.
	d := propose(t, one, book.SummaryText{ID: "first-stick", Text: "Late."})
	name := filepath.Join(dir, "sources.yaml")
	if err := os.WriteFile(name, []byte(read(t, dir, "sources.yaml")+"# by hand\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := one.Publish(t.Context(), d, book.Note{By: "one"}); !errors.As(err, &stale) || len(stale.Since) != 0 || !strings.Contains(err.Error(), "edited the book's folder") {
		t.Errorf("%v", err)
	}
	// A proposal that was kept is made again where the book is the same.
	e := propose(t, one, book.SummaryText{ID: "first-stick", Text: "Late."})
	again, err := two.Resume(t.Context(), e.Base, e.Files)
	if err != nil || again.To.Revision != e.To.Revision {
		t.Errorf("%v", err)
	}
	if _, err := two.Resume(t.Context(), d.Base, d.Files); !errors.As(err, &stale) {
		t.Errorf("%v", err)
	}
	if _, err := two.Resume(t.Context(), e.Base, []book.FileChange{{File: "../outside.md"}}); err == nil {
		t.Error("a file outside the book was taken")
	}
}

// Many publishers at once: each publication is there once, in a row.
func TestManyPublishers(t *testing.T) {
	const workers, each = 4, 8
	dir := folder(t, smallBook(t))
	ctx, stop := context.WithCancel(t.Context())
	var readers, writers sync.WaitGroup
	readers.Go(func() {
		for ctx.Err() == nil {
			if _, err := book.LoadDir(ctx, dir); err != nil && ctx.Err() == nil {
				t.Errorf("load: %v", err)
			}
		}
	})
	for w := range workers {
		p := publisher(t, dir)
		writers.Go(func() {
			for i := 0; i < each; {
				text := fmt.Sprintf("By %d, %d.", w, i)
				pr, err := p.Propose(t.Context(), book.PutSummary{ID: fmt.Sprintf("page-%d", w), Text: page(fmt.Sprintf("page-%d", w), text)}, book.SummaryText{ID: "first-stick", Text: text})
				if err != nil {
					t.Error(err)
					return
				}
				_, err = p.Publish(t.Context(), pr, book.Note{By: fmt.Sprint(w), Why: text})
				var stale *book.StaleError
				switch {
				case err == nil:
					i++
				case !errors.As(err, &stale):
					t.Error(err)
					return
				}
			}
		})
	}
	writers.Wait()
	stop()
	readers.Wait()
	h, err := book.History(t.Context(), dir, 0)
	if err != nil || len(h) != workers*each {
		t.Fatalf("%d records, %v", len(h), err)
	}
	seen := map[string]bool{}
	for i, r := range h {
		if r.Number != len(h)-i || i > 0 && h[i-1].Base != r.Revision || seen[r.Why] {
			t.Errorf("record %d: %+v", i, r.Why)
		}
		seen[r.Why] = true
	}
}

func page(id, text string) string {
	return book.NewSummary{ID: id, Title: "A page: “odd” \"signs\"", Owner: "coach", Reviewed: 20270101, Sources: []string{"common-practice"}, Questions: []string{"What is it?"}, Text: text}.File()
}

func TestAfter(t *testing.T) {
	dir := folder(t, smallBook(t))
	fails := errors.New("no git here")
	var got *book.Record
	p := publisher(t, dir, book.WithAfter(func(_ context.Context, r *book.Record) error { got = r; return fails }))
	r, err := p.Publish(t.Context(), propose(t, p, book.SummaryText{ID: "first-stick", Text: "New."}), book.Note{By: "a"})
	var after *book.AfterError
	if !errors.As(err, &after) || !errors.Is(err, fails) || r == nil || got != r {
		t.Errorf("%+v %v", r, err)
	}
	if summaryText(t, loadDir(t, dir), "first-stick") != "New." {
		t.Error("it is not published")
	}
	if _, err := p.Publish(t.Context(), propose(t, p, book.SummaryText{ID: "first-stick", Text: "Newer."}), book.Note{By: " "}); err == nil {
		t.Error("nobody published it")
	}
}

// A value goes into the file as a line of its own, and nothing else of it moves.
func TestPutValueKeepsTheFile(t *testing.T) {
	for _, crlf := range []bool{false, true} {
		files := smallBook(t)
		if crlf {
			for _, f := range files {
				f.Data = []byte("\uFEFF" + strings.ReplaceAll(string(f.Data), "\n", "\r\n"))
			}
		}
		dir := folder(t, files)
		p := publisher(t, dir)
		pr := propose(t, p, longAtU11)
		before := lines(read(t, dir, "sheet/sticks.yaml"))
		if _, err := p.Publish(t.Context(), pr, book.Note{By: "a"}); err != nil {
			t.Fatal(err)
		}
		after := lines(read(t, dir, "sheet/sticks.yaml"))
		var added []string
		for _, l := range after {
			if len(before) > 0 && l == before[0] {
				before = before[1:]
				continue
			}
			added = append(added, strings.TrimRight(l, "\r\n"))
		}
		want := "  - {key: long, value: [48, 55], unit: in, layer: club, divisions: [U11], positions: [field], from: 2027-03-01, source: club-2027-03-01}"
		if len(before) > 0 || len(added) != 1 || added[0] != want {
			t.Errorf("left %q, added %q", before, added)
		}
		b := loadDir(t, dir)
		src := b.Sources["club-2027-03-01"]
		if src == nil || src.Title != "decision of 12 January" || src.Kind != "own" || src.Mark != "I" {
			t.Errorf("%+v", src)
		}
		win, lost := b.Sheet.Lookup("sticks", "long", b.Sheet.DivisionIndex("U11"), 1, 20270301)
		if win.Value.Text != "48–55 in" || lost.Value.Text != "47–54 in" || win.Source != src {
			t.Errorf("%+v replaces %+v", win, lost)
		}
		if win, _ := b.Sheet.Lookup("sticks", "long", b.Sheet.DivisionIndex("U11"), 1, 20270228); win.Value.Text != "47–54 in" {
			t.Errorf("the day before: %+v", win)
		}
	}
}

func lines(s string) []string { return strings.SplitAfter(s, "\n") }

// Every kind of change against every topic's file of the shipped book: what the
// sheet said stays, line by line.
func TestPutValueInEveryFile(t *testing.T) {
	dir := folder(t, shippedFiles(t))
	p := publisher(t, dir)
	b := loadDir(t, dir)
	tried := 0
	for id, topic := range b.Sheet.Topics {
		key := topic.Order[len(topic.Order)/2]
		r := b.Sheet.Records(id, key)[0]
		value, unit := "9", ""
		switch r.Value.Kind {
		case sheet.Flag:
			value = map[int64]string{0: "true", 1: "false"}[r.Value.Lo]
		case sheet.Word, sheet.Words:
			value = "another"
		case sheet.Range, sheet.Number:
			unit = map[measure.Unit]string{measure.Long: "in", measure.Lasting: "s", measure.Weight: "g", measure.Warmth: "degF", measure.Percent: "percent"}[r.Value.Unit]
		}
		pr, err := p.Propose(t.Context(), book.PutValue{Topic: id, Key: key, Layer: "club", Divisions: []string{"U11"}, Value: value, Unit: unit, From: "2027-03-01", NewSource: "the club's meeting"})
		if err != nil && strings.Contains(err.Error(), " ties with ") {
			continue // the club has a value for others there, and the loader says so
		}
		if err != nil {
			t.Errorf("%s %s: %v", id, key, err)
			continue
		}
		tried++
		if got := strings.Count(pr.Diff(), "\n+") - strings.Count(pr.Diff(), "\n+++"); got != 2 || strings.Contains(strings.ReplaceAll(pr.Diff(), "\n---", ""), "\n-") {
			t.Errorf("%s %s:\n%s", id, key, pr.Diff())
		}
	}
	if tried < 20 {
		t.Errorf("only %d files were tried", tried)
	}
}

func TestBadChanges(t *testing.T) {
	dir := folder(t, smallBook(t))
	p := publisher(t, dir)
	value := func(f func(*book.PutValue)) book.Change { c := longAtU11; f(&c); return c }
	good := page("other", "Text.")
	for name, tt := range map[string]struct {
		change book.Change
		want   []string
	}{
		"5 MB":             {book.PutSummary{"other", good + strings.Repeat("All work and no play. ", 5<<20/22)}, []string{"summaries/other.md: ", "larger than 1 MiB"}},
		"not UTF-8":        {book.PutSummary{"other", good + "caf\xe9\n"}, []string{"summaries/other.md:14:4: ", "not UTF-8"}},
		"unknown key":      {book.PutSummary{"other", strings.Replace(good, "owner:", "onwer:", 1)}, []string{"summaries/other.md:6:1: ", `no key "onwer"; write owner`}},
		"one id, two":      {book.PutSummary{"other", strings.Replace(good, "id: other", "id: first-stick", 1)}, []string{"summaries/other.md:2:", "summaries/first-stick.md:2 has the id \"first-stick\" already"}},
		"no front matter":  {book.PutSummary{"other", "Just text."}, []string{"summaries/other.md:1:1: ", "front matter"}},
		"no text":          {book.SummaryText{ID: "first-stick", Text: " \n"}, []string{"summaries/first-stick.md:", "no text"}},
		"out of the book":  {book.PutSummary{"../evil", good}, []string{"summaries: ", "no id"}},
		"no such summary":  {book.SummaryText{ID: "first-stik", Text: "x"}, []string{"summaries/first-stik.md: "}},
		"deleted nothing":  {book.DeleteSummary{"first-stik"}, []string{"summaries/first-stik.md: ", "write first-stick"}},
		"bounds swapped":   {value(func(c *book.PutValue) { c.Value = "54 to 47" }), []string{"sheet/sticks.yaml:", "the bounds are swapped", "write [47, 54]"}},
		"no such day":      {value(func(c *book.PutValue) { c.From = "2027-02-30" }), []string{"sheet/sticks.yaml:", "there is no day 2027-02-30"}},
		"unknown division": {value(func(c *book.PutValue) { c.Divisions = []string{"U12"} }), []string{"sheet/sticks.yaml:", `no division "U12"`, "U9, U11, HS"}},
		"unknown topic":    {value(func(c *book.PutValue) { c.Topic = "stick" }), []string{"sheet: ", "write sticks"}},
		"unknown key of":   {value(func(c *book.PutValue) { c.Key = "lnog" }), []string{"sheet/sticks.yaml:", "write long"}},
		"unknown layer":    {value(func(c *book.PutValue) { c.Layer = "state" }), []string{"sheet/sticks.yaml:", `no layer "state"`}},
		"unknown position": {value(func(c *book.PutValue) { c.Positions = []string{"goaly"} }), []string{"sheet/sticks.yaml:", `no position "goaly"`}},
		"unknown unit":     {value(func(c *book.PutValue) { c.Unit = "ells" }), []string{"sheet/sticks.yaml:", `no unit "ells"`}},
		"unknown source":   {value(func(c *book.PutValue) { c.Source, c.NewSource = "hearsay", "" }), []string{"sheet/sticks.yaml:", `no source "hearsay"`}},
		"no source":        {value(func(c *book.PutValue) { c.NewSource = "" }), []string{"sheet/sticks.yaml:1:1: ", "names no source"}},
		"no first day":     {value(func(c *book.PutValue) { c.From = "" }), []string{"sheet/sticks.yaml:1:1: ", "no first day"}},
		"odd value":        {value(func(c *book.PutValue) { c.Value = "many, {a: b}" }), []string{"sheet/sticks.yaml:"}},
		"holds nowhere":    {value(func(c *book.PutValue) { c.Layer = "high-school" }), []string{"sheet/sticks.yaml:", "would hold nowhere", "of layer youth"}},
		"a season back":    {book.SetSeason{"2026", 20260831, 20250901}, []string{"book.yaml:", "before it starts"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := p.Propose(t.Context(), tt.change)
			var wrong book.Errors
			if !errors.As(err, &wrong) {
				t.Fatalf("%v", err)
			}
			for _, want := range tt.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("want %q in:\n%v", want, err)
				}
			}
		})
	}
	if _, err := p.Propose(t.Context(), book.SummaryText{ID: "first-stick", Text: summaryText(t, loadDir(t, dir), "first-stick")}); !errors.Is(err, book.ErrNoChange) {
		t.Errorf("the same text: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "history")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("proposing wrote a history: %v", err)
	}
}

func TestSummaries(t *testing.T) {
	dir := folder(t, smallBook(t))
	p := publisher(t, dir)
	publish(t, p, "", book.PutSummary{"other", page("other", "Text.")})
	b := loadDir(t, dir)
	if len(b.Summaries) != 2 || b.Summaries[1].Title != `A page: “odd” "signs"` || b.Summaries[1].Questions[0] != "What is it?" {
		t.Errorf("%+v", b.Summaries[1])
	}
	publish(t, p, "", book.DeleteSummary{"first-stick"})
	if b = loadDir(t, dir); len(b.Summaries) != 1 || b.Summaries[0].ID != "other" {
		t.Errorf("%+v", b.Summaries)
	}
	if _, err := p.Undo(t.Context(), 0, book.Note{By: "a"}); err != nil {
		t.Fatal(err)
	}
	if b = loadDir(t, dir); len(b.Summaries) != 2 {
		t.Errorf("%+v", b.Summaries)
	}
}

func TestSeason(t *testing.T) {
	dir := folder(t, shippedFiles(t))
	p := publisher(t, dir)
	b := loadDir(t, dir)
	next, err := b.NextSeason(2028)
	if err != nil {
		t.Fatal(err)
	}
	before := lines(read(t, dir, "book.yaml"))
	publish(t, p, "", next)
	if got := loadDir(t, dir).Season; got != (book.Season{Name: "2028", From: 20270901, To: 20280831}) {
		t.Errorf("%+v", got)
	}
	changed := 0
	for i, l := range lines(read(t, dir, "book.yaml")) {
		if l != before[i] {
			changed++
		}
	}
	if changed != 1 {
		t.Errorf("%d lines of book.yaml are others", changed)
	}
	for _, year := range []int{2027, 2026, 0, 3000} {
		if _, err := b.NextSeason(year); err == nil {
			t.Errorf("%d follows 2027", year)
		}
	}
}

func TestFreeID(t *testing.T) {
	b := load(t, smallBook(t))
	for title, want := range map[string]string{
		"First stick!": "first-stick-2", "¿Dónde se aparca?": "donde-se-aparca", "Who's driving, and when do we all meet at the field by the river?": "whos-driving-and-when-do-we-all-meet-at",
		"": "page", "…": "page", "../../x": "x", strings.Repeat("a", 90): strings.Repeat("a", 40),
	} {
		if got := b.FreeID(title); got != want {
			t.Errorf("%q: %q, want %q", title, got, want)
		}
	}
}
