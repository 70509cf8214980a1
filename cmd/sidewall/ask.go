package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/bot/terminal"
)

// askFlags are the flags of ask.
type askFlags struct {
	json, explain, all bool
	batch              string
	division, position string
}

func askCommand(a *app) *cobra.Command {
	var f askFlags
	cmd := &cobra.Command{
		Use:   "ask [QUESTION]",
		Short: "Answer a question, or a file of them",
		Example: "  sidewall ask \"U11 attack, 45-inch stick?\"\n" +
			"  sidewall ask --division U13 --json \"how long are our quarters\"\n" +
			"  sidewall ask --batch questions.jsonl --json",
		RunE: func(cmd *cobra.Command, words []string) error {
			switch {
			case f.batch == "" && len(words) == 0:
				return usageError{errors.New(`there is no question; write it behind the command: sidewall ask "U11 attack, 45-inch stick?"`)}
			case f.batch != "" && len(words) > 0:
				return usageError{errors.New("give a question or --batch, not both")}
			}
			q, done, err := a.open(cmd, f.division, f.position, strings.Join(words, " "))
			if err != nil {
				return err
			}
			defer done()
			p := &printer{f: f, q: q, out: cmd.OutOrStdout(), notes: cmd.ErrOrStderr()}
			if f.batch != "" {
				return batch(cmd.Context(), f.batch, cmd.InOrStdin(), p)
			}
			req := q.base
			req.Text = strings.Join(words, " ")
			ans, err := q.Ask(cmd.Context(), req, nil)
			if err != nil {
				return err
			}
			return p.answer(req, ans)
		},
	}
	fl := cmd.Flags()
	fl.BoolVar(&f.json, "json", false, "write the answer as one JSON object")
	fl.StringVar(&f.batch, "batch", "", "answer a file of questions, one JSON object a line (- is standard input)")
	fl.BoolVar(&f.explain, "explain", false, "say what was understood, and which values applied and which lost")
	fl.BoolVar(&f.all, "all", false, "write every line of the answer, not the first five")
	addAskFlags(cmd, &f.division, &f.position)
	return cmd
}

// addAskFlags adds what ask and talk share.
func addAskFlags(cmd *cobra.Command, division, position *string) {
	fl := cmd.Flags()
	fl.StringVar(division, "division", "", "the age division, where the question names none")
	fl.StringVar(position, "position", "", "the position, where the question names none")
	fl.String("date", "", "the day the rules must hold on, as 2027-04-10 (default today)")
	fl.String("lang", "", "the language of the answers, en or es (default: the question's)")
}

// printer writes answers as the flags say.
type printer struct {
	f     askFlags
	q     *asker
	out   io.Writer
	notes io.Writer // explanations where out has to stay JSON
}

func (p *printer) answer(req answers.Request, a *answer.Answer) error {
	notes := p.out
	if p.f.json {
		notes = p.notes
		if err := p.object(a); err != nil {
			return err
		}
	} else if err := p.text(a); err != nil {
		return err
	}
	if !p.f.explain {
		return nil
	}
	return p.q.explain(notes, req, a)
}

func (p *printer) object(v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	if _, err := p.out.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}

func (p *printer) text(a *answer.Answer) error {
	s := terminal.Text(a, terminal.Style{All: p.f.all, More: "--all"})
	if _, err := io.WriteString(p.out, s); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}
