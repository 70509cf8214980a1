package main

import (
	"fmt"
	"io/fs"
	"time"

	"github.com/spf13/cobra"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

func bookCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "book",
		Short: "Start a book, check it, look values up in it, see and undo what was published",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(bookNew(), bookLint(a), bookShow(a), bookDiff(a), bookSeason(a), bookHistory(a), bookUndo(a))
	return cmd
}

func bookNew() *cobra.Command {
	return &cobra.Command{
		Use:   "new DIR",
		Short: "Write the book in the program to a new folder, as the start of your own",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			dir := as[0]
			if err := book.New(dir, config.ShippedBook()); err != nil {
				return usageError{err}
			}
			files := 0
			_ = fs.WalkDir(config.ShippedBook(), ".", func(_ string, d fs.DirEntry, _ error) error {
				if !d.IsDir() {
					files++
				}
				return nil
			})
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "Wrote %d files to %s.\n"+
				"Next: put your club's name and contact in book.yaml, then\n"+
				"  sidewall book lint %s\n  sidewall ask --book %s \"U11 attack, 45-inch stick?\"\n", files, dir, dir, dir)
			return err
		},
	}
}

func bookShow(a *app) *cobra.Command {
	var division string
	cmd := &cobra.Command{
		Use:   "show [TOPIC]",
		Short: "Show the values of a topic: which layer, since when, from which source, what they replace",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			q, done, err := a.open(cmd, division, "", "")
			if err != nil {
				return err
			}
			defer done()
			topic := ""
			if len(as) > 0 {
				topic = as[0]
			}
			on := q.base.On
			if on == 0 {
				on = measure.DateOf(time.Now())
			}
			if err := book.Show(cmd.OutOrStdout(), q.Book(), topic, q.base.Division, on); err != nil {
				return usageError{err}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&division, "division", "", "only this age division")
	cmd.Flags().String("date", "", "the day, as 2027-04-10 (default today)")
	return cmd
}
