// Package markdown is the Markdown that a club writes its summaries in:
// CommonMark, tables and struck out words. It is goldmark's core with the two
// extensions written here, because every command would pay for goldmark's own:
// their package compiles, as the program starts, the expressions of a link finder
// that nothing here uses, which costs more than reading a book.
package markdown

import (
	"fmt"
	"strings"

	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// NewParser makes a parser of summaries. It is safe for concurrent use.
func NewParser() parser.Parser {
	return parser.NewParser(
		parser.WithBlockParsers(parser.DefaultBlockParsers()...),
		parser.WithInlineParsers(append(parser.DefaultInlineParsers(), util.Prioritized(strikes{}, 500))...),
		parser.WithParagraphTransformers(append(parser.DefaultParagraphTransformers(), util.Prioritized(tables{}, 200))...),
		parser.WithASTTransformers(util.Prioritized(pipes{}, 0)),
	)
}

// HTML renders Markdown. HTML in it is shown, not obeyed, and a line's end stays
// one, as people in a chat expect.
func HTML(md string) (string, error) {
	r := renderer.NewRenderer(renderer.WithNodeRenderers(
		util.Prioritized(html.NewRenderer(html.WithHardWraps()), 1000),
		util.Prioritized(nodes{}, 500),
	))
	src := []byte(md)
	var b strings.Builder
	if err := r.Render(&b, src, NewParser().Parse(text.NewReader(src))); err != nil {
		return "", fmt.Errorf("render Markdown: %w", err)
	}
	return b.String(), nil
}

// nodes renders what goldmark's core does not, and HTML as the text that it is.
type nodes struct{}

// RegisterFuncs satisfies renderer.NodeRenderer.
func (nodes) RegisterFuncs(reg renderer.NodeRendererFuncRegisterer) {
	around := func(before, after string) renderer.NodeRendererFunc {
		return func(w util.BufWriter, _ []byte, _ ast.Node, entering bool) (ast.WalkStatus, error) {
			s := after
			if entering {
				s = before
			}
			_, err := w.WriteString(s)
			return ast.WalkContinue, err
		}
	}
	reg.Register(extast.KindStrikethrough, around("<del>", "</del>"))
	reg.Register(extast.KindTable, around("<table>\n", "</table>\n"))
	reg.Register(extast.KindTableHeader, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		s := "<thead>\n<tr>\n"
		switch {
		case !entering && n.NextSibling() != nil:
			s = "</tr>\n</thead>\n<tbody>\n"
		case !entering:
			s = "</tr>\n</thead>\n"
		}
		_, err := w.WriteString(s)
		return ast.WalkContinue, err
	})
	reg.Register(extast.KindTableRow, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		s := "<tr>\n"
		switch {
		case !entering && n.NextSibling() == nil:
			s = "</tr>\n</tbody>\n"
		case !entering:
			s = "</tr>\n"
		}
		_, err := w.WriteString(s)
		return ast.WalkContinue, err
	})
	reg.Register(extast.KindTableCell, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		tag := "td>"
		if n.Parent().Kind() == extast.KindTableHeader {
			tag = "th>"
		}
		s := "<" + tag
		if !entering {
			s = "</" + tag + "\n"
		}
		_, err := w.WriteString(s)
		return ast.WalkContinue, err
	})
	reg.Register(ast.KindHTMLBlock, func(w util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if h := n.(*ast.HTMLBlock); entering {
			writeEscaped(w, src, h.Lines())
		} else if h.HasClosure() {
			html.DefaultWriter.RawWrite(w, h.ClosureLine.Value(src))
		}
		return ast.WalkContinue, nil
	})
	reg.Register(ast.KindRawHTML, func(w util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			writeEscaped(w, src, n.(*ast.RawHTML).Segments)
		}
		return ast.WalkSkipChildren, nil
	})
}

func writeEscaped(w util.BufWriter, src []byte, lines *text.Segments) {
	for i := range lines.Len() {
		s := lines.At(i)
		html.DefaultWriter.RawWrite(w, s.Value(src))
	}
}
