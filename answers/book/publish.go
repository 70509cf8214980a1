package book

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"
)

// ErrNoChange says that a change would leave the book as it is.
var ErrNoChange = errors.New("nothing would change")

// StaleError says that the book is no longer the one that a proposal changes:
// nothing was published. Propose makes the change anew on the book of now.
type StaleError struct {
	Base, Now string // revisions
	// Since is what was published in between, the newest first; empty where
	// somebody edited the folder.
	Since []*Record
	// Both are the files that the proposal changes and that are not what they were.
	Both []string
}

func (e *StaleError) Error() string {
	out := "somebody has edited the book's folder meanwhile"
	if len(e.Since) > 0 {
		r := e.Since[0]
		out = fmt.Sprintf("%s has published revision %d meanwhile (%s)", r.By, r.Number, r.Why)
	}
	if len(e.Both) > 0 {
		return out + ", and changed " + strings.Join(e.Both, ", ") + " too; look at the difference again before you publish"
	}
	return out + "; look at your change again, nothing of it is lost"
}

// AfterError says that a publication stands, but that what was to follow it
// (a commit) failed.
type AfterError struct{ Err error }

func (e *AfterError) Error() string { return "it is published, but " + e.Err.Error() }

func (e *AfterError) Unwrap() error { return e.Err }

// PublishOption sets something of a Publisher.
type PublishOption func(*Publisher)

// WithNow gives the publisher its clock.
func WithNow(now func() time.Time) PublishOption { return func(p *Publisher) { p.now = now } }

// WithAfter has f called after each publication, still under the folder's lock:
// it may commit the files. Its error does not take the publication back; it
// comes as an *AfterError beside the record.
func WithAfter(f func(context.Context, *Record) error) PublishOption {
	return func(p *Publisher) { p.after = f }
}

// Publisher changes the book in a folder: one revision after the other, each
// whole, each to be taken back. Several publishers, also of several processes,
// may work on one folder. It is safe for concurrent use.
type Publisher struct {
	dir   string
	now   func() time.Time
	after func(context.Context, *Record) error
	step  func(string) // told before each step; a test dies there
}

// NewPublisher makes a publisher for a folder that holds a book. It writes
// nothing yet.
func NewPublisher(dir string, opts ...PublishOption) (*Publisher, error) {
	st, err := os.Stat(dir)
	if err != nil {
		return nil, fmt.Errorf("opening the book: %w", err)
	}
	if !st.IsDir() {
		return nil, fmt.Errorf("opening the book: %s is a file; name the folder that holds %s", dir, bookFile)
	}
	p := &Publisher{dir: dir, now: time.Now, step: func(string) {}}
	for _, o := range opts {
		o(p)
	}
	return p, nil
}

// Dir is the book's folder.
func (p *Publisher) Dir() string { return p.dir }

// Proposal is a change that is not published yet, and the book that it would make.
type Proposal struct {
	Base  string       // the revision that it changes
	Files []FileChange // what it would write, sorted
	What  string       // what it does, in a few words
	From  *Book        // the book that stands
	To    *Book        // the book that it would make: it loads as a whole

	fsys   fs.FS
	undoes int
}

// FS is the book as the proposal would leave it, for lint.
func (pr *Proposal) FS() fs.FS { return pr.fsys }

// Diff shows the lines that would change.
func (pr *Proposal) Diff() string { return TextDiff(pr.Files) }

// Propose works changes into the book that stands. The error is Errors, each
// with file and line, where the book would not load with them; ErrNoChange where
// they change nothing. Nothing is written.
func (p *Publisher) Propose(ctx context.Context, changes ...Change) (*Proposal, error) {
	from, fsys, _, err := loadDir(ctx, p.dir)
	if err != nil {
		return nil, err
	}
	d := &draft{fsys: fsys, book: from, files: map[string]*string{}}
	var what []string
	for _, c := range changes {
		if err := c.edit(d); err != nil {
			return nil, err
		}
		what = append(what, c.String())
	}
	pr, err := p.candidate(ctx, from, fsys, d.files)
	if err != nil {
		return nil, err
	}
	for _, c := range changes {
		if err := c.check(pr.From, pr.To); err != nil {
			return nil, err
		}
	}
	pr.What = strings.Join(what, "; ")
	return pr, nil
}

// candidate loads the book that the files would make.
func (p *Publisher) candidate(ctx context.Context, from *Book, fsys fs.FS, files map[string]*string) (*Proposal, error) {
	pr := &Proposal{Base: from.Revision, From: from, fsys: &overlay{base: fsys, files: files}}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		before, err := readText(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", name, err)
		}
		if !same(before, files[name]) {
			pr.Files = append(pr.Files, FileChange{name, before, files[name]})
		}
	}
	if len(pr.Files) == 0 {
		return nil, ErrNoChange
	}
	var err error
	pr.To, err = Load(ctx, pr.fsys)
	return pr, err
}

