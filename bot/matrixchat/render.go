package matrixchat

import (
	"fmt"
	"html"
	"strings"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/answers/markdown"
	"sidewall/bot"
)

// content is a message of ours: what clients read, and the mark by which it is
// found again.
type content struct {
	MsgType       event.MessageType `json:"msgtype"`
	Body          string            `json:"body"`
	Format        event.Format      `json:"format,omitempty"`
	FormattedBody string            `json:"formatted_body,omitempty"`
	Mentions      *event.Mentions   `json:"m.mentions"` // empty: an answer calls nobody
	RelatesTo     *event.RelatesTo  `json:"m.relates_to,omitempty"`
	NewContent    *content          `json:"m.new_content,omitempty"`
	Meta          *meta             `json:"sidewall,omitempty"`
}

// meta is the mark: which question it answers and by which book, and what the
// signs below it do. It holds no words and no people.
type meta struct {
	Key      string            `json:"key"`
	Event    string            `json:"event,omitempty"`
	Book     string            `json:"book,omitempty"`
	Controls map[string]string `json:"controls,omitempty"`
}

// GetRelatesTo satisfies event.Relatable, which encryption needs: relations stay
// readable to the homeserver.
func (c *content) GetRelatesTo() *event.RelatesTo {
	if c.RelatesTo == nil {
		c.RelatesTo = &event.RelatesTo{}
	}
	return c.RelatesTo
}

// OptionalGetRelatesTo satisfies event.Relatable.
func (c *content) OptionalGetRelatesTo() *event.RelatesTo { return c.RelatesTo }

// SetRelatesTo satisfies event.Relatable.
func (c *content) SetRelatesTo(r *event.RelatesTo) { c.RelatesTo = r }

// replacing is the message that puts c in the place of another.
func (c *content) replacing(of id.EventID) *content {
	return &content{
		MsgType: c.MsgType, Body: "* " + c.Body, Format: c.Format, FormattedBody: c.FormattedBody, Mentions: c.Mentions, Meta: c.Meta,
		NewContent: c, RelatesTo: (&event.RelatesTo{}).SetReplace(of),
	}
}

// The signs that stand for controls, by the control's kind.
var (
	controlSigns = map[string]string{"detail": "🔎", "section": "📖", "missed": "👎", "topics": "📋", "publish": "✅", "cancel": "❌", "draft": "🔎", "page": "📖", "undo": "↩"}
	otherSigns   = []string{"🔵", "🟢", "🟡", "🟣"} // for what has no sign of its own
)

func isControlSign(s string) bool {
	for _, c := range controlSigns {
		if c == s {
			return true
		}
	}
	for _, c := range otherSigns {
		if c == s {
			return true
		}
	}
	return false
}

// signed gives each control its sign, and leaves out those for which none is left.
func signed(in []bot.Control) (signs []string, of map[string]string) {
	of = map[string]string{}
	signs = make([]string, len(in))
	for i, c := range in {
		kind, _, _ := strings.Cut(c.ID, ":")
		for _, s := range append([]string{controlSigns[kind]}, otherSigns...) {
			if s != "" && of[s] == "" {
				signs[i], of[s] = s, c.ID
				break
			}
		}
	}
	return signs, of
}

// page is a text that grows in both forms.
type page struct {
	plain, rich strings.Builder
	inLine      bool // the rich form ends within a line, and not with a list or the like
}

// line adds a line, with a tag around it in the rich form; "" is none.
func (p *page) line(tag, text string) {
	text = visible(text)
	if p.plain.Len() > 0 {
		p.plain.WriteByte('\n')
	}
	if p.inLine {
		p.rich.WriteString("<br>")
	}
	p.inLine = true
	p.plain.WriteString(text)
	if text = html.EscapeString(text); tag != "" {
		text = "<" + tag + ">" + text + "</" + tag + ">"
	}
	p.rich.WriteString(text)
}

