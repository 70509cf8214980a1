package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/checks"
	"sidewall/bot"
	"sidewall/bot/terminal"
)

func talkCommand(a *app) *cobra.Command {
	var division, position string
	cmd := &cobra.Command{
		Use:   "talk",
		Short: "Ask one question after another; it remembers what you spoke about",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			q, done, err := a.open(cmd, division, position, "")
			if err != nil {
				return err
			}
			defer done()
			s, err := a.settings(cmd)
			if err != nil {
				return err
			}
			keep, err := talkEditing(s, q)
			if err != nil {
				return err
			}
			return talk(cmd, q, keep)
		},
	}
	addAskFlags(cmd, &division, &position)
	return cmd
}

func talk(cmd *cobra.Command, q *asker, keep func(context.Context, string) (*bot.Told, error)) error {
	var thread *answers.Thread
	errs := cmd.ErrOrStderr()
	c := terminal.Config{
		Topics: topicsOf(q.Checks()),
		Lang:   q.base.Lang,
		Ask: func(ctx context.Context, text string, fresh bool) (*answer.Answer, error) {
			if fresh {
				thread = &answers.Thread{}
			}
			req := q.base
			req.Text = text
			return q.Ask(ctx, req, thread)
		},
		Keep:  keep,
		Crash: func(err error) { fmt.Fprintf(errs, "sidewall: %v\n", err) },
	}
	in, isFile := cmd.InOrStdin().(*os.File)
	if isFile && term.IsTerminal(int(in.Fd())) && cmd.OutOrStdout() == os.Stdout {
		return typedTalk(cmd.Context(), in, c)
	}
	return terminal.Talk(cmd.Context(), pipedLines{newLineReader(cmd.InOrStdin())}, cmd.OutOrStdout(), c)
}

// typedTalk is a conversation at a terminal, with line editing and history.
func typedTalk(ctx context.Context, in *os.File, c terminal.Config) error {
	fd := int(in.Fd())
	before, err := term.MakeRaw(fd)
	if err != nil {
		return fmt.Errorf("set up the terminal: %w", err)
	}
	defer func() { _ = term.Restore(fd, before) }() // nothing is left to do where it fails
	screen := term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{in, os.Stdout}, "> ")
	if w, h, err := term.GetSize(fd); err == nil && w > 0 {
		_ = screen.SetSize(w, h) // it only wraps worse without
	}
	c.Greet = true
	// What went wrong inside would tear the screen in raw mode: one line for each.
	c.Crash = func(err error) { fmt.Fprintln(screen, "sidewall:", strings.SplitN(err.Error(), "\n", 2)[0]) }
	return terminal.Talk(ctx, typedLines{screen}, screen, c)
}

type typedLines struct{ *term.Terminal }

func (l typedLines) ReadLine() (string, error) {
	s, err := l.Terminal.ReadLine()
	if errors.Is(err, term.ErrPasteIndicator) { // pasted lines are lines
		err = nil
	}
	return s, err
}

// pipedLines are the lines of a file or a pipe.
type pipedLines struct{ *lineReader }

func (l pipedLines) ReadLine() (string, error) {
	raw, err := l.next()
	if errors.Is(err, errLongLine) {
		return strings.Repeat("x", tooLong), nil // the desk says that it is too long
	}
	return string(raw), err
}

// tooLong is longer than any question that is read.
const tooLong = bufio.MaxScanTokenSize

func topicsOf(all []*checks.Check) []terminal.Topic {
	out := make([]terminal.Topic, len(all))
	for i, c := range all {
		out[i] = terminal.Topic{ID: c.Topic, Help: c.Help, HelpES: c.HelpES, Examples: c.Examples, ExamplesES: c.ExamplesES}
	}
	return out
}
