package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sidewall/answers/book"
	"sidewall/answers/lint"
	"sidewall/answers/measure"
	"sidewall/config"
)

// edge is one side of a difference: a book and a day.
type edge struct {
	b    *book.Book
	fsys fs.FS
	on   measure.Date
	name string
}

func bookDiff(a *app) *cobra.Command {
	var division string
	cmd := &cobra.Command{
		Use:   "diff FROM TO",
		Short: "Show which values change for a division between two days or revisions",
		Long: "Diff shows what holds at TO and did not at FROM, as a table: the value before, after, why, and its source. Each of\n" +
			"the two is a day (2027-04-10, or a year for its 1 January), a season's start or end (start, end), today, or a revision\n" +
			"of the book (a number of `sidewall book history`, 0 for before the first, or the beginning of its hash). A revision\n" +
			"is looked at on --date. Below the table stand the summaries whose numbers the sheet contradicts at TO.",
		Example: "  sidewall book diff 2026-08-31 2027-08-31 --division U11\n  sidewall book diff 3 today --division U13",
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, as []string) error {
			s, err := a.settings(cmd)
			if err != nil {
				return err
			}
			now, err := loadBook(cmd.Context(), s.Book)
			if err != nil {
				return err
			}
			on := measure.DateOf(time.Now().In(s.Timezone))
			if s.Date != "" {
				if on, err = measure.ParseDate(s.Date); err != nil {
					return usageError{err}
				}
			}
			var ends [2]edge
			for i, ref := range as {
				if ends[i], err = findEdge(cmd.Context(), s, now, ref, on); err != nil {
					return bookError(err)
				}
			}
			divisions := now.Sheet.Divisions
			if division != "" {
				q := &asker{}
				id, err := divisionOf(cmd.Context(), q, s, division)
				if err != nil {
					return usageError{err}
				}
				divisions = []string{id}
			}
			return writeBookDiff(cmd.Context(), cmd.OutOrStdout(), ends[0], ends[1], divisions)
		},
	}
	cmd.Flags().StringVar(&division, "division", "", "only this age division (default all)")
	cmd.Flags().String("date", "", "the day on which a revision is looked at (default today)")
	return cmd
}

// divisionOf is the book's name of a division that people may call by another.
func divisionOf(ctx context.Context, q *asker, s *config.Settings, name string) (string, error) {
	d, done, err := openDesk(ctx, s.Book)
	if err != nil {
		return "", err
	}
	defer done()
	q.Desk = d
	return q.division(name)
}

// findEdge finds the book and the day that FROM or TO means. A number of four
// digits is a year.
func findEdge(ctx context.Context, s *config.Settings, now *book.Book, ref string, on measure.Date) (edge, error) {
	fsys, err := bookFS(s.Book)
	if err != nil {
		return edge{}, err
	}
	switch strings.ToLower(ref) {
	case "today", "now":
		return edge{now, fsys, on, "today, " + on.String()}, nil
	case "start":
		return edge{now, fsys, now.Season.From, "the season's first day, " + now.Season.From.String()}, nil
	case "end":
		return edge{now, fsys, now.Season.To, "the season's last day, " + now.Season.To.String()}, nil
	}
	if day, err := measure.ParseDate(ref); err == nil {
		return edge{now, fsys, day, day.String()}, nil
	} else if len(ref) == len("2027-04-10") && strings.Count(ref, "-") == 2 {
		return edge{}, err
	}
	if s.Book == "" {
		return edge{}, fmt.Errorf("%q is no day, and the book in the program has no revisions; write a day as 2027-04-10", ref)
	}
	b, old, err := book.At(ctx, s.Book, ref)
	if err != nil {
		return edge{}, err
	}
	return edge{b, old, on, fmt.Sprintf("revision %s on %s", b.Revision, on)}, nil
}

func writeBookDiff(ctx context.Context, w io.Writer, from, to edge, divisions []string) error {
	fmt.Fprintf(w, "From %s to %s\n", from.name, to.name)
	for _, id := range divisions {
		cs, err := book.Diff(from.b, to.b, id, from.on, to.on)
		if err != nil {
			return usageError{err}
		}
		if len(cs) == 0 {
			if _, err := fmt.Fprintf(w, "\n%s: nothing changes.\n", id); err != nil {
				return err
			}
			continue
		}
		fmt.Fprintf(w, "\n%s: %s\n", id, countOf(len(cs), "change"))
		if err := book.WriteDiff(w, cs); err != nil {
			return err
		}
	}
	return writeContradicted(ctx, w, to, book.Season{Name: to.name, From: to.on, To: to.on}, divisions)
}

