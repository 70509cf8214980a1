package bot

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
)

// Bounds of a reply. An answer is read on a phone in bright sun: five lines,
// the caution among them, and the rest behind a control.
const (
	mostLines  = 5
	mostRules  = 2   // named in the rule line
	shortLine  = 100 // runes; two lines of detail that fit in one are put there
	longLine   = 280 // runes; longer ones are cut at a word
	labelRunes = 60  // of a control that names a section
)

// render puts an answer into a reply: the verdict first, the fix, the division
// that was assumed, the rule, the caution.
func (b *Bot) render(r *Reply, a *answer.Answer, req answers.Request) {
	w := wordsOf(a.Lang)
	r.Verdict, r.Headline, r.Caution = a.Verdict, tidy(a.Headline), tidy(a.Caution())
	assumed := tidy(b.assumed(a.Lang, req.Division))
	var rule []Line
	if text := ruleLine(a, w); text != "" {
		rule = []Line{{Rule, cut(text)}}
	}
	room := mostLines - 2 - len(rule) // the headline and the caution stand anyway
	var lines []Line
	if len(a.Parts) > 1 {
		lines = partLines(a.Parts[1:], room, w)
	} else {
		lines = detailLines(a.Detail, assumed, room)
	}
	r.Lines = append(lines, rule...)
	for i, c := range a.Choices {
		id := choicePrefix + c
		if slices.ContainsFunc(r.Choices, func(o Control) bool { return o.ID == id }) {
			continue
		}
		label := c
		if p := w.positions[c]; p != "" {
			label = p
		}
		r.Choices = append(r.Choices, Control{ID: id, Label: label})
		if i == 9 { // what one can press and read at a glance
			break
		}
	}
	if a.Verdict == answer.NoAnswer {
		return // it is an open question already, and there is no more to show
	}
	r.Controls = append(r.Controls, Control{controlDetail, w.detail})
	if len(a.Summaries) > 0 {
		s := a.Summaries[0]
		r.Controls = append(r.Controls, Control{b.sectionID(s), w.read + ": " + cutTo(pageName(s), labelRunes)})
	}
	r.Controls = append(r.Controls, Control{controlMissed, w.missed})
}

// assumed is what an answer says where it took the division that is bound.
func (b *Bot) assumed(lang, division string) string {
	if division == "" {
		return ""
	}
	return b.texts.Say(lang, "common", "assumed", named{"division": division})
}

type named map[string]string

func (n named) Value(name string) (answer.Val, bool) {
	s, ok := n[name]
	return answer.Val{Kind: answer.Text, S: s}, ok
}

func (n named) Name(id, _ string) string { return id }

// detailLines are the first lines of detail. The division that was assumed is
// never among those left out: who reads must see whom the answer is about.
func detailLines(detail []string, assumed string, room int) []Line {
	var in []string
	taken := ""
	for _, d := range detail {
		switch d = tidy(d); {
		case d == "":
		case d == assumed:
			taken = d
		default:
			in = append(in, d)
		}
	}
	if taken != "" {
		room--
	}
	in = joined(in)
	if len(in) > room {
		in = in[:room]
	}
	if taken != "" {
		in = append(in, taken)
	}
	out := make([]Line, len(in))
	for i, s := range in {
		out[i] = Line{Text: cut(s)}
	}
	return out
}

// joined puts short neighbours into one line, two by two.
func joined(in []string) []string {
	var out []string
	pair := false
	for _, s := range in {
		if k := len(out) - 1; k >= 0 && !pair && utf8.RuneCountInString(out[k])+1+utf8.RuneCountInString(s) <= shortLine {
			out[k] += " " + s
			pair = true
			continue
		}
		out, pair = append(out, s), false
	}
	return out
}

// partLines are the headlines of the further parts of an answer.
func partLines(parts []*answer.Answer, room int, w *words) []Line {
	var out []Line
	for i, p := range parts {
		if len(out) == room-1 && i < len(parts)-1 {
			out = append(out, Line{Text: fmt.Sprintf(w.more, len(parts)-i) + " …"})
			break
		}
		out = append(out, Line{Text: cut(tidy(p.Headline))})
	}
	return out
}

