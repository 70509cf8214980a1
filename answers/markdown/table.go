package markdown

import (
	"bytes"

	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// tables makes a table of a paragraph that has a line of dashes in it: the line
// before that names the columns, those behind it are the rows.
//
//	| Age | Short |
//	|-----|-------|
//	| U11 | 37–42 |
type tables struct{}

// Transform satisfies parser.ParagraphTransformer.
func (tables) Transform(p *ast.Paragraph, r text.Reader, pc parser.Context) {
	lines, src := p.Lines(), r.Source()
	for i := 1; i < lines.Len(); i++ {
		dashes := lines.At(i)
		columns := columnsOf(dashes.Value(src))
		if columns == nil {
			continue
		}
		names, more := row(lines.At(i-1), src, columns, pc)
		if more { // names without a column: it is no table
			return
		}
		t := extast.NewTable()
		t.Alignments = columns
		t.AppendChild(t, extast.NewTableHeader(names))
		for k := i + 1; k < lines.Len(); k++ {
			cells, _ := row(lines.At(k), src, columns, pc)
			t.AppendChild(t, cells)
		}
		parent := p.Parent()
		parent.InsertAfter(parent, p, t)
		if i == 1 {
			parent.RemoveChild(parent, p)
			return
		}
		lines.SetSliced(0, i-1) // what stood above the names stays a paragraph,
		last := lines.At(i - 2) // without its last line's end
		last.Stop--
		lines.Set(i-2, last)
		return
	}
}

const mostIndent = 3 // a deeper line is code

// columnsOf reads a line of dashes, "|:--|--:|"; nil where it is none.
func columnsOf(line []byte) []extast.Alignment {
	if w, _ := util.IndentWidth(line, 0); w > mostIndent {
		return nil
	}
	cells := bytes.Split(line, []byte{'|'})
	if util.IsBlank(cells[0]) {
		cells = cells[1:]
	}
	if n := len(cells); n > 0 && util.IsBlank(cells[n-1]) {
		cells = cells[:n-1]
	}
	var out []extast.Alignment
	for _, c := range cells {
		c = bytes.Trim(c, " \t\r\n")
		dashes := bytes.TrimSuffix(bytes.TrimPrefix(c, []byte{':'}), []byte{':'})
		if len(dashes) == 0 || len(bytes.Trim(dashes, "-")) > 0 {
			return nil
		}
		a := extast.AlignNone
		switch left, right := c[0] == ':', c[len(c)-1] == ':'; {
		case left && right:
			a = extast.AlignCenter
		case left:
			a = extast.AlignLeft
		case right:
			a = extast.AlignRight
		}
		out = append(out, a)
	}
	return out
}

// row cuts a line into as many cells as there are columns; more says that the line
// had more. A bar behind a backslash parts no cells.
func row(at text.Segment, src []byte, columns []extast.Alignment, pc parser.Context) (out *extast.TableRow, more bool) {
	at = at.TrimLeftSpace(src)
	at = at.TrimRightSpace(src)
	line := at.Value(src)
	pos, end := 0, len(line)
	if end > 0 && line[0] == '|' {
		pos++
	}
	if end > 0 && line[end-1] == '|' {
		end--
	}
	out = extast.NewTableRow(columns)
	for _, a := range columns {
		c := extast.NewTableCell()
		out.AppendChild(out, c)
		if pos >= end {
			continue
		}
		c.Alignment = a
		stop, barred := pos, false
		for ; stop < end && (line[stop] != '|' || stop > 0 && line[stop-1] == '\\'); stop++ {
			barred = barred || line[stop] == '|'
		}
		s := text.NewSegment(at.Start+pos, at.Start+stop)
		s = s.TrimLeftSpace(src)
		c.Lines().Append(s.TrimRightSpace(src))
		if barred {
			cells, _ := pc.Get(barredCells).([]*extast.TableCell)
			pc.Set(barredCells, append(cells, c))
		}
		pos = stop + 1
	}
	return out, pos < end
}

// barredCells are the cells that have a bar in them.
var barredCells = parser.NewContextKey()

// pipes takes the backslash from the bars in the code of cells: CommonMark leaves
// backslashes in code alone, but in a table a bar can't be written without.
type pipes struct{}

// Transform satisfies parser.ASTTransformer.
func (pipes) Transform(_ *ast.Document, r text.Reader, pc parser.Context) {
	cells, _ := pc.Get(barredCells).([]*extast.TableCell)
	for _, c := range cells {
		// The walker below never returns an error.
		_ = ast.Walk(c, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
			if entering && n.Kind() == ast.KindCodeSpan {
				unbar(n, r.Source())
			}
			return ast.WalkContinue, nil
		})
	}
}

// unbar cuts the texts of a code span at the backslashes before bars.
func unbar(code ast.Node, src []byte) {
	for c := code.FirstChild(); c != nil; {
		t, ok := c.(*ast.Text)
		c = c.NextSibling()
		if !ok {
			continue
		}
		s := t.Segment
		at := bytes.Index(s.Value(src), []byte(`\|`))
		if at < 0 {
			continue
		}
		before, after := ast.NewRawTextSegment(s.WithStop(s.Start+at)), ast.NewRawTextSegment(s.WithStart(s.Start+at+1))
		code.InsertAfter(code, t, before)
		code.InsertAfter(code, before, after)
		code.RemoveChild(code, t)
		c = after // which may have more of them; it begins with the bar
	}
}