// writeContradicted lists the summaries that are to be rewritten for a season.
func writeContradicted(ctx context.Context, w io.Writer, e edge, s book.Season, divisions []string) error {
	found := contradicted(ctx, e.fsys, e.b.InSeason(s))
	found = slices.DeleteFunc(found, func(f lint.Finding) bool { return !concernsAny(e.b, f, divisions) })
	if len(found) == 0 {
		_, err := fmt.Fprintln(w, "\nNo summary has a number that the sheet contradicts then.")
		return err
	}
	fmt.Fprintln(w, "\nTo be rewritten: the sheet contradicts them then.")
	for _, f := range found {
		if _, err := fmt.Fprintf(w, "  %s:%d: %s\n", f.File, f.Line, printable(f.What)); err != nil {
			return err
		}
	}
	return nil
}

// concernsAny says whether a finding is about one of the divisions.
func concernsAny(b *book.Book, f lint.Finding, divisions []string) bool {
	about := f.Divisions
	if about == nil {
		if i := slices.IndexFunc(b.Summaries, func(s *book.Summary) bool { return s.File == f.File }); i >= 0 {
			about = b.Summaries[i].Divisions
		}
	}
	return len(about) == 0 || slices.ContainsFunc(about, func(d string) bool { return slices.Contains(divisions, d) })
}

// contradicted are the numbers of a book's summaries that its sheet contradicts.
func contradicted(ctx context.Context, fsys fs.FS, b *book.Book) []lint.Finding {
	off := slices.DeleteFunc(lint.Names(), func(name string) bool { return name == "prose" })
	return lint.Lint(ctx, fsys, b, lint.Options{Off: off})
}

func bookSeason(a *app) *cobra.Command {
	var dry bool
	cmd := &cobra.Command{
		Use:   "season YEAR",
		Short: "Write the next season's dates into the book, and list the values to confirm",
		Long: "Season moves the season in book.yaml to the one that ends in YEAR, and lists what somebody should confirm before it\n" +
			"begins: values that begin or end in it, decisions of the club and its league, values from memory, and the summaries\n" +
			"that the sheet then contradicts. `sidewall book undo` takes it back.",
		Example: "  sidewall book season 2028 --book our-book --dry-run",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			day, err := measure.ParseDate(as[0])
			if err != nil || len(as[0]) != 4 {
				return usageError{fmt.Errorf("%q is no year; write it as 2028", as[0])}
			}
			s, k, err := a.keeper(cmd)
			if err != nil {
				return err
			}
			now, err := loadBook(cmd.Context(), s.Book)
			if err != nil {
				return err
			}
			next, err := now.NextSeason(day.Year())
			if err != nil {
				return usageError{err}
			}
			pr, err := k.pub.Propose(cmd.Context(), next)
			if err != nil {
				return bookError(err)
			}
			out := cmd.OutOrStdout()
			is, was, told := "The season would be", "is", error(nil)
			if !dry {
				r, err := k.publish(cmd.Context(), pr, book.Note{By: who(), Why: "the season " + next.Name})
				if r == nil {
					return bookError(err)
				}
				is, was, told = fmt.Sprintf("Revision %d: the season is", r.Number), "was", afterwards(err)
			}
			fmt.Fprintf(out, "%s %s, %s to %s (it %s %s, %s to %s).\n", is, next.Name, next.From, next.To, was, now.Season.Name, now.Season.From, now.Season.To)
			if err := writeConfirm(out, pr.To); err != nil {
				return err
			}
			if err := writeContradicted(cmd.Context(), out, edge{b: pr.To, fsys: pr.FS()}, pr.To.Season, pr.To.Sheet.Divisions); err != nil {
				return err
			}
			return told
		},
	}
	cmd.Flags().BoolVar(&dry, "dry-run", false, "list what to confirm, and write nothing")
	return cmd
}

func writeConfirm(w io.Writer, b *book.Book) error {
	cs := b.Confirm(b.Season)
	fmt.Fprintf(w, "\nTo confirm before it begins: %s.\n", countOf(len(cs), "value"))
	for _, c := range cs {
		r := c.Record
		var whom []string
		for i, id := range b.Sheet.Divisions {
			if r.Divisions.Has(i) {
				whom = append(whom, id)
			}
		}
		source := ""
		if r.Source != nil {
			source = r.Source.String()
		}
		if _, err := fmt.Fprintf(w, "  %s:%d: %s %s (%s, %s): %s; %s\n", r.File, r.Line, r.Basis(), r.Value.Text, strings.Join(whom, " "), c.Layer.ID, c.Why, source); err != nil {
			return err
		}
	}
	return nil
}
