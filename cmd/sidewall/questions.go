package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sidewall/bot"
	"sidewall/config"
)

func questionsCommand(a *app) *cobra.Command {
	var since string
	var all bool
	cmd := &cobra.Command{
		Use:   "questions",
		Short: "List what people asked and the book did not answer",
		Long: "Questions lists the open questions of the state file, those that ask alike together and counted, the most asked first:\n" +
			"what got no answer, what was asked back and never ended, and what somebody said was no answer. People's names, numbers\n" +
			"and contact data were taken out before anything was kept. The bot may be running.",
		Example: "  sidewall questions --since 30d",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			span, err := config.ParseSpan(since)
			if err != nil {
				return usageError{fmt.Errorf("--since: %w", err)}
			}
			s, err := a.settings(cmd)
			if err != nil {
				return err
			}
			// Opening makes the file, and here that would only hide a wrong path.
			if _, err := os.Stat(s.State.Path); errors.Is(err, fs.ErrNotExist) {
				return usageError{fmt.Errorf("there is no state file %s; --state-path or the setting state.path says where it is", s.State.Path)}
			}
			now := time.Now()
			store, err := bot.OpenSQLite(cmd.Context(), s.State.Path, now)
			if err != nil {
				return usageError{fmt.Errorf("open the state file %s: %w", s.State.Path, err)}
			}
			defer store.Close()
			missed, err := store.Missed(cmd.Context(), now.Add(-span))
			if err != nil {
				return fmt.Errorf("list the open questions: %w", err)
			}
			_, err = fmt.Fprint(cmd.OutOrStdout(), openQuestions(missed, since, all))
			return err
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&since, "since", "30d", "how far back, such as 30d or 12w")
	fl.BoolVar(&all, "all", false, "list every wording, not only the first few")
	fl.String("state-path", "", "the file in which the bot remembers")
	return cmd
}

// whyText is why a question stays open, as an admin reads it.
var whyText = map[string]string{
	bot.WhyNone:   "nothing was found",
	bot.WhyNeed:   "asked back, and never ended",
	bot.WhyMissed: "said to be no answer",
}

func openQuestions(missed []bot.Missed, since string, all bool) string {
	groups := bot.GroupMissed(missed)
	if len(groups) == 0 {
		return "No open questions in the last " + since + ".\n"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s in the last %s, %s:\n", countOf(len(missed), "open question"), since, countOf(len(groups), "group"))
	const few = 3
	for _, g := range groups {
		fmt.Fprintf(&b, "\n%4d  %s\n", g.Count, oneLine(g.Text))
		for i, o := range g.Others {
			if i == few && !all {
				fmt.Fprintf(&b, "      … %d more wordings, with --all\n", len(g.Others)-few)
				break
			}
			fmt.Fprintf(&b, "      %s\n", oneLine(o))
		}
		var about []string
		for _, why := range []string{bot.WhyNone, bot.WhyNeed, bot.WhyMissed} {
			if n := g.Whys[why]; n > 0 {
				about = append(about, fmt.Sprintf("%s %d", whyText[why], n))
			}
		}
		if len(g.Topics) > 0 {
			slices.Sort(g.Topics)
			about = append(about, "taken for "+strings.Join(g.Topics, ", "))
		}
		if len(g.Divisions) > 0 {
			slices.Sort(g.Divisions)
			about = append(about, strings.Join(g.Divisions, ", "))
		}
		fmt.Fprintf(&b, "      (%s; last on %s)\n", strings.Join(about, "; "), g.Last.Format(time.DateOnly))
	}
	return b.String()
}
