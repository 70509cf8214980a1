package question

import (
	"fmt"
	"slices"
	"strings"
)

// Tag is a concept by number; its name is such as "stick", "pos:attack" or "ask:may".
type Tag int32

// tagSet is a set of tags, one bit each.
type tagSet [maxTags / 64]uint64

const maxTags = 1024

func (s *tagSet) add(t Tag)      { s[t>>6] |= 1 << (uint(t) & 63) }
func (s *tagSet) has(t Tag) bool { return s[t>>6]&(1<<(uint(t)&63)) != 0 }

// lexicon is the words of one language, or the book's own, as a trie of words.
//
// A data file is lines of the form
//
//	tag, tag: phrase | phrase | pre* phrase
//
// A word that ends in * matches every word that begins so. Words are folded:
// lower case, no accents, no apostrophes. Of closed phrases the longest wins and
// hides what is inside it ("stick check" is no stick); after a line "@open" the
// phrases hide nothing ("mouthguard out" is still a mouthguard), until "@closed".
// After "@exact" the words are never what a slip is corrected to, until "@fuzzy".
type lexicon struct {
	tags    map[string]Tag
	names   []string
	words   map[string]int32
	stems   map[string]int32   // words written with *, without it
	spell   func() []spellWord // made when the first slip is met
	next    map[uint64]int32   // trie: node and word to node
	out     []int32            // by trie node: its phrase plus one, 0 for none
	phrases []phrase
	lists   [][]Tag // what phrases mean; the first is empty
	langOf  []uint8 // by word id: bit 0 English, bit 1 Spanish
	fuzzy   []bool  // by word id: a slip may be corrected to it
	minStem int
	only    *wordSet // the words that are read; nil for all

	info  []tagInfo
	std   std
	under map[int]int // division index by its number: U11
	band  map[int]int // and by the naming that counts the oldest age: 10U
}

// phrase is what a run of words means in each language, as numbers of tag lists;
// open phrases hide nothing.
type phrase struct{ en, es, openEN, openES int32 }

// open gives the tags of an open phrase.
func (x *lexicon) open(p *phrase, langs uint8) []Tag {
	if langs&langES != 0 && p.openES != 0 {
		return x.lists[p.openES]
	}
	if langs&langEN != 0 {
		return x.lists[p.openEN]
	}
	return nil
}

// closed gives the tags under the languages asked for; Spanish goes first, since
// people mix English trade words into Spanish questions and not the other way.
func (x *lexicon) closed(p *phrase, langs uint8) []Tag {
	if langs&langES != 0 && p.es != 0 {
		return x.lists[p.es]
	}
	if langs&langEN != 0 {
		return x.lists[p.en]
	}
	return nil
}

// join gives the number of a list with the tags of list have and more. The
// phrases of one line share one list.
func (x *lexicon) join(have int32, more []Tag) int32 {
	if have == 0 {
		if last := x.lists[len(x.lists)-1]; len(last) == len(more) && &last[0] == &more[0] {
			return int32(len(x.lists) - 1)
		}
		x.lists = append(x.lists, more[:len(more):len(more)])
		return int32(len(x.lists) - 1)
	}
	list := x.lists[have]
	for _, t := range more {
		if !slices.Contains(list, t) {
			list = append(list[:len(list):len(list)], t)
		}
	}
	if len(list) == len(x.lists[have]) {
		return have
	}
	x.lists = append(x.lists, list)
	return int32(len(x.lists) - 1)
}

const (
	langEN uint8 = 1 << iota
	langES
)

// size is how much room a lexicon starts with, so that it need not grow.
type size struct{ phrases, nodes, words, stems int }

var (
	sizeEN   = size{phrases: 7400, nodes: 9600, words: 4000, stems: 110}
	sizeOne  = size{phrases: 400, nodes: 700, words: 50, stems: 20} // of one question
	sizeBoth = size{phrases: 49000, nodes: 68000, words: 6700, stems: 640}
)

func newLexicon(n size) *lexicon {
	return &lexicon{
		tags: make(map[string]Tag, maxTags), words: make(map[string]int32, n.words), stems: make(map[string]int32, n.stems),
		next: make(map[uint64]int32, n.nodes), out: make([]int32, 1, n.nodes), phrases: make([]phrase, 0, n.phrases),
		lists: make([][]Tag, 1, n.phrases/4), minStem: 3,
		langOf: make([]uint8, 0, n.words+n.stems), fuzzy: make([]bool, 0, n.words+n.stems), under: map[int]int{}, band: map[int]int{},
	}
}

