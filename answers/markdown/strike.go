package markdown

import (
	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

// strikes reads "~~struck out~~" and "~struck out~"; more tildes are no mark.
type strikes struct{}

const (
	tilde       = '~'
	mostStrikes = 2
)

// Trigger satisfies parser.InlineParser.
func (strikes) Trigger() []byte { return []byte{tilde} }

// Parse satisfies parser.InlineParser.
func (s strikes) Parse(_ ast.Node, block text.Reader, pc parser.Context) ast.Node {
	before := block.PrecendingCharacter()
	line, at := block.PeekLine()
	d := parser.ScanDelimiter(line, before, 1, s)
	if d == nil || d.OriginalLength > mostStrikes || before == tilde {
		return nil
	}
	d.Segment = at.WithStop(at.Start + d.OriginalLength)
	block.Advance(d.OriginalLength)
	pc.PushDelimiter(d)
	return d
}

// IsDelimiter satisfies parser.DelimiterProcessor.
func (strikes) IsDelimiter(b byte) bool { return b == tilde }

// CanOpenCloser satisfies parser.DelimiterProcessor.
func (strikes) CanOpenCloser(open, shut *parser.Delimiter) bool { return open.Char == shut.Char }

// OnMatch satisfies parser.DelimiterProcessor.
func (strikes) OnMatch(int) ast.Node { return extast.NewStrikethrough() }
