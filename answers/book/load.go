package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// maxFile is how large a single file of a book may be.
const maxFile = 1 << 20

// Load reads a whole book. Where anything is wrong it returns Errors with
// everything that is wrong, and no book: half a book would give wrong answers.
func Load(ctx context.Context, fsys fs.FS) (*Book, error) {
	l := &loader{fsys: fsys, book: &Book{Sources: map[string]*sheet.Source{}}, sum: sha256.New()}
	files, err := l.files()
	if err != nil {
		return nil, err
	}
	var recs []*sheet.Record
	topics := map[string]*sheet.Topic{}
	raw := l.readAll(files)
	for _, name := range files {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("loading the book: %w", err)
		}
		f, ok := l.open(name, <-raw)
		if !ok {
			continue
		}
		switch {
		case name == bookFile:
			l.bookFile(f)
		case name == sourcesFile:
			l.sourcesFile(f)
		case strings.HasPrefix(name, sheetDir+"/"):
			if t, rs := l.sheetFile(f); t != nil {
				topics[t.ID] = t
				recs = append(recs, rs...)
			}
		default:
			if s := l.summaryFile(f); s != nil {
				l.book.Summaries = append(l.book.Summaries, s)
			}
		}
	}
	l.ties(recs)
	if len(l.errs) > 0 {
		l.errs.sort()
		return nil, l.errs
	}
	b := l.book
	b.Files = slices.Sorted(slices.Values(files))
	b.Sheet = sheet.New(l.layers, l.divisions, topics, recs)
	slices.SortFunc(b.Summaries, func(x, y *Summary) int { return strings.Compare(x.ID, y.ID) })
	b.Revision = revisionName(l.sum.Sum(nil))
	return b, nil
}

// The places of a book's files.
const (
	bookFile     = "book.yaml"
	sourcesFile  = "sources.yaml"
	sheetDir     = "sheet"
	summariesDir = "summaries"
)

// loader is one loading of a book.
type loader struct {
	fsys fs.FS
	book *Book
	errs Errors

	layers     []sheet.Layer
	layerIDs   []string
	divisions  []string
	sourceIDs  []string
	hasBook    bool              // book.yaml told its layers and divisions
	hasSources bool              // sources.yaml told its sources
	files_     map[string]*file  // by name, for errors that name two places
	seen       map[string]string // summary id -> file:line
	noSource   *sheet.Source
	reader     plainReader
	raw        bytes.Buffer // the file being read, used again by the next
	sum        hash.Hash    // of what was read; nil where nobody asks
}

// files lists what there is to read: book.yaml and sources.yaml come first,
// because the rest refers to them.
func (l *loader) files() ([]string, error) {
	if _, err := fs.Stat(l.fsys, "."); err != nil {
		return nil, fmt.Errorf("opening the book: %w", err)
	}
	out := []string{bookFile, sourcesFile}
	sheets, ok := l.dir(sheetDir, ".yaml", ".yml")
	if ok && len(sheets) == 0 {
		l.errs = append(l.errs, &Error{File: sheetDir, What: "there is no sheet file in this folder", Fix: "write one file a topic, such as sheet/crosse-length.yaml"})
	}
	if !ok {
		l.errs = append(l.errs, &Error{File: sheetDir, What: "the book has no such folder", Fix: "make it, with one file a topic in it; `sidewall book new` writes a book to start from"})
	}
	texts, _ := l.dir(summariesDir, ".md", ".markdown")
	return append(append(out, sheets...), texts...), nil
}

func (l *loader) dir(dir, ext, wrongExt string) (names []string, ok bool) {
	es, err := fs.ReadDir(l.fsys, dir)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			l.errs = append(l.errs, &Error{File: dir, What: "the folder cannot be read: " + err.Error(), Fix: "make it a folder that this program may read"})
			return nil, true
		}
		return nil, false
	}
	for _, e := range es {
		name := e.Name()
		switch {
		case strings.HasPrefix(name, "."):
		case e.IsDir():
			l.errs = append(l.errs, &Error{File: path.Join(dir, name), What: "a folder in here is not read", Fix: "move its files up into " + dir})
		case path.Ext(name) == ext:
			names = append(names, path.Join(dir, name))
		case strings.EqualFold(path.Ext(name), ext), strings.EqualFold(path.Ext(name), wrongExt):
			l.errs = append(l.errs, &Error{File: path.Join(dir, name), What: "this file would not be read", Fix: "name it " + strings.TrimSuffix(name, path.Ext(name)) + ext})
		}
	}
	return names, true
}