func (x *lexicon) tag(name string) (Tag, error) {
	if t, ok := x.tags[name]; ok {
		return t, nil
	}
	if len(x.names) >= maxTags {
		return 0, fmt.Errorf("more than %d tags", maxTags)
	}
	t := Tag(len(x.names))
	x.tags[name] = t
	x.names = append(x.names, name)
	return t, nil
}

func (x *lexicon) word(w string, lang uint8) int32 {
	m := x.words
	key := w
	if w[len(w)-1] == '*' {
		m, key = x.stems, w[:len(w)-1]
	}
	if id, ok := m[key]; ok {
		x.langOf[id] |= lang
		return id
	}
	id := int32(len(x.langOf))
	x.langOf = append(x.langOf, lang)
	x.fuzzy = append(x.fuzzy, false)
	m[key] = id
	return id
}

func edge(node, word int32) uint64 { return uint64(node)<<32 | uint64(uint32(word)) }

// at is the phrase that ends at a trie node; nil for none.
func (x *lexicon) at(node int32) *phrase {
	if p := x.out[node]; p != 0 {
		return &x.phrases[p-1]
	}
	return nil
}

// alone is what a word means by itself; nil for nothing.
func (x *lexicon) alone(word int32) *phrase {
	if n, ok := x.next[edge(0, word)]; ok {
		return x.at(n)
	}
	return nil
}

// options are how the phrases that follow in a file are taken.
type options struct{ open, exact bool }

// add puts a phrase under tags.
func (x *lexicon) add(text string, tags []Tag, lang uint8, o options) error {
	var buf [16]string
	words := phraseWords(text, buf[:0])
	if len(words) == 0 {
		return fmt.Errorf("an empty phrase")
	}
	var room [16]int32
	ids := room[:0]
	for _, w := range words {
		if x.only != nil && !x.only.has(w) {
			continue
		}
		id := x.word(w, lang) // also of a phrase that is passed over: it tells the word's language
		if !o.exact {
			x.fuzzy[id] = true
		}
		ids = append(ids, id)
	}
	if len(ids) < len(words) {
		return nil
	}
	node := int32(0)
	for _, id := range ids {
		e := edge(node, id)
		n, ok := x.next[e]
		if !ok {
			n = int32(len(x.out))
			x.out = append(x.out, 0)
			x.next[e] = n
		}
		node = n
	}
	if x.out[node] == 0 {
		x.phrases = append(x.phrases, phrase{})
		x.out[node] = int32(len(x.phrases))
	}
	p := x.at(node)
	en, es := &p.en, &p.es
	if o.open && len(words) > 1 {
		en, es = &p.openEN, &p.openES
	}
	if lang&langEN != 0 {
		*en = x.join(*en, tags)
	}
	if lang&langES != 0 {
		*es = x.join(*es, tags)
	}
	return nil
}

// phraseWords splits a phrase of a data file as tokenize splits a question.
func phraseWords(p string, out []string) []string {
	plain := true
	for i := 0; i < len(p) && plain; i++ {
		c := p[i]
		plain = c >= 'a' && c <= 'z' || c == ' ' || c == '*' && i > 0 && (i+1 == len(p) || p[i+1] == ' ')
	}
	if plain { // nearly all: cut in place
		start := -1
		for i := 0; i <= len(p); i++ {
			if i < len(p) && p[i] != ' ' {
				if start < 0 {
					start = i
				}
			} else if start >= 0 {
				out = append(out, p[start:i])
				start = -1
			}
		}
		return out
	}
	var room [8]token
	for f := range strings.FieldsSeq(p) {
		star := strings.HasSuffix(f, "*")
		f = strings.TrimSuffix(f, "*")
		start := len(out)
		for _, t := range tokenize(fold(f), room[:0]) {
			out = append(out, t.text)
		}
		if star && len(out) > start {
			out[len(out)-1] += "*"
		}
	}
	return out
}

// load reads data files.
func (x *lexicon) load(files []dataFile, lang uint8) error {
	for i := range files {
		if err := x.parse(files[i].name, files[i].text, lang); err != nil {
			return err
		}
	}
	return nil
}

func (x *lexicon) parse(name, rest string, lang uint8) error {
	var tags []Tag
	var o options
	for line := 1; rest != ""; line++ {
		var text string
		text, rest, _ = strings.Cut(rest, "\n")
		t := strings.TrimSpace(text)
		switch {
		case t == "" || t[0] == '#':
			continue
		case t == "@open":
			o.open = true
			continue
		case t == "@closed":
			o.open = false
			continue
		case t == "@exact":
			o.exact = true
			continue
		case t == "@fuzzy":
			o.exact = false
			continue
		}
		list := text
		if text[0] != ' ' && text[0] != '\t' { // an indented line goes on with the tags above
			head, after, ok := cutHead(text)
			if !ok {
				return fmt.Errorf("%s:%d: want \"tag: phrase | phrase\"", name, line)
			}
			tags = nil
			for _, n := range strings.Split(head, ",") {
				t, err := x.tag(strings.TrimSpace(n))
				if err != nil {
					return fmt.Errorf("%s:%d: %w", name, line, err)
				}
				tags = append(tags, t)
			}
			list = after
		}
		for list != "" {
			var p string
			p, list, _ = strings.Cut(list, "|")
			if p = strings.TrimSpace(p); p == "" {
				continue
			}
			if err := x.add(p, tags, lang, o); err != nil {
				return fmt.Errorf("%s:%d: %q: %w", name, line, p, err)
			}
		}
	}
	return nil
}

