package rulesindex

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed data/*.txt
var shipped embed.FS

// ShippedWords is the folder of word lists that Build uses unless told otherwise.
func ShippedWords() fs.FS {
	sub, err := fs.Sub(shipped, "data")
	if err != nil {
		panic(err) // the name is a constant
	}
	return sub
}

// A phrase is a sequence of stems and what stands for it.
type phrase struct {
	from []string
	to   []string
}

// phrases finds the longest phrase at a place of a sequence of stems.
type phrases map[string][]phrase // by first stem, longest first

func (p phrases) add(from, to []string) {
	list := p[from[0]]
	at := len(list)
	for i, other := range list {
		if len(other.from) < len(from) {
			at = i
			break
		}
	}
	list = append(list, phrase{})
	copy(list[at+1:], list[at:])
	list[at] = phrase{from: from, to: to}
	p[from[0]] = list
}

// lexicon is what the word lists say.
type lexicon struct {
	english stemmer
	spanish stemmer

	stop      map[string]bool // surface words
	spStop    map[string]bool
	everyday  map[string]bool
	soft      map[string]bool
	faint     map[string]bool // stop words that help to choose a section
	elsewhere map[string]bool

	remarks map[string][][]string // the words that remarks begin with, by the first

	same    phrases             // English stems, on both sides
	related map[string][]string // English stem to the stems that a question also looks for
	toEn    phrases             // Spanish stems to English stems

	exact   map[string][]string // single Spanish words as written: before stems, where entrenar and entrenador are one
	spWords map[string]string   // the words of the Spanish list as written, and their stems
	enWords []string            // the words of the synonyms as written, for the spelling

	ws words // the text that is being read, used again by the next
}

// readLexicon reads the word lists of a folder.
func readLexicon(fsys fs.FS) (*lexicon, error) {
	lx := &lexicon{
		english: englishStemmer(), spanish: spanishStemmer(),
		remarks: map[string][][]string{}, same: phrases{}, related: map[string][]string{}, toEn: phrases{}, exact: map[string][]string{}, spWords: map[string]string{},
	}
	for _, l := range []struct {
		name string
		into *map[string]bool
	}{{"stop.txt", &lx.stop}, {"spanish-stop.txt", &lx.spStop}, {"everyday.txt", &lx.everyday},
		{"soft.txt", &lx.soft}, {"faint.txt", &lx.faint}, {"elsewhere.txt", &lx.elsewhere}} {
		set := map[string]bool{}
		err := eachLine(fsys, l.name, func(line string) error {
			for _, w := range strings.Fields(line) {
				set[w] = true
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		*l.into = set
	}
	err := eachLine(fsys, "remarks.txt", func(line string) error {
		ws := lx.surfaces(nil, line)
		if len(ws) == 0 {
			return fmt.Errorf("%q has no words", line)
		}
		lx.remarks[ws[0]] = append(lx.remarks[ws[0]], ws)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for w := range lx.faint {
		lx.stop[w] = true
	}
	if err := eachLine(fsys, "synonyms.txt", lx.addSynonym); err != nil {
		return nil, err
	}
	if err := eachLine(fsys, "spanish.txt", lx.addSpanish); err != nil {
		return nil, err
	}
	return lx, nil
}

// eachLine calls f with each line of a word list that is not empty or a comment.
func eachLine(fsys fs.FS, name string, f func(string) error) error {
	b, err := fs.ReadFile(fsys, name)
	if err != nil {
		return fmt.Errorf("reading the word list %s: %w", name, err)
	}
	n := 0
	for line := range strings.Lines(string(b)) {
		n++
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		if err := f(line); err != nil {
			return fmt.Errorf("%s:%d: %w", name, n, err)
		}
	}
	return nil
}

// addSynonym takes "word = one, two" or "word > one, two".
func (lx *lexicon) addSynonym(line string) error {
	i := strings.IndexAny(line, "=>")
	if i < 0 {
		return fmt.Errorf("%q has no = or >: write \"word = other, others\"", line)
	}
	head := lx.stems(line[:i], false)
	lx.enWords = lx.surfaces(lx.enWords, line[:i])
	if len(head) == 0 {
		return fmt.Errorf("nothing but stop words before the %c", line[i])
	}
	for other := range strings.SplitSeq(line[i+1:], ",") {
		full := lx.stems(other, true)
		if len(full) == 0 || len(full) == 1 && len(lx.stems(other, false)) == 0 {
			return fmt.Errorf("%q is empty or a stop word", strings.TrimSpace(other))
		}
		lx.enWords = lx.surfaces(lx.enWords, other)
		if line[i] == '=' {
			lx.same.add(full, head)
			continue
		}
		if len(head) > 1 {
			return fmt.Errorf("only one word may stand before a >")
		}
		for _, t := range lx.stems(other, false) {
			if t != head[0] {
				lx.related[head[0]] = append(lx.related[head[0]], t)
			}
		}
	}
	return nil
}

// addSpanish takes "palabra, otra = english words".
func (lx *lexicon) addSpanish(line string) error {
	es, en, ok := strings.Cut(line, "=")
	to := lx.stems(en, false)
	if !ok || len(to) == 0 {
		return fmt.Errorf("%q has no English words: write \"palabra, otra = word\"", line)
	}
	ws := &lx.ws
	for one := range strings.SplitSeq(es, ",") {
		ws.split(one, maxWords)
		var from []string
		said := false
		for i := range ws.len() {
			w := string(ws.at(i))
			st := lx.spanish.stem([]byte(w))
			lx.spWords[w] = st
			from = append(from, st)
			said = said || !lx.spStop[w]
		}
		if len(from) == 0 || len(from) == 1 && !said {
			return fmt.Errorf("%q is empty or a stop word", strings.TrimSpace(one))
		}
		if len(from) == 1 {
			lx.exact[string(ws.at(0))] = to
		}
		lx.toEn.add(from, to)
	}
	return nil
}

// stems are the stems of an English text before phrases are rewritten, with or
// without its stop words.
func (lx *lexicon) stems(text string, stops bool) []string {
	ws := &lx.ws
	ws.split(text, maxWords)
	var out []string
	for i := range ws.len() {
		if w := ws.at(i); stops || !lx.stop[string(w)] {
			out = append(out, lx.english.stem(w))
		}
	}
	return out
}

// surfaces appends the words of a text as the index splits them.
func (lx *lexicon) surfaces(out []string, text string) []string {
	ws := &lx.ws
	ws.split(text, maxWords)
	for i := range ws.len() {
		out = append(out, string(ws.at(i)))
	}
	return out
}
