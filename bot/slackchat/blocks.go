package slackchat

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

// Block Kit's bounds, in characters and pieces.
const (
	maxMessageBlocks = 50
	maxViewBlocks    = 100
	maxSection       = 3000
	maxContext       = 2000 // of one element
	maxHeader        = 150
	maxTitle         = 24
	maxLabel         = 75
	maxActionID      = 255
	maxValue         = 2000
	maxButtons       = 25   // in one block
	maxFallback      = 3000 // our own: 40000 would be taken, and read out by a screen reader
	maxLine          = 1000 // our own: of one line of a reply
	maxLines         = 20   // our own: of a reply
)

// blocksOf is a reply as blocks.
func blocksOf(r *bot.Reply) []slack.Block {
	out := []slack.Block{section("*" + cutEscaped(oneLine(headline(r)), maxSection-2) + "*")}
	var lines []string
	for _, l := range r.Lines {
		if s := cutEscaped(oneLine(l.Text), maxLine); s != "" && len(lines) < maxLines {
			lines = append(lines, s)
		}
	}
	for _, s := range packed(lines, "\n", maxSection) {
		out = append(out, section(s))
	}
	if s := cutEscaped(oneLine(r.Caution), maxContext); s != "" {
		out = append(out, slack.NewContextBlock("", mrkdwn(s)))
	}
	ids := map[string]bool{}
	for _, controls := range [][]bot.Control{r.Choices, r.Controls} {
		for _, row := range rows(buttons(controls, r.Key, ids)) {
			if len(out) < maxMessageBlocks {
				out = append(out, slack.NewActionBlock("", row...))
			}
		}
	}
	return out
}

// headline is never empty: a section has to have words.
func headline(r *bot.Reply) string {
	if s := oneLine(r.Headline); s != "" {
		return s
	}
	return "…"
}

// fallback is what a notification shows and a screen reader reads: the whole
// answer without its buttons, since the blocks are left out there.
func fallback(r *bot.Reply) string {
	lines := []string{headline(r)}
	for _, l := range r.Lines {
		if s := oneLine(l.Text); s != "" {
			lines = append(lines, s)
		}
	}
	if s := oneLine(r.Caution); s != "" {
		lines = append(lines, s)
	}
	return cutEscaped(strings.Join(lines, "\n"), maxFallback)
}

// buttons are controls with ids that are unique in the message, ids. One whose
// value does not fit could not be read back, and is left out.
func buttons(controls []bot.Control, key string, ids map[string]bool) []slack.BlockElement {
	var out []slack.BlockElement
	for _, c := range controls {
		label := cutTo(oneLine(c.Label), maxLabel)
		value, err := json.Marshal(pressed{Key: key, Control: c.ID})
		if err != nil || label == "" || c.ID == "" || size(string(value)) > maxValue {
			continue
		}
		id := cutTo(oneLine(c.ID), maxActionID-8)
		for n := 2; id == "" || ids[id]; n++ {
			id = fmt.Sprintf("%s#%d", cutTo(oneLine(c.ID), maxActionID-8), n)
		}
		ids[id] = true
		text := slack.NewTextBlockObject(slack.PlainTextType, label, false, false)
		out = append(out, slack.NewButtonBlockElement(id, string(value), text))
	}
	return out
}

// rows puts buttons into blocks.
func rows(bs []slack.BlockElement) [][]slack.BlockElement {
	var out [][]slack.BlockElement
	for len(bs) > 0 {
		n := min(len(bs), maxButtons)
		out, bs = append(out, bs[:n]), bs[n:]
	}
	return out
}

func section(text string) slack.Block { return slack.NewSectionBlock(mrkdwn(text), nil, nil) }

// mrkdwn is text in which nothing is made a link or a mention that is not written
// as one (verbatim).
func mrkdwn(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.MarkdownType, text, false, true)
}

func plain(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.PlainTextType, text, false, false)
}

func oneLine(s string) string { return strings.Join(strings.Fields(tidy(s)), " ") }

// packed joins pieces with sep into texts of at most n characters. A piece that
// is longer is divided at words.
func packed(pieces []string, sep string, n int) []string {
	var out []string
	last := 0
	for _, p := range pieces {
		for _, part := range divided(p, n) {
			k := size(part)
			if i := len(out) - 1; i >= 0 && last+len(sep)+k <= n {
				out[i] += sep + part
				last += len(sep) + k
				continue
			}
			out, last = append(out, part), k
		}
	}
	return out
}

// divided cuts an escaped text into parts of at most n characters, at a line or
// a word, and never inside an entity or a link.
func divided(s string, n int) []string {
	var out []string
	for size(s) > n {
		first := head(s, n)
		at := len(first)
		if i := strings.LastIndexAny(first, "\n "); i > 0 {
			at = i
		} else if i := strings.LastIndexByte(first, '&'); i > 0 && !strings.Contains(first[i:], ";") {
			at = i
		}
		if i := strings.LastIndexByte(s[:at], '<'); i > 0 && !strings.Contains(s[i:at], ">") {
			at = i
		}
		if part := strings.TrimSpace(s[:at]); part != "" {
			out = append(out, part)
		}
		s = strings.TrimSpace(s[at:])
	}
	if s = strings.TrimSpace(s); s != "" {
		out = append(out, s)
	}
	return out
}