// cutHead splits "pos:attack, x: phrase" at the colon that a space follows.
func cutHead(s string) (head, rest string, ok bool) {
	i := strings.Index(s, ": ")
	if i < 0 {
		return "", "", false
	}
	return s[:i], s[i+2:], true
}

// lookup fills in the word ids of t: the exact word, a plural's singular, a stem.
// Words that belong only to a language outside langs stay unknown.
func (x *lexicon) lookup(t *token, langs uint8) {
	t.nids = 0
	put := func(id int32) {
		if x.langOf[id]&langs != 0 && int(t.nids) < len(t.ids) {
			t.ids[t.nids] = id
			t.nids++
		}
	}
	w := t.text
	if id, ok := x.words[w]; ok {
		put(id)
	}
	if t.kind != wordToken {
		return
	}
	if n := len(w); n > 3 && w[n-1] == 's' {
		if id, ok := x.words[w[:n-1]]; ok {
			put(id)
		} else if n > 5 && w[n-2] == 'e' {
			if id, ok := x.words[w[:n-2]]; ok {
				put(id)
			}
		}
	}
	for n := len(w); n >= x.minStem; n-- { // the longest stems first
		if id, ok := x.stems[w[:n]]; ok {
			put(id)
		}
	}
}

// hit is a phrase found in the question.
type hit struct {
	tags       []Tag
	start, end int // tokens
	negated    bool
	fixed      bool
	open       bool
}

// match finds the longest phrases, left to right.
func (x *lexicon) match(toks []token, hits []hit, langs uint8) []hit {
	for i := 0; i < len(toks); {
		w := walker{x: x, toks: toks, langs: langs, start: i}
		w.walk(i, 0, false)
		if w.openBest > 0 && !(w.openBest < w.best && contains(w.tags, x.std.sealed)) {
			hits = append(hits, hit{tags: w.openTags, start: i, end: i + w.openBest, fixed: w.fixed, open: true})
		}
		if w.best == 0 {
			i++
			continue
		}
		hits = append(hits, hit{tags: w.tags, start: i, end: i + w.best, fixed: w.fixed})
		if w.openInside(i) {
			for k := i + 1; k < i+w.best; k++ {
				o := walker{x: x, toks: toks, langs: langs, start: k}
				o.walk(k, 0, false)
				if o.openBest > 0 {
					hits = append(hits, hit{tags: o.openTags, start: k, end: k + o.openBest, fixed: o.fixed, open: true})
				}
			}
		}
		i += w.best
	}
	return hits
}

// walker finds the longest phrase that begins at one token.
type walker struct {
	x     *lexicon
	toks  []token
	langs uint8
	start int
	best  int
	tags  []Tag
	fixed bool

	openBest int
	openTags []Tag
}

// openInside says whether open phrases may begin inside the closed one at i: not
// where it is sealed ("level with the bottom edge" is not below the edge).
func (w *walker) openInside(int) bool { return w.best > 1 && !contains(w.tags, w.x.std.sealed) }

func (w *walker) walk(i int, node int32, fixed bool) {
	if node != 0 && i > w.start {
		if p := w.x.at(node); p != nil {
			if tags := w.x.closed(p, w.langs); tags != nil && i-w.start > w.best {
				w.best, w.tags, w.fixed = i-w.start, tags, fixed
			}
			if tags := w.x.open(p, w.langs); tags != nil && i-w.start > w.openBest {
				w.openBest, w.openTags = i-w.start, tags
			}
		}
	}
	if i >= len(w.toks) {
		return
	}
	t := &w.toks[i]
	for k := 0; k < int(t.nids); k++ {
		if n, ok := w.x.next[edge(node, t.ids[k])]; ok {
			w.walk(i+1, n, fixed || t.fixed)
		}
	}
	// "face-off" and "face off" are one phrase
	if node != 0 && t.kind == markToken && (t.text == "-" || t.text == "/") && i+1 < len(w.toks) && i > w.start {
		w.walk(i+1, node, fixed)
	}
}