// ruleLine names the rules that an answer, all its parts together, rests on.
func ruleLine(a *answer.Answer, w *words) string {
	if a.Kind == answer.Summary {
		return ""
	}
	basis := a.Basis
	if len(a.Parts) > 1 {
		basis = nil
		for _, p := range a.Parts {
			if len(p.Basis) > 0 {
				basis = append(basis, p.Basis[0])
			}
		}
	}
	if len(basis) == 0 {
		return ""
	}
	var out []string
	topic := ""
	for i, r := range basis {
		if i == mostRules {
			out = append(out, fmt.Sprintf(w.more, len(basis)-mostRules))
			break
		}
		name := r.Rule
		if t, key, ok := strings.Cut(name, ": "); ok {
			if t == topic { // "crosse length: short crosse …; long crosse …"
				name = key
			}
			topic = t
		}
		out = append(out, tidy(name+" "+r.ValueText()+" ("+strings.Join(layers(&r, w), ", ")+")"))
	}
	return w.rule + ": " + strings.Join(out, "; ") + "."
}

// layers says where a rule stands: its layer, its date, what it replaces.
func layers(r *answer.Basis, w *words) []string {
	out := []string{fmt.Sprintf(w.layer, r.LayerText())}
	if r.From != "" {
		out = append(out, fmt.Sprintf(w.from, r.From))
	}
	if r.Replaces != "" {
		out = append(out, fmt.Sprintf(w.replaces, r.Replaces))
	}
	return out
}

// detailBlocks are the whole answer: for each part all its lines, and every rule
// with its layer, its source and what it replaces.
func detailBlocks(a *answer.Answer) []Block {
	w := wordsOf(a.Lang)
	parts := a.Parts
	if len(parts) == 0 {
		parts = []*answer.Answer{a}
	}
	var out []Block
	for i, p := range parts {
		out = append(out, Block{Heading: tidy(p.Headline), Text: strings.Join(tidied(p.Detail), "\n")})
		var rules []string
		for k := range p.Basis {
			r := &p.Basis[k]
			line := tidy(r.Rule+" "+r.ValueText()) + " (" + strings.Join(layers(r, w), ", ") + ")."
			if r.Source != "" {
				line += " " + fmt.Sprintf(w.source, tidy(r.Source)) + "."
			}
			rules = append(rules, line)
		}
		if len(rules) > 0 {
			out = append(out, Block{Heading: w.rulesHead, Text: strings.Join(rules, "\n")})
		}
		var pages []string
		for _, s := range p.Summaries {
			pages = append(pages, pageName(s))
		}
		if len(pages) > 0 {
			out = append(out, Block{Heading: w.read, Text: strings.Join(pages, "\n")})
		}
		if i == len(parts)-1 || parts[i+1].Caution() != p.Caution() {
			out = append(out, Block{Text: tidy(p.Caution())})
		}
	}
	return out
}

func pageName(s answer.Found) string {
	if s.Section == "" {
		return tidy(s.Title)
	}
	return tidy(s.Title + " › " + s.Section)
}

// sectionID is the control that shows a summary's section. It names the section
// by number: headings are long, and ids have bounds on most platforms.
func (b *Bot) sectionID(f answer.Found) string {
	at := 0
	if s := summary(b.o.Desk().Book(), f.ID); s != nil {
		at = max(slices.IndexFunc(s.Sections, func(c book.Section) bool { return c.Heading == f.Section }), 0)
	}
	return sectionPrefix + f.ID + "/" + strconv.Itoa(at)
}

func summary(bk *book.Book, id string) *book.Summary {
	for _, s := range bk.Summaries {
		if s.ID == id {
			return s
		}
	}
	return nil
}

// section shows the club's own words beside the conversation.
func (b *Bot) section(j *job) {
	id, n, _ := strings.Cut(j.wish.rest, "/")
	s := summary(b.o.Desk().Book(), id)
	at, err := strconv.Atoi(n)
	if s == nil || err != nil || at < 0 || at >= len(s.Sections) {
		b.say(j, func(w *words) string { return w.sectionGone })
		return
	}
	c := s.Sections[at]
	b.show(j, Modal, func(*words) string { return tidy(s.Title) }, []Block{{Heading: tidy(c.Heading), Text: c.Text, Markdown: true}})
}

func tidied(in []string) []string {
	out := make([]string, 0, len(in))
	for _, s := range in {
		if s = tidy(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// tidy makes one line of a text.
func tidy(s string) string { return strings.Join(strings.Fields(s), " ") }

func cut(s string) string { return cutTo(s, longLine) }

// cutTo shortens a text to n runes, at a word where one ends late enough.
func cutTo(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	s = string(r[:n-1])
	if i := strings.LastIndexByte(s, ' '); i > len(s)/2 {
		s = s[:i]
	}
	return strings.TrimRight(s, " ,;:") + "…"
}
