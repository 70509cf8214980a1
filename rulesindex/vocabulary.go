package rulesindex

import (
	"strings"
	"unicode/utf8"
)

// A stem's number is its place in vocabulary.names.
type stemID = int32

// word is what is known of a word as people write it.
type word struct {
	stem  stemID
	stop  bool
	faint bool  // a stop word that helps to choose a section
	slip  uint8 // the edits of its correction
}

// idPhrase is a phrase in numbers.
type idPhrase struct{ from, to []stemID }

// vocabulary numbers the stems of a book and of the word lists, and turns texts
// into stems. It does not change once the index is built.
type vocabulary struct {
	lx    *lexicon
	names []string
	ids   map[string]stemID
	words map[string]word // by surface

	same    [][]idPhrase // by first stem; longest first
	related map[stemID][]stemID
	must    map[stemID]bool // names another matter: a passage without it is no answer
	soft    map[stemID]bool // says little

	spIDs map[string]stemID // Spanish stems have numbers of their own
	spOf  map[string]stemID // the Spanish list's words to spIDs
	exact map[string][]stemID
	toEn  map[stemID][]idPhrase
}

func newVocabulary(lx *lexicon) *vocabulary {
	v := &vocabulary{
		lx: lx, ids: map[string]stemID{}, words: map[string]word{}, related: map[stemID][]stemID{},
		must: map[stemID]bool{}, soft: map[stemID]bool{},
		spIDs: map[string]stemID{}, spOf: map[string]stemID{}, toEn: map[stemID][]idPhrase{},
		exact: make(map[string][]stemID, len(lx.exact)),
	}
	for w := range lx.stop {
		v.words[w] = word{stem: v.intern(lx.english.stem([]byte(w))), stop: true, faint: lx.faint[w]}
	}
	for _, w := range lx.enWords {
		v.know(w)
	}
	for w := range lx.everyday {
		v.know(w)
	}
	for w := range lx.elsewhere {
		v.must[v.know(w).stem] = true
	}
	for w := range lx.soft {
		v.soft[v.know(w).stem] = true
	}
	for _, list := range lx.same {
		for _, p := range list {
			first := v.intern(p.from[0])
			for int(first) >= len(v.same) {
				v.same = append(v.same, nil)
			}
			v.same[first] = append(v.same[first], idPhrase{v.interns(p.from), v.interns(p.to)})
		}
	}
	for st, others := range lx.related {
		v.related[v.intern(st)] = v.interns(others)
	}
	spanish := func(st string) stemID {
		id, ok := v.spIDs[st]
		if !ok {
			id = stemID(len(v.spIDs))
			v.spIDs[st] = id
		}
		return id
	}
	for _, list := range lx.toEn {
		for _, p := range list {
			from := make([]stemID, len(p.from))
			for i, st := range p.from {
				from[i] = spanish(st)
			}
			v.toEn[from[0]] = append(v.toEn[from[0]], idPhrase{from, v.interns(p.to)})
		}
	}
	for w, to := range lx.exact {
		v.exact[w] = v.interns(to)
	}
	for w, st := range lx.spWords {
		v.spOf[w] = spanish(st)
	}
	return v
}

// know makes a word known, so that it is never taken for a slip.
func (v *vocabulary) know(surface string) word {
	w, ok := v.words[surface]
	if !ok {
		w = word{stem: v.intern(v.lx.english.stem([]byte(surface)))}
		v.words[surface] = w
		if strings.Trim(surface, "0123456789") == "" {
			v.soft[w.stem] = true // a number alone is found anywhere
		}
	}
	return w
}

func (v *vocabulary) intern(stem string) stemID {
	if id, ok := v.ids[stem]; ok {
		return id
	}
	id := stemID(len(v.names))
	v.names = append(v.names, stem)
	v.ids[stem] = id
	return id
}

func (v *vocabulary) interns(stems []string) []stemID {
	out := make([]stemID, len(stems))
	for i, s := range stems {
		out[i] = v.intern(s)
	}
	return out
}

// learn makes the words of a text of the book known. All texts are learnt
// before the first is analysed, so that "face off" can join to a "faceoff"
// that stands further on.
func (v *vocabulary) learn(ws *words, text string, count func(surface string)) {
	ws.split(text, len(text)+1)
	for i := range ws.len() {
		w, known := v.words[string(ws.at(i))]
		if !known {
			w = v.know(string(ws.at(i)))
		}
		if !w.stop {
			count(string(ws.at(i)))
		}
	}
}

// joined is the word that the words i and i+1 make when written as one.
func (v *vocabulary) joined(ws *words, i int) (word, bool) {
	if i+1 >= ws.len() {
		return word{}, false
	}
	from := 0
	if i > 0 {
		from = ws.ends[i-1]
	}
	both := ws.buf[from:ws.ends[i+1]]
	if len(both) < 6 || !utf8.Valid(both) {
		return word{}, false
	}
	w, ok := v.words[string(both)]
	return w, ok && !w.stop
}

// analyse appends a book text's stems, phrases rewritten, stop words dropped; the
// stems of the faint words among those go into a list of their own.
func (v *vocabulary) analyse(ws *words, text string, seq []word, out, faint []stemID) (_ []word, _, _ []stemID) {
	ws.split(text, len(text)+1)
	seq = seq[:0]
	for i := 0; i < ws.len(); i++ {
		if w, ok := v.joined(ws, i); ok {
			seq = append(seq, w)
			i++
			continue
		}
		if w, ok := v.words[string(ws.at(i))]; ok { // always, when learnt
			seq = append(seq, w)
		}
	}
	for i := 0; i < len(seq); {
		if p := v.phraseAt(seq[i:]); p != nil {
			out = append(out, p.to...)
			i += len(p.from)
			continue
		}
		switch {
		case !seq[i].stop:
			out = append(out, seq[i].stem)
		case seq[i].faint:
			faint = append(faint, seq[i].stem)
		}
		i++
	}
	return seq, out, faint
}

// phraseAt is the longest phrase at the start of the sequence, or nil.
func (v *vocabulary) phraseAt(seq []word) *idPhrase {
	first := seq[0].stem
	if first < 0 || int(first) >= len(v.same) {
		return nil
	}
next:
	for i := range v.same[first] {
		p := &v.same[first][i]
		if len(p.from) > len(seq) {
			continue
		}
		for j, st := range p.from {
			if seq[j].stem != st {
				continue next
			}
		}
		return p
	}
	return nil
}
