package question

import (
	"fmt"
	"io/fs"
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
func ReadAhead() *Ahead {
	a := &Ahead{lexicon: sync.OnceValues(func() (*lexicon, error) { return loadLexicon(false) })}
	go func() { _, _ = a.lexicon() }() // whoever takes it gets the error
	return a
}

// NewRecogniser is the function of that name with what was read ahead. The first
// recogniser takes it, since the book's words are added to it; others read anew.
func (a *Ahead) NewRecogniser(v Vocabulary) (*Recogniser, error) {
	load := func() (*lexicon, error) { return loadLexicon(false) }
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
	r.both = sync.OnceValues(func() (*Recogniser, error) {
		x, err := loadLexicon(true)
		if err != nil {
			return nil, err
		}
		return newRecogniser(x, v, true)
	})
	return r, nil
}

func loadLexicon(spanish bool) (*lexicon, error) {
	room := sizeEN
	if spanish {
		room = sizeBoth
	}
	x := newLexicon(room)
	if err := x.load(data, "data/en", langEN); err != nil {
		return nil, err
	}
	es := "data/es/words.txt" // the function words tell the language
	if spanish {
		es = "data/es/*.txt"
	}
	if err := x.loadFiles(data, es, langES); err != nil {
		return nil, err
	}
	return x, nil
}

// newRecogniser adds a book's words to a fresh lexicon.
func newRecogniser(x *lexicon, v Vocabulary, spanish bool) (*Recogniser, error) {
	r := &Recogniser{x: x, foreign: map[string]string{}}
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
	if len(r.topics) >= maxTopics {
		return nil, fmt.Errorf("more than %d topics", maxTopics)
	}
	if err := r.loadWeights(); err != nil {
		return nil, err
	}
	x.spell = sync.OnceValue(x.spellWords)
	if err := r.loadForeign(); err != nil {
		return nil, err
	}
	if err := r.loadHeard(); err != nil {
		return nil, err
	}
	return r, nil
}

// Warm reads what is read late, so that an error in it shows at once.
func (r *Recogniser) Warm() error {
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

func (r *Recogniser) loadForeign() error {
	raw, err := fs.ReadFile(data, "data/foreign.txt")
	if err != nil {
		return fmt.Errorf("read foreign words: %w", err)
	}
	for _, line := range strings.Split(string(raw), "\n") {
		if lang, words, ok := strings.Cut(line, ": "); ok && line[0] != '#' {
			for _, w := range strings.Fields(words) {
				r.foreign[w] = lang
			}
		}
	}
	common, err := fs.ReadFile(data, "data/common.txt")
	if err != nil {
		return fmt.Errorf("read common words: %w", err)
	}
	r.common = string(common)
	return nil
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
