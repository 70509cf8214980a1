package book

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// WatchOptions say what Watch does with what it sees. The functions are called
// one after the other, never at the same time.
type WatchOptions struct {
	// Serving is the revision that is served already; the first book that Watch
	// finds is told only if it is another one.
	Serving string
	// Changed is called with a book that loads, each time it is another one, and
	// once more with the old one where it had been broken in between.
	Changed func(*Book)
	// Broken is called with what is wrong (Errors, mostly) each time that is
	// something else; the last good book goes on.
	Broken func(error)
	// Quiet is how long nothing may happen before the folder is read, and Most how
	// long that can be put off; 0 is 300 ms and 3 s.
	Quiet, Most time.Duration
	// Again is how soon a folder is looked for that went away; 0 is 5 s.
	Again time.Duration
}

// Watch looks after a book's folder until ctx ends: its files, its sheet and its
// summaries. An edit is one event or many (an editor writes beside and renames,
// git changes a hundred files), so it waits until they have settled, and reads
// the whole book then. The error is ctx's, or that the folder cannot be watched.
func Watch(ctx context.Context, dir string, o WatchOptions) error {
	w, err := fsnotify.NewBufferedWatcher(256)
	if err != nil {
		return fmt.Errorf("watching the book: %w", err)
	}
	defer w.Close()
	v := &watch{
		o: o.filled(), events: w.Events, errs: w.Errors,
		hold: func() error { return holdDirs(w, dir) },
		load: func(ctx context.Context) (*Book, error) { return LoadDir(ctx, dir) },
	}
	if err := v.hold(); err != nil {
		return fmt.Errorf("watching the book: %w", err)
	}
	return v.run(ctx)
}

func (o WatchOptions) filled() WatchOptions {
	if o.Quiet <= 0 {
		o.Quiet = 300 * time.Millisecond
	}
	if o.Most <= 0 {
		o.Most = 3 * time.Second
	}
	if o.Again <= 0 {
		o.Again = 5 * time.Second
	}
	if o.Changed == nil {
		o.Changed = func(*Book) {}
	}
	if o.Broken == nil {
		o.Broken = func(error) {}
	}
	return o
}

// holdDirs watches the folders of a book, none below them. A folder that was
// renamed away and made anew is another one, so they are named again each time.
func holdDirs(w *fsnotify.Watcher, dir string) error {
	if err := w.Add(dir); err != nil {
		return err
	}
	for _, sub := range []string{sheetDir, summariesDir} {
		// A folder that is not there yet is seen by its parent when it comes.
		if err := w.Add(filepath.Join(dir, sub)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	return nil
}

// watch is one watching, with what it hears from outside.
type watch struct {
	o      WatchOptions
	events <-chan fsnotify.Event
	errs   <-chan error
	hold   func() error // watches the folders again
	load   func(context.Context) (*Book, error)

	wrong string // what was told as broken last; "" for nothing
}

func (v *watch) run(ctx context.Context) error {
	// Something may have happened between the loading of the book and the watching.
	quiet := time.NewTimer(v.o.Quiet)
	defer quiet.Stop()
	first := time.Now() // of the events that have not been looked at
	waiting := true
	stir := func() {
		if !waiting {
			first, waiting = time.Now(), true
		}
		quiet.Reset(min(v.o.Quiet, max(0, v.o.Most-time.Since(first))))
	}
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case e, ok := <-v.events:
			if !ok {
				return errors.New("watching the book: the system has stopped telling")
			}
			if concerns(e) {
				stir()
			}
		case err, ok := <-v.errs:
			if !ok {
				return errors.New("watching the book: the system has stopped telling")
			}
			_ = err // an overflow, mostly: what was missed is seen by reading anew
			stir()
		case <-quiet.C:
			waiting = false
			if !v.look(ctx) {
				waiting, first = true, time.Now()
				quiet.Reset(v.o.Again)
			}
		}
	}
}

// concerns says whether an event can have changed the book: dotfiles are what
// editors, git and a publisher work with, and a mode or a time is no content.
func concerns(e fsnotify.Event) bool {
	name := filepath.Base(e.Name)
	return !strings.HasPrefix(name, ".") && !strings.HasSuffix(name, "~") && e.Op != fsnotify.Chmod
}

// look reads the book and tells what became of it; false asks to look again soon.
func (v *watch) look(ctx context.Context) bool {
	held := v.hold()
	b, err := v.load(ctx)
	switch {
	case ctx.Err() != nil:
		return true
	case err != nil:
		if text := err.Error(); text != v.wrong {
			v.wrong = text
			v.o.Broken(err)
		}
	case b.Revision != v.o.Serving || v.wrong != "":
		v.wrong, v.o.Serving = "", b.Revision
		v.o.Changed(b)
	}
	return held == nil
}
