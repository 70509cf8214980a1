package question

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
)

// Division names one division of the book to the recogniser.
type Division struct {
	ID      string
	Under   int // the 11 of U11; 0 for none
	Band    int // the 10 of 10U; 0 for none
	Aliases []string
}

// Phrase is one of the book's own names for a thing.
type Phrase struct {
	Tag     string // such as "item:rib-pads"
	Text    string
	Spanish bool
}

// Vocabulary is the book's own words.
type Vocabulary struct {
	Divisions []Division
	Phrases   []Phrase
}

// Recogniser reads questions; it may be used by many goroutines at once.
type Recogniser struct {
	x       *lexicon
	topics  []*topicRule
	fn      Tag
	foreign map[string]string
	heard   map[string][]heardAs
	common  string

	askTags []Tag
	learn   [maxTags]bool
	both    func() (*Recogniser, error) // the one that knows Spanish too; nil in that one itself
	w       *weights

	only  *wordSet           // the words that it knows; nil for all
	whole func() *Recogniser // the one that knows all words, where only is set
}

// NewRecogniser loads the lexicons and the topics' cues, and adds the book's words.
//
// Spanish is by far the larger half: it is read when the first question needs it,
// so that a program that answers one English question starts fast. Warm reads it
// at once.
func NewRecogniser(v Vocabulary) (*Recogniser, error) { return (*Ahead)(nil).NewRecogniser(v) }

// Ahead is the lexicon being read while its user still loads the book.
type Ahead struct {
	lexicon func() (*lexicon, error)
	taken   atomic.Bool
}

// ReadAhead begins to read what a recogniser needs whatever the book.
func ReadAhead() *Ahead { return ahead(func() (*lexicon, error) { return loadLexicon(nil, false) }) }

// ReadAheadFor is ReadAhead where one question is all that will be asked, "" for
// none in particular. The recogniser reads any other as well, once it has read the
// rest of the words.
func ReadAheadFor(text string) *Ahead {
	if text == "" {
		return ReadAhead()
	}
	return ahead(func() (*lexicon, error) {
		only, err := wordsOf(text)
		if err != nil {
			return nil, err
		}
		return loadLexicon(only, false)
	})
}

func ahead(load func() (*lexicon, error)) *Ahead {
	a := &Ahead{lexicon: sync.OnceValues(load)}
	go func() { _, _ = a.lexicon() }() // whoever takes it gets the error
	return a
}

// NewRecogniser is the function of that name with what was read ahead. The first
// recogniser takes it, since the book's words are added to it; others read anew.
func (a *Ahead) NewRecogniser(v Vocabulary) (*Recogniser, error) {
	load := func() (*lexicon, error) { return loadLexicon(nil, false) }
	if a != nil && !a.taken.Swap(true) {
		load = a.lexicon
	}
	x, err := load()
	if err != nil {
		return nil, err
	}
	r, err := newRecogniser(x, v, false)
	if err != nil {
		return nil, err
	}
	if r.only != nil {
		r.whole = sync.OnceValue(func() *Recogniser {
			whole, err := NewRecogniser(v)
			if err != nil { // the same files and words were read before, or parts of them
				panic(fmt.Errorf("read the whole lexicon: %w", err))
			}
			return whole
		})
	}
	r.both = sync.OnceValues(func() (*Recogniser, error) {
		x, err := loadLexicon(r.only, true)
		if err != nil {
			return nil, err
		}
		both, err := newRecogniser(x, v, true)
		if err != nil {
			return nil, err
		}
		both.whole = r.whole
		return both, nil
	})
	return r, nil
}

// loadLexicon reads the words, of one question or all.
func loadLexicon(only *wordSet, spanish bool) (*lexicon, error) {
	room, es := sizeEN, functionWordsES
	switch {
	case only != nil:
		room = sizeOne
	case spanish:
		room = sizeBoth
	}
	if spanish {
		es = lexiconES
	}
	x := newLexicon(room)
	x.only = only
	if err := x.load(lexiconEN, langEN); err != nil {
		return nil, err
	}
	if err := x.load(es, langES); err != nil {
		return nil, err
	}
	return x, nil
}

