// Package answers is the desk: a question comes in, a check, a question back or
// a search of the summaries goes out.
//
// The desk never guesses what is not known. It runs a topic's check once for
// each division and position that the question may mean, and compares the
// rulings: all alike is an answer at any age; where only the goalkeeper differs
// it says both; otherwise it asks for the one fact that would settle it.
package answers

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/checks"
	"sidewall/answers/lang"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// Search is what the desk asks of an index of summaries.
type Search struct {
	Text, Lang, Division string
	On                   measure.Date
	Limit                int
}

// Searcher finds summaries; it returns none where nothing reliable matches.
type Searcher interface {
	Search(ctx context.Context, s Search) ([]answer.Found, error)
}

// Request is one question and what is set for whoever asks it.
type Request struct {
	ID, Text string
	Division string       // bound to the channel or person; used where the question names none
	Position string       // likewise
	On       measure.Date // the day the rules must hold on; 0 is today
	Lang     string       // "en" or "es"; "" finds it from the words
}

// Desk answers questions from one book. It is safe for concurrent use.
type Desk struct {
	book   *book.Book
	rec    *question.Recogniser
	texts  *lang.Texts
	checks []*checks.Check
	by     map[string]*checks.Check
	search Searcher
	now    func() time.Time
	basis  map[*sheet.Record]*shownIn
	read   map[string]answer.Found // a summary to read more in, by topic
	divs   string
	pool   sync.Pool
	ahead  *question.Ahead
}

// Option sets something of a desk.
type Option func(*Desk)

// WithSearch lets the desk search summaries.
func WithSearch(s Searcher) Option { return func(d *Desk) { d.search = s } }

// WithClock gives the desk its today.
func WithClock(now func() time.Time) Option { return func(d *Desk) { d.now = now } }

// WithReadAhead gives the desk what was read beside the loading of the book.
func WithReadAhead(a *question.Ahead) Option { return func(d *Desk) { d.ahead = a } }

// New makes a desk for a book.
func New(b *book.Book, opts ...Option) (*Desk, error) {
	d := &Desk{book: b, now: time.Now, checks: checks.All(), by: map[string]*checks.Check{}}
	for _, o := range opts {
		o(d)
	}
	var err error
	if d.rec, err = d.ahead.NewRecogniser(Vocabulary(b)); err != nil {
		return nil, fmt.Errorf("make the recogniser: %w", err)
	}
	if d.texts, err = lang.Load(); err != nil {
		return nil, fmt.Errorf("load the texts: %w", err)
	}
	for _, c := range d.checks {
		d.by[c.Topic] = c
	}
	d.prepare()
	d.pool.New = func() any { return &bench{} }
	return d, nil
}

// Warm reads at once what a desk reads when it is first needed: Spanish, and the
// tables that pay from the second question on. A program that serves calls it.
func (d *Desk) Warm() error {
	if err := d.rec.Warm(); err != nil {
		return fmt.Errorf("warm the recogniser: %w", err)
	}
	if err := d.texts.Check(); err != nil {
		return fmt.Errorf("check the texts: %w", err)
	}
	return nil
}

// Vocabulary is what a book calls its divisions and its gear.
func Vocabulary(b *book.Book) question.Vocabulary {
	var v question.Vocabulary
	for _, d := range b.Divisions {
		v.Divisions = append(v.Divisions, question.Division{ID: d.ID, Under: d.Under, Band: d.Band, Aliases: d.Aliases})
	}
	gear := b.Sheet.Topics["gear"]
	if gear == nil {
		return v
	}
	for id, n := range gear.Names {
		if strings.Contains(id, ".") || len(b.Sheet.Records("gear", id)) == 0 {
			continue
		}
		tag := "item:" + id
		add := func(text string, es bool) {
			if text != "" {
				v.Phrases = append(v.Phrases, question.Phrase{Tag: tag, Text: text, Spanish: es})
			}
		}
		add(n.Text.EN, false)
		add(n.Text.ES, true)
		for _, a := range n.AlsoEN {
			add(a, false)
		}
		for _, a := range n.AlsoES {
			add(a, true)
		}
	}
	return v
}

// Checks are the desk's checks, in the order of help.
func (d *Desk) Checks() []*checks.Check { return d.checks }

// Book is the book that the desk answers from.
func (d *Desk) Book() *book.Book { return d.book }

// bench is the memory of one question, used again by the next.
type bench struct {
	c       checks.Case
	rulings []checks.Ruling
	keys    []combo
	facts   [16]question.Fact
}

type combo struct {
	div, pos int
}

// ask is one question on its way.
type ask struct {
	req    Request
	on     measure.Date
	q      *question.Question
	thread *Thread
	lang   string
}

// Ask answers a question. thread is the conversation it belongs to, nil for none;
// it is changed. The error is ctx's or the search's; whatever is wrong with the
// question is told in the answer.
func (d *Desk) Ask(ctx context.Context, req Request, thread *Thread) (*answer.Answer, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	a := &ask{req: req, on: req.On, thread: thread}
	if a.on == 0 {
		a.on = measure.DateOf(d.now())
	}
	before := ""
	if thread != nil {
		before = thread.lang
	}
	a.q = d.rec.ReadAfter(req.Text, req.Lang, before)
	a.lang = a.q.Lang
	if a.lang != "es" {
		a.lang = "en"
	}
	if thread != nil && a.q.Lang != "other" {
		thread.lang = a.lang
	}
	out, err := d.answer(ctx, a)
	if err != nil {
		return nil, err
	}
	out.ID, out.Question, out.Lang, out.Revision = req.ID, req.Text, a.lang, d.book.Revision
	for _, p := range out.Parts {
		p.ID, p.Question, p.Lang, p.Revision = req.ID, req.Text, a.lang, d.book.Revision
	}
	return out, nil
}

