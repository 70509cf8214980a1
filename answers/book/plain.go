package book

import (
	"strings"
	"unicode/utf8"
)

// A book is read on every start of the program, and nearly all of it is the
// simplest YAML there is: indented keys, dashes, one-line texts, short lists in
// brackets. The full parser makes some hundred allocations a record, which took
// two thirds of a start. So plainYAML reads that simple part in one pass, and
// gives up at the first sign of anything else (a tab, an escape, an anchor, a
// text over several lines, a key in quotes, any error at all): the full parser
// then reads the whole text and tells what is wrong with it. Where plainYAML
// does answer, its tree is the full parser's tree; a fuzz target compares them.

// readYAML reads a text, which has to be valid UTF-8. The tree is good until
// the same reader reads the next one.
func (p *plainReader) readYAML(src string) (node, error) {
	if n, ok := p.plainYAML(src); ok {
		return n, nil
	}
	if len(src) > maxFull {
		return node{}, &syntaxError{max(p.line, 1), 1, "in a file of more than 128 KiB only keys, lists and texts of one line can be read, and here or just below is something else"}
	}
	return parseYAML(src)
}

// maxFull is how much the full parser is given: its time grows with the square
// of a text, and a mebibyte of it can take more than a minute.
const maxFull = 128 << 10

func (p *plainReader) plainYAML(src string) (node, bool) {
	*p = plainReader{src: src, line: 1, col: 1, stack: p.stack[:0], slab: p.slab[:0]}
	for i := 0; i < len(src); i++ {
		if c := src[i]; c < ' ' && c != '\n' || c == 0x7f {
			return node{}, false
		}
	}
	// Line breaks and marks outside ASCII, which readers of YAML treat apart.
	for _, odd := range []string{"\u0085", "\u00a0", "\u2028", "\u2029", "\ufeff", "\u3000"} {
		if strings.Contains(src, odd) {
			return node{}, false
		}
	}
	p.nextLine(0)
	if p.indent != 0 || p.bad {
		return node{}, false
	}
	root := p.block(0)
	if p.bad || p.indent >= 0 {
		return node{}, false
	}
	return root, true
}

type plainReader struct {
	src          string
	pos          int // of the next character
	line         int
	start        int // of the current line
	counted, col int // up to where the line's characters are counted, and the column there
	indent       int // of the current line's content, -1 at the end
	depth        int
	bad          bool // something is not simple
	stack        []node
	slab         []node
}

// take copies the nodes above base from the stack into memory of their own.
func (p *plainReader) take(base int) []node {
	n := len(p.stack) - base
	if cap(p.slab)-len(p.slab) < n {
		p.slab = make([]node, 0, max(1024, n))
	}
	at := len(p.slab)
	p.slab = append(p.slab, p.stack[base:]...)
	p.stack = p.stack[:base]
	return p.slab[at:len(p.slab):len(p.slab)]
}

// pairs is take for keys and values in turn.
func (p *plainReader) pairs(base int) (keys, items []node) {
	all := p.stack[base:]
	n := len(all) / 2
	if cap(p.slab)-len(p.slab) < 2*n {
		p.slab = make([]node, 0, max(1024, 2*n))
	}
	at := len(p.slab)
	p.slab = p.slab[:at+2*n]
	keys, items = p.slab[at:at+n:at+n], p.slab[at+n:at+2*n:at+2*n]
	for i := range n {
		keys[i], items[i] = all[2*i], all[2*i+1]
	}
	p.stack = p.stack[:base]
	return keys, items
}

// at makes an empty node here. Columns count characters, not bytes; they are
// counted on from the last node of the line, as a line may be very long.
func (p *plainReader) at(k kind) node {
	if p.counted < p.start {
		p.counted, p.col = p.start, 1
	}
	p.col += utf8.RuneCountInString(p.src[p.counted:p.pos])
	p.counted = p.pos
	return node{kind: k, line: p.line, col: p.col}
}

func (p *plainReader) fail() node {
	p.bad = true
	return node{}
}

func (p *plainReader) peek() byte {
	if p.pos < len(p.src) {
		return p.src[p.pos]
	}
	return '\n'
}

// peek2 is the character after the next.
func (p *plainReader) peek2() byte {
	if p.pos+1 < len(p.src) {
		return p.src[p.pos+1]
	}
	return '\n'
}

