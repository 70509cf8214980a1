package rulesindex

import (
	"bytes"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/analysis/lang/es"
	"github.com/blevesearch/bleve/v2/analysis/token/porter"
)

// maxWords bounds the words that one text gives: a question of ten thousand
// characters costs no more than a long one.
const maxWords = 256

// words is a text as lower-case words, in one buffer that is used again.
type words struct {
	buf   []byte
	ends  []int  // where word i ends in buf; it begins where the one before ends
	asks  []bool // a question mark follows word i
	stops []bool // a sentence ends after word i
}

func (w *words) reset() {
	w.buf, w.ends, w.asks, w.stops = w.buf[:0], w.ends[:0], w.asks[:0], w.stops[:0]
}

func (w *words) len() int { return len(w.ends) }

func (w *words) at(i int) []byte {
	from := 0
	if i > 0 {
		from = w.ends[i-1]
	}
	return w.buf[from:w.ends[i]]
}

func (w *words) close() {
	from := 0
	if n := len(w.ends); n > 0 {
		from = w.ends[n-1]
	}
	if len(w.buf) > from {
		w.ends = append(w.ends, len(w.buf))
		w.asks = append(w.asks, false)
		w.stops = append(w.stops, false)
	}
}

// split cuts text into words: letters and digits, lower case, accents folded,
// hyphens between letters or digits joined (face-off is faceoff), the
// possessive 's and the like cut, other apostrophes dropped (don't is dont). At most
// limit words are kept.
func (w *words) split(text string, limit int) {
	w.reset()
	for i := 0; i < len(text) && len(w.ends) < limit; {
		c := text[i]
		if c < utf8.RuneSelf {
			switch {
			case 'a' <= c && c <= 'z' || '0' <= c && c <= '9':
				w.buf = append(w.buf, c)
			case 'A' <= c && c <= 'Z':
				w.buf = append(w.buf, c+'a'-'A')
			case c == '-' && joins(text, i, 1):
			case c == '\'':
				i = w.apostrophe(text, i, 1)
				continue
			default:
				w.close()
				if n := len(w.ends); n > 0 && (c == '?' || c == '!' || c == '.' || c == '\n') {
					w.asks[n-1] = w.asks[n-1] || c == '?'
					w.stops[n-1] = true
				}
			}
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == '’' || r == 'ʼ':
			i = w.apostrophe(text, i, n)
			continue
		case (r == '‐' || r == '‑') && joins(text, i, n): // hyphens that are not ASCII
		case unicode.Is(unicode.Mn, r): // an accent on its own
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			w.buf = utf8.AppendRune(w.buf, fold(unicode.ToLower(r)))
		default:
			w.close()
		}
		i += n
	}
	w.close()
	if len(w.ends) > limit {
		w.ends, w.asks, w.stops = w.ends[:limit], w.asks[:limit], w.stops[:limit]
	}
}

// joins says whether the hyphen of n bytes at text[i] stands inside a word.
func joins(text string, i, n int) bool {
	return i > 0 && i+n < len(text) && wordByte(text[i-1]) && wordByte(text[i+n])
}

func wordByte(c byte) bool {
	return c >= utf8.RuneSelf || 'a' <= c|0x20 && c|0x20 <= 'z' || '0' <= c && c <= '9'
}

// apostrophe skips the apostrophe of n bytes at text[i], and the ending of a
// contraction after it ('s, 'll, 've, 're, 'd, 'm); it returns where to read on.
func (w *words) apostrophe(text string, i, n int) int {
	i += n
	end := i
	for end < len(text) && end-i < 3 && wordByte(text[end]) {
		end++
	}
	switch strings.ToLower(text[i:end]) {
	case "s", "ll", "ve", "re", "d", "m":
		return end
	}
	return i
}

// fold takes the accent off a lower-case Latin letter.
func fold(r rune) rune {
	switch r {
	case 'á', 'à', 'â', 'ä', 'ã', 'å':
		return 'a'
	case 'é', 'è', 'ê', 'ë':
		return 'e'
	case 'í', 'ì', 'î', 'ï':
		return 'i'
	case 'ó', 'ò', 'ô', 'ö', 'õ':
		return 'o'
	case 'ú', 'ù', 'û', 'ü':
		return 'u'
	case 'ñ':
		return 'n'
	case 'ç':
		return 'c'
	}
	return r
}

// stemmer reduces words to stems with the filters of bleve's analyzers.
type stemmer struct {
	filter analysis.TokenFilter
	rooms  *sync.Pool // of *stemRoom
}

// stemRoom is the token that a filter works on, used again by the next word: an
// index stems its word lists and all its pages as it is built.
type stemRoom struct {
	token analysis.Token
	one   [1]*analysis.Token
	word  []byte
}

func newStemmer(f analysis.TokenFilter) stemmer {
	return stemmer{f, &sync.Pool{New: func() any { return &stemRoom{} }}}
}

func englishStemmer() stemmer { return newStemmer(porter.NewPorterStemmer()) }

func spanishStemmer() stemmer { return newStemmer(es.NewSpanishStemmerFilter()) }

// stem is the stem of one word. Words with a digit stay as they are (u11, nd200).
func (s stemmer) stem(word []byte) string {
	if bytes.ContainsAny(word, "0123456789") || len(word) < 3 {
		return string(word)
	}
	r := s.rooms.Get().(*stemRoom)
	defer s.rooms.Put(r)
	r.word = append(r.word[:0], word...)
	r.token = analysis.Token{Term: r.word}
	r.one[0] = &r.token
	ts := s.filter.Filter(r.one[:])
	if len(ts) == 0 || len(ts[0].Term) == 0 {
		return string(word)
	}
	return string(ts[0].Term)
}