// Resume makes a proposal again from its Base and Files, which may have been kept
// while somebody thought about it. It is a *StaleError where the book has
// changed since.
func (p *Publisher) Resume(ctx context.Context, base string, files []FileChange) (*Proposal, error) {
	from, fsys, number, err := loadDir(ctx, p.dir)
	if err != nil {
		return nil, err
	}
	if from.Revision != base {
		return nil, p.stale(base, from.Revision, files, fsys, number)
	}
	after := map[string]*string{}
	for _, f := range files {
		if !inBook(f.File) {
			return nil, fmt.Errorf("%q is no file of a book", f.File)
		}
		after[f.File] = f.After
	}
	return p.candidate(ctx, from, fsys, after)
}

// Note says who publishes, and why.
type Note struct{ By, Why string }

// Publish makes a proposal the book. It is a *StaleError where the book is no
// longer the one that was proposed on; then nothing is written. It is an
// *AfterError, with the record, where it is published and what was to follow failed.
func (p *Publisher) Publish(ctx context.Context, pr *Proposal, n Note) (*Record, error) {
	if n.By = strings.TrimSpace(n.By); n.By == "" {
		return nil, errors.New("publishing: nobody is named as who does it")
	}
	if n.Why = strings.TrimSpace(n.Why); n.Why == "" {
		n.Why = pr.What
	}
	unlock, err := p.lock()
	if err != nil {
		return nil, err
	}
	defer unlock()
	if err := p.settle(); err != nil {
		return nil, err
	}
	fsys := os.DirFS(p.dir)
	number, err := lastNumber(p.dir)
	if err != nil {
		return nil, err
	}
	now, err := revisionOf(ctx, fsys)
	if err != nil {
		return nil, err
	}
	if now != pr.Base {
		return nil, p.stale(pr.Base, now, pr.Files, fsys, number)
	}
	r := &Record{
		Number: number + 1, At: p.now().UTC().Truncate(time.Second), By: n.By, Why: n.Why,
		Base: pr.Base, Revision: pr.To.Revision, Undoes: pr.undoes, Files: pr.Files,
	}
	// A last publication that cannot be read shall not keep the book from being mended.
	if last, err := readRecord(filepath.Join(p.dir, historyDir, recordName(number))); err == nil {
		r.Edited = last.Revision != pr.Base
	}
	raw, err := r.encode()
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("publishing: %w", err)
	}
	// From here on it is published, whatever happens to this process.
	if err := p.write(path.Join(historyDir, pendingFile), raw); err != nil {
		return nil, fmt.Errorf("publishing: %w", err)
	}
	if err := p.settle(); err != nil {
		return r, &AfterError{fmt.Errorf("not all its files are in place yet: %w", err)}
	}
	if p.after != nil {
		if err := p.after(ctx, r); err != nil {
			return r, &AfterError{err}
		}
	}
	return r, nil
}

func (r *Record) encode() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(r); err != nil {
		return nil, fmt.Errorf("writing the history: %w", err)
	}
	return b.Bytes(), nil
}

// stale says what came between a proposal and the book of now.
func (p *Publisher) stale(base, now string, files []FileChange, fsys fs.FS, number int) error {
	e := &StaleError{Base: base, Now: now}
	for n := number; n > 0; n-- {
		r, err := readRecord(filepath.Join(p.dir, historyDir, recordName(n)))
		if err != nil || r.Revision == base {
			break
		}
		e.Since = append(e.Since, r)
		if r.Base == base {
			break
		}
	}
	for _, f := range files {
		if cur, err := readText(fsys, f.File); err != nil || !same(cur, f.Before) {
			e.Both = append(e.Both, f.File)
		}
	}
	return e
}

// ProposeUndo takes a publication back: its files become what they were before.
// Number 0 is the newest that is neither taken back nor itself takes one back.
func (p *Publisher) ProposeUndo(ctx context.Context, number int) (*Proposal, error) {
	records, err := History(ctx, p.dir, 0)
	if err != nil {
		return nil, err
	}
	r, err := undoable(records, number)
	if err != nil {
		return nil, err
	}
	from, fsys, _, err := loadDir(ctx, p.dir)
	if err != nil {
		return nil, err
	}
	files := map[string]*string{}
	for _, f := range r.Files {
		cur, err := readText(fsys, f.File)
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", f.File, err)
		}
		if !same(cur, f.After) {
			return nil, fmt.Errorf("revision %d cannot be undone: %s has been changed again since%s", r.Number, f.File, changedBy(records, r.Number, f.File))
		}
		files[f.File] = f.Before
	}
	pr, err := p.candidate(ctx, from, fsys, files)
	if err != nil {
		return nil, fmt.Errorf("undoing revision %d: %w", r.Number, err)
	}
	pr.undoes, pr.What = r.Number, fmt.Sprintf("undo of revision %d (%s)", r.Number, r.Why)
	return pr, nil
}

// undoable is the publication to be taken back. Undo means a step further back
// each time, so one that was taken back is passed over with what took it back;
// by its number an undo can be undone as well.
func undoable(records []*Record, number int) (*Record, error) {
	gone := map[int]bool{}
	for _, r := range records { // newest first
		if number == r.Number || number == 0 && r.Undoes == 0 && !gone[r.Number] {
			return r, nil
		}
		// An undo that was itself undone took nothing back.
		if r.Undoes > 0 && !gone[r.Number] {
			gone[r.Undoes] = true
		}
	}
	if number == 0 {
		return nil, errors.New("there is nothing to undo")
	}
	return nil, fmt.Errorf("the book has no revision %d; %s", number, numbersOf(records))
}