func (p *plainReader) spaces() {
	for p.pos < len(p.src) && p.src[p.pos] == ' ' {
		p.pos++
	}
}

// lineEnds says whether only blanks or a comment follow in the line.
func (p *plainReader) lineEnds() bool {
	before := p.pos
	p.spaces()
	c := p.peek()
	return c == '\n' || c == '#' && p.pos > before
}

// nextLine goes from within a line (from its start, for skip 0) to the next
// line that has content.
func (p *plainReader) nextLine(skip int) {
	for ; ; skip = 1 {
		if skip > 0 {
			i := strings.IndexByte(p.src[p.pos:], '\n')
			if i < 0 {
				p.pos, p.indent = len(p.src), -1
				return
			}
			p.pos += i + 1
			p.line++
			p.start = p.pos
		}
		p.spaces()
		if p.pos == len(p.src) {
			p.indent = -1
			return
		}
		if c := p.src[p.pos]; c == '\n' || c == '#' {
			continue
		}
		p.indent = p.pos - p.start
		return
	}
}

func (p *plainReader) dash() bool { return p.peek() == '-' && p.peek2() == ' ' }

// block reads the keys or dashes that start here.
func (p *plainReader) block(indent int) node {
	if p.depth++; p.depth > 8 {
		return p.fail()
	}
	defer func() { p.depth-- }()
	if p.dash() {
		return p.dashes(indent)
	}
	return p.keys(indent)
}

func (p *plainReader) keys(indent int) node {
	n, base := node{kind: mapping}, len(p.stack)
	for !p.bad {
		k, ok := p.key()
		if !ok {
			return p.fail()
		}
		p.stack = append(p.stack, k)
		p.stack = append(p.stack, atKey(p.after(indent), k))
		if p.bad || p.indent != indent || p.dash() {
			break
		}
	}
	if p.bad || p.indent > indent {
		return p.fail()
	}
	n.keys, n.items = p.pairs(base)
	n.line, n.col = n.keys[0].line, n.keys[0].col
	return n
}

// after reads what follows a key and its colon.
func (p *plainReader) after(indent int) node {
	if !p.lineEnds() {
		return p.inline(indent)
	}
	p.nextLine(1)
	if p.indent > indent {
		return p.block(p.indent)
	}
	if p.indent == indent && p.dash() {
		return p.dashes(indent)
	}
	return node{}
}

// atKey gives a missing value the place of its key.
func atKey(v, k node) node {
	if v.kind == null {
		v.line, v.col = k.line, k.col
	}
	return v
}

// inline reads a value that stands in this line, and goes to the next.
func (p *plainReader) inline(indent int) node {
	var v node
	switch p.peek() {
	case '[', '{':
		v = p.flow(indent)
	case '"', '\'':
		v = p.quoted()
	default:
		v = p.scalar(false)
	}
	if p.bad || !p.lineEnds() {
		return p.fail()
	}
	p.nextLine(1)
	return v
}

func (p *plainReader) dashes(indent int) node {
	n, base := p.at(list), len(p.stack)
	for p.dash() {
		p.pos += 2
		p.spaces()
		in := p.pos - p.start
		var v node
		switch c := p.peek(); {
		case c == '\n' || c == '#' || c == '-' && p.peek2() == ' ':
			return p.fail()
		case p.keyHere():
			if v = p.keys(in); p.indent > indent {
				return p.fail()
			}
		default:
			v = p.inline(indent)
		}
		if p.bad {
			return node{}
		}
		p.stack = append(p.stack, v)
		if p.indent != indent {
			break
		}
	}
	if p.indent > indent {
		return p.fail()
	}
	n.items = p.take(base)
	return n
}

func keyByte(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '_' || c == '-' || c == '.'
}

// keyEnd is where the key ends that starts here, or -1.
func (p *plainReader) keyEnd() int {
	i := p.pos
	for i < len(p.src) && keyByte(p.src[i]) {
		i++
	}
	if i == p.pos || p.src[p.pos] == '-' || p.src[p.pos] == '.' || i == len(p.src) || p.src[i] != ':' {
		return -1
	}
	if i+1 < len(p.src) && p.src[i+1] != ' ' && p.src[i+1] != '\n' {
		return -1
	}
	return i
}

func (p *plainReader) keyHere() bool { return p.keyEnd() >= 0 }

