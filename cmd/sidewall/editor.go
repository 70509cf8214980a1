package main

import (
	"context"
	"fmt"
	"os/user"
	"path/filepath"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/bot"
	"sidewall/config"
)

// chatEditor changes the club's book for the bot.
type chatEditor struct {
	keep  *keeper // nil while the book in the program serves
	begin string  // where a book of the club's own begins
}

// newChatEditor is the editor of the settings' book.
func newChatEditor(s *config.Settings, l *live) (*chatEditor, error) {
	e := &chatEditor{}
	if s.Book == "" {
		state, err := filepath.Abs(s.State.Path)
		if err != nil {
			return nil, fmt.Errorf("find the folder of the state file: %w", err)
		}
		e.begin = filepath.Join(filepath.Dir(state), "book")
		return e, nil
	}
	var err error
	e.keep, err = newKeeper(s, l)
	return e, err
}

// Propose satisfies bot.Editor.
func (e *chatEditor) Propose(ctx context.Context, changes ...book.Change) (*book.Proposal, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	return e.keep.pub.Propose(ctx, changes...)
}

// ProposeUndo satisfies bot.Editor.
func (e *chatEditor) ProposeUndo(ctx context.Context, number int) (*book.Proposal, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	return e.keep.pub.ProposeUndo(ctx, number)
}

// Resume satisfies bot.Editor.
func (e *chatEditor) Resume(ctx context.Context, base string, files []book.FileChange) (*book.Proposal, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	return e.keep.pub.Resume(ctx, base, files)
}

// Preview satisfies bot.Editor.
func (e *chatEditor) Preview(ctx context.Context, pr *book.Proposal) (*bot.Preview, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	p, err := e.keep.preview(ctx, pr, 0)
	if err != nil {
		return nil, err
	}
	out := &bot.Preview{}
	for _, f := range p.Contradictions {
		out.Contradictions = append(out.Contradictions, f.String())
	}
	for _, f := range p.Findings {
		out.Findings = append(out.Findings, f.String())
	}
	for _, c := range p.Answers {
		out.Answers = append(out.Answers, bot.AnswerChange{Question: c.Question, Division: c.Division, Before: shortly(c.Before, c.After), After: shortly(c.After, c.Before)})
	}
	return out, nil
}

// shortly is what tells an answer from another: mostly its headline.
func shortly(a, other *answer.Answer) string {
	if a.Headline != other.Headline {
		return a.Headline
	}
	for i, d := range a.Detail {
		if i >= len(other.Detail) || other.Detail[i] != d {
			return d
		}
	}
	return a.Headline
}

// Publish satisfies bot.Editor.
func (e *chatEditor) Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	return e.keep.publish(ctx, pr, n)
}

// History satisfies bot.Editor.
func (e *chatEditor) History(ctx context.Context, limit int) ([]*book.Record, error) {
	if e.keep == nil {
		return nil, bot.ErrNoOwnBook
	}
	return e.keep.pub.History(ctx, limit)
}

// Begin satisfies bot.Editor.
func (e *chatEditor) Begin(context.Context) (string, error) {
	if e.keep != nil {
		return e.keep.pub.Dir(), nil
	}
	return e.begin, book.New(e.begin, config.ShippedBook())
}

// talkEditor has what was published serve in a conversation at the terminal.
type talkEditor struct {
	*chatEditor
	q *asker
}

// Publish satisfies bot.Editor.
func (e *talkEditor) Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	r, err := e.chatEditor.Publish(ctx, pr, n)
	if r == nil {
		return nil, err
	}
	d, failed := answers.New(pr.To, answers.WithSearch(&lazySearch{book: pr.To}), answers.WithClock(e.q.now))
	if failed != nil {
		return r, &book.AfterError{Err: failed}
	}
	e.q.Desk, e.q.rec = d, nil
	return r, err
}

// talkValues are what a conversation at the terminal keeps: until it ends.
type talkValues map[string][]byte

func (v talkValues) Value(_ context.Context, name string) ([]byte, error) { return v[name], nil }

func (v talkValues) SetValue(_ context.Context, name string, value []byte) error {
	v[name] = value
	return nil
}

// talkEditing keeps the book in a conversation at the terminal: whoever can start
// the program there may write to the book's folder as well.
func talkEditing(s *config.Settings, q *asker) (func(ctx context.Context, text string) (*bot.Told, error), error) {
	e, err := newChatEditor(s, nil)
	if err != nil {
		return nil, err
	}
	keeping := bot.NewEditing(bot.EditOptions{Editor: &talkEditor{e, q}, Values: talkValues{}, Book: q.Book})
	by := "command line"
	if u, err := user.Current(); err == nil && u.Username != "" {
		by = u.Username + " (command line)"
	}
	n := 0
	return func(ctx context.Context, text string) (*bot.Told, error) {
		n++
		return keeping.Ask(ctx, by, fmt.Sprintf("line/%d", n), text, q.base.Lang)
	}, nil
}

var (
	_ bot.Editor = (*chatEditor)(nil)
	_ bot.Editor = (*talkEditor)(nil)
)