func (l *loader) read(name string) (*file, bool) {
	raw, err := readFile(l.fsys, name, &l.raw)
	if err == nil && l.sum != nil {
		contentHash{l.sum}.add(name, raw)
	}
	return l.open(name, rawFile{string(raw), err})
}

// rawFile is what a file holds, or why it cannot be read.
type rawFile struct {
	text string
	err  error
}

// readAll reads files in their order beside whatever is done with those that
// came before; what it gives never waits for whoever takes it.
func (l *loader) readAll(files []string) <-chan rawFile {
	out := make(chan rawFile, len(files))
	go func() {
		defer close(out)
		for _, name := range files {
			raw, err := readFile(l.fsys, name, &l.raw)
			if err == nil && l.sum != nil {
				contentHash{l.sum}.add(name, raw)
			}
			out <- rawFile{string(raw), err}
		}
	}()
	return out
}

// open makes a file of what was read.
func (l *loader) open(name string, raw rawFile) (*file, bool) {
	if err := raw.err; err != nil {
		e := &Error{File: name, What: err.Error(), Fix: "make it a file that this program may read"}
		switch {
		case errors.Is(err, fs.ErrNotExist):
			e.What, e.Fix = "the book has no such file", "write it; `sidewall book new` writes a book to start from"
		case errors.Is(err, errTooLarge):
			e.Fix = "split it, or take out what does not belong into a book"
		}
		l.errs = append(l.errs, e)
		return nil, false
	}
	f := newFile(name, raw.text, &l.errs)
	f.reader = &l.reader
	if l.files_ == nil {
		l.files_ = map[string]*file{}
	}
	l.files_[name] = f
	if line, col := notUTF8(f.text); line > 0 {
		f.err(line, col, "these bytes are not UTF-8 text", "save the file as UTF-8")
		return nil, false
	}
	return f, true
}

var errTooLarge = errors.New("the file is larger than 1 MiB")

// readFile reads a file into b; what it gives holds until b is used again.
func readFile(fsys fs.FS, name string, b *bytes.Buffer) ([]byte, error) {
	r, err := fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("opening it: %w", err)
	}
	defer r.Close()
	st, err := r.Stat()
	if err != nil {
		return nil, fmt.Errorf("reading it: %w", err)
	}
	if st.IsDir() {
		return nil, errors.New("this is a folder, not a file")
	}
	if st.Size() > maxFile {
		return nil, errTooLarge
	}
	// A file may grow while it is read, so the limit holds here as well.
	b.Reset()
	b.Grow(int(st.Size()) + bytes.MinRead)
	if _, err := b.ReadFrom(io.LimitReader(r, maxFile+1)); err != nil {
		return nil, fmt.Errorf("reading it: %w", err)
	}
	if b.Len() > maxFile {
		return nil, errTooLarge
	}
	return b.Bytes(), nil
}

func notUTF8(s string) (line, col int) {
	if utf8.ValidString(s) {
		return 0, 0
	}
	line, col = 1, 1
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		if r == utf8.RuneError && n == 1 {
			return line, col
		}
		i, col = i+n, col+1
		if r == '\n' {
			line, col = line+1, 1
		}
	}
	return 0, 0
}

// file is a file of the book while it is read.
type file struct {
	name   string
	text   string // without byte order mark and carriage returns
	offset int    // lines before the YAML, in a summary
	errs   *Errors
	reader *plainReader // shared by all files of one loading
}

var lineBreaks = strings.NewReplacer("\r\n", "\n", "\r", "\n")

func newFile(name, text string, errs *Errors) *file {
	text = strings.TrimPrefix(text, "\uFEFF")
	if strings.IndexByte(text, '\r') >= 0 {
		text = lineBreaks.Replace(text)
	}
	return &file{name: name, text: text, errs: errs}
}