// key reads a key and its colon.
func (p *plainReader) key() (node, bool) {
	end := p.keyEnd()
	if end < 0 {
		return node{}, false
	}
	k := p.at(plain)
	k.text = p.src[p.pos:end]
	if isNull(k.text) {
		return node{}, false
	}
	p.pos = end + 1
	return k, true
}

func isNull(s string) bool {
	return s == "null" || s == "Null" || s == "NULL" || s == "~"
}

// quoted reads a text in quotes that ends in this line and escapes nothing.
func (p *plainReader) quoted() node {
	n, q := p.at(quoted), p.src[p.pos]
	rest := p.src[p.pos+1:]
	i := strings.IndexByte(rest, q)
	if i < 0 {
		return p.fail()
	}
	n.text = rest[:i]
	if strings.IndexByte(n.text, '\n') >= 0 || q == '"' && strings.IndexByte(n.text, '\\') >= 0 {
		return p.fail()
	}
	p.pos += i + 2
	if c := p.peek(); c == '\'' || c == '"' {
		return p.fail()
	}
	return n
}

// scalar reads a text without quotes that ends in this line.
func (p *plainReader) scalar(inFlow bool) node {
	c := p.peek()
	if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c >= 0x80 || c == '(' || c == '-' && p.peek2() >= '0' && p.peek2() <= '9') {
		return p.fail()
	}
	n, from := p.at(plain), p.pos
scan:
	for p.pos < len(p.src) {
		switch c := p.src[p.pos]; c {
		case '\n':
			break scan
		case ',', ']', '}':
			if inFlow {
				break scan
			}
		case '[', '{':
			if inFlow {
				return p.fail()
			}
		case ':':
			if d := p.peek2(); d == ' ' || d == '\n' || inFlow {
				return p.fail()
			}
		case '#':
			if p.src[p.pos-1] == ' ' {
				if inFlow {
					return p.fail()
				}
				break scan
			}
		case '"', '`', '\\', '|', '>', '&', '*':
			return p.fail()
		case '!', '?':
			if inFlow {
				return p.fail()
			}
		}
		p.pos++
	}
	n.text = strings.TrimRight(p.src[from:p.pos], " ")
	p.pos = from + len(n.text)
	if isNull(n.text) {
		n.kind, n.text = null, ""
	}
	return n
}

// gap skips blanks and line breaks inside brackets; a new line has to stand
// deeper than the block that holds the brackets.
func (p *plainReader) gap(indent int) {
	p.spaces()
	for p.peek() == '\n' && p.pos < len(p.src) {
		p.pos++
		p.line++
		p.start = p.pos
		p.spaces()
		if p.pos-p.start <= indent && p.peek() != '\n' {
			p.bad = true
		}
	}
}

// flow reads a list in brackets or keys in braces.
func (p *plainReader) flow(indent int) node {
	if p.depth++; p.depth > 8 {
		return p.fail()
	}
	defer func() { p.depth-- }()
	n, closer, base := p.at(list), byte(']'), len(p.stack)
	if p.peek() == '{' {
		n.kind, closer = mapping, '}'
	}
	p.pos++
	p.gap(indent)
	if p.peek() == closer && !p.bad {
		p.pos++
		return n
	}
	for !p.bad {
		var k node
		if n.kind == mapping {
			var ok bool
			k, ok = p.key()
			if !ok || p.peek() != ' ' {
				return p.fail()
			}
			p.spaces()
			p.stack = append(p.stack, k)
		}
		var v node
		switch p.peek() {
		case '[', '{':
			v = p.flow(indent)
		case '"', '\'':
			v = p.quoted()
		default:
			v = p.scalar(true)
		}
		if p.bad {
			return node{}
		}
		if n.kind == mapping {
			v = atKey(v, k)
		}
		p.stack = append(p.stack, v)
		p.gap(indent)
		switch p.peek() {
		case ',':
			p.pos++
			if c := p.peek(); c != ' ' && c != '\n' {
				return p.fail()
			}
			p.gap(indent)
			continue
		case closer:
		default:
			return p.fail()
		}
		break
	}
	if p.bad || p.pos >= len(p.src) {
		return p.fail()
	}
	p.pos++
	if n.kind == mapping {
		n.keys, n.items = p.pairs(base)
		n.line, n.col = n.keys[0].line, n.keys[0].col
	} else {
		n.items = p.take(base)
	}
	return n
}