// newRecogniser adds a book's words to a fresh lexicon.
func newRecogniser(x *lexicon, v Vocabulary, spanish bool) (*Recogniser, error) {
	r := &Recogniser{x: x, foreign: map[string]string{}, common: commonText, only: x.only}
	var ids []string
	for k, d := range v.Divisions {
		ids = append(ids, d.ID)
		if d.Under > 0 {
			x.under[d.Under] = k
		}
		if d.Band > 0 {
			x.band[d.Band] = k
		}
		t, err := x.tag("div:" + d.ID)
		if err != nil {
			return nil, err
		}
		for _, a := range d.Aliases {
			if err := x.add(a, []Tag{t}, langEN|langES, options{}); err != nil {
				return nil, fmt.Errorf("alias %q of division %s: %w", a, d.ID, err)
			}
		}
	}
	for _, p := range v.Phrases {
		t, err := x.tag(p.Tag)
		if err != nil {
			return nil, err
		}
		lang := langEN
		if p.Spanish {
			lang = langES
		}
		if len(phraseWords(p.Text, nil)) == 0 || p.Spanish && !spanish {
			continue
		}
		if err := x.add(p.Text, []Tag{t}, lang, options{}); err != nil {
			return nil, fmt.Errorf("phrase %q: %w", p.Text, err)
		}
	}
	var err error
	if r.topics, err = loadTopics(data, x); err != nil {
		return nil, err
	}
	if r.fn, err = x.tag("fn"); err != nil {
		return nil, err
	}
	if err := x.finish(ids); err != nil {
		return nil, err
	}
	for t, in := range x.info {
		if in.group == gAsk {
			r.askTags = append(r.askTags, Tag(t))
		}
	}
	for t := range x.names {
		r.learn[t] = x.learnable(Tag(t))
	}
	if len(r.topics)+2 >= maxTopics {
		return nil, fmt.Errorf("more than %d topics", maxTopics)
	}
	if err := r.loadWeights(); err != nil {
		return nil, err
	}
	x.spell = sync.OnceValue(x.spellWords)
	r.loadForeign()
	if r.only != nil {
		r.heard = r.only.heard
	} else if r.heard, err = readHeard(nil); err != nil {
		return nil, err
	}
	return r, nil
}

// Warm reads what is read late, so that an error in it shows at once.
func (r *Recogniser) Warm() error {
	if r.only != nil {
		return r.whole().Warm()
	}
	if r.both != nil {
		both, err := r.both()
		if err != nil {
			return err
		}
		if err := both.Warm(); err != nil {
			return err
		}
	}
	return r.w.warm(r.x)
}

func (r *Recogniser) loadForeign() {
	for line := range strings.Lines(foreignText) {
		if lang, words, ok := strings.Cut(line, ": "); ok && line[0] != '#' {
			for w := range strings.FieldsSeq(words) {
				if r.only == nil || r.only.has(w) {
					r.foreign[w] = lang
				}
			}
		}
	}
}

// isCommon says whether w is an everyday word that must not be taken for a slip.
// The list is sorted lines, searched in place: it costs nothing to load.
func (r *Recogniser) isCommon(w string) bool {
	lo, hi := 0, len(r.common)
	for lo < hi {
		mid := (lo + hi) / 2
		start := strings.LastIndexByte(r.common[:mid], '\n') + 1
		end := strings.IndexByte(r.common[start:], '\n')
		if end < 0 {
			end = len(r.common)
		} else {
			end += start
		}
		switch line := r.common[start:end]; {
		case line == w:
			return true
		case line < w:
			lo = end + 1
		default:
			hi = start
		}
	}
	return false
}
