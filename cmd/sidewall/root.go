package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// execute runs one command line and gives its exit code.
func execute(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) (code int) {
	defer func() {
		if p := recover(); p != nil {
			report(errs, crashed(p))
			code = exitInternal
		}
	}()
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	err := root.ExecuteContext(ctx)
	report(errs, err)
	return exitCode(err)
}

func rootCommand() *cobra.Command {
	a := &app{}
	root := &cobra.Command{
		Use:   "sidewall",
		Short: "Boys' youth lacrosse rules answers from your club's own book",
		Long: "Sidewall answers rules questions in plain words, for one age division, from one club's book.\n" +
			"It says which rule an answer rests on, asks back where a fact is missing, and never guesses.",
		Example:       "  sidewall ask \"U11 attack, 45-inch stick?\"\n  sidewall talk\n  sidewall book new our-book",
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
		Args:          noArgs,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("sidewall {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usageError{fmt.Errorf("%w; `%s --help` lists the flags%s", err, cmd.CommandPath(), dashHint(err))}
	})
	root.PersistentFlags().StringVar(&a.configFile, "config", "", "the settings file (default sidewall.yaml here, if there is one)")
	root.PersistentFlags().String("book", "", "the folder of the book (default: the book in the program)")
	root.AddCommand(askCommand(a), talkCommand(a), serveCommand(a), doctorCommand(a), forgetCommand(a), bookCommand(a), questionsCommand(a), gradeCommand(), versionCommand(),
		helpPage("topics", "What can be asked, with examples", topicsHelp), helpPage("settings", "Every setting, with its variable", settingsHelp))
	root.CompletionOptions.HiddenDefaultCmd = true
	countArgs(root)
	return root
}

// dashHint helps where a question begins with a minus sign.
func dashHint(err error) string {
	if strings.Contains(err.Error(), "shorthand") {
		return "; put -- before a question that begins with a dash"
	}
	return ""
}

// noArgs refuses words that are no command, and names the nearest one.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	what := fmt.Errorf("%s has no command %q; `%s --help` lists them", cmd.CommandPath(), args[0], cmd.CommandPath())
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
		what = fmt.Errorf("%s has no command %q; did you mean %s?", cmd.CommandPath(), args[0], strings.Join(near, " or "))
	}
	return usageError{what}
}

// countArgs makes a wrong count of arguments a usage error in every command.
func countArgs(cmd *cobra.Command) {
	if check := cmd.Args; check != nil {
		cmd.Args = func(cmd *cobra.Command, args []string) error {
			err := check(cmd, args)
			var told usageError
			if err == nil || errors.As(err, &told) {
				return err
			}
			return usageError{fmt.Errorf("%w; usage: %s", err, cmd.UseLine())}
		}
	}
	for _, sub := range cmd.Commands() {
		countArgs(sub)
	}
}
