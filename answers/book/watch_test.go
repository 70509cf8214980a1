package book

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/fsnotify/fsnotify"
)

// heard is a watching whose folder and clock are the test's.
type heard struct {
	mu     sync.Mutex
	events chan fsnotify.Event
	errs   chan error
	hold   error
	now    *Book
	broken error
	loads  int
	told   []string
}

func watched(t *testing.T, f func(t *testing.T, h *heard)) {
	synctest.Test(t, func(t *testing.T) {
		h := &heard{events: make(chan fsnotify.Event), errs: make(chan error), now: &Book{Revision: "a"}}
		v := &watch{
			o:      WatchOptions{Serving: "a", Changed: func(b *Book) { h.tell("is " + b.Revision) }, Broken: func(err error) { h.tell(err.Error()) }}.filled(),
			events: h.events, errs: h.errs,
			hold: func() error {
				h.mu.Lock()
				defer h.mu.Unlock()
				return h.hold
			},
			load: func(context.Context) (*Book, error) {
				h.mu.Lock()
				defer h.mu.Unlock()
				h.loads++
				if h.broken != nil {
					return nil, h.broken
				}
				return h.now, nil
			},
		}
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- v.run(ctx) }()
		h.pass(time.Second) // the first look
		f(t, h)
		stop()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Errorf("it ended with %v", err)
		}
	})
}

// set changes what the watching finds next. The bubble's clock is no lock.
func (h *heard) set(f func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	f()
}

func (h *heard) tell(what string) { h.set(func() { h.told = append(h.told, what) }) }

