package slackchat

import (
	"fmt"
	"net/url"
	"strings"

	"github.com/yuin/goldmark/ast"
	xast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"sidewall/answers/markdown"
)

// mrkdwnOf is the club's Markdown in Slack's own marks, a piece a paragraph.
// Whatever the Markdown says, nobody is notified and no link hides where it
// leads: text is escaped, and a link is shown with its target.
func mrkdwnOf(md string) []string {
	src := []byte(printable(md))
	doc := markdown.NewParser().Parse(text.NewReader(src))
	w := &writer{src: src}
	var out []string
	for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
		if s := strings.TrimSpace(w.block(n, 0)); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// maxDepth is how deep lists and quotes are followed; deeper ones are left out.
const maxDepth = 8

type writer struct{ src []byte }

func (w *writer) block(n ast.Node, depth int) string {
	if depth > maxDepth {
		return ""
	}
	switch n := n.(type) {
	case *ast.Heading:
		return bold(w.inline(n, true))
	case *ast.Paragraph, *ast.TextBlock:
		return w.inline(n, false)
	case *ast.ThematicBreak:
		return "———"
	case *ast.FencedCodeBlock, *ast.CodeBlock:
		return "```\n" + escape(strings.TrimRight(w.lines(n), "\n")) + "\n```"
	case *ast.HTMLBlock:
		return escape(strings.TrimSpace(w.lines(n)))
	case *ast.Blockquote:
		return prefixed(w.blocks(n, depth+1, "\n"), "> ", "> ")
	case *ast.List:
		return w.list(n, depth)
	case *xast.Table:
		return w.table(n)
	}
	return w.blocks(n, depth+1, "\n")
}

func (w *writer) blocks(n ast.Node, depth int, sep string) string {
	var out []string
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		if s := w.block(c, depth); strings.TrimSpace(s) != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, sep)
}

func (w *writer) list(l *ast.List, depth int) string {
	var out []string
	number := l.Start
	for c := l.FirstChild(); c != nil; c = c.NextSibling() {
		mark := "• "
		if l.IsOrdered() {
			mark = fmt.Sprintf("%d. ", number)
			number++
		}
		if s := w.blocks(c, depth+1, "\n"); strings.TrimSpace(s) != "" {
			out = append(out, prefixed(s, mark, "    "))
		}
	}
	return strings.Join(out, "\n")
}

// prefixed puts first before the first line and rest before the others.
func prefixed(s, first, rest string) string {
	return first + strings.ReplaceAll(s, "\n", "\n"+rest)
}

// table writes a row a line, each cell with its column's name: it is read on a
// phone, where columns would not stand under each other.
func (w *writer) table(t *xast.Table) string {
	var names, out []string
	for row := t.FirstChild(); row != nil; row = row.NextSibling() {
		var cells []string
		for c := row.FirstChild(); c != nil; c = c.NextSibling() {
			cells = append(cells, w.inline(c, true))
		}
		if _, ok := row.(*xast.TableHeader); ok {
			names = cells
			continue
		}
		var parts []string
		for i, c := range cells {
			switch {
			case c == "":
			case i == 0 || i >= len(names) || names[i] == "":
				parts = append(parts, c)
			default:
				parts = append(parts, names[i]+": "+c)
			}
		}
		if len(parts) > 0 {
			out = append(out, "• "+strings.Join(parts, " · "))
		}
	}
	if len(out) == 0 {
		return strings.Join(names, " · ")
	}
	return strings.Join(out, "\n")
}

func (w *writer) lines(n ast.Node) string {
	var b strings.Builder
	for i := range n.Lines().Len() {
		s := n.Lines().At(i)
		b.Write(s.Value(w.src))
	}
	return b.String()
}

// inline writes the words of a block. unmarked leaves out marks that would meet
// those around it.
func (w *writer) inline(n ast.Node, unmarked bool) string {
	return strings.TrimSpace(w.inlineRaw(n, unmarked))
}

func (w *writer) span(n ast.Node, unmarked bool) string {
	switch n := n.(type) {
	case *ast.String:
		return escape(string(n.Value))
	case *ast.CodeSpan:
		s := strings.TrimSpace(escape(w.words(n)))
		if s == "" || unmarked {
			return s
		}
		return "`" + s + "`"
	case *ast.Emphasis:
		s := w.inlineRaw(n, unmarked)
		if unmarked || n.Level != 2 {
			return marked(s, "_", unmarked)
		}
		return marked(s, "*", false)
	case *xast.Strikethrough:
		return marked(w.inlineRaw(n, unmarked), "~", unmarked)
	case *ast.Link:
		return link(w.inlineRaw(n, true), string(n.Destination))
	case *ast.Image:
		return link(w.inlineRaw(n, true), string(n.Destination))
	case *ast.AutoLink:
		return link("", string(n.URL(w.src)))
	case *ast.RawHTML:
		var b strings.Builder
		for i := range n.Segments.Len() {
			s := n.Segments.At(i)
			b.Write(s.Value(w.src))
		}
		return escape(b.String())
	}
	return w.inlineRaw(n, unmarked)
}

// inlineRaw keeps the blanks at both ends. Texts side by side are escaped as one:
// goldmark cuts them where a mark might have been, "a_b" at its underscore.
func (w *writer) inlineRaw(n ast.Node, unmarked bool) string {
	var b, words strings.Builder
	flush := func() {
		b.WriteString(escape(words.String()))
		words.Reset()
	}
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		t, ok := c.(*ast.Text)
		if !ok {
			flush()
			b.WriteString(w.span(c, unmarked))
			continue
		}
		words.Write(resolved(t.Segment.Value(w.src)))
		switch {
		case t.HardLineBreak():
			words.WriteByte('\n')
		case t.SoftLineBreak():
			words.WriteByte(' ')
		}
	}
	flush()
	return b.String()
}

// resolved is text without backslashes before marks, and with entities read.
func resolved(s []byte) []byte {
	return util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(s)))
}

// words are the plain words under a node.
func (w *writer) words(n ast.Node) string {
	var b strings.Builder
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		if t, ok := c.(*ast.Text); ok {
			b.Write(t.Segment.Value(w.src))
			if t.SoftLineBreak() {
				b.WriteByte(' ')
			}
			continue
		}
		b.WriteString(w.words(c))
	}
	return b.String()
}

// marked puts a mark around words; Slack wants no blank inside it.
func marked(s, mark string, unmarked bool) string {
	in := strings.TrimSpace(s)
	if in == "" || unmarked || strings.ContainsRune(in, '\n') {
		return s
	}
	at := strings.Index(s, in)
	return s[:at] + mark + in + mark + s[at+len(in):]
}

func bold(s string) string { return marked(s, "*", false) }

// link shows its words and its target. Only the web and mail are linked.
func link(words, target string) string {
	words = strings.TrimSpace(words)
	u, err := url.Parse(strings.TrimSpace(target))
	if err != nil || u.Scheme != "http" && u.Scheme != "https" && u.Scheme != "mailto" || len(target) > maxURL {
		if words == "" {
			return escape(target)
		}
		return words
	}
	shown := "<" + linkEscaper.Replace(u.String()) + ">"
	if words == "" || words == escape(target) {
		return shown
	}
	return words + " (" + shown + ")"
}

// maxURL keeps a link whole inside one section.
const maxURL = 1000

var linkEscaper = strings.NewReplacer("&", "&amp;", "<", "%3C", ">", "%3E", "|", "%7C", " ", "%20", "\n", "")
