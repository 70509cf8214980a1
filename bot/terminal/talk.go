package terminal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"sidewall/answers/answer"
	"sidewall/bot"
)

// Topic is a topic as help shows it.
type Topic struct {
	ID           string
	Help, HelpES string
	Examples     []string
	ExamplesES   []string
}

// Config is one conversation.
type Config struct {
	// Ask answers a question; fresh says that a new conversation begins with it.
	Ask func(ctx context.Context, text string, fresh bool) (*answer.Answer, error)
	// Keep does what a line asks of the book; nil where it asks nothing of it.
	Keep   func(ctx context.Context, text string) (*bot.Told, error)
	Topics []Topic
	Lang   string // of what the terminal says before anybody asked
	Greet  bool
	Crash  func(error) // told what went wrong inside
}

// Lines reads what the person types: io.EOF at the end.
type Lines interface{ ReadLine() (string, error) }

// talker is a conversation on its way.
type talker struct {
	Config
	out   io.Writer
	words *words
	last  *answer.Answer
	fresh bool
	offer []bot.Control // of the book's keeping, by number
}

// Talk answers line after line until the person ends it, the input ends, or the
// context does.
func Talk(ctx context.Context, in Lines, out io.Writer, c Config) error {
	t := &talker{Config: c, out: out, words: labels["en"], fresh: true}
	t.speak(c.Lang)
	if c.Greet {
		t.say(t.words.hello)
	}
	lines := make(chan typed)
	next := make(chan struct{})
	defer close(next)
	go read(in, lines, next)
	for {
		select {
		case next <- struct{}{}:
		case <-ctx.Done():
			return ctx.Err()
		}
		var l typed
		select {
		case l = <-lines:
		case <-ctx.Done():
			return ctx.Err()
		}
		if errors.Is(l.err, io.EOF) && strings.TrimSpace(l.text) == "" {
			if t.Greet { // the shell's prompt must not stand behind ours
				t.say(t.words.bye)
			}
			return nil
		}
		if l.err != nil && !errors.Is(l.err, io.EOF) {
			return fmt.Errorf("read what was typed: %w", l.err)
		}
		done, err := t.line(ctx, l.text)
		if done || err != nil || l.err != nil {
			return err
		}
	}
}

type typed struct {
	text string
	err  error
}

// read reads a line whenever one is wanted. A read cannot be interrupted, so
// that it has a goroutine of its own; it ends with the next line.
func read(in Lines, out chan<- typed, next <-chan struct{}) {
	for range next {
		text, err := in.ReadLine()
		select {
		case out <- typed{text, err}:
		case <-next: // nobody listens any more
			return
		}
		if err != nil {
			return
		}
	}
}

func (t *talker) speak(lang string) {
	if w := labels[lang]; w != nil {
		t.words = w
	}
}

func (t *talker) say(text string) { fmt.Fprintln(t.out, text) }

// line does what one line asks; done ends the conversation.
func (t *talker) line(ctx context.Context, text string) (done bool, err error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return false, nil
	}
	word := strings.ToLower(strings.TrimRight(text, ".!"))
	if c, ok := commandWords[word]; ok {
		t.speak(c.lang)
		switch c.command {
		case quit:
			t.say(t.words.bye)
			return true, nil
		case help:
			t.help()
		case again:
			t.fresh, t.last = true, nil
			t.say(t.words.again)
		case more:
			t.more()
		}
		return false, nil
	}
	if first, rest, ok := strings.Cut(word, " "); ok && commandWords[first].command == help {
		if i := t.topic(strings.TrimSpace(rest)); i >= 0 {
			t.speak(commandWords[first].lang)
			t.examples(i)
			return false, nil
		}
	}
	if kept, err := t.keep(ctx, text); kept || err != nil {
		return false, err
	}
	return false, t.ask(ctx, t.choice(text))
}

// keep does what a line asks of the book; kept says whether it asks for that.
func (t *talker) keep(ctx context.Context, text string) (kept bool, err error) {
	if t.Keep == nil {
		return false, nil
	}
	if n, err := strconv.Atoi(strings.TrimRight(text, ".")); err == nil && n > 0 && n <= len(t.offer) {
		text = t.offer[n-1].ID
	}
	told, err := t.Keep(ctx, text)
	switch {
	case ctx.Err() != nil:
		return false, ctx.Err()
	case err != nil:
		if t.Crash != nil {
			t.Crash(err)
		}
		t.say(t.words.failed)
		return true, nil
	case told == nil:
		t.offer = nil
		return false, nil
	}
	t.speak(told.Lang)
	for l := range strings.Lines(told.Text()) {
		t.say(strings.TrimRight(Clean(l), " "))
	}
	if offer := told.Typed(); len(offer) > 0 {
		t.offer = offer
		for i, c := range offer {
			t.say(fmt.Sprintf("  %d  %s", i+1, Clean(c.Label)))
		}
	}
	return true, nil
}

// choice is the reply that a number stands for, where choices were offered.
func (t *talker) choice(text string) string {
	if t.last == nil {
		return text
	}
	n, err := strconv.Atoi(strings.TrimRight(text, "."))
	if err != nil || n < 1 || n > len(t.last.Choices) {
		return text
	}
	return t.last.Choices[n-1]
}

func (t *talker) ask(ctx context.Context, text string) error {
	a, err := t.answer(ctx, text)
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		if t.Crash != nil {
			t.Crash(err)
		}
		t.say(t.words.failed)
		return nil
	}
	t.fresh, t.last = false, a
	t.speak(a.Lang)
	_, err = io.WriteString(t.out, Text(a, Style{Number: true, More: t.moreWord()})+"\n")
	if err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}

// answer keeps a panic to the question that it befell.
func (t *talker) answer(ctx context.Context, text string) (a *answer.Answer, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("internal error on %q: %v", text, p)
		}
	}()
	return t.Ask(ctx, text, t.fresh)
}

func (t *talker) moreWord() string {
	if t.words == labels["es"] {
		return "más"
	}
	return "more"
}

func (t *talker) more() {
	if t.last == nil {
		t.say(t.words.nothingMore)
		return
	}
	t.say(Text(t.last, Style{All: true, Number: true}))
}

func (t *talker) topic(id string) int {
	for i, topic := range t.Topics {
		if strings.EqualFold(topic.ID, strings.ReplaceAll(id, " ", "-")) {
			return i
		}
	}
	return -1
}

func (t *talker) help() {
	t.say(t.words.help)
	width := 0
	for _, topic := range t.Topics {
		width = max(width, len(topic.ID))
	}
	for _, topic := range t.Topics {
		line := topic.Help
		if t.words == labels["es"] && topic.HelpES != "" {
			line = topic.HelpES
		}
		t.say(fmt.Sprintf("  %-*s  %s", width, topic.ID, line))
	}
}

func (t *talker) examples(i int) {
	t.say(t.words.helpTopic)
	topic := t.Topics[i]
	examples := topic.Examples
	if t.words == labels["es"] && len(topic.ExamplesES) > 0 {
		examples = topic.ExamplesES
	}
	for _, e := range examples {
		t.say("  " + e)
	}
}