func changedBy(records []*Record, after int, file string) string {
	for _, r := range slices.Backward(records) { // oldest first
		if r.Number > after && slices.ContainsFunc(r.Files, func(f FileChange) bool { return f.File == file }) {
			return fmt.Sprintf(" by revision %d (%s); undo that first", r.Number, r.Why)
		}
	}
	return ", in the folder"
}

// Undo takes a publication back and publishes that.
func (p *Publisher) Undo(ctx context.Context, number int, n Note) (*Record, error) {
	pr, err := p.ProposeUndo(ctx, number)
	if err != nil {
		return nil, err
	}
	return p.Publish(ctx, pr, n)
}

// History is what was published, the newest first.
func (p *Publisher) History(ctx context.Context, limit int) ([]*Record, error) {
	return History(ctx, p.dir, limit)
}

// Recover puts a publication's files in place that was cut short. Publish does
// it too; until then readers see the publication through DirFS.
func (p *Publisher) Recover() error {
	_, err := os.Stat(filepath.Join(p.dir, historyDir, pendingFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	unlock, err := p.lock()
	if err != nil {
		return err
	}
	defer unlock()
	return p.settle()
}

// lock keeps other publishers out; the system lets go of it when a process dies.
func (p *Publisher) lock() (unlock func(), err error) {
	h := filepath.Join(p.dir, historyDir)
	if err := p.makeDir(historyDir); err != nil {
		return nil, fmt.Errorf("publishing: %w", err)
	}
	unlock, err = lockedfile.MutexAt(filepath.Join(h, lockFile)).Lock()
	if err != nil {
		return nil, fmt.Errorf("publishing: %w", err)
	}
	return unlock, nil
}

// settle puts the files of a pending publication in place. It holds the lock.
func (p *Publisher) settle() error {
	pending := filepath.Join(p.dir, historyDir, pendingFile)
	r, err := readRecord(pending)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	fsys := os.DirFS(p.dir)
	for _, f := range r.Files {
		cur, err := readText(fsys, f.File)
		if err != nil {
			return fmt.Errorf("reading %s: %w", f.File, err)
		}
		// What is neither the old text nor the new one was edited since, and stays.
		if same(cur, f.After) || !same(cur, f.Before) {
			continue
		}
		if f.After == nil {
			err = p.remove(f.File)
		} else {
			err = p.write(f.File, []byte(*f.After))
		}
		if err != nil {
			return err
		}
	}
	p.step("rename pending")
	if err := os.Rename(pending, filepath.Join(p.dir, historyDir, recordName(r.Number))); err != nil {
		return err
	}
	return p.syncDir(historyDir)
}

// tempName is where a file's text is written before it takes the file's place.
// There is one a folder, under the lock, so that what a crash leaves behind is
// written over; the dot keeps Load and Watch from looking at it.
const tempName = ".publish.tmp"

// write gives a file a new text, whole or not at all.
func (p *Publisher) write(name string, text []byte) (err error) {
	to := filepath.Join(p.dir, filepath.FromSlash(name))
	mode := fs.FileMode(0o644)
	if st, err := os.Stat(to); err == nil {
		mode = st.Mode().Perm()
	}
	if err := p.makeDir(path.Dir(name)); err != nil {
		return err
	}
	temp := filepath.Join(filepath.Dir(to), tempName)
	p.step("create " + name)
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, mode)
	if err != nil {
		return err
	}
	half := len(text) / 2
	_, err = f.Write(text[:half])
	p.step("half of " + name)
	if err == nil {
		_, err = f.Write(text[half:])
	}
	p.step("sync " + name)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("writing %s: %w", name, errors.Join(err, os.Remove(temp)))
	}
	p.step("rename " + name)
	if err := os.Rename(temp, to); err != nil {
		return err
	}
	return p.syncDir(path.Dir(name))
}

func (p *Publisher) remove(name string) error {
	p.step("remove " + name)
	if err := os.Remove(filepath.Join(p.dir, filepath.FromSlash(name))); err != nil {
		return err
	}
	return p.syncDir(path.Dir(name))
}

// makeDir makes a folder of the book where there is none.
func (p *Publisher) makeDir(name string) error {
	switch err := os.Mkdir(filepath.Join(p.dir, filepath.FromSlash(name)), 0o755); {
	case err == nil:
		return p.syncDir(".")
	case name == "." || errors.Is(err, fs.ErrExist):
		return nil
	default:
		return err
	}
}

// syncDir makes a rename outlast a loss of power.
func (p *Publisher) syncDir(name string) error {
	p.step("sync folder " + name)
	if runtime.GOOS == "windows" { // it cannot, and need not
		return nil
	}
	d, err := os.Open(filepath.Join(p.dir, filepath.FromSlash(name)))
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
