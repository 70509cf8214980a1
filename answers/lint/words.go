package lint

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// What prose.go needs to read a summary: its sentences, and in them divisions,
// names of keys, and numbers with units.

// token is a word, number or mark of a summary's text.
type token struct {
	text string // lower case
	line int
}

// sentence is what one claim may span, under its heading.
type sentence struct {
	heading []token
	tokens  []token
}

func sentences(s *book.Summary) []sentence {
	var out []sentence
	var heading, cur []token
	flush := func() {
		if len(cur) > 0 {
			out = append(out, sentence{heading, cur})
			cur = nil
		}
	}
	line := s.BodyLine
	for text := range strings.Lines(s.Body) {
		trimmed := strings.TrimSpace(text)
		switch {
		case trimmed == "":
			flush()
		case strings.HasPrefix(trimmed, "#"):
			flush()
			heading = tokens(nil, strings.TrimLeft(trimmed, "#"), line)
		default:
			if strings.HasPrefix(trimmed, "- ") || strings.HasPrefix(trimmed, "* ") || strings.HasPrefix(trimmed, "|") {
				flush()
			}
			from := len(cur)
			cur = tokens(cur, trimmed, line)
			for i := from; i < len(cur); i++ {
				if t := cur[i].text; t == "." || t == "?" || t == "!" || t == "|" {
					rest := slices.Clone(cur[i+1:])
					cur = cur[:i]
					flush()
					cur, i = rest, -1
				}
			}
		}
		line++
	}
	flush()
	return out
}

// tokens cuts a line. A point inside a number stays in it, and so does a colon
// (12:00); anything else that is neither letter nor digit stands alone.
func tokens(out []token, s string, line int) []token {
	s = strings.ToLower(s)
	inWord := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '\'' || r == '’' }
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		if r == ' ' || r == '\t' || r == '*' || r == '_' || r == '(' || r == ')' {
			i += n
			continue
		}
		if !inWord(r) || r == '\'' || r == '’' {
			out = append(out, token{string(r), line})
			i += n
			continue
		}
		j := i
		digit := unicode.IsDigit(r)
		for j < len(s) {
			r, n := utf8.DecodeRuneInString(s[j:])
			next, _ := utf8.DecodeRuneInString(s[j+n:])
			switch {
			case inWord(r):
			case digit && (r == '.' || r == ':' || r == '/') && unicode.IsDigit(next):
			case !digit && r == '-' && unicode.IsLetter(next):
			default:
				goto done
			}
			j += n
		}
	done:
		w := strings.Trim(s[i:j], "'’")
		// "37in" is a number and its unit.
		k := 0
		for k < len(w) && (w[k] >= '0' && w[k] <= '9' || w[k] == '.' || w[k] == ':' || w[k] == '/') {
			k++
		}
		if _, unit := unitWords[w[k:]]; k > 0 && k < len(w) && unit {
			out = append(out, token{w[:k], line}, token{w[k:], line})
		} else {
			out = append(out, token{w, line})
		}
		i = max(j, i+n)
	}
	return out
}

// vocabulary is what a sentence may name.
type vocabulary struct {
	names     map[string][]phrase // by first word
	divisions map[string]sheet.Mask
	longest   int // words of the longest division name
}

// phrase is a name of a key, in stems.
type phrase struct {
	words  []string
	topic  string
	key    string
	proper bool // the key's own name; what else people call it is less exact
}

// stem makes singular and plural alike.
func stem(w string) string {
	w = strings.TrimSuffix(strings.TrimSuffix(w, "'s"), "’s")
	if len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") {
		w = w[:len(w)-1]
	}
	return w
}

