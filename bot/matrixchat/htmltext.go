package matrixchat

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"maunium.net/go/mautrix/id"
)

// htmlText is the words of a message's rich form, with marks as Markdown has them
// (bold, lists, quotes). pill says what stands for a link to a person or a room.
// Clients write few of HTML's forms, and whatever else comes is read as words; a
// whole HTML parser would cost every command its start-up.
func htmlText(rich string, pill func(shown, who string) string) string {
	r := reader{pill: pill, open: []element{{}}}
	rest := strings.ReplaceAll(rich, "\t", "    ")
	for rest != "" {
		i := strings.IndexByte(rest, '<')
		if i < 0 {
			i = len(rest)
		}
		r.words(rest[:i])
		if rest = rest[i:]; rest == "" {
			break
		}
		if after, ok := strings.CutPrefix(rest, "<!--"); ok {
			_, rest, _ = strings.Cut(after, "-->")
			continue
		}
		t, after, ok := cutTag(rest)
		if !ok { // "45 < 47"
			r.words("<")
			rest = rest[1:]
			continue
		}
		if rest = after; t.name != "" {
			r.tag(&t)
		}
	}
	for len(r.open) > 1 {
		r.closeLast()
	}
	return strings.TrimSpace(string(r.open[0].text))
}

// element is one that is open, with what is read of it so far.
type element struct {
	name  string
	attrs map[string]string
	text  []byte
	count int // of a list's items
}

type reader struct {
	pill func(shown, who string) string
	open []element // the first is the whole
	pre  int       // open elements that keep their blanks
}

// mostOpen is how deep elements are followed; the words of deeper ones are kept.
const mostOpen = 100

func (r *reader) last() *element { return &r.open[len(r.open)-1] }

func (r *reader) words(s string) {
	if s == "" {
		return
	}
	s = html.UnescapeString(s)
	if r.pre == 0 {
		s = oneBlank(strings.ReplaceAll(s, "\n", ""))
	}
	r.put(s)
}

// put adds to what is open; between a list's items nothing is said.
func (r *reader) put(s string) {
	if l := r.last(); !isList(l.name) {
		l.text = append(l.text, s...)
	}
}

func oneBlank(s string) string {
	for strings.Contains(s, "  ") {
		s = strings.ReplaceAll(s, "  ", " ")
	}
	return s
}

func isList(name string) bool { return name == "ol" || name == "ul" }

func isBlock(name string) bool {
	switch name {
	case "p", "h1", "h2", "h3", "h4", "h5", "h6", "ol", "ul", "pre", "blockquote", "div", "table":
		return true
	}
	return false
}

// tag opens or closes an element.
func (r *reader) tag(t *tag) {
	switch {
	case t.end:
		r.closeTo(t.name, "")
		return
	case t.name == "br":
		r.put("\n")
		return
	case t.name == "hr":
		r.put("\n\n\n")
		return
	case t.name == "img":
		r.put(t.attrs["alt"])
		return
	case t.name == "input", t.name == "wbr":
		return
	case t.name == "li": // an item ends the one before it in its list
		r.closeTo("li", "list")
	case isBlock(t.name):
		r.closeTo("p", "block")
	}
	if len(r.open) >= mostOpen {
		return
	}
	if t.name == "pre" {
		r.pre++
	}
	r.open = append(r.open, element{name: t.name, attrs: t.attrs})
}

// closeTo closes the innermost element of a name and what is open in it; not
// beyond a list or a block, where within says so.
func (r *reader) closeTo(name, within string) {
	for i := len(r.open) - 1; i > 0; i-- {
		if r.open[i].name == name {
			for len(r.open) > i {
				r.closeLast()
			}
			return
		}
		if within == "list" && isList(r.open[i].name) || within == "block" && isBlock(r.open[i].name) {
			return
		}
	}
}

// closeLast writes the innermost element into the one around it.
func (r *reader) closeLast() {
	e := r.last()
	s := string(e.text)
	if r.pre == 0 {
		s = strings.TrimSpace(s)
	}
	switch e.name {
	case "b", "strong":
		s = "**" + s + "**"
	case "i", "em":
		s = "_" + s + "_"
	case "s", "del", "strike":
		s = "~~" + s + "~~"
	case "tt", "code":
		if r.pre == 0 {
			s = "`" + s + "`"
		}
	case "h1", "h2", "h3", "h4", "h5", "h6":
		s = strings.Repeat("#", int(e.name[1]-'0')) + " " + s
	case "blockquote":
		s = "> " + strings.ReplaceAll(s, "\n", "\n> ")
	case "pre":
		s = "```\n" + strings.TrimRight(s, "\n") + "\n```"
		r.pre--
	case "a":
		if to, err := id.ParseMatrixURIOrMatrixToURL(e.attrs["href"]); err == nil && to != nil {
			s = r.pill(s, to.PrimaryIdentifier())
		}
	}
	r.open = r.open[:len(r.open)-1]
	around := r.last()
	switch {
	case e.name == "li" && isList(around.name):
		around.item(s)
	case isBlock(e.name):
		r.put("\n" + s + "\n")
	default:
		r.put(s)
	}
}

// item adds an item to a list.
func (l *element) item(s string) {
	mark := "* "
	if l.name == "ol" {
		start, err := strconv.Atoi(l.attrs["start"])
		if err != nil {
			start = 1
		}
		mark = fmt.Sprintf("%d. ", start+l.count)
	}
	if l.count > 0 {
		l.text = append(l.text, '\n')
	}
	l.count++
	l.text = append(l.text, mark+strings.ReplaceAll(s, "\n", "\n"+strings.Repeat(" ", len(mark)))...)
}

// tag is one tag of HTML.
type tag struct {
	name  string
	end   bool
	attrs map[string]string
}

// cutTag reads the tag that s begins with; ok is false where it is none.
func cutTag(s string) (t tag, rest string, ok bool) {
	s = s[1:]
	s, t.end = strings.CutPrefix(s, "/")
	n := 0
	for n < len(s) && (letter(s[n]) || n > 0 && (s[n] >= '0' && s[n] <= '9' || s[n] == '-')) {
		n++
	}
	if n == 0 {
		return t, "", false
	}
	t.name, s = strings.ToLower(s[:n]), s[n:]
	for {
		s = strings.TrimLeft(s, " \n\r\f/")
		if s == "" {
			return tag{}, "", true // it was cut off
		}
		if s[0] == '>' {
			return t, s[1:], true
		}
		n := 1
		for n < len(s) && strings.IndexByte(" \n\r\f/>=", s[n]) < 0 {
			n++
		}
		key := strings.ToLower(s[:n])
		s = strings.TrimLeft(s[n:], " \n\r\f")
		value := ""
		if after, is := strings.CutPrefix(s, "="); is {
			value, s = cutValue(strings.TrimLeft(after, " \n\r\f"))
		}
		switch key {
		case "href", "alt", "start":
			if t.attrs == nil {
				t.attrs = map[string]string{}
			}
			if _, had := t.attrs[key]; !had {
				t.attrs[key] = html.UnescapeString(value)
			}
		}
	}
}

// cutValue reads an attribute's value.
func cutValue(s string) (value, rest string) {
	if s != "" && (s[0] == '"' || s[0] == '\'') {
		value, rest, _ = strings.Cut(s[1:], s[:1])
		return value, rest
	}
	n := 0
	for n < len(s) && strings.IndexByte(" \n\r\f>", s[n]) < 0 {
		n++
	}
	return s[:n], s[n:]
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