// numbered adds lines with their numbers.
func (p *page) numbered(labels []string) {
	p.rich.WriteString("<ol>")
	for i, l := range labels {
		l = visible(l)
		fmt.Fprintf(&p.plain, "\n%d. %s", i+1, l)
		p.rich.WriteString("<li>" + html.EscapeString(l) + "</li>")
	}
	p.rich.WriteString("</ol>")
	p.inLine = false
}

// markdown adds the club's Markdown; HTML in it is shown and not obeyed.
func (p *page) markdown(text string) {
	p.plain.WriteString("\n" + strings.TrimSpace(text))
	rich, err := markdown.HTML(text)
	if err != nil { // a text without its marks is still the text
		rich = html.EscapeString(text)
	}
	rich = strings.TrimRight(rich, "\n")
	if in, ok := strings.CutPrefix(rich, "<p>"); ok && strings.Count(rich, "<p>") == 1 && strings.HasSuffix(in, "</p>") {
		rich = strings.TrimSuffix(in, "</p>") // one paragraph needs no mark of it
	}
	words := !strings.Contains(rich, "<")
	if words && p.inLine {
		p.rich.WriteString("<br>")
	}
	p.rich.WriteString(rich)
	p.inLine = words
}

// visible keeps what a book holds from turning the writing direction or hiding.
func visible(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t':
			return ' '
		case r < ' ', r == 0x7F, r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069:
			return -1
		}
		return r
	}, s)
}

// render is a reply as a message.
func render(r *bot.Reply) *content {
	w := wordsOf(r.Lang)
	var p page
	p.line("b", r.Headline)
	for _, l := range r.Lines {
		p.line("", l.Text)
	}
	if r.Caution != "" {
		p.line("i", r.Caution)
	}
	if len(r.Choices) > 0 {
		labels := make([]string, len(r.Choices))
		for i, c := range r.Choices {
			labels[i] = c.Label
		}
		p.numbered(labels)
		p.line("", w.choose)
	}
	signs, of := signed(r.Controls)
	var parts []string
	for i, c := range r.Controls {
		if signs[i] != "" {
			parts = append(parts, signs[i]+" "+c.Label)
		}
	}
	if len(parts) > 0 {
		p.line("", w.react+" "+strings.Join(parts, " · "))
	}
	return &content{
		MsgType: event.MsgNotice, Body: p.plain.String(), Format: event.FormatHTML, FormattedBody: p.rich.String(), Mentions: &event.Mentions{},
		Meta: &meta{Key: r.Key, Event: r.EventID, Book: r.Revision, Controls: of},
	}
}

// mostView is the longest view in bytes of one form; a homeserver takes 64 KB of
// an event, both forms and the rest together.
const mostView = 12 << 10

// renderView is a view as a message.
func renderView(v *bot.View) *content {
	w := wordsOf(v.Lang)
	var p page
	p.line("b", v.Title)
	for _, b := range v.Blocks {
		if p.plain.Len() > mostView {
			p.line("", w.cut)
			break
		}
		if b.Heading != "" {
			p.line("b", b.Heading)
		}
		switch text := b.Text; {
		case b.Markdown:
			p.markdown(cutAt(text, mostView))
		case text != "":
			for l := range strings.Lines(cutAt(text, mostView)) {
				p.line("", strings.TrimRight(l, "\n"))
			}
		}
		if len(b.People) > 0 {
			p.line("", strings.Join(b.People, ", "))
		}
	}
	return &content{
		MsgType: event.MsgNotice, Body: p.plain.String(), Format: event.FormatHTML, FormattedBody: p.rich.String(), Mentions: &event.Mentions{},
		Meta: &meta{Key: v.Key + "/view", Event: v.Event.ID},
	}
}

// cutAt shortens a text to n bytes, at the end of a line where there is one.
func cutAt(s string, n int) string {
	if len(s) <= n {
		return s
	}
	s = strings.ToValidUTF8(s[:n], "")
	if i := strings.LastIndexByte(s, '\n'); i > 0 {
		s = s[:i]
	}
	return s + "\n…"
}
