package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/user"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sidewall/answers/book"
	"sidewall/config"
)

func bookHistory(a *app) *cobra.Command {
	var limit int
	var showDiff bool
	cmd := &cobra.Command{
		Use:   "history [REVISION]",
		Short: "Show what was published: who, when, why, and the difference",
		Long: "History lists what was published in the book's folder, the newest first. With the number of a revision it shows\n" +
			"that one and the lines it changed.",
		Example: "  sidewall book history --book our-book\n  sidewall book history --book our-book 12",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			if limit < 0 {
				return usageError{fmt.Errorf("--limit: %d is no number of revisions; write 0 for all", limit)}
			}
			s, k, err := a.keeper(cmd)
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			if len(as) == 0 {
				rs, err := k.pub.History(cmd.Context(), limit)
				if err != nil {
					return bookError(err)
				}
				if len(rs) == 0 {
					_, err := fmt.Fprintln(out, "Nothing has been published in this book yet.")
					return err
				}
				for _, r := range rs {
					if err := writeRecord(out, r, s, showDiff); err != nil {
						return err
					}
				}
				return nil
			}
			n, err := revisionNumber(as[0])
			if err != nil {
				return err
			}
			rs, err := k.pub.History(cmd.Context(), 0)
			if err != nil {
				return bookError(err)
			}
			for _, r := range rs {
				if r.Number == n {
					return writeRecord(out, r, s, true)
				}
			}
			return usageError{fmt.Errorf("the book has no revision %d; `sidewall book history` lists them", n)}
		},
	}
	cmd.Flags().IntVar(&limit, "limit", 20, "how many, 0 for all")
	cmd.Flags().BoolVar(&showDiff, "diff", false, "show the lines that each changed")
	return cmd
}

func revisionNumber(s string) (int, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(s, "#"))
	if err != nil || n < 1 {
		return 0, usageError{fmt.Errorf("%q is no number of a revision; `sidewall book history` lists them", s)}
	}
	return n, nil
}

func writeRecord(w io.Writer, r *book.Record, s *config.Settings, diff bool) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%d  %s  %s  %s", r.Number, r.At.In(s.Timezone).Format("2006-01-02 15:04"), r.Revision, oneLine(r.By))
	if r.Undoes > 0 {
		fmt.Fprintf(&b, "  (undoes %d)", r.Undoes)
	}
	fmt.Fprintf(&b, "\n    %s\n", oneLine(r.Why))
	if r.Edited {
		b.WriteString("    before it, somebody had edited the folder by hand\n")
	}
	for _, f := range r.Files {
		what := "changed"
		switch {
		case f.Before == nil:
			what = "new"
		case f.After == nil:
			what = "deleted"
		}
		fmt.Fprintf(&b, "    %s (%s)\n", f.File, what)
	}
	if diff {
		b.WriteString(printable(book.TextDiff(r.Files)))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// oneLine keeps what somebody typed to its line.
func oneLine(s string) string { return printable(strings.Join(strings.Fields(s), " ")) }

// printable keeps a text of a book from steering the terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0 {
			return '?'
		}
		return r
	}, s)
}

func bookUndo(a *app) *cobra.Command {
	var why string
	var dry bool
	cmd := &cobra.Command{
		Use:   "undo [REVISION]",
		Short: "Take a published revision back, the newest where none is named",
		Long: "Undo publishes a revision anew in which the files of another one are what they were before it. Called again it goes\n" +
			"a step further back; an undo is itself undone by its number. What was changed again since is not undone.",
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			n := 0
			if len(as) > 0 {
				var err error
				if n, err = revisionNumber(as[0]); err != nil {
					return err
				}
			}
			s, k, err := a.keeper(cmd)
			if err != nil {
				return err
			}
			pr, err := k.pub.ProposeUndo(cmd.Context(), n)
			if err != nil {
				return bookError(err)
			}
			out := cmd.OutOrStdout()
			if dry {
				_, err := fmt.Fprintf(out, "It would be the %s:\n%s", pr.What, printable(pr.Diff()))
				return err
			}
			r, err := k.publish(cmd.Context(), pr, book.Note{By: who(), Why: why})
			if r == nil {
				return bookError(err)
			}
			return errors.Join(writeRecord(out, r, s, true), afterwards(err))
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "why, for the history")
	cmd.Flags().BoolVar(&dry, "dry-run", false, "show what it would do, and write nothing")
	return cmd
}

// keeper is what changes the book of the settings.
func (a *app) keeper(cmd *cobra.Command) (*config.Settings, *keeper, error) {
	s, err := a.settings(cmd)
	if err != nil {
		return nil, nil, err
	}
	k, err := newKeeper(s, nil)
	return s, k, err
}

// who is the person at the keyboard, for the history.
func who() string {
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username + " (command line)"
	}
	if name := os.Getenv("USER"); name != "" {
		return name + " (command line)"
	}
	return "command line"
}

// bookError makes what is wrong with the book, or with what was asked of it,
// something that the person can put right.
func bookError(err error) error {
	if err == nil || errors.Is(err, context.Canceled) {
		return err
	}
	return usageError{err}
}

// afterwards is what failed after a publication: the book is what it should be,
// so it is no usage error.
func afterwards(err error) error {
	if err == nil {
		return nil
	}
	return failure{err}
}
