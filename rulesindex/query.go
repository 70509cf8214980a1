package rulesindex

import (
	"bytes"
	"slices"
)

// maxConcepts bounds what is looked for.
const maxConcepts = 24

// concept is a word of the question that says something about the matter.
type concept struct {
	stem    stemID // -1: the book and the lists lack it
	weight  float32
	sure    float32 // 1, or less after a correction
	must    bool
	related []stemID
}

// softly is what a soft word weighs of its own weight.
const softly = 0.35

// How sure a corrected word is, by the number of slips.
var sureness = [...]float32{1, 0.85, 0.7}

// span is a part of a question: the words from..to.
type span struct{ from, to int }

// understand turns the words of a span into concepts.
func (ix *Index) understand(sc *scratch, lang string, part span) []concept {
	sc.seq = sc.seq[:0]
	if ix.isSpanish(&sc.words, lang, part) {
		ix.spanish(sc, part)
	} else {
		ix.english(sc, part)
	}
	sc.concepts, sc.faint = sc.concepts[:0], sc.faint[:0]
	for i := 0; i < len(sc.seq) && len(sc.concepts) < maxConcepts; {
		if p := ix.vocab.phraseAt(sc.seq[i:]); p != nil {
			var slip uint8
			for _, w := range sc.seq[i : i+len(p.from)] {
				slip = max(slip, w.slip)
			}
			for _, st := range p.to {
				ix.addConcept(sc, word{stem: st, slip: slip})
			}
			i += len(p.from)
			continue
		}
		switch w := sc.seq[i]; {
		case !w.stop:
			ix.addConcept(sc, w)
		case w.faint && int(w.stem) < len(ix.faint) && ix.faint[w.stem] > 0 && !slices.Contains(sc.faint, w.stem):
			sc.faint = append(sc.faint, w.stem)
		}
		i++
	}
	return sc.concepts
}

func (ix *Index) addConcept(sc *scratch, w word) {
	c := concept{stem: w.stem, weight: ix.unknown, sure: sureness[w.slip]}
	if w.stem >= 0 {
		for i := range sc.concepts {
			if sc.concepts[i].stem == w.stem {
				return
			}
		}
		if int(w.stem) < len(ix.weights) && ix.weights[w.stem] > 0 {
			c.weight = ix.weights[w.stem]
		}
		c.related, c.must = ix.vocab.related[w.stem], ix.vocab.must[w.stem]
		if ix.vocab.soft[w.stem] {
			c.weight *= softly
		}
	}
	sc.concepts = append(sc.concepts, c)
}

// remark says whether a text begins as remarks do that ask for nothing. With a
// question mark somewhere it may still ask.
func (lx *lexicon) remark(ws *words) bool {
	if ws.len() == 0 || slices.Contains(ws.asks, true) {
		return false
	}
next:
	for _, r := range lx.remarks[string(ws.at(0))] {
		if len(r) > ws.len() {
			continue
		}
		for i, w := range r {
			if w != string(ws.at(i)) {
				continue next
			}
		}
		return true
	}
	return false
}

// isSpanish decides by the words that only one of the two languages has.
func (ix *Index) isSpanish(ws *words, lang string, part span) bool {
	if lang == "es" {
		return true
	}
	es, en := 0, 0
	for i := part.from; i < part.to; i++ {
		w := ws.at(i)
		_, known := ix.vocab.words[string(w)]
		_, listed := ix.vocab.spOf[string(w)]
		switch spanish := listed || ix.vocab.lx.spStop[string(w)]; {
		case spanish && !known:
			es++
		case known && !spanish:
			en++
		}
	}
	return es > en
}

func (ix *Index) english(sc *scratch, part span) {
	for i := part.from; i < part.to; i++ {
		if i+1 < part.to {
			if w, ok := ix.vocab.joined(&sc.words, i); ok {
				sc.seq = append(sc.seq, w)
				i++
				continue
			}
		}
		if w, ok := ix.englishWord(sc.words.at(i)); ok {
			sc.seq = append(sc.seq, w)
		}
	}
}

// englishWord looks a word up: as written, by its stem, corrected. ok is false
// for a number that the book does not have: it says nothing about the matter.
func (ix *Index) englishWord(b []byte) (word, bool) {
	if w, ok := ix.vocab.words[string(b)]; ok {
		return w, true
	}
	if bytes.ContainsAny(b, "0123456789") || len(b) == 1 {
		return word{}, false
	}
	if len(b) <= 2*maxSpelled { // longer is no word
		if id, ok := ix.vocab.ids[ix.vocab.lx.english.stem(b)]; ok {
			return word{stem: id}, true
		}
		if s, d, ok := ix.spell.correct(b); ok {
			w := ix.vocab.words[s]
			w.slip = uint8(d)
			return w, true
		}
	}
	return word{stem: -1}, true
}

// spanish puts English stems in the place of Spanish words. What is in neither
// language stays unknown.
func (ix *Index) spanish(sc *scratch, part span) {
	v := ix.vocab
	sc.es = sc.es[:0]
	for i := part.from; i < part.to; i++ {
		b := sc.words.at(i)
		w := word{stem: -1, stop: v.lx.spStop[string(b)]}
		if id, ok := v.spOf[string(b)]; ok {
			w.stem = id
		} else if w.stop {
			// An article's stem may be that of another word: para, pared.
		} else if id, ok := v.spIDs[v.lx.spanish.stem(b)]; ok {
			w.stem = id
		} else if _, english := v.words[string(b)]; !english {
			if s, d, ok := ix.spSpell.correct(b); ok {
				w.stem, w.slip = v.spOf[s], uint8(d)
			}
		}
		sc.es = append(sc.es, w)
	}
	for i := 0; i < len(sc.es); {
		to, n := v.spanishAt(sc.es[i:])
		if n == 1 {
			if own, ok := v.exact[string(sc.words.at(part.from+i))]; ok {
				to = own
			}
		}
		if n > 0 {
			for _, st := range to {
				sc.seq = append(sc.seq, word{stem: st, slip: sc.es[i].slip})
			}
			i += n
			continue
		}
		if !sc.es[i].stop {
			if w, ok := ix.englishWord(sc.words.at(part.from + i)); ok {
				sc.seq = append(sc.seq, w)
			}
		}
		i++
	}
}

// spanishAt is the English for the longest Spanish phrase at the start, and
// how many words it takes; articles and the like may stand inside it.
func (v *vocabulary) spanishAt(seq []word) ([]stemID, int) {
	if seq[0].stem < 0 {
		return nil, 0
	}
next:
	for _, p := range v.toEn[seq[0].stem] {
		at := 1
		for _, st := range p.from[1:] {
			for at < len(seq) && seq[at].stem != st && seq[at].stop {
				at++
			}
			if at == len(seq) || seq[at].stem != st {
				continue next
			}
			at++
		}
		return p.to, at
	}
	return nil, 0
}

// lastQuestion is the part of a long text that asks: from the end of the
// sentence before the last question mark to it.
func lastQuestion(ws *words) (span, bool) {
	for i := ws.len() - 1; i >= 0; i-- {
		if ws.asks[i] {
			from := i
			for from > 0 && !ws.stops[from-1] {
				from--
			}
			return span{from, i + 1}, i+1-from >= 2 && (from > 0 || i+1 < ws.len())
		}
	}
	return span{}, false
}

// share is how well a sorted list covers a stem.
func share(list []strength, st stemID) float32 {
	i, ok := slices.BinarySearchFunc(list, st, func(s strength, st stemID) int { return int(s.stem - st) })
	if !ok {
		return 0
	}
	return list[i].share
}