// pass lets the bubble's clock go on.
func (h *heard) pass(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

func (h *heard) want(t *testing.T, loads int, told ...string) {
	t.Helper()
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.loads != loads || strings.Join(h.told, "|") != strings.Join(told, "|") {
		t.Errorf("%d loads, told %q; want %d, %q", h.loads, h.told, loads, told)
	}
	h.loads, h.told = 0, nil
}

func TestWatchSettles(t *testing.T) {
	watched(t, func(t *testing.T, h *heard) {
		h.want(t, 1) // the book that is served
		h.set(func() { h.now = &Book{Revision: "b"} })
		for range 5 { // an edit is many events
			h.events <- fsnotify.Event{Name: "summaries/x.md", Op: fsnotify.Write}
			h.pass(100 * time.Millisecond)
		}
		h.want(t, 0)
		h.pass(time.Second)
		h.want(t, 1, "is b")
		for range 100 { // and some never end
			h.events <- fsnotify.Event{Name: "sheet/x.yaml", Op: fsnotify.Create}
			h.pass(100 * time.Millisecond)
		}
		h.set(func() {
			if h.loads < 2 || h.loads > 4 || len(h.told) != 0 {
				t.Errorf("%d loads in ten seconds, told %q", h.loads, h.told)
			}
		})
	})
}

func TestWatchIgnores(t *testing.T) {
	watched(t, func(t *testing.T, h *heard) {
		h.want(t, 1)
		for _, e := range []fsnotify.Event{
			{Name: "summaries/.x.md.swp", Op: fsnotify.Write}, {Name: "summaries/" + tempName, Op: fsnotify.Create},
			{Name: "summaries/x.md~", Op: fsnotify.Create}, {Name: "summaries/x.md", Op: fsnotify.Chmod},
		} {
			h.events <- e
		}
		h.pass(time.Minute)
		h.want(t, 0)
		h.errs <- fsnotify.ErrEventOverflow
		h.pass(time.Minute)
		h.want(t, 1)
	})
}

// A broken edit is told once, and that it is mended too.
func TestWatchBroken(t *testing.T) {
	watched(t, func(t *testing.T, h *heard) {
		h.want(t, 1)
		edit := func() {
			h.events <- fsnotify.Event{Name: "book.yaml", Op: fsnotify.Rename}
			h.pass(time.Second)
		}
		h.set(func() { h.broken = errors.New("line 3") })
		edit()
		edit()
		h.want(t, 2, "line 3")
		h.set(func() { h.broken = errors.New("line 4") })
		edit()
		h.want(t, 1, "line 4")
		h.set(func() { h.broken = nil })
		edit()
		h.want(t, 1, "is a")
		edit()
		h.want(t, 1)
	})
}

// A folder that went away is looked for until it is back.
func TestWatchFolderGone(t *testing.T) {
	watched(t, func(t *testing.T, h *heard) {
		h.want(t, 1)
		h.set(func() { h.hold, h.broken = errors.New("gone"), errors.New("no book") })
		h.events <- fsnotify.Event{Name: "ours", Op: fsnotify.Remove}
		h.pass(12 * time.Second)
		h.want(t, 3, "no book")
		h.set(func() { h.hold, h.broken, h.now = nil, nil, &Book{Revision: "c"} })
		h.pass(12 * time.Second)
		h.want(t, 1, "is c")
	})
}

// With a real folder: each way in which files come to change is seen.
func TestWatchFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "ours")
	if err := New(dir, os.DirFS("../../testdata/books/good/small")); err != nil {
		t.Fatal(err)
	}
	b, err := LoadDir(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	first := b.Revision
	changed, broken := make(chan *Book), make(chan error)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- Watch(ctx, dir, WatchOptions{
			Serving: b.Revision, Quiet: time.Millisecond, Most: 10 * time.Millisecond, Again: 5 * time.Millisecond,
			Changed: func(b *Book) {
				select {
				case changed <- b:
				case <-ctx.Done():
				}
			},
			Broken: func(err error) {
				select {
				case broken <- err:
				case <-ctx.Done():
				}
			},
		})
	}()
	name := filepath.Join(dir, "summaries/first-stick.md")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	// until takes books and errors until one is what is waited for: how many
	// events an edit is, and what is seen in the middle, is the system's affair.
	until := func(what string, ok func(*Book, error) bool) {
		t.Helper()
		for {
			select {
			case b := <-changed:
				if ok(b, nil) {
					return
				}
			case err := <-broken:
				if ok(nil, err) {
					return
				}
			case err := <-done:
				t.Fatalf("%s: the watching ended: %v", what, err)
			case <-time.After(20 * time.Second):
				t.Fatalf("%s: nothing was told", what)
			}
		}
	}
	says := func(text string) func(*Book, error) bool {
		return func(b *Book, _ error) bool { return b != nil && strings.Contains(b.Summaries[0].Body, text) }
	}
	must(os.WriteFile(name, append(whole, "\nIn place.\n"...), 0o644))
	until("in place", says("In place."))
	must(os.WriteFile(filepath.Join(dir, "summaries/new.tmp"), append(whole, "\nRenamed.\n"...), 0o644))
	must(os.Rename(filepath.Join(dir, "summaries/new.tmp"), name))
	until("renamed", says("Renamed."))
	must(os.WriteFile(name, []byte("---\nid: [\n"), 0o644))
	until("broken", func(_ *Book, err error) bool {
		var wrong Errors
		return errors.As(err, &wrong) && wrong[0].File == "summaries/first-stick.md" && wrong[0].Line > 0
	})
	must(os.WriteFile(name, whole, 0o644))
	until("mended", func(b *Book, _ error) bool { return b != nil && b.Revision == first })
	// The folder of the summaries is taken away, and another one comes.
	must(os.Rename(filepath.Join(dir, "summaries"), filepath.Join(dir, "aside")))
	until("no summaries", func(b *Book, _ error) bool { return b != nil && len(b.Summaries) == 0 })
	must(os.Mkdir(filepath.Join(dir, "summaries"), 0o755))
	must(os.WriteFile(name, append(whole, "\nAnew.\n"...), 0o644))
	until("another folder", says("Anew."))
	must(os.WriteFile(name, append(whole, "\nIn it.\n"...), 0o644))
	until("in another folder", says("In it."))
	// The whole book is taken away, and comes back.
	must(os.Rename(dir, dir+"-aside"))
	until("no book", func(_ *Book, err error) bool { return err != nil })
	must(os.Rename(dir+"-aside", dir))
	until("back", says("In it."))
	p, err := NewPublisher(dir)
	must(err)
	pr, err := p.Propose(t.Context(), SummaryText{ID: "first-stick", Text: "Published."})
	must(err)
	_, err = p.Publish(t.Context(), pr, Note{By: "admin"})
	must(err)
	until("published", says("Published."))
	stop()
	if err := <-done; !errors.Is(err, context.Canceled) {
		t.Errorf("it ended with %v", err)
	}
	if err := Watch(t.Context(), filepath.Join(dir, "nowhere"), WatchOptions{}); err == nil || !errors.Is(err, os.ErrNotExist) {
		t.Error(fmt.Errorf("a folder that is not there: %w", err))
	}
}
