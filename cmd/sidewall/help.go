package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"sidewall/answers/checks"
	"sidewall/config"
)

// helpPage is a page of help that is written when somebody reads it.
func helpPage(use, short string, long func() string) *cobra.Command {
	page := &cobra.Command{Use: use, Short: short}
	page.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		cmd.Long = long()
		cmd.Parent().HelpFunc()(cmd, args)
	})
	return page
}

// topicsHelp is what can be asked, made from the checks.
func topicsHelp() string {
	var b strings.Builder
	b.WriteString("What sidewall computes from the book; about anything else it searches the club's summaries.\n")
	for _, c := range checks.All() {
		fmt.Fprintf(&b, "\n%s: %s\n", c.Topic, c.Help)
		for _, e := range c.Examples {
			fmt.Fprintf(&b, "  %s\n", e)
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

// settingsHelp is every setting.
func settingsHelp() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Settings stand in %s (or the file that --config names), in the environment, or in flags;\n", config.DefaultFile)
	b.WriteString("flags go before the environment, that before the file.\n\n")
	for _, k := range config.Keys() {
		fmt.Fprintf(&b, "  %-26s %-36s %s\n", k.Name, k.Env, k.Help)
	}
	return strings.TrimRight(b.String(), "\n")
}
