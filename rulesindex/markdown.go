package rulesindex

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

// sentences are the sentences of a Markdown text as plain text: emphasis, links,
// code marks and list marks gone, each list item and table cell on its own.
func sentences(p parser.Parser, md string) []string {
	src := []byte(md)
	var out []string
	var b strings.Builder
	flush := func() {
		out = cutSentences(out, strings.Join(strings.Fields(b.String()), " "))
		b.Reset()
	}
	// The walker below never returns an error.
	_ = ast.Walk(p.Parse(text.NewReader(src)), func(n ast.Node, enter bool) (ast.WalkStatus, error) {
		if !enter {
			if n.Type() == ast.TypeBlock {
				flush()
			}
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.HTMLBlock, *ast.RawHTML:
			return ast.WalkSkipChildren, nil
		case *ast.Text:
			b.Write(n.Segment.Value(src))
			if n.SoftLineBreak() || n.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(n.Value)
		case *ast.AutoLink:
			b.Write(n.Label(src))
		case *ast.CodeBlock, *ast.FencedCodeBlock:
			for i := range n.Lines().Len() {
				s := n.Lines().At(i)
				b.Write(s.Value(src))
			}
		case *extast.TableCell:
			flush()
		}
		return ast.WalkContinue, nil
	})
	flush()
	return out
}

// cutSentences appends the sentences of one block. A full stop ends one where a
// space and a capital, a digit or an opening mark follow, so "42 in. or less" stays whole.
func cutSentences(out []string, s string) []string {
	from := 0
	for i := 0; i < len(s); i++ {
		if s[i] != '.' && s[i] != '!' && s[i] != '?' {
			continue
		}
		end := i + 1
		for end < len(s) && strings.IndexByte(`.!?"')`, s[end]) >= 0 {
			end++
		}
		if end < len(s)-1 && s[end] == ' ' {
			r, _ := utf8.DecodeRuneInString(s[end+1:])
			if unicode.IsUpper(r) || unicode.IsDigit(r) || r == '¿' || r == '“' || r == '"' {
				out = append(out, s[from:end])
				from = end + 1
			}
		}
		i = end - 1
	}
	if from < len(s) {
		out = append(out, s[from:])
	}
	return out
}