func (l *linter) vocabulary() *vocabulary {
	v := &vocabulary{names: map[string][]phrase{}, divisions: map[string]sheet.Mask{}}
	for _, t := range l.b.Sheet.Topics {
		for key, n := range t.Names {
			for i, text := range append([]string{n.Text.EN, n.Text.ES}, append(n.AlsoEN, n.AlsoES...)...) {
				var ws []string
				for _, tok := range tokens(nil, text, 0) {
					ws = append(ws, stem(tok.text))
				}
				if len(ws) > 0 {
					v.names[ws[0]] = append(v.names[ws[0]], phrase{ws, t.ID, key, i < 2})
				}
			}
		}
	}
	for _, ps := range v.names {
		slices.SortFunc(ps, func(a, b phrase) int {
			if len(a.words) != len(b.words) {
				return len(b.words) - len(a.words)
			}
			return strings.Compare(a.topic+a.key, b.topic+b.key)
		})
	}
	all := sheet.Mask(1<<uint(len(l.b.Divisions)) - 1)
	name := func(text string, m sheet.Mask) {
		var ws []string
		for _, tok := range tokens(nil, text, 0) {
			ws = append(ws, tok.text)
		}
		v.divisions[strings.Join(ws, " ")] = m
		v.longest = max(v.longest, len(ws))
	}
	for i, d := range l.b.Divisions {
		m := sheet.Mask(1) << uint(i)
		name(d.ID, m)
		for _, a := range d.Aliases {
			name(a, m)
		}
		if d.Under > 0 {
			name(fmt.Sprintf("under %d", d.Under), m)
			name(fmt.Sprintf("%du", d.Under), m)
		}
		if d.Band > 0 {
			name(fmt.Sprintf("%du", d.Band), m)
		}
	}
	for _, y := range l.b.Sheet.Layers {
		if y.Default != all && y.Default != 0 {
			name(y.Name.EN, y.Default)
		}
	}
	for _, text := range []string{"all divisions", "every division", "all ages", "every age", "any age", "todas las divisiones"} {
		name(text, all)
	}
	return v
}

// division reads a division's name at i.
func (v *vocabulary) division(ts []token, i int) (m sheet.Mask, n int) {
	for n := min(v.longest, len(ts)-i); n > 0; n-- {
		ws := make([]string, n)
		for j := range ws {
			ws[j] = ts[i+j].text
		}
		if m, ok := v.divisions[strings.Join(ws, " ")]; ok {
			return m, n
		}
	}
	return 0, 0
}

// divisionGroup reads "U9", "U13, U15 and HS" or "U9 to U15" at i.
func (v *vocabulary) divisionGroup(ts []token, i int) (m sheet.Mask, n int) {
	m, n = v.division(ts, i)
	if n == 0 {
		return 0, 0
	}
	for {
		j, through := i+n, false
	glue:
		for j < len(ts) {
			switch ts[j].text {
			case ",", "and", "or", "y", "o", "&", "/":
			case "to", "through", "–", "-", "a":
				through = true
			default:
				break glue
			}
			j++
		}
		if j == i+n || j >= len(ts) {
			return m, n
		}
		more, k := v.division(ts, j)
		if k == 0 {
			return m, n
		}
		if through {
			for b := range 32 {
				if low(m) <= b && b <= low(more) {
					m |= 1 << uint(b)
				}
			}
		}
		m |= more
		n = j + k - i
	}
}

func low(m sheet.Mask) int {
	for i := range 32 {
		if m.Has(i) {
			return i
		}
	}
	return 32
}

// name reads the longest names of keys at i: several keys may share one.
func (v *vocabulary) name(ts []token, i int) (out []phrase, n int) {
	for _, p := range v.names[stem(ts[i].text)] {
		if len(p.words) < n {
			break
		}
		if i+len(p.words) > len(ts) {
			continue
		}
		same := true
		for j, w := range p.words {
			same = same && stem(ts[i+j].text) == w
		}
		if same {
			out, n = append(out, p), len(p.words)
		}
	}
	return out, n
}

// part finds the names that hold the first two of the words: "2 long crosses"
// counts what "most long crosses on the field" limits.
func (v *vocabulary) part(ts []token) (out []phrase) {
	if len(ts) < 2 {
		return nil
	}
	a, b := stem(ts[0].text), stem(ts[1].text)
	for _, ps := range v.names {
		for _, p := range ps {
			for i := range len(p.words) - 1 {
				if p.words[i] == a && p.words[i+1] == b {
					out = append(out, p)
					break
				}
			}
		}
	}
	slices.SortFunc(out, func(x, y phrase) int { return strings.Compare(x.topic+x.key, y.topic+y.key) })
	return out
}

// unitWords are units as prose writes them.
var unitWords = map[string]string{
	"in": "in", "inch": "in", "inches": "in", "\"": "in", "″": "in", "pulgadas": "in", "pulgada": "in",
	"ft": "ft", "foot": "ft", "feet": "ft", "pies": "ft", "yd": "yd", "yds": "yd", "yard": "yd", "yards": "yd", "yarda": "yd", "yardas": "yd",
	"s": "s", "sec": "s", "second": "s", "seconds": "s", "segundos": "s", "min": "min", "minute": "min", "minutes": "min", "minuto": "min", "minutos": "min",
	"oz": "oz", "ounce": "oz", "ounces": "oz", "onzas": "oz", "g": "g", "gram": "g", "grams": "g", "cm": "cm", "mm": "mm",
	"%": "percent", "percent": "percent", "goal": "goals", "goals": "goals", "goles": "goals", "player": "players", "players": "players", "jugadores": "players",
}

