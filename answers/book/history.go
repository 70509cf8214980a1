package book

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/diff"
)

// What a book's folder remembers of its publications. history/ holds
//
//	0001.json   a publication: who, when, why, and each file it changed with the
//	            text before and after; 0002.json is the next, and so on
//	pending.json  the publication that is being written; it is renamed to its
//	            number when all its files are in place
//	lock        held by whoever publishes
//
// The moment at which pending.json appears (by a rename, whole) is the moment of
// publication. Whoever reads the folder then sees its new texts in place of the
// old files (DirFS), and the next publisher puts them in place. Nothing else of
// the folder is touched, and Load does not look into history/.
const (
	historyDir  = "history"
	pendingFile = "pending.json"
	lockFile    = "lock"
)

// Record is one publication.
type Record struct {
	Number   int       `json:"number"` // from 1, in order
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	Why      string    `json:"why"`
	Base     string    `json:"base"`     // the revision that it changed
	Revision string    `json:"revision"` // the revision that it made
	// Undoes is the number of the publication that this one takes back; 0 for none.
	Undoes int `json:"undoes,omitempty"`
	// Edited says that somebody had edited the folder since the publication before.
	Edited bool         `json:"edited,omitempty"`
	Files  []FileChange `json:"files"`
}

// FileChange is a file of the book before and after; nil where there is none.
type FileChange struct {
	File   string  `json:"file"`
	Before *string `json:"before,omitempty"`
	After  *string `json:"after,omitempty"`
}

// Diff shows the lines that differ, as people who keep text in git know it; ""
// where nothing does.
func (c FileChange) Diff() string {
	text := func(s *string) (name string, raw []byte) {
		if s == nil {
			return "(no file)", nil
		}
		return c.File, []byte(*s)
	}
	oldName, before := text(c.Before)
	newName, after := text(c.After)
	out := diff.Diff(oldName, before, newName, after)
	// Its first line is a command that nobody gave.
	if i := bytes.IndexByte(out, '\n'); i >= 0 && bytes.HasPrefix(out, []byte("diff ")) {
		out = out[i+1:]
	}
	return string(out)
}

// TextDiff shows the lines that differ in all files.
func TextDiff(files []FileChange) string {
	var b strings.Builder
	for _, f := range files {
		b.WriteString(f.Diff())
	}
	return b.String()
}

func recordName(n int) string { return fmt.Sprintf("%04d.json", n) }

// recordNumber is the number in a record's file name, 0 for other files.
func recordNumber(name string) int {
	base, ok := strings.CutSuffix(name, ".json")
	n, err := strconv.Atoi(base)
	if !ok || err != nil || n < 1 || recordName(n) != name {
		return 0
	}
	return n
}

// numbers are the publications in a folder, in order, without a pending one.
func numbers(dir string) ([]int, error) {
	es, err := os.ReadDir(filepath.Join(dir, historyDir))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("reading the book's history: %w", err)
	}
	var out []int
	for _, e := range es {
		if n := recordNumber(e.Name()); n > 0 {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out, nil
}

func lastNumber(dir string) (int, error) {
	ns, err := numbers(dir)
	if err != nil || len(ns) == 0 {
		return 0, err
	}
	return ns[len(ns)-1], nil
}

func readRecord(name string) (*Record, error) {
	raw, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("reading the book's history: %w", err)
	}
	r := &Record{}
	if err := json.Unmarshal(raw, r); err != nil {
		return nil, fmt.Errorf("%s/%s is damaged (%w); put it back from a copy, or take it away", historyDir, filepath.Base(name), err)
	}
	for _, f := range r.Files {
		if !inBook(f.File) {
			return nil, fmt.Errorf("%s/%s names %q, which is no file of a book; put it back from a copy, or take it away", historyDir, filepath.Base(name), f.File)
		}
	}
	return r, nil
}

// inBook says whether a name is one that a book's files have: history is a file
// too, and a name out of it is about to be written to.
func inBook(name string) bool {
	if name == bookFile || name == sourcesFile {
		return true
	}
	dir, base, ok := strings.Cut(name, "/")
	switch {
	case !ok:
		return false
	case dir == sheetDir:
		base, ok = strings.CutSuffix(base, ".yaml")
	case dir == summariesDir:
		base, ok = strings.CutSuffix(base, ".md")
	default:
		return false
	}
	return ok && isID(base)
}

// History is what was published in a book's folder, the newest first; at most
// limit of them, all for 0.
func History(ctx context.Context, dir string, limit int) ([]*Record, error) {
	ns, err := numbers(dir)
	if err != nil {
		return nil, err
	}
	var out []*Record
	pending, err := readRecord(filepath.Join(dir, historyDir, pendingFile))
	switch {
	case err == nil && !slices.Contains(ns, pending.Number):
		out = append(out, pending)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	for _, n := range slices.Backward(ns) {
		if limit > 0 && len(out) >= limit {
			break
		}
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("reading the book's history: %w", err)
		}
		r, err := readRecord(filepath.Join(dir, historyDir, recordName(n)))
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// At is the book in a folder as it was at a revision: the number of a
// publication (0 is before the first), or the beginning of a revision's hash.
// It gives the files beside the book. A revision that nobody published, and one
// before which the folder was edited by hand, cannot be made again, and At says so.
func At(ctx context.Context, dir, ref string) (*Book, fs.FS, error) {
	records, err := History(ctx, dir, 0)
	if err != nil {
		return nil, nil, err
	}
	b, fsys, _, err := loadDir(ctx, dir)
	if err != nil {
		return nil, nil, err
	}
	want, back, err := find(records, b.Revision, strings.TrimPrefix(strings.TrimSpace(ref), "#"))
	if err != nil {
		return nil, nil, err
	}
	if want == b.Revision {
		return b, fsys, nil
	}
	o := &overlay{base: fsys, files: map[string]*string{}}
	for _, r := range records[:back] {
		for _, f := range r.Files {
			o.files[f.File] = f.Before
		}
	}
	old, err := Load(ctx, o)
	if err != nil && ctx.Err() != nil {
		return nil, nil, fmt.Errorf("loading revision %s: %w", ref, err)
	}
	// Where the folder was edited by hand the way back leads elsewhere.
	if err != nil || old.Revision != want {
		return nil, nil, fmt.Errorf("the book's revision %s cannot be made again: somebody has edited the folder since", ref)
	}
	return old, o, nil
}

// find is the revision that a reference names, and how many of the records,
// newest first, have to be taken back from the book of now to get there.
func find(records []*Record, now, ref string) (revision string, back int, err error) {
	if n, err := strconv.Atoi(ref); err == nil && len(ref) < 6 {
		for i, r := range records {
			if r.Number == n {
				return r.Revision, i, nil
			}
		}
		if last := len(records) - 1; n == 0 && last >= 0 && records[last].Number == 1 {
			return records[last].Base, last + 1, nil
		}
		return "", 0, fmt.Errorf("the book has no revision %d; %s", n, numbersOf(records))
	}
	if len(ref) >= 4 {
		if strings.HasPrefix(now, ref) {
			return now, 0, nil
		}
		for i, r := range records {
			switch {
			case strings.HasPrefix(r.Revision, ref):
				return r.Revision, i, nil
			case strings.HasPrefix(r.Base, ref):
				return r.Base, i + 1, nil
			}
		}
	}
	return "", 0, fmt.Errorf("the book has no revision %q; %s", ref, numbersOf(records))
}

func numbersOf(records []*Record) string {
	if len(records) == 0 {
		return "nothing has been published in it yet"
	}
	return fmt.Sprintf("it has %d to %d", records[len(records)-1].Number, records[0].Number)
}