// line is a line of the file, from 1.
func (f *file) line(n int) string {
	rest := f.text
	for ; n > 1; n-- {
		i := strings.IndexByte(rest, '\n')
		if i < 0 {
			return ""
		}
		rest = rest[i+1:]
	}
	out, _, _ := strings.Cut(rest, "\n")
	return out
}

func (f *file) err(line, col int, what, fix string) {
	e := &Error{File: f.name, Line: line, Col: col, What: what, Fix: fix}
	if line > 0 {
		e.Source = f.line(line)
	}
	*f.errs = append(*f.errs, e)
}

// bad is an error at a node.
func (f *file) bad(n *node, fix, what string, args ...any) {
	if len(args) > 0 {
		what = fmt.Sprintf(what, args...)
	}
	f.err(n.line+f.offset, max(n.col, 1), what, fix)
}

// yaml parses the file's text, or the part of it that is given.
func (f *file) yaml(text string) (node, bool) {
	n, err := f.reader.readYAML(text)
	if err != nil {
		var se *syntaxError
		if !errors.As(err, &se) {
			se = &syntaxError{1, 1, err.Error()}
		}
		line := max(se.line, 1) + f.offset
		f.err(line, max(se.col, 1), "this is not YAML as a book uses it: "+se.what, syntaxFix(f.line(line)))
		return node{}, false
	}
	return n, true
}

// syntaxFix guesses what a line that is no YAML needs.
func syntaxFix(line string) string {
	for _, b := range []string{"[]", "{}"} {
		if open, closed := strings.Count(line, b[:1]), strings.Count(line, b[1:]); open > closed {
			return "close the " + b[:1] + " that this line opens with a " + b[1:]
		} else if open < closed {
			return "take out the " + b[1:] + " that closes nothing, or write the " + b[:1] + " that it closes"
		}
	}
	if strings.IndexByte(line, '\t') >= 0 {
		return "write blanks instead of the tab"
	}
	return "mend the line, or put the text into quotes"
}

// object is a mapping whose keys have been checked.
type object struct {
	f     *file
	n     *node
	names []string
	at    [20]int16 // for each name its item + 1, or misspelt
}

// misspelt stands for a key that is there under a wrong name: that it is
// missing needs no telling as well.
const misspelt = -1

// object checks that n is a mapping of known keys, each at most once.
func (f *file) object(n *node, what string, names []string) (object, bool) {
	o := object{f: f, n: n, names: names}
	if n.kind != mapping {
		f.bad(n, "write its keys: "+strings.Join(names, ", "), "%s is a block of keys, but here is %s", what, n.what())
		return o, false
	}
	for i := range n.keys {
		k := &n.keys[i]
		at := slices.Index(names, k.text)
		if at < 0 {
			f.bad(k, choice(k.text, names), "%s has no key %q", what, k.text)
			if meant := slices.Index(names, nearest(k.text, names)); meant >= 0 && o.at[meant] == 0 {
				o.at[meant] = misspelt
			}
			continue
		}
		if first := o.at[at]; first > 0 {
			f.bad(k, "keep one of the two", "key %q stands here twice, first in line %d", k.text, n.keys[first-1].line+f.offset)
			continue
		}
		o.at[at] = int16(i + 1)
	}
	return o, true
}

// get is the value of a key, nil where it is not there.
func (o *object) get(name string) *node {
	if i := o.at[slices.Index(o.names, name)]; i > 0 {
		return &o.n.items[i-1]
	}
	return nil
}

// need is get for a key that has to be there.
func (o *object) need(name, example string) *node {
	n := o.get(name)
	if n == nil && o.at[slices.Index(o.names, name)] != misspelt {
		o.f.bad(o.n, "write "+name+": "+example, "key %q is missing here", name)
	}
	return n
}

// word reads a scalar that is not empty; a nil node is silent.
func (f *file) word(n *node, name, example string) string {
	if n == nil {
		return ""
	}
	if n.kind != plain && n.kind != quoted {
		f.bad(n, "write "+name+": "+example, "%q is a text, but here is %s", name, n.what())
		return ""
	}
	if strings.TrimSpace(n.text) == "" {
		f.bad(n, "write "+name+": "+example, "%q is empty", name)
		return ""
	}
	return n.text
}

