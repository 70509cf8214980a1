package book

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// A book's YAML is read into nodes, not into Go values: a number keeps the
// text that was written (so 7.75 stays exact), and everything keeps its place.

type kind uint8

const (
	null kind = iota
	plain
	quoted
	list
	mapping
)

type node struct {
	kind      kind
	text      string // of a scalar
	line, col int
	keys      []node // of a mapping, beside items
	items     []node
}

// what names the node's shape for a reader.
func (n *node) what() string {
	switch n.kind {
	case null:
		return "nothing"
	case list:
		return "a list"
	case mapping:
		return "a block of keys"
	case quoted:
		return "a text"
	}
	if isNumber(n.text) {
		return "the number " + n.text
	}
	return fmt.Sprintf("%q", n.text)
}

// maxDepth bounds nesting: a book needs five levels, and a parser that
// recurses must not be led ten thousand deep by a broken file.
const maxDepth = 32

// parseYAML reads a text with the goccy parser. A syntax error comes back with
// its place, as a *syntaxError.
func parseYAML(src string) (root node, err error) {
	if line, col := tooDeep(src); line > 0 {
		return node{}, &syntaxError{line, col, "this nests too deep"}
	}
	defer func() {
		if r := recover(); r != nil {
			root, err = node{}, &syntaxError{1, 1, "this cannot be read as YAML"}
		}
	}()
	f, err := parser.ParseBytes([]byte(src), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return node{}, fromGoccy(err)
	}
	var body ast.Node
	for _, d := range f.Docs {
		if d.Body == nil {
			continue
		}
		if _, ok := d.Body.(*ast.CommentGroupNode); ok {
			continue
		}
		if body != nil {
			return node{}, &syntaxError{place(d.Body).Line, 1, "a second document starts here"}
		}
		body = d.Body
	}
	if body == nil {
		return node{}, nil
	}
	return convert(body)
}

type syntaxError struct {
	line, col int
	what      string
}

func (e *syntaxError) Error() string { return e.what }

func fromGoccy(err error) error {
	out := &syntaxError{line: 1, col: 1, what: err.Error()}
	var ye yaml.Error
	if errors.As(err, &ye) {
		out.what = ye.GetMessage()
		if t := ye.GetToken(); t != nil && t.Position != nil {
			out.line, out.col = t.Position.Line, t.Position.Column
		}
	}
	if i := strings.IndexByte(out.what, '\n'); i >= 0 {
		out.what = out.what[:i]
	}
	return out
}

func place(n ast.Node) token.Position {
	if t := n.GetToken(); t != nil && t.Position != nil {
		return *t.Position
	}
	return token.Position{Line: 1, Column: 1}
}

func convert(a ast.Node) (node, error) {
	p := place(a)
	n := node{line: p.Line, col: p.Column}
	switch v := a.(type) {
	case *ast.NullNode:
		return n, nil
	case *ast.StringNode:
		n.kind, n.text = plain, v.Value
		if t := v.Token.Type; t == token.SingleQuoteType || t == token.DoubleQuoteType {
			n.kind = quoted
		}
		return n, nil
	case *ast.LiteralNode:
		n.kind, n.text = quoted, v.Value.Value
		return n, nil
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		n.kind, n.text = plain, a.GetToken().Value
		return n, nil
	case *ast.SequenceNode:
		n.kind, n.items = list, make([]node, 0, len(v.Values))
		for _, it := range v.Values {
			c, err := convert(it)
			if err != nil {
				return n, err
			}
			n.items = append(n.items, c)
		}
		return n, nil
	case *ast.MappingNode:
		return pairs(n, v.Values)
	case *ast.MappingValueNode:
		return pairs(n, []*ast.MappingValueNode{v})
	}
	return n, &syntaxError{p.Line, p.Column, "anchors, aliases, merge keys and tags have no place in a book"}
}

func pairs(n node, vs []*ast.MappingValueNode) (node, error) {
	n.kind = mapping
	n.keys, n.items = make([]node, 0, len(vs)), make([]node, 0, len(vs))
	for _, v := range vs {
		k, err := convert(v.Key)
		if err != nil {
			return n, err
		}
		if k.kind != plain && k.kind != quoted {
			return n, &syntaxError{k.line, k.col, "a key has to be a single word"}
		}
		c, err := convert(v.Value)
		if err != nil {
			return n, err
		}
		if c.kind == null {
			c.line, c.col = k.line, k.col
		}
		n.keys, n.items = append(n.keys, k), append(n.items, c)
	}
	if len(n.keys) > 0 {
		n.line, n.col = n.keys[0].line, n.keys[0].col
	}
	return n, nil
}

// tooDeep finds the place where brackets or dashes nest deeper than maxDepth.
// It errs on the side of refusing: brackets inside quotes count as well.
func tooDeep(src string) (line, col int) {
	depth, line, start, lead, dashes := 0, 1, 0, true, 0
	for i := 0; i < len(src); i++ {
		switch src[i] {
		case '\n':
			line, start, lead, dashes = line+1, i+1, true, 0
			continue
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(depth-1, 0)
		case '-', '?', ':':
			if lead {
				dashes++
			}
			if depth <= maxDepth && dashes <= maxDepth {
				continue
			}
		case ' ', '\t':
			// Indentation of an odd depth nests as surely as a bracket does.
			if lead && i-start > 8*maxDepth {
				return line, i - start + 1
			}
			continue
		}
		lead = false
		if depth > maxDepth || dashes > maxDepth {
			return line, i - start + 1
		}
	}
	return 0, 0
}
