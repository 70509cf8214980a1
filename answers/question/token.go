package question

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"sidewall/answers/measure"
)

// MaxLen is the longest question in bytes that is read; a longer one is told so.
const MaxLen = 4000

type tokenKind uint8

const (
	wordToken tokenKind = iota
	numberToken
	markToken
)

// token is a run of letters, a number or one mark of the folded question.
// Letters and digits never share a token: "u11" is two, the second glued.
type token struct {
	text  string
	milli int64 // a number's thousandths
	kind  tokenKind
	glued bool  // no space before it
	sent  uint8 // number of its sentence
	frac  bool  // a number written with a decimal point
	long  bool  // a number of more than two digits before the point, or with a leading zero
	ids   [4]int32
	nids  uint8
	fixed bool  // known only after its spelling was corrected
	known bool  // some lexicon, the neutral words or the common words have it
	num   int32 // of the weights' table, plus one; 0 before it was looked up, -1 where it has none
}

var foldTable = map[rune]string{
	'“': `"`, '”': `"`, '„': `"`, '″': `"`, '〃': `"`,
	'‘': "'", '’': "'", '′': "'", '`': "'", '´': "'",
	'–': "-", '—': " - ", '−': "-", '‐': "-", '‑': "-",
	'½': " 1/2", '¼': " 1/4", '¾': " 3/4", '⅓': " 1/3", '⅔': " 2/3", '⅛': " 1/8", '⅜': " 3/8", '⅝': " 5/8", '⅞': " 7/8",
	'…': "...", '¿': " ", '¡': " ", '×': "x", '°': "°", 'º': "°", 'ª': "a", '\u00a0': " ",
}

// fold lower-cases, drops accents and evens out typographic marks.
func fold(s string) string {
	ascii := true
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			ascii = false
			break
		}
	}
	if ascii {
		return strings.ToLower(s)
	}
	var b strings.Builder
	b.Grow(len(s) + 16)
	for _, r := range s {
		if r < utf8.RuneSelf {
			b.WriteByte(byte(unicode.ToLower(r)))
			continue
		}
		if t, ok := foldTable[r]; ok {
			b.WriteString(t)
			continue
		}
		if r == utf8.RuneError || unicode.Is(unicode.Cf, r) {
			b.WriteByte(' ')
			continue
		}
		var buf [utf8.UTFMax]byte
		n := utf8.EncodeRune(buf[:], r)
		for _, d := range string(norm.NFKD.Bytes(buf[:n])) {
			if !unicode.Is(unicode.Mn, d) {
				b.WriteRune(unicode.ToLower(d))
			}
		}
	}
	return b.String()
}

// tokenize appends the tokens of a folded question to toks. Apostrophes inside
// a word vanish ("can't" is "cant"), since people leave them out as often.
func tokenize(s string, toks []token) []token {
	glued := false
	sent := uint8(0)
	for i := 0; i < len(s); {
		c := s[i]
		switch {
		case c == ' ' || c == '\t' || c == '\r':
			glued = false
			i++
			continue
		case c == '\n':
			glued = false
			if sent < 250 {
				sent++
			}
			i++
			continue
		case c >= '0' && c <= '9' || c == '.' && i+1 < len(s) && isDigit(s[i+1]) && (i == 0 || !isWordByte(s[i-1])):
			t, j := scanNumber(s, i)
			t.glued, t.sent = glued, sent
			toks = append(toks, t)
			i = j
		default:
			r, size := utf8.DecodeRuneInString(s[i:])
			if unicode.IsLetter(r) {
				j := i + size
				apostrophe := false
				for j < len(s) {
					r, n := utf8.DecodeRuneInString(s[j:])
					if unicode.IsLetter(r) {
						j += n
						continue
					}
					if r == '\'' && j+1 < len(s) && s[j+1] >= 'a' && s[j+1] <= 'z' {
						apostrophe = true
						j++
						continue
					}
					break
				}
				w := s[i:j]
				if apostrophe {
					w = strings.ReplaceAll(w, "'", "")
				}
				toks = append(toks, token{text: w, kind: wordToken, glued: glued, sent: sent})
				i = j
			} else {
				t := token{text: s[i : i+size], kind: markToken, glued: glued, sent: sent}
				toks = append(toks, t)
				if (c == '?' || c == '!' || c == ';' || c == '.' && (i+1 >= len(s) || s[i+1] == ' ' || s[i+1] == '\n')) && sent < 250 {
					if !(c == '.' && abbreviation(toks)) {
						sent++
					}
				}
				i += size
			}
		}
		glued = true
	}
	return toks
}

// abbreviation says whether the full stop at the end of toks belongs to a short
// unit ("45 in. stick", "5 ft. 2") or to a one-letter word.
func abbreviation(toks []token) bool {
	n := len(toks)
	if n < 2 || toks[n-2].kind != wordToken {
		return false
	}
	switch toks[n-2].text {
	case "in", "ft", "yd", "yds", "oz", "cm", "min", "sec", "vs":
		return n >= 3 && toks[n-3].kind == numberToken || toks[n-2].text == "vs"
	}
	return false
}

func isDigit(c byte) bool    { return c >= '0' && c <= '9' }
func isWordByte(c byte) bool { return c >= 'a' && c <= 'z' || isDigit(c) }

func scanNumber(s string, i int) (token, int) {
	j := i
	for j < len(s) && isDigit(s[j]) {
		j++
	}
	whole := s[i:j]
	fracDigits := ""
	if j+1 < len(s) && (s[j] == '.' || s[j] == ',') && isDigit(s[j+1]) {
		k := j + 1
		for k < len(s) && isDigit(s[k]) {
			k++
		}
		if s[j] == ',' && k-j-1 == 3 && len(whole) <= 3 { // a thousands comma
			whole += s[j+1 : k]
			j = k
		} else if s[j] == '.' || k-j-1 <= 2 {
			fracDigits = s[j+1 : k]
			j = k
		}
	}
	t := token{text: s[i:j], kind: numberToken, frac: fracDigits != "", long: len(whole) > 2 || len(whole) > 1 && whole[0] == '0'}
	if len(whole) > 9 {
		whole = whole[:9] // far beyond any quantity of the game
	}
	for k := 0; k < len(whole); k++ {
		t.milli = t.milli*10 + int64(whole[k]-'0')
	}
	t.milli *= measure.One
	scale := measure.One / 10
	for k := 0; k < len(fracDigits) && scale > 0; k++ {
		t.milli += int64(fracDigits[k]-'0') * scale
		scale /= 10
	}
	return t, j
}
