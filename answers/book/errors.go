package book

import (
	"fmt"
	"slices"
	"strings"
)

// Error is one thing that is wrong with a book, in three parts: where it
// stands, what is wrong, and what to write instead.
type Error struct {
	File      string // path inside the book
	Line, Col int    // from 1; 0 where the file as a whole is meant
	What      string // what is wrong
	Fix       string // what to write instead
	Source    string // the line of the file, without its line break
}

// Error is the error in one line.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Col)
	}
	b.WriteString(": ")
	b.WriteString(e.What)
	if e.Fix != "" {
		b.WriteString("; ")
		b.WriteString(e.Fix)
	}
	return b.String()
}

// String is the error with the line of the file and a caret under the place.
func (e *Error) String() string {
	if e.Line == 0 || e.Source == "" {
		return e.Error()
	}
	shown, caret := window(e.Source, e.Col)
	no := fmt.Sprintf("%5d", e.Line)
	return e.Error() + "\n" + no + " | " + shown + "\n" + strings.Repeat(" ", len(no)) + " | " + caret + "^"
}

// window cuts a long line around the column and makes the blanks before the
// caret; tabs stay tabs, so that the caret stands right in a terminal.
func window(line string, col int) (shown, blanks string) {
	const before, width = 60, 120
	rs := []rune(line)
	at := min(max(col-1, 0), len(rs))
	start := 0
	if len(rs) > width && at > before {
		start = at - before
	}
	end := min(len(rs), start+width)
	var b strings.Builder
	for _, r := range rs[start:at] {
		if r == '\t' {
			b.WriteByte('\t')
		} else {
			b.WriteByte(' ')
		}
	}
	clean := strings.Map(func(r rune) rune {
		if r != '\t' && (r < ' ' || r == 0x7f || r == '\uFFFD') {
			return '?'
		}
		return r
	}, string(rs[start:end]))
	return clean, b.String()
}

// Errors is everything that is wrong with a book, by file and line.
type Errors []*Error

// Error lists all of them.
func (es Errors) Error() string {
	var b strings.Builder
	for i, e := range es {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(e.String())
	}
	return b.String()
}

// Unwrap lets errors.As find the single errors.
func (es Errors) Unwrap() []error {
	out := make([]error, len(es))
	for i, e := range es {
		out[i] = e
	}
	return out
}

func (es Errors) sort() {
	slices.SortStableFunc(es, func(a, b *Error) int {
		if c := strings.Compare(a.File, b.File); c != 0 {
			return c
		}
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Col - b.Col
	})
}

// nearest is the candidate that name was probably meant to be, or "". Another
// number is no slip: U12 may as well be meant for U11 as for U13.
func nearest(name string, candidates []string) string {
	best, dist := "", 3
	low := strings.ToLower(name)
	for _, c := range candidates {
		lc := strings.ToLower(c)
		if onlyDigits(low) != onlyDigits(lc) {
			continue
		}
		// Two edits of a short word make any other short word of it.
		if d := edits(low, lc); d < dist && (d == 0 || d*2 < max(len(low), len(lc))) {
			best, dist = c, d
		}
	}
	return best
}

func onlyDigits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

// edits is the number of single-letter edits and swaps of neighbours between
// two words (optimal string alignment).
func edits(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return 99
	}
	x, y := []rune(a), []rune(b)
	var two, prev, cur [66]int
	for j := range len(y) + 1 {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], two[j-2]+1)
			}
		}
		two, prev = prev, cur
	}
	return prev[len(y)]
}

// choice is the fix for a name that is none of the candidates.
func choice(name string, candidates []string) string {
	if n := nearest(name, candidates); n != "" {
		return "write " + n
	}
	if len(candidates) == 0 {
		return "leave it out"
	}
	const most = 12
	if len(candidates) > most {
		return "write one of " + strings.Join(candidates[:most], ", ") + ", …"
	}
	return "write one of " + strings.Join(candidates, ", ")
}
