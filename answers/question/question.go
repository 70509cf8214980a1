// Package question turns a question's words into facts: quantities, concepts
// from lexicons, the topic that is asked about. It holds no rule values: what a
// club's book calls things comes in as a Vocabulary.
//
// The path of a question: fold and cut into tokens; find the language from its
// function words; find phrases of the lexicons (spelling slips corrected against
// the lexicons' own words); read quantities; set one bit for each concept; score
// the topics by their cues; fill the facts that the topic wants.
package question

import (
	"embed"

	"sidewall/answers/measure"
)

//go:embed data/topics data/landing.txt
var data embed.FS

// Question is a question as understood, before any rule is looked at.
type Question struct {
	Text            string
	Lang            string // "en", "es", or "other"
	Quantities      []Quantity
	UnknownDivision int  // a division number that the book lacks; 0 for none
	BadDate         bool // a date that does not exist was given
	TooLong         bool
	Empty           bool

	x       *lexicon
	r       *Recogniser
	toks    []token
	hits    []hit
	hitAt   []int16
	divs    []mention
	divSpan []span
	set     tagSet
	unknown int              // content words that nothing knows
	cues    [maxTopics]int32 // the sums of the hand-written cues for the whole question, once summed
	summed  bool
	later   bool // not the first question that is read: a table of the weights pays
	content int  // words that carry meaning

	toksBuf [64]token
	hitsBuf [40]hit
	atBuf   [64]int16
	qtyBuf  [12]Quantity
	divBuf  [3]mention
}

// Read recognises the words of text. lang forces a language ("en", "es"); ""
// finds it from the words.
func (r *Recogniser) Read(text, lang string) *Question { return r.ReadAfter(text, lang, "") }

// ReadAfter is Read in a conversation that was held in the language before: its
// words are taken where the question's own tell no language ("y 44", "sub 15").
func (r *Recogniser) ReadAfter(text, lang, before string) *Question {
	q := &Question{Text: text, x: r.x, r: r}
	q.toks, q.hits, q.Quantities, q.divs = q.toksBuf[:0], q.hitsBuf[:0], q.qtyBuf[:0], q.divBuf[:0]
	if len(text) > MaxLen {
		q.TooLong, q.Lang = true, "en"
		return q
	}
	q.toks = tokenize(fold(text), q.toks)
	q.hearRight()
	if r.only != nil && !r.only.covers(q.toks) {
		return r.whole().ReadAfter(text, lang, before)
	}
	if r.both != nil && (lang == "es" || lang == "" && (before == "es" || !q.surelyEnglish())) {
		if b, err := r.both(); err == nil { // Warm told the error, if there is one
			return b.ReadAfter(text, lang, before)
		}
	}
	if q.Lang = lang; lang == "" {
		q.Lang = q.language(before)
	}
	if q.Lang == "es" {
		q.spellOut()
		if r.only != nil && !r.only.covers(q.toks) {
			return r.whole().ReadAfter(text, lang, before)
		}
	}
	letters := 0
	for i := range q.toks {
		if q.toks[i].kind != markToken {
			letters++
		}
	}
	q.Empty = letters == 0
	langs := langEN
	if q.Lang == "es" {
		langs = langEN | langES
	}
	for i := range q.toks {
		t := &q.toks[i]
		r.x.lookup(t, langs)
		if _, _, small := smallOf(t); small && r.only != nil && langs&langES != 0 { // its word was passed over
			return r.whole().ReadAfter(text, lang, before)
		}
		r.x.diminutive(t, langs)
		if t.kind != wordToken || t.nids > 0 {
			t.known = true
			continue
		}
		if q.Lang == "es" && q.zoneAt(i) != "" { // "barriga" is no slip of "barrida"
			t.known = true
			continue
		}
		if len(t.text) < shortWord || r.isCommon(t.text) || t.text[len(t.text)-1] == 's' && r.isCommon(t.text[:len(t.text)-1]) {
			continue
		}
		if r.only != nil { // a slip, perhaps of a word that was passed over
			return r.whole().ReadAfter(text, lang, before)
		}
		if id, ok := r.x.correct(t.text, langs); ok {
			t.fixed, t.known = true, true
			r.x.respell(t, id, langs)
		}
	}
	q.later = r.only == nil && r.w.asked.Swap(true)
	q.hits = r.x.match(q.toks, q.hits, langs)
	if cap(q.atBuf) >= len(q.toks) {
		q.hitAt = q.atBuf[:len(q.toks)]
	} else {
		q.hitAt = make([]int16, len(q.toks))
	}
	for i := range q.hitAt {
		q.hitAt[i] = -1
	}
	for pass := 0; pass < 2; pass++ { // closed phrases first
		for k := range q.hits {
			if q.hits[k].open != (pass == 1) {
				continue
			}
			for i := q.hits[k].start; i < q.hits[k].end; i++ {
				if q.hitAt[i] < 0 {
					q.hitAt[i] = int16(k)
				}
			}
		}
	}
	q.landing()
	q.bareMidfield()
	q.quantities()
	q.warmSaid()
	q.schoolYear()
	q.gameClocks()
	q.ofTheDay()
	q.denied()
	q.corrected()
	q.cutFromTo()
	q.negate()
	q.leftBehind()
	q.levelEdge()
	q.roles()
	q.set = q.tagsIn(0, len(q.toks))
	q.countUnknown()
	return q
}

