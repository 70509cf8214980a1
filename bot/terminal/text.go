// Package terminal shows answers as plain text and holds a conversation in a
// terminal. It translates between the person and whoever answers; it decides
// nothing.
package terminal

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"sidewall/answers/answer"
)

// Style is how much of an answer is shown.
type Style struct {
	All    bool   // every line
	More   string // how the person gets the lines that were left out, such as --all; "" says only how many there are
	Number bool   // likely replies get numbers
}

const (
	mostLines = 5   // of an answer, its caution apart
	shortLine = 100 // runes; two detail lines that fit in one are put there
	mostRules = 2   // named in the rule line
)

// Text is an answer in a few short lines: the verdict first, the arithmetic and
// the fix, the rule that it rests on, where to read more, and the caution.
func Text(a *answer.Answer, s Style) string {
	w := labels[a.Lang]
	if w == nil {
		w = labels["en"]
	}
	parts := a.Parts
	if len(parts) == 0 {
		parts = []*answer.Answer{a}
	}
	var b strings.Builder
	for i, p := range parts {
		if i > 0 {
			b.WriteByte('\n')
		}
		for _, line := range lines(p, w, s) {
			b.WriteString(clean(line))
			b.WriteByte('\n')
		}
		// Parts often share their caution; once is enough.
		if i == len(parts)-1 || parts[i+1].Caution() != p.Caution() {
			b.WriteString(clean(p.Caution()))
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// lines are a part's lines without its caution.
func lines(a *answer.Answer, w *words, s Style) []string {
	out := []string{a.Headline}
	var tail []string
	if s.Number && len(a.Choices) > 0 {
		tail = append(tail, numbered(a.Choices))
	}
	if r := ruleLine(a, w, s.All); r != "" {
		tail = append(tail, r)
	}
	if r := readLine(a, w, s.All); r != "" {
		tail = append(tail, r)
	}
	detail := join(a.Detail)
	if room := mostLines - 1 - len(tail); !s.All && len(detail) > room {
		left := len(detail) - room
		detail = detail[:room]
		note := fmt.Sprintf(w.left, left)
		if left == 1 {
			note = w.leftOne
		}
		if s.More != "" {
			note += ": " + s.More
		}
		if len(detail) > 0 {
			detail[len(detail)-1] += " (" + note + ")"
		}
	}
	return append(append(out, detail...), tail...)
}

// join puts short lines together, two by two.
func join(in []string) []string {
	out := make([]string, 0, len(in))
	joined := false
	for _, line := range in {
		if line == "" {
			continue
		}
		if k := len(out) - 1; k >= 0 && !joined && utf8.RuneCountInString(out[k])+1+utf8.RuneCountInString(line) <= shortLine {
			out[k] += " " + line
			joined = true
			continue
		}
		out = append(out, line)
		joined = false
	}
	return out
}

// ruleLine names the rules that the answer rests on, with layer and date.
func ruleLine(a *answer.Answer, w *words, all bool) string {
	if a.Kind == answer.Summary || len(a.Basis) == 0 {
		return ""
	}
	var rules []string
	topic := ""
	for _, r := range a.Basis {
		if !all && len(rules) == mostRules {
			rules = append(rules, fmt.Sprintf(w.more, len(a.Basis)-mostRules))
			break
		}
		name := r.Rule
		if t, key, ok := strings.Cut(name, ": "); ok {
			if t == topic { // "crosse length: short crosse …; long crosse …"
				name = key
			}
			topic = t
		}
		in := []string{fmt.Sprintf(w.layer, r.Layer)}
		if r.From != "" {
			in = append(in, fmt.Sprintf(w.from, r.From))
		}
		if r.Replaces != "" {
			in = append(in, fmt.Sprintf(w.replaces, r.Replaces))
		}
		if all && r.Source != "" {
			in = append(in, r.Source)
		}
		rules = append(rules, strings.TrimSpace(name+" "+r.Value)+" ("+strings.Join(in, ", ")+")")
	}
	return w.rule + ": " + strings.Join(rules, "; ") + "."
}

// readLine names the summary to read on in.
func readLine(a *answer.Answer, w *words, all bool) string {
	var pages []string
	for _, f := range a.Summaries {
		name := f.Title
		if f.Section != "" {
			name += " › " + f.Section
		}
		pages = append(pages, name)
		if !all {
			break
		}
	}
	if len(pages) == 0 {
		return ""
	}
	return w.read + ": " + strings.Join(pages, "; ")
}

// numbered is likely replies with their numbers.
func numbered(choices []string) string {
	var b strings.Builder
	for i, c := range choices {
		if i > 0 {
			b.WriteString("   ")
		}
		fmt.Fprintf(&b, "%d %s", i+1, c)
	}
	return b.String()
}

// clean keeps what a question or a book holds from steering the terminal:
// control characters and the marks that turn the writing direction go.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, s)
}
