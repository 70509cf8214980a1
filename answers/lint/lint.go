// Package lint finds what is wrong with a book that loads: values that leave
// gaps, prose that contradicts the values, pages that nobody has looked at for
// long. Each kind of finding has a name by which it can be switched off.
package lint

import (
	"context"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// Finding is one thing that a club should look at.
type Finding struct {
	Name      string // the check that found it
	File      string
	Line, Col int // from 1; 0 where the file as a whole is meant
	What      string
	Fix       string
	Divisions []string // the ones that it is about; nil where that is no matter
}

// String is the finding in one line.
func (f Finding) String() string {
	at := f.File
	if f.Line > 0 {
		at += fmt.Sprintf(":%d", f.Line)
		if f.Col > 0 {
			at += fmt.Sprintf(":%d", f.Col)
		}
	}
	return fmt.Sprintf("%s: %s: %s; %s", at, f.Name, f.What, f.Fix)
}

// Options say what to look for. The zero value looks for everything that needs
// no further input.
type Options struct {
	Off []string // names of checks to leave out
	// StaleDays is how many days before the season's start a page may have been
	// reviewed last; 0 is 365.
	StaleDays int
	// Schemas holds the JSON Schemas at its root; nil: the book's own schema folder.
	Schemas fs.FS
	// ReadKeys are the keys that the program's checks read, as "topic: key"; a *
	// stands for any run of characters. Nil leaves unread-key out.
	ReadKeys []string
}

// Check is one kind of finding.
type Check struct {
	Name, Help string
	run        func(*linter)
}

// Checks lists every check there is, in the order in which they run.
func Checks() []Check {
	return []Check{
		{"schema", "a YAML file does not agree with its JSON Schema, or does not name it", (*linter).schema},
		{"resolution", "a key has more than one winner somewhere", (*linter).resolution},
		{"silence", "a key has a value before and after a date, or for younger and older divisions, but none between, and does not say so", (*linter).silence},
		{"never-wins", "a value is overridden on every day on which it holds", (*linter).neverWins},
		{"no-source", "a value or a summary names no source", (*linter).noSource},
		{"unused-source", "nobody cites a source", (*linter).unusedSource},
		{"prose", "a number in a summary contradicts the sheet", (*linter).prose},
		{"stale", "nobody has reviewed a summary for long", (*linter).stale},
		{"unread-key", "no check of the program reads a key", (*linter).unreadKey},
	}
}

// Names are the names of the checks.
func Names() []string {
	var out []string
	for _, c := range Checks() {
		out = append(out, c.Name)
	}
	return out
}

// Lint looks through a book that has been loaded from fsys. The findings come
// by file and line. A canceled context ends it early, with what it has.
func Lint(ctx context.Context, fsys fs.FS, b *book.Book, o Options) []Finding {
	l := &linter{fsys: fsys, b: b, o: o, keys: keysOf(b.Sheet)}
	for _, c := range Checks() {
		if ctx.Err() != nil {
			break
		}
		if slices.Contains(o.Off, c.Name) {
			continue
		}
		l.name = c.Name
		c.run(l)
	}
	slices.SortStableFunc(l.out, func(x, y Finding) int {
		if c := strings.Compare(x.File, y.File); c != 0 {
			return c
		}
		if x.Line != y.Line {
			return x.Line - y.Line
		}
		return strings.Compare(x.Name, y.Name)
	})
	return l.out
}

type linter struct {
	fsys fs.FS
	b    *book.Book
	o    Options
	keys []key
	name string
	out  []Finding

	compared int // how many numbers of the prose met a value
}

// key is one key of the sheet, with its records by precedence.
type key struct {
	topic, key string
	records    []*sheet.Record
}

// keysOf lists the keys in the order of the book.
func keysOf(s *sheet.Sheet) []key {
	type id struct{ topic, key string }
	seen := map[id]bool{}
	var out []key
	for _, r := range s.All() {
		if k := (id{r.Topic, r.Key}); !seen[k] {
			seen[k] = true
			out = append(out, key{r.Topic, r.Key, s.Records(r.Topic, r.Key)})
		}
	}
	return out
}

func (l *linter) add(file string, line, col int, fix, what string, args ...any) {
	l.out = append(l.out, Finding{Name: l.name, File: file, Line: line, Col: col, What: fmt.Sprintf(what, args...), Fix: fix})
}

func (l *linter) at(r *sheet.Record, fix, what string, args ...any) {
	l.add(r.File, r.Line, r.Col, fix, what, args...)
}

func (l *linter) schema() {
	schemas := l.o.Schemas
	if schemas == nil {
		sub, err := fs.Sub(l.fsys, "schema")
		if err != nil {
			l.add("schema", 0, 0, "take the folder that `sidewall book new` writes", "%v", err)
			return
		}
		schemas = sub
	}
	for _, e := range book.CheckSchemas(l.fsys, schemas) {
		l.add(e.File, e.Line, e.Col, e.Fix, "%s", e.What)
	}
}

func (l *linter) noSource() {
	for _, r := range l.b.Sheet.All() {
		if r.Source == nil || r.Source.ID == "" {
			l.at(r, "write source: and the id of an entry in sources.yaml", "%s names no source", r.Basis())
		}
	}
	for _, s := range l.b.Summaries {
		if len(s.Sources) == 0 {
			l.add(s.File, s.Line, 1, "write sources: with the ids of entries in sources.yaml", "the summary %s names no source", s.ID)
		}
	}
}

func (l *linter) unusedSource() {
	used := map[string]bool{}
	for _, r := range l.b.Sheet.All() {
		if r.Source != nil {
			used[r.Source.ID] = true
		}
	}
	for _, s := range l.b.Summaries {
		for _, id := range s.Sources {
			used[id] = true
		}
	}
	for id, s := range l.b.Sources {
		if !used[id] {
			l.add(s.File, s.Line, 0, "cite it, or take it out", "no value and no summary cites the source %s", id)
		}
	}
}

func (l *linter) stale() {
	days := l.o.StaleDays
	if days == 0 {
		days = 365
	}
	limit := l.b.Season.From.AddDays(-days)
	for _, s := range l.b.Summaries {
		if s.Reviewed < limit {
			l.add(s.File, s.Line, 1, "check the page against the season's rules and write the day as reviewed:",
				"%s was reviewed on %s, more than %d days before the season %s started", s.ID, s.Reviewed, days, l.b.Season.Name)
		}
		if s.From > l.b.Season.To {
			l.add(s.File, s.Line, 1, "mend the date, or keep the page for that season's book", "%s holds from %s only, after the season %s", s.ID, s.From, l.b.Season.Name)
		}
	}
}

func (l *linter) unreadKey() {
	if l.o.ReadKeys == nil {
		return
	}
	for _, k := range l.keys {
		name := k.topic + ": " + k.key
		read := slices.ContainsFunc(l.o.ReadKeys, func(pattern string) bool {
			ok, err := path.Match(pattern, name)
			return ok && err == nil
		})
		if !read {
			l.at(first(k.records), "mend the key's name, or take the value out", "no check reads %s", name)
		}
	}
}

// first is the record that stands first in the book.
func first(rs []*sheet.Record) *sheet.Record {
	return slices.MinFunc(rs, func(a, b *sheet.Record) int { return a.Line - b.Line })
}

// changes are the days on which anything changes for a key.
func changes(rs []*sheet.Record) []measure.Date {
	var out []measure.Date
	for _, r := range rs {
		out = append(out, r.From)
		if r.Until != 0 {
			out = append(out, r.Until.AddDays(1))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
