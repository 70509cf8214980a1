package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"sidewall/answers/checks"
	"sidewall/config"
)

// topicsHelp is the help page on what can be asked, made from the checks.
func topicsHelp() *cobra.Command {
	var b strings.Builder
	b.WriteString("What sidewall computes from the book; about anything else it searches the club's summaries.\n")
	for _, c := range checks.All() {
		fmt.Fprintf(&b, "\n%s: %s\n", c.Topic, c.Help)
		for _, e := range c.Examples {
			fmt.Fprintf(&b, "  %s\n", e)
		}
	}
	return &cobra.Command{Use: "topics", Short: "What can be asked, with examples", Long: strings.TrimRight(b.String(), "\n")}
}

// settingsHelp is the help page on the settings.
func settingsHelp() *cobra.Command {
	var b strings.Builder
	fmt.Fprintf(&b, "Settings stand in %s (or the file that --config names), in the environment, or in flags;\n", config.DefaultFile)
	b.WriteString("flags go before the environment, that before the file.\n\n")
	for _, k := range config.Keys() {
		fmt.Fprintf(&b, "  %-26s %-36s %s\n", k.Name, k.Env, k.Help)
	}
	return &cobra.Command{Use: "settings", Short: "Every setting, with its variable", Long: strings.TrimRight(b.String(), "\n")}
}