func (d *Desk) answer(ctx context.Context, a *ask) (*answer.Answer, error) {
	switch {
	case a.q.TooLong:
		return d.none(a, "none-too-long"), nil
	case a.q.Empty:
		return d.none(a, "none-empty"), nil
	case a.q.Lang == "other":
		return d.none(a, "none-language"), nil
	}
	parts := a.q.Topics()
	parts, outside := a.q.Outside(parts)
	follow := d.followUp(a, parts)
	if outside && (follow == nil || !a.q.Passing() && !(a.q.Has("follow") && len(a.q.Divisions(a.q.Whole())) > 0)) { // "the phone says 35" may go on with the thread
		return d.none(a, "none-scope"), nil
	}
	if follow != nil {
		parts = follow
	}
	if len(parts) == 0 {
		return d.fallback(ctx, a)
	}
	parts = d.split(a, parts)
	if one := d.goesOn(a, parts); one != nil {
		return one, nil
	}
	var out *answer.Answer
	for i := range parts {
		c := d.by[parts[i].Topic]
		if c == nil {
			continue
		}
		one := d.rule(a, c, &parts[i])
		if out == nil {
			out = one
		}
		if len(parts) > 1 {
			out.Parts = append(out.Parts, one)
		}
	}
	if out == nil {
		return d.fallback(ctx, a)
	}
	if p := &parts[0]; len(parts) == 1 && p.Whole && !p.Follow && (p.Sum < verdictSure && a.q.Strange() > 0 || d.by[p.Topic].Spoken && len(a.q.Values("act", a.q.Whole())) == 0) && (out.Verdict == answer.Legal || out.Verdict == answer.NotLegal) {
		return d.fallback(ctx, a) // a verdict on what may not even be a question of the game
	}
	if len(out.Parts) > 1 {
		first := *out // the first part's fields stand at the top; a part has no parts
		first.Parts = nil
		out.Parts[0] = &first
	} else {
		out.Parts = nil
	}
	return out, nil
}

// verdictSure is the score that a topic needs for a verdict where the question has
// words that nothing knows; less may still give a number or ask back.
const verdictSure = 16

// A summary has to match so well to be an answer; better where the words only
// talk and ask nothing ("stick with it, buddy").
const (
	leastScore = 0.5
	leastTalk  = 0.8
	fewWords   = 4

	// elsewhere is how much less a question may look like one for the summaries than
	// like one about something else, in points.
	elsewhere = -10

	// surelySummary is how much more it must look like one, for a match as faint as
	// faintScore to be worth showing.
	surelySummary = 5
	faintScore    = 0.25
)

// fallback searches the summaries, and says so where they say nothing.
func (d *Desk) fallback(ctx context.Context, a *ask) (*answer.Answer, error) {
	if d.search == nil {
		return d.none(a, "none"), nil
	}
	division := a.req.Division
	if ds := a.q.Divisions(a.q.Whole()); len(ds) == 1 {
		division = d.book.Divisions[ds[0]].ID
	}
	found, err := d.search.Search(ctx, Search{Text: a.req.Text, Lang: a.lang, Division: division, On: a.on, Limit: 3})
	if err != nil {
		return nil, fmt.Errorf("search the summaries: %w", err)
	}
	least := leastScore
	if !a.q.Asks() && a.q.WordCount() > fewWords {
		least = leastTalk
	}
	lean := a.q.Summarised()
	if lean >= surelySummary {
		least = faintScore
	}
	if len(found) == 0 || found[0].Score < least || lean < elsewhere {
		return d.none(a, "none"), nil
	}
	out := answer.New(answer.Summary, "summary", answer.Info, d.say(a, "common", "caution-safety", nil))
	out.Summaries = found
	t := found[0].Title
	if found[0].Section != "" {
		t += " › " + found[0].Section
	}
	out.Headline = clip(found[0].Snippet, 140)
	if out.Headline == "" {
		out.Headline = t
	}
	out.Detail = []string{d.say(a, "common", "summary-from", textValues{"summary": t})}
	out.Basis = []answer.Basis{{Layer: "club", Rule: t, Value: out.Headline, Source: d.book.Club}}
	if a.thread != nil {
		a.thread.Topic = ""
	}
	return out, nil
}

func (d *Desk) none(a *ask, key string) *answer.Answer {
	out := answer.New(answer.None, "", answer.NoAnswer, d.say(a, "common", "caution", nil))
	out.Headline = d.say(a, "common", key, nil)
	return out
}

// clip shortens s to n runes at a word's end.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	cut := string(r[:n-1])
	if i := strings.LastIndexByte(cut, ' '); i > n/2 {
		cut = cut[:i]
	}
	return strings.TrimRight(cut, " ,;:") + "…"
}
