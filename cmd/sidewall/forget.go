package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sidewall/bot"
)

func forgetCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "forget USER",
		Short: "Delete what the bot keeps of a person",
		Long: "Forget deletes what the state file holds of a person: what they asked in conversations, their open questions and\n" +
			"their default division. USER is their id as the chat gives it (U0123ABC, @name:example.org), not their name; the\n" +
			"file holds no names, only what the id is hashed to. The bot may be running.",
		Example: "  sidewall forget U0123ABC\n  sidewall forget slack:U0123ABC",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, as []string) error {
			s, err := a.settings(cmd)
			if err != nil {
				return err
			}
			person := personID(as[0])
			if person == "" {
				return usageError{errors.New("whom? write their id, such as U0123ABC")}
			}
			// Opening makes the file, and here that would only hide a wrong path.
			if _, err := os.Stat(s.State.Path); errors.Is(err, fs.ErrNotExist) {
				return usageError{fmt.Errorf("there is no state file %s; --state-path or the setting state.path says where it is", s.State.Path)}
			}
			store, err := bot.OpenSQLite(cmd.Context(), s.State.Path, time.Now())
			if err != nil {
				return usageError{fmt.Errorf("open the state file %s: %w", s.State.Path, err)}
			}
			defer store.Close()
			n, err := bot.Forget(cmd.Context(), store, person)
			if err != nil {
				return fmt.Errorf("forget: %w", err)
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s deleted.\n", countOf(n, "record"))
			return err
		},
	}
	cmd.Flags().String("state-path", "", "the file in which the bot remembers")
	return cmd
}

// personID is an id that may be written as admins are, with its platform before it.
func personID(s string) string {
	s = strings.TrimSpace(s)
	for _, p := range platforms() {
		if id, ok := strings.CutPrefix(s, strings.ToLower(p.name)+":"); ok {
			return id
		}
	}
	return strings.TrimPrefix(s, "matrix:")
}
