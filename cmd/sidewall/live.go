package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/sheet"
	"sidewall/bot"
	"sidewall/config"
)

// live is the desk that serves and can be replaced while it does. A question
// runs to its end on the edition that it began with; the edition's index closes
// after the last of them.
type live struct {
	dir     string // of the book; "" for the one in the program
	contact string
	now     func() time.Time
	log     *slog.Logger
	// told is called when a book has come to serve, or when one does not load: b
	// is then nil, and err says what is wrong. Nil: nobody wants to know.
	told func(b *book.Book, err error)

	edition atomic.Pointer[edition]
	health  atomic.Pointer[bookHealth]
	making  sync.Mutex // one edition is made at a time
}

// edition is a desk and its index, and how many questions are with them.
type edition struct {
	*answers.Desk
	search *lazySearch
	users  atomic.Int64 // one for live itself
}

// bookHealth is what the health page says of the book.
type bookHealth struct {
	Revision string    // of the book that serves
	Since    time.Time // it serves
	Wrong    string    // what is wrong with the folder's book, if that is not the one that serves
}

// openLive loads the book of the settings and serves it. Its search is built
// when it is first needed; later editions come with theirs.
func openLive(ctx context.Context, s *config.Settings, log *slog.Logger) (*live, error) {
	b, err := loadBook(ctx, s.Book)
	if err != nil {
		return nil, err
	}
	l := &live{dir: s.Book, contact: s.Contact, log: log, now: func() time.Time { return time.Now().In(s.Timezone) }}
	e, err := l.make(b)
	if err != nil {
		return nil, err
	}
	l.serve(e)
	return l, nil
}

func (l *live) make(b *book.Book) (*edition, error) {
	if l.contact != "" {
		other := *b
		other.Contact = book.Contact{Name: sheet.Text2{EN: l.contact, ES: l.contact}}
		b = &other
	}
	e := &edition{search: &lazySearch{book: b}}
	e.users.Store(1)
	var err error
	e.Desk, err = answers.New(b, answers.WithSearch(e.search), answers.WithClock(l.now))
	return e, err
}

func (l *live) serve(e *edition) {
	old := l.edition.Swap(e)
	l.health.Store(&bookHealth{Revision: e.Book().Revision, Since: l.now()})
	if old != nil {
		old.release()
	}
}

// take is the edition that serves now; whoever takes it has to release it. It is
// nil when live is closed.
func (l *live) take() *edition {
	for {
		e := l.edition.Load()
		n := e.users.Load()
		switch {
		case n > 0 && e.users.CompareAndSwap(n, n+1):
			return e
		case n == 0 && l.edition.Load() == e: // not replaced, so closed
			return nil
		}
	}
}

func (e *edition) release() {
	if e.users.Add(-1) == 0 {
		e.search.close()
	}
}

// replace makes an edition of a book, index and all, and serves it from then on.
// Questions go on meanwhile; where it fails the old one stays.
func (l *live) replace(ctx context.Context, b *book.Book) error {
	l.making.Lock()
	defer l.making.Unlock()
	if l.edition.Load().Book().Revision == b.Revision {
		h := *l.health.Load() // the folder may have been broken, and is not now
		h.Wrong = ""
		l.health.Store(&h)
		return nil
	}
	e, err := l.make(b)
	if err == nil {
		err = e.Warm()
	}
	if err == nil {
		_, err = e.search.open(ctx)
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		if e != nil {
			e.search.close()
		}
		return fmt.Errorf("serving revision %s of the book: %w", b.Revision, err)
	}
	l.serve(e)
	return nil
}

// warm makes the edition that serves ready for questions that have to be searched
// and for Spanish ones; without it the first of them waits.
func (l *live) warm(ctx context.Context) error {
	e := l.take()
	if e == nil {
		return nil
	}
	defer e.release()
	if _, err := e.search.open(ctx); err != nil {
		return err
	}
	return e.Warm()
}

// watch replaces the book when its folder changes, until ctx ends.
func (l *live) watch(ctx context.Context) {
	if l.dir == "" {
		return // the book in the program never changes
	}
	err := book.Watch(ctx, l.dir, book.WatchOptions{
		Serving: l.edition.Load().Book().Revision,
		Changed: func(b *book.Book) { l.changed(ctx, b) },
		Broken:  l.broken,
	})
	if err != nil && !errors.Is(err, context.Canceled) {
		l.log.Error("the book's folder is not watched any more: edits need a restart", "error", err)
	}
}

func (l *live) changed(ctx context.Context, b *book.Book) {
	if h := l.state(); h.Revision == b.Revision && h.Wrong == "" {
		return // published from here: it serves already, and was told
	}
	switch err := l.replace(ctx, b); {
	case ctx.Err() != nil:
	case err != nil:
		l.broken(err)
	default:
		l.log.Info("the book was changed", "revision", b.Revision)
		if l.told != nil {
			l.told(b, nil)
		}
	}
}

func (l *live) broken(err error) {
	h := *l.health.Load()
	h.Wrong = err.Error()
	l.health.Store(&h)
	l.log.Error("the book's folder was changed and does not load; the last good book goes on", "serving", h.Revision, "error", err)
	if l.told != nil {
		l.told(nil, err)
	}
}

// state is what the health page says of the book.
func (l *live) state() bookHealth { return *l.health.Load() }

// close stops serving; it waits for nobody.
func (l *live) close() { l.edition.Load().release() }

// desk is the desk for the bot: each call is answered by the edition of its moment.
func (l *live) desk() bot.Desk { return liveDesk{l} }

type liveDesk struct{ l *live }

func (d liveDesk) Ask(ctx context.Context, req answers.Request, th *answers.Thread) (*answer.Answer, error) {
	e := d.l.take()
	if e == nil {
		return nil, errors.New("the desk is closed")
	}
	defer e.release()
	return e.Ask(ctx, req, th)
}

func (d liveDesk) Book() *book.Book { return d.l.edition.Load().Book() }

func (d liveDesk) Topics() []answers.Topic { return d.l.edition.Load().Topics() }

func (d liveDesk) Named(text string) (division, position string) {
	return d.l.edition.Load().Named(text)
}

func (d liveDesk) Known(word string) bool { return d.l.edition.Load().Known(word) }