func contains(ts []Tag, t Tag) bool {
	for _, o := range ts {
		if o == t {
			return true
		}
	}
	return false
}

// reach is how many tokens after a negation still belong to it.
const reach = 5

// breakBetween says whether a comma, "but" or "and" stands between two tokens.
func (q *Question) breakBetween(a, b int) bool {
	for i := a; i < b; i++ {
		if q.mark(i, ",") || q.wordAt(i, "but") || q.wordAt(i, "pero") || q.wordAt(i, "so") {
			return true
		}
	}
	return false
}

// Bare numbers in these bounds look like a length in inches, or like a count of
// people and things. They only help to find the topic.
const (
	sizeLow, sizeHigh = 30, 99
	hotLow, hotHigh   = 80, 120 // °F, or a very long stick
	countHigh         = 20
)

// tagsIn is the set of concepts in a span of tokens, quantities included.
func (q *Question) tagsIn(start, end int) tagSet {
	var s tagSet
	for k := range q.hits {
		if h := &q.hits[k]; h.start >= start && h.end <= end {
			inside := q.insideQuantity(h)
			for _, t := range h.tags {
				if inside && q.x.info[t].format {
					continue // "in the 3rd quarter" asks nothing about quarters
				}
				s.add(t)
			}
		}
	}
	d := &q.x.std
	lengths := 0
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.start < start || u.end > end {
			continue
		}
		if u.Neg {
			s.add(d.qNeg)
		}
		switch u.Kind {
		case Length:
			lengths++
			s.add(d.qLen)
			if u.Role == noTag {
				s.add(d.lenNone)
			} else {
				s.add(q.x.info[u.Role].lenTag)
			}
			if u.feet {
				s.add(d.qFeet)
			}
			if u.Unit == d.yard || u.Unit == d.step || u.Unit == d.foot && !u.feet || u.Unit >= 0 && q.x.info[u.Unit].value == "m" {
				s.add(d.qYards)
			}
		case Span:
			s.add(d.qSpan)
		case Clock:
			s.add(d.qClock)
			if u.ofDay {
				s.add(d.qTimeOfDay)
			}
		case Weight:
			s.add(d.qWeight)
		case Warmth:
			s.add(d.qTemp)
		case Humid:
			s.add(d.qPercent)
		case Day:
			s.add(d.qDay)
		case Age:
			s.add(d.qAge)
		case Grade:
			s.add(d.qGrade)
		case Jersey:
			s.add(d.qJersey)
		case Period:
			s.add(d.qPeriod)
		case Half:
			s.add(d.qHalf)
		case Pair:
			s.add(d.qPair)
		case Season:
			s.add(d.qSeason)
		case Bare:
			s.add(d.qBare)
			if u.Role == noTag {
				s.add(d.bareNone)
			} else {
				s.add(q.x.info[u.Role].bareTag)
			}
			switch n := u.Hi / measure.One; {
			case n >= sizeLow && n <= sizeHigh:
				s.add(d.qSize)
				if n >= hotLow {
					s.add(d.qHot)
				}
			case n > sizeHigh && n <= hotHigh:
				s.add(d.qHot)
			case n <= countHigh && u.Hi%measure.One == 0:
				s.add(d.qCount)
			}
		case Ordinal:
			s.add(d.qPeriod)
		}
	}
	if lengths > 1 {
		s.add(d.qTwoLengths)
	}
	for _, v := range q.divs {
		if v.start >= start && v.end <= end {
			s.add(d.qDiv)
		}
	}
	if q.UnknownDivision != 0 {
		s.add(d.qUnknownDiv)
	}
	for i := start; i < end; i++ {
		if q.mark(i, "?") {
			s.add(d.qMark)
		}
	}
	return s
}

// insideQuantity says whether a phrase is part of a quantity's words.
func (q *Question) insideQuantity(h *hit) bool {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if q.Lang == "es" && h.start > u.start && h.start < u.end && h.end > u.end && u.Kind <= Weight && u.Kind != Bare && u.Kind != Clock {
			return true // "siete pulgadas y tres cuartos de vuelta"
		}
		if h.start >= u.start && h.end <= u.end && (u.Kind != Bare || h.start > u.start) {
			return true
		}
	}
	return false
}

// countUnknown counts the words that carry meaning and those that nothing knows:
// many strangers make it likely that the question is about something else.
func (q *Question) countUnknown() {
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || len(t.text) < 3 {
			continue
		}
		h := q.hitAt[i]
		if h < 0 {
			q.content++
			q.unknown++
			continue
		}
		for _, tag := range q.hits[h].tags {
			if tag != q.r.fn {
				q.content++
				break
			}
		}
	}
}

// Has says whether a concept occurs in the question.
func (q *Question) Has(tag string) bool {
	t, ok := q.x.tags[tag]
	return ok && q.set.has(t)
}

// Negated says whether a concept occurs, and whether a negation reaches it.
func (q *Question) Negated(tag string) (negated, present bool) {
	t, ok := q.x.tags[tag]
	if !ok {
		return false, false
	}
	for k := range q.hits {
		if contains(q.hits[k].tags, t) {
			return q.hits[k].negated, true
		}
	}
	return false, false
}
