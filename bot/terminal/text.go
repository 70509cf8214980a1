// Package terminal shows answers as plain text and holds a conversation in a
// terminal. It translates between the person and whoever answers; it decides
// nothing.
package terminal

import (
	"fmt"
	"slices"
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
	mostRules = 3   // named in the rule line
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
			b.WriteString(Clean(line))
			b.WriteByte('\n')
		}
		// Parts often share their caution; once is enough.
		if i == len(parts)-1 || parts[i+1].Caution() != p.Caution() {
			b.WriteString(Clean(p.Caution()))
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

// ruleLine names the rules that the answer rests on, with layer and date. Rules
// of one layer and day stand together.
func ruleLine(a *answer.Answer, w *words, all bool) string {
	if a.Kind == answer.Summary || len(a.Basis) == 0 {
		return ""
	}
	basis := distinct(a.Basis)
	var rules []string
	topic, named := "", 0
	for i := 0; i < len(basis); {
		if !all && named >= mostRules {
			rules = append(rules, fmt.Sprintf(w.more, len(basis)-named))
			break
		}
		first := basis[i]
		var names, replaced []string
		for ; i < len(basis) && together(basis[i], first) && (all || named < mostRules); i++ {
			name := basis[i].Rule
			if t, key, ok := strings.Cut(name, ": "); ok {
				if t == topic { // "crosse length: short crosse …, long crosse …"
					name = key
				}
				topic = t
			}
			names = append(names, strings.TrimSpace(name+" "+value(basis[i].ValueText())))
			if r := basis[i].Replaces; r != "" && !slices.Contains(replaced, r) {
				replaced = append(replaced, r)
			}
			named++
		}
		in := []string{fmt.Sprintf(w.layer, first.LayerText())}
		if first.From != "" {
			in = append(in, fmt.Sprintf(w.from, first.From))
		}
		if all && first.Source != "" {
			in = append(in, first.Source)
		}
		text := strings.Join(names, ", ") + " (" + strings.Join(in, ", ")
		if len(replaced) > 0 {
			text += "; " + fmt.Sprintf(w.replaces, slashed(replaced))
		}
		rules = append(rules, text+")")
	}
	return w.rule + ": " + strings.Join(rules, "; ") + "."
}

// distinct leaves out what only says the same value of another division.
func distinct(in []answer.Basis) []answer.Basis {
	var out []answer.Basis
	for _, b := range in {
		if !slices.ContainsFunc(out, func(o answer.Basis) bool { return o.Rule == b.Rule && o.Value == b.Value && together(o, b) }) {
			out = append(out, b)
		}
	}
	return out
}

// together says whether two rules have the same layer, day and source.
func together(a, b answer.Basis) bool {
	return a.Layer == b.Layer && a.From == b.From && a.Source == b.Source
}

// value is a rule's value where it says more than the rule's name does. "No" is
// the same word in both languages.
func value(v string) string {
	switch v {
	case "true":
		return ""
	case "false":
		return "no"
	}
	return v
}

// slashed joins values, and names what they begin with only once:
// "high school 40–42 in / 52–72 in".
func slashed(vs []string) string {
	out := vs[0]
	for _, v := range vs[1:] {
		n := 0
		for i := 0; i < len(v) && i < len(vs[0]) && v[i] == vs[0][i]; i++ {
			if v[i] == ' ' {
				n = i + 1
			}
		}
		out += " / " + v[n:]
	}
	return out
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

// Clean keeps what a question or a book holds from steering the terminal:
// control characters and the marks that turn the writing direction go.
func Clean(s string) string {
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
