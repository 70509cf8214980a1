package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
	"sidewall/config"
)

// app is what the commands share.
type app struct {
	configFile string
}

// settings are the settings of one command.
func (a *app) settings(cmd *cobra.Command) (*config.Settings, error) {
	s, err := config.Load(config.Options{File: a.configFile, Flags: cmd.Flags()})
	if err != nil {
		return nil, usageError{err}
	}
	return s, nil
}

// bookFS is the folder of a book; "" is the book in the program.
func bookFS(dir string) (fs.FS, error) {
	if dir == "" {
		return config.ShippedBook(), nil
	}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, usageError{fmt.Errorf("there is no book in %s; `sidewall book new %s` starts one", dir, dir)}
	case err != nil:
		return nil, usageError{fmt.Errorf("opening the book: %w", err)}
	case !info.IsDir():
		return nil, usageError{fmt.Errorf("the book %s is a file; name the folder that holds book.yaml", dir)}
	}
	fsys, err := book.DirFS(dir)
	if err != nil {
		return nil, usageError{fmt.Errorf("opening the book: %w", err)}
	}
	return fsys, nil
}

// loadBook loads the book of a folder, or tells everything that is wrong with it.
func loadBook(ctx context.Context, dir string) (*book.Book, error) {
	fsys, err := bookFS(dir)
	if err != nil {
		return nil, err
	}
	var b *book.Book
	if dir == "" {
		b, err = book.Load(ctx, fsys)
	} else {
		b, err = book.LoadDir(ctx, dir)
	}
	if err != nil {
		name := dir
		if name == "" {
			name = "the program"
		}
		var wrong book.Errors
		if errors.As(err, &wrong) {
			return nil, usageError{fmt.Errorf("the book in %s does not load, %s:\n%w", name, countOf(len(wrong), "error"), wrong)}
		}
		if ctx.Err() != nil {
			return nil, err
		}
		return nil, usageError{fmt.Errorf("the book in %s does not load: %w", name, err)}
	}
	return b, nil
}

func countOf(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// openDesk makes a desk for the book of a folder; done frees it.
func openDesk(ctx context.Context, dir string) (d *answers.Desk, done func(), err error) {
	return newDesk(ctx, dir, "", time.Now, question.ReadAhead())
}

func newDesk(ctx context.Context, dir, contact string, now func() time.Time, ahead *question.Ahead) (d *answers.Desk, done func(), err error) {
	b, err := loadBook(ctx, dir)
	if err != nil {
		return nil, nil, err
	}
	if contact != "" {
		b.Contact = book.Contact{Name: sheet.Text2{EN: contact, ES: contact}}
	}
	search := &lazySearch{book: b}
	d, err = answers.New(b, answers.WithSearch(search), answers.WithClock(now), answers.WithReadAhead(ahead))
	if err != nil {
		return nil, nil, err
	}
	return d, search.close, nil
}

// asker is a desk and what is set for everyone who asks it here.
type asker struct {
	*answers.Desk
	base answers.Request
	now  func() time.Time
	rec  *question.Recogniser // made when words have to be read outside a question
}

// open makes a desk from the settings and a command's flags. only is the one
// question that will be asked, "" where there are more.
func (a *app) open(cmd *cobra.Command, division, position, only string) (q *asker, done func(), err error) {
	words := question.ReadAheadFor(only)
	s, err := a.settings(cmd)
	if err != nil {
		return nil, nil, err
	}
	now := func() time.Time { return time.Now().In(s.Timezone) }
	d, done, err := newDesk(cmd.Context(), s.Book, s.Contact, now, words)
	if err != nil {
		return nil, nil, err
	}
	q = &asker{Desk: d, now: now}
	q.base, err = q.request(answers.Request{Lang: s.Lang}, division, position, s.Date)
	if err != nil {
		done()
		return nil, nil, usageError{err}
	}
	return q, done, nil
}

// request binds what is given to a request; what is empty stays as it was.
func (q *asker) request(r answers.Request, division, position, date string) (answers.Request, error) {
	var err error
	if division != "" {
		if r.Division, err = q.division(division); err != nil {
			return r, err
		}
	}
	if position != "" {
		if r.Position, err = q.position(position); err != nil {
			return r, err
		}
	}
	if date != "" {
		if r.On, err = measure.ParseDate(date); err != nil {
			return r, fmt.Errorf("the date %q: %w; write it as 2027-04-10", date, err)
		}
	}
	return r, nil
}

// division is the book's name of a division that people may call by another.
func (q *asker) division(name string) (string, error) {
	var ids []string
	for _, d := range q.Book().Divisions {
		if strings.EqualFold(d.ID, strings.TrimSpace(name)) {
			return d.ID, nil
		}
		ids = append(ids, d.ID)
	}
	read, err := q.read(name)
	if err != nil {
		return "", err
	}
	if found := read.Divisions(read.Whole()); len(found) == 1 {
		return ids[found[0]], nil
	}
	return "", fmt.Errorf("the book has no division %q; it has %s", name, strings.Join(ids, ", "))
}

// position is the book's name of a position that people may call by another.
func (q *asker) position(name string) (string, error) {
	if _, ok := sheet.PositionMask(strings.TrimSpace(name)); ok && strings.TrimSpace(name) != "" {
		return strings.TrimSpace(name), nil
	}
	read, err := q.read(name)
	if err != nil {
		return "", err
	}
	if p := read.Position(read.Whole()); p != "" {
		return p, nil
	}
	return "", fmt.Errorf("there is no position %q; write one of %s or field", name, strings.Join(sheet.Positions[:], ", "))
}

func (q *asker) read(text string) (*question.Question, error) {
	if q.rec == nil {
		rec, err := question.NewRecogniser(answers.Vocabulary(q.Book()))
		if err != nil {
			return nil, fmt.Errorf("make the recogniser: %w", err)
		}
		q.rec = rec
	}
	return q.rec.Read(text, q.base.Lang), nil
}