// afterIn are words that make "in" before them no unit: "6 in the box".
var afterIn = []string{"the", "a", "an", "each", "every", "all", "his", "her", "our", "your", "their", "its", "both", "front", "play", "total", "one", "any", "this", "that"}

// quantity is a number or range of a sentence.
type quantity struct {
	at, end int // tokens
	unit    measure.Unit
	bare    bool // no unit: a count
	lo, hi  int64
	bound   int  // -1 at least, +1 at most
	clock   bool // 12:00: a length of time, or a moment of the game
	edge    bool // "under 95": may be where something else begins
	text    string
}

func number(t string) bool { return t != "" && t[0] >= '0' && t[0] <= '9' }

// base is a number in base units; a clock is a time whatever its unit.
func base(t, unit string) (int64, measure.Unit, bool) {
	if m, s, ok := strings.Cut(t, ":"); ok {
		a, e1 := strconv.Atoi(m)
		b, e2 := strconv.Atoi(s)
		if e1 != nil || e2 != nil || len(s) != 2 || a > 999 {
			return 0, 0, false
		}
		return int64(a)*int64(measure.Minute) + int64(b)*int64(measure.Second), measure.Lasting, true
	}
	for i := 0; i < len(t); i++ {
		if c := t[i]; c != '.' && (c < '0' || c > '9') {
			return 0, 0, false
		}
	}
	u, factor, ok := measure.ParseUnit(unit)
	if !ok {
		return 0, 0, false
	}
	v, err := measure.ParseDecimal(t, factor)
	return v, u, err == nil
}

// quantityAt reads "42 in", "37 to 42 in", "between 37 and 42 in", "12:00" or
// a bare "2" at i.
func quantityAt(ts []token, i int) (quantity, bool) {
	if !number(ts[i].text) {
		return quantity{}, false
	}
	q := quantity{at: i, end: i + 1}
	lo, hi := ts[i].text, ts[i].text
	if i+2 < len(ts) && number(ts[i+2].text) {
		switch sep := ts[i+1].text; {
		case sep == "to" || sep == "–" || sep == "-" || sep == "a" || sep == "and" && i > 0 && (ts[i-1].text == "between" || ts[i-1].text == "entre"):
			hi, q.end = ts[i+2].text, i+3
		}
	}
	name := ""
	if q.end < len(ts) {
		t := ts[q.end].text
		if t == "°" && q.end+1 < len(ts) && ts[q.end+1].text == "f" {
			name, q.end = "degF", q.end+2
		} else if u, ok := unitWords[t]; ok && !(t == "in" && q.end+1 < len(ts) && slices.Contains(afterIn, ts[q.end+1].text)) {
			name, q.end = u, q.end+1
		}
	}
	var ok1, ok2 bool
	var u measure.Unit
	q.lo, q.unit, ok1 = base(lo, name)
	q.hi, u, ok2 = base(hi, name)
	if !ok1 || !ok2 || u != q.unit || q.lo > q.hi {
		return quantity{}, false
	}
	q.clock = strings.IndexByte(lo, ':') >= 0
	q.bare = q.unit == measure.Count && name == ""
	q.text = lo
	if hi != lo {
		q.text += "–" + hi
	}
	switch name {
	case "":
	case "degF":
		q.text += " °F"
	default:
		q.text += " " + name
	}
	if i > 0 {
		q.edge = slices.Contains([]string{"under", "below", "over", "above", "than", "menos", "más"}, ts[i-1].text)
	}
	before := ""
	for j := max(0, i-4); j < i; j++ {
		before += ts[j].text + " "
	}
	for _, s := range []string{"at most ", "up to ", "no more than ", "no longer than ", "not more than ", "maximum ", "within ", "como máximo "} {
		if strings.HasSuffix(before, s) {
			q.bound = 1
		}
	}
	for _, s := range []string{"at least ", "no less than ", "not less than ", "no shorter than ", "minimum ", "al menos "} {
		if strings.HasSuffix(before, s) {
			q.bound = -1
		}
	}
	return q, true
}
