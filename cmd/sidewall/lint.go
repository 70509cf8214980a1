package main

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sidewall/answers/checks"
	"sidewall/answers/lint"
	"sidewall/config"
)

// advice are the findings that make no answer wrong; the others are errors.
var advice = []string{"never-wins", "unused-source", "stale", "unread-key"}

func severity(name string) string {
	if slices.Contains(advice, name) {
		return "warning"
	}
	return "error"
}

func bookLint(a *app) *cobra.Command {
	var off []string
	var list bool
	var stale int
	cmd := &cobra.Command{
		Use:   "lint [DIR]",
		Short: "Look for what is wrong with a book: gaps, contradictions, stale pages",
		Long: "Look for what is wrong with a book. Each finding has a name, by which it can be switched off.\n" +
			"Exit 1 where a finding is an error, 2 where the book does not load.",
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			if list {
				return listFindings(cmd)
			}
			for _, name := range off {
				if !slices.Contains(lint.Names(), name) {
					return usageError{fmt.Errorf("--off: there is no finding %q; the names are %s", name, strings.Join(lint.Names(), ", "))}
				}
			}
			if stale < 1 {
				return usageError{fmt.Errorf("--stale-days: %d is no number of days; write 1 or more", stale)}
			}
			s, err := a.settings(cmd)
			if err != nil {
				return err
			}
			dir := s.Book
			if len(as) > 0 {
				dir = as[0]
			}
			return lintBook(cmd, dir, lint.Options{Off: off, StaleDays: stale})
		},
	}
	cmd.Flags().StringSliceVar(&off, "off", nil, "findings to leave out, by name")
	cmd.Flags().BoolVar(&list, "list", false, "list the findings that there are")
	cmd.Flags().IntVar(&stale, "stale-days", 365, "how many days before the season a page may have been reviewed last")
	return cmd
}

func listFindings(cmd *cobra.Command) error {
	for _, c := range lint.Checks() {
		if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%-14s %-8s %s\n", c.Name, severity(c.Name), c.Help); err != nil {
			return err
		}
	}
	return nil
}

func lintBook(cmd *cobra.Command, dir string, o lint.Options) error {
	b, err := loadBook(cmd.Context(), dir)
	if err != nil {
		return err
	}
	fsys, err := bookFS(dir)
	if err != nil {
		return err
	}
	// A book without schemas of its own is held against those of the program.
	if _, err := fs.Stat(fsys, "schema"); err != nil {
		if o.Schemas, err = fs.Sub(config.ShippedBook(), "schema"); err != nil {
			return fmt.Errorf("find the schemas: %w", err)
		}
	}
	o.ReadKeys = readKeys(checks.All())
	found := lint.Lint(cmd.Context(), fsys, b, o)
	if err := cmd.Context().Err(); err != nil {
		return err
	}
	wrong := 0
	for _, f := range found {
		kind := severity(f.Name)
		if kind == "error" {
			wrong++
		}
		if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", kind, f); err != nil {
			return err
		}
	}
	if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%s, %s\n", countOf(wrong, "error"), countOf(len(found)-wrong, "warning")); err != nil {
		return err
	}
	if wrong > 0 {
		return failure{fmt.Errorf("the book has %s", countOf(wrong, "error"))}
	}
	return nil
}

// readKeys are the keys that the checks read, as the lint names them.
func readKeys(all []*checks.Check) []string {
	var out []string
	for _, c := range all {
		for _, k := range c.Keys {
			out = append(out, strings.Replace(k, "/", ": ", 1))
		}
	}
	return out
}
