package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/checks"
	"sidewall/answers/lint"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
	"sidewall/config"
)

// keeper changes the club's book for its admins, from a command or from chat:
// what is published serves at once. Who may is for its callers to say.
type keeper struct {
	pub  *book.Publisher
	live *live // nil where nothing serves
}

// newKeeper keeps the book of the settings; an error says how to get an own one
// where that is the book in the program.
func newKeeper(s *config.Settings, l *live) (*keeper, error) {
	if s.Book == "" {
		return nil, usageError{errNoOwnBook}
	}
	if _, err := bookFS(s.Book); err != nil {
		return nil, err
	}
	var opts []book.PublishOption
	if s.BookCommit {
		opts = append(opts, book.WithAfter(gitCommit(s.Book)))
	}
	p, err := book.NewPublisher(s.Book, opts...)
	if err != nil {
		return nil, usageError{err}
	}
	return &keeper{p, l}, nil
}

var errNoOwnBook = errors.New("this is the book in the program, which cannot be changed; " +
	"`sidewall book new our-book` writes one of your own, and --book our-book (or the setting book) uses it")

// publish makes a proposal the book, and has it serve before it returns. A record
// beside an error means that it is published all the same.
func (k *keeper) publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	r, err := k.pub.Publish(ctx, pr, n)
	if r == nil || k.live == nil {
		return r, err
	}
	if failed := k.live.replace(ctx, pr.To); failed != nil {
		err = errors.Join(err, &book.AfterError{Err: failed})
	}
	return r, err
}

// undo takes a publication back, 0 the newest; it serves before undo returns.
func (k *keeper) undo(ctx context.Context, number int, n book.Note) (*book.Record, error) {
	pr, err := k.pub.ProposeUndo(ctx, number)
	if err != nil {
		return nil, err
	}
	return k.publish(ctx, pr, n)
}

// preview is what an admin has to see before a proposal is published, beside its
// difference.
type preview struct {
	// Contradictions are numbers of summaries that the sheet would contradict;
	// Findings are what else lint finds. Of both only what it does not find now.
	Contradictions, Findings []lint.Finding
	// Changes are the values that would be others, by division.
	Changes map[string][]*book.Changed
	// Answers are example questions that would be answered differently.
	Answers []answerChange
}

// answerChange is an example question with its answers before and after.
type answerChange struct {
	Question, Division string
	Before, After      *answer.Answer
}

// preview works out what a proposal would do. The examples are asked for a day on
// which all of its values have begun, on at the earliest.
func (k *keeper) preview(ctx context.Context, pr *book.Proposal, on measure.Date) (*preview, error) {
	p := &preview{Changes: pr.Changes()}
	for _, cs := range p.Changes {
		for _, c := range cs {
			for _, r := range []*sheet.Record{c.Before, c.After} {
				if r != nil {
					on = max(on, r.From)
				}
			}
		}
	}
	before, err := book.DirFS(k.pub.Dir())
	if err != nil {
		return nil, err
	}
	// What a page says may be right until the new value begins.
	then := func(b *book.Book) *book.Book {
		s := b.Season
		s.From = max(s.From, on)
		s.To = max(s.To, s.From)
		return b.InSeason(s)
	}
	o := lint.Options{ReadKeys: readKeys(checks.All()), Off: []string{"schema"}}
	had := map[string]int{}
	for _, f := range lint.Lint(ctx, before, then(pr.From), o) {
		had[told(f)]++
	}
	for _, f := range lint.Lint(ctx, pr.FS(), then(pr.To), o) {
		if had[told(f)] > 0 {
			had[told(f)]--
			continue
		}
		if f.Name == "prose" {
			p.Contradictions = append(p.Contradictions, f)
		} else {
			p.Findings = append(p.Findings, f)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("looking at the proposal: %w", err)
	}
	if len(p.Changes) > 0 {
		if p.Answers, err = differently(ctx, pr, p.Changes, on); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// told is a finding without its line: an edit above moves every line below.
func told(f lint.Finding) string { return f.Name + "|" + f.File + "|" + f.What }

// differently asks the examples of the topics whose values change, for each
// division that they change for, of both books.
func differently(ctx context.Context, pr *book.Proposal, changes map[string][]*book.Changed, on measure.Date) ([]answerChange, error) {
	var desks [2]*answers.Desk
	for i, b := range []*book.Book{pr.From, pr.To} {
		d, err := answers.New(b, answers.WithClock(time.Now))
		if err != nil {
			return nil, fmt.Errorf("asking the proposed book: %w", err)
		}
		desks[i] = d
	}
	var out []answerChange
	for _, c := range desks[1].Checks() {
		for _, division := range pr.To.Sheet.Divisions {
			reads := slices.ContainsFunc(changes[division], func(v *book.Changed) bool {
				return slices.ContainsFunc(c.Keys, func(key string) bool { return strings.HasPrefix(key, v.Topic+"/") })
			})
			if !reads {
				continue
			}
			for _, q := range c.Examples {
				var as [2]*answer.Answer
				for i, d := range desks {
					a, err := d.Ask(ctx, answers.Request{Text: q, Division: division, On: on, Lang: "en"}, nil)
					if err != nil {
						return nil, fmt.Errorf("asking the proposed book: %w", err)
					}
					as[i] = a
				}
				if said(as[0]) != said(as[1]) && !slices.ContainsFunc(out, func(o answerChange) bool { return o.Question == q && said(o.After) == said(as[1]) }) {
					out = append(out, answerChange{q, division, as[0], as[1]})
				}
			}
		}
	}
	return out, nil
}

// said is an answer as a person reads it.
func said(a *answer.Answer) string {
	return a.Verdict + "|" + a.Headline + "|" + strings.Join(a.Detail, "|")
}