// id reads a name that other files refer to.
func (f *file) id(n *node, name, example string) string {
	s := f.word(n, name, example)
	if s != "" && !isID(s) {
		f.bad(n, "use letters, digits, -, _ and . only, such as "+example, "%q is no id", s)
		return ""
	}
	return s
}

func isID(s string) bool {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || i > 0 && (c == '-' || c == '.' || c == '_') {
			continue
		}
		return false
	}
	return s != "" && len(s) <= 80
}

func (f *file) integer(n *node, name string, lo, hi int) int {
	if n == nil {
		return 0
	}
	v, err := strconv.Atoi(n.text)
	if n.kind != plain || err != nil {
		f.bad(n, fmt.Sprintf("write a whole number from %d to %d", lo, hi), "%q is a whole number, but here is %s", name, n.what())
		return 0
	}
	if v < lo || v > hi {
		f.bad(n, fmt.Sprintf("write a whole number from %d to %d", lo, hi), "%s cannot be %d", name, v)
		return 0
	}
	return v
}

func (f *file) integers(n *node, name string, lo, hi int) []int {
	if n == nil {
		return nil
	}
	if n.kind != list {
		f.bad(n, fmt.Sprintf("write %s: [%d]", name, lo), "%q is a list, but here is %s", name, n.what())
		return nil
	}
	out := make([]int, 0, len(n.items))
	for i := range n.items {
		out = append(out, f.integer(&n.items[i], name, lo, hi))
	}
	return out
}

// date reads a day; a year alone is its 1 January.
func (f *file) date(n *node, name string) measure.Date {
	if n == nil {
		return 0
	}
	if n.kind != plain && n.kind != quoted {
		f.bad(n, "write "+name+": 2026-09-01", "%q is a date, but here is %s", name, n.what())
		return 0
	}
	d, err := measure.ParseDate(n.text)
	if err != nil {
		f.bad(n, "write a day as year-month-day, such as 2026-09-01, or a year alone", "%s: %v", name, err)
		return 0
	}
	return d
}

// words reads a list of texts; empty is told of where some is not allowed.
func (f *file) words(n *node, name, example string) []*node {
	if n == nil {
		return nil
	}
	if n.kind != list {
		f.bad(n, "write "+name+": ["+example+"]", "%q is a list, but here is %s", name, n.what())
		return nil
	}
	out := make([]*node, 0, len(n.items))
	for i := range n.items {
		if it := &n.items[i]; f.word(it, name, example) != "" {
			out = append(out, it)
		}
	}
	return out
}

func (f *file) strings(n *node, name, example string) []string {
	ws := f.words(n, name, example)
	if len(ws) == 0 {
		return nil
	}
	out := make([]string, len(ws))
	for i, w := range ws {
		out[i] = w.text
	}
	return out
}

var textKeys = []string{"en", "es"}

// text2 reads a text in both languages; a plain text is English.
func (f *file) text2(n *node, name string) sheet.Text2 {
	if n == nil {
		return sheet.Text2{}
	}
	if n.kind == plain || n.kind == quoted {
		return sheet.Text2{EN: f.word(n, name, "{en: …, es: …}")}
	}
	o, ok := f.object(n, name, textKeys)
	if !ok {
		return sheet.Text2{}
	}
	return sheet.Text2{EN: f.word(o.need("en", "the English text"), "en", "the English text"), ES: f.word(o.get("es"), "es", "the Spanish text")}
}

// scope reads a list of divisions into a mask.
func (l *loader) scope(f *file, n *node) sheet.Mask {
	var m sheet.Mask
	ws := f.words(n, "divisions", "U11, U13")
	if n.kind == list && len(n.items) == 0 {
		f.bad(n, "name divisions, or leave the key out", "the list of divisions is empty")
	}
	for _, w := range ws {
		i := slices.Index(l.divisions, w.text)
		switch {
		case i >= 0 && m.Has(i):
			f.bad(w, "name it once", "division %s stands here twice", w.text)
		case i >= 0:
			m |= 1 << uint(i)
		case l.hasBook:
			f.bad(w, choice(w.text, l.divisions), "the book has no division %q", w.text)
		}
	}
	return m
}
