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
	"fmt"
	"io/fs"
	"strings"
	"sync"
	"sync/atomic"
	"unicode"

	"sidewall/answers/measure"
)

//go:embed data
var data embed.FS

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
	unknown int // content words that nothing knows
	content int // words that carry meaning

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
		if t.kind != wordToken || t.nids > 0 {
			t.known = true
			continue
		}
		if len(t.text) < shortWord || r.isCommon(t.text) || t.text[len(t.text)-1] == 's' && r.isCommon(t.text[:len(t.text)-1]) {
			continue
		}
		if id, ok := r.x.correct(t.text, langs); ok {
			t.fixed, t.known = true, true
			r.x.respell(t, id, langs)
		}
	}
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
	q.bareMidfield()
	q.quantities()
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

// surelyEnglish says whether the question stays English whatever Spanish words
// its unknown words may be (see language).
func (q *Question) surelyEnglish() bool {
	en, perhaps := 0, 0
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || t.glued && i > 0 && q.toks[i-1].kind == numberToken {
			continue
		}
		if id, ok := q.x.words[t.text]; ok {
			if p := q.x.alone(id); p != nil {
				fnEN, fnES := contains(q.x.lists[p.en], q.r.fn), contains(q.x.lists[p.es], q.r.fn)
				if fnEN && !fnES {
					en += 2
				}
				if fnES && !fnEN {
					perhaps += 2
				}
				if fnEN || p.en != 0 {
					continue
				}
			}
		}
		perhaps++
	}
	return perhaps <= en && !strings.ContainsAny(q.Text, spanishMarks)
}

// spanishMarks tell Spanish where no word does.
const spanishMarks = "¿¡ñ"

// language finds the language from function words; trade words do not count.
func (q *Question) language(before string) string {
	en, es, other, alien, latin := 0, 0, 0, 0, 0
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || t.glued && i > 0 && q.toks[i-1].kind == numberToken { // "2do", "4to"
			continue
		}
		for _, c := range t.text {
			if unicode.Is(unicode.Latin, c) {
				latin++
			} else {
				alien++
			}
			break
		}
		fnEN, fnES := false, false
		if id, ok := q.x.words[t.text]; ok {
			if p := q.x.alone(id); p != nil {
				fnEN, fnES = contains(q.x.lists[p.en], q.r.fn), contains(q.x.lists[p.es], q.r.fn)
			}
			switch {
			case fnEN && !fnES:
				en += 2
			case fnES && !fnEN:
				es += 2
			case !fnEN && !fnES && q.x.langOf[id] == langES:
				es++
			}
		} else {
			q.x.lookup(t, langES)
			if t.nids > 0 && q.x.langOf[t.ids[0]] == langES {
				es++
			}
		}
		if _, ok := q.r.foreign[t.text]; ok && !fnEN && !fnES {
			other += 2
		}
	}
	switch {
	case alien > latin:
		return "other"
	case other > en && other > es && other >= 4:
		return "other"
	case es > en:
		return "es"
	}
	if en == 0 && es == 0 && (before == "es" || strings.ContainsAny(q.Text, spanishMarks)) {
		return "es"
	}
	return "en"
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

// negate marks the phrases that a negation before them reaches: "no butt cap",
// "without a mouthguard", "nobody ever cut the palms".
func (q *Question) sealedIn(k int) bool {
	n := &q.hits[k]
	for m := range q.hits {
		if h := &q.hits[m]; m != k && !h.open && h.start <= n.start && h.end >= n.end && h.end-h.start > n.end-n.start && q.inGroup(h, "palms") {
			return true // "nothing cut" says all that its "nothing" says
		}
	}
	return false
}

func (q *Question) negate() {
	for k := range q.hits {
		neg := false
		for _, t := range q.hits[k].tags {
			neg = neg || q.x.info[t].group == gNeg
		}
		if !neg || q.sealedIn(k) || q.onlyAsks(k) {
			continue
		}
		for m := k + 1; m < len(q.hits); m++ {
			h := &q.hits[m]
			if h.start-q.hits[k].end > reach || q.toks[h.start].sent != q.toks[q.hits[k].start].sent || q.breakBetween(q.hits[k].end, h.start) || q.saysAnew(q.hits[k].end, h.start) {
				break
			}
			h.negated = true
		}
	}
}

// onlyAsks says whether a "not" opens a question and denies nothing: "isn't a loose
// helmet legal?".
func (q *Question) onlyAsks(k int) bool {
	n := &q.hits[k]
	switch q.toks[n.start].text {
	case "isnt", "arent", "wasnt", "werent":
	case "dont", "doesnt", "didnt": // "I don't think a loose helmet is legal"
		if !q.wordAt(n.start+1, "think") && !q.wordAt(n.start+1, "believe") {
			return false
		}
	default:
		return false
	}
	if i := n.start; i > 0 && q.toks[i-1].sent == q.toks[i].sent && q.toks[i].text[0] != 'd' {
		switch q.toks[i-1].text {
		case "why", "so", "but", "and", "ok", "well", ",", ":", "-":
		default:
			return false // "his helmet isn't"
		}
	}
	for m := k + 1; m < len(q.hits); m++ {
		h := &q.hits[m]
		if q.toks[h.start].sent != q.toks[n.start].sent || q.breakBetween(n.end, h.start) {
			return false
		}
		if q.is(h, "ask:legal") {
			return h.start > n.end // "isn't legal" has no subject of its own
		}
	}
	return false
}

// saysAnew says whether a new statement begins between two tokens: "it's not a
// white one it's yellow".
func (q *Question) saysAnew(a, b int) bool {
	for i := a; i <= b && i < len(q.toks); i++ {
		switch q.toks[i].text {
		case "its", "hes", "theyre", "sino":
			return i > a
		}
	}
	return false
}

// breakBetween says whether a comma, "but" or "and" stands between two tokens.
func (q *Question) breakBetween(a, b int) bool {
	for i := a; i < b; i++ {
		if q.mark(i, ",") || q.wordAt(i, "but") || q.wordAt(i, "pero") || q.wordAt(i, "so") {
			return true
		}
	}
	return false
}

// askBetween says whether a question of its own begins between two tokens: "20 cm
// around and can the pole be 50".
func (q *Question) askBetween(a, b int) bool {
	for i := a; i < b; i++ {
		if q.connector(i) && q.toks[i].text != "-" && q.opens(i+1) {
			return true
		}
	}
	return false
}

// roles says for each length what it measures: the nearest word for a dimension
// in the same sentence, a following one ("11 inches wide") before a preceding one.
func (q *Question) roles() {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Length && u.Kind != Bare && u.Kind != Pair {
			continue
		}
		if u.Kind == Length && q.changes(u) {
			u.Role = q.x.std.dimChange
			continue
		}
		best := 1000
		for h := range q.hits {
			p := &q.hits[h]
			if q.toks[p.start].sent != q.toks[u.start].sent {
				continue
			}
			for _, t := range p.tags {
				if q.x.info[t].group != gDim || t == q.x.std.dimStick && u.Kind == Length && u.Lo <= q.x.std.bigChange {
					continue // no stick is that short: it is of its head or its strings
				}
				if t == q.x.std.dimHeight && p.start >= u.end && q.saysWhatHeIs(p) {
					continue // "45 inches, he's a defender"
				}
				cost := 0
				if p.start >= u.end {
					cost = 2 * (p.start - u.end)
					if cost > 2 {
						cost += 3
					}
				} else {
					cost = 2*(u.start-p.end) + 1
				}
				if q.breakBetween(u.end, p.start) || q.breakBetween(p.end, u.start) {
					cost += 6
				}
				if q.askBetween(u.end, p.start) || q.askBetween(p.end, u.start) {
					continue
				}
				for o := range q.Quantities { // another quantity in between takes the word first
					v := &q.Quantities[o]
					if o != k && (v.Kind == Length || v.Kind == Bare) && (v.start >= u.end && v.end <= p.start || v.start >= p.end && v.end <= u.start) {
						cost += 8
					}
				}
				if cost < best {
					best, u.Role = cost, t
				}
			}
		}
		if u.Role == noTag {
			u.Role = q.heading(u)
		}
		q.bareMetres(u)
		q.metreHeight(u)
		if u.feet && u.Role == noTag && u.start > 0 && (q.toks[u.start-1].text == "its" || q.wordAt(u.start-2, "it")) && q.tagInScope(q.Whole(), "stick") ||
			u.feet && u.Role == noTag && (q.wordAt(u.start-1, "thats") || q.wordAt(u.start-1, "is")) && (q.wordAt(u.start-2, "one") || q.wordAt(u.start-2, "stick") || q.wordAt(u.start-2, "pole")) {
			u.Role = q.x.std.dimStick // "we measured the pole and it's 4 foot 7"
			continue
		}
		if u.feet && best > 2 && u.Lo >= q.x.std.childHeight && u.Role == noTag {
			u.Role = q.x.std.dimHeight // nothing else of the game is said in feet and inches
		}
		// 4'6" defender, 5 ft 2 kid: feet and inches before a person are a height
		if u.feet && (u.Role == noTag || best > 2) && !q.stickSaid(u) {
			for i := u.end; i < min(u.end+3, len(q.toks)); i++ {
				if h := q.hitAt[i]; h >= 0 && contains(q.hits[h].tags, q.x.std.person) {
					u.Role = q.x.std.dimHeight
				}
			}
			for i := max(0, u.start-4); i < u.start; i++ {
				if h := q.hitAt[i]; h >= 0 && contains(q.hits[h].tags, q.x.std.person) && best > 2 {
					u.Role = q.x.std.dimHeight
				}
			}
			for _, s := range q.divSpan {
				if s.start >= u.end && s.start <= u.end+1 && u.Role == noTag {
					u.Role = q.x.std.dimHeight
				}
			}
		}
	}
}

// saysWhatHeIs says whether "he is" is followed by what he is, and so by no height.
func (q *Question) saysWhatHeIs(h *hit) bool {
	switch q.toks[h.end-1].text {
	case "hes", "shes", "is", "im":
		return q.wordAt(h.end, "a") || q.wordAt(h.end, "an") || q.wordAt(h.end, "on") || q.wordAt(h.end, "our") || q.wordAt(h.end, "my")
	}
	return false
}

// metreHeight makes a length of a bare 1.45 or "uno setenta" that is said of how
// tall somebody is.
func (q *Question) metreHeight(u *Quantity) {
	if u.Kind != Bare || u.Role != q.x.std.dimHeight || u.Lo != u.Hi {
		return
	}
	if u.Lo > measure.One && u.Lo < 22*measure.One/10 && u.Lo%measure.One != 0 {
		u.Kind, u.Lo = Length, u.Lo*int64(measure.Metre)/measure.One
		u.Hi = u.Lo
	}
}

// changes says whether a length is an amount that is cut off or added rather
// than a size: "cuts two inches off", but not "cut to 42 inches".
func (q *Question) changes(u *Quantity) bool {
	if u.start > 0 {
		switch q.toks[u.start-1].text {
		case "to", "a", "at", "es", "is":
			if q.toks[u.start-1].text != "a" || q.Lang == "es" {
				return false
			}
		}
	}
	if int64(u.Lo) > q.x.std.bigChange {
		return false
	}
	if u.end < len(q.toks) && q.mark(u.end, ",") && !q.near(u, "change:add") {
		return q.cutBefore(u) // "hang 3 inches, do I cut them?"
	}
	return q.near(u, "change:cut") || q.near(u, "change:add")
}

// Bare numbers in these bounds look like a length in inches, or like a count of
// people and things. They only help to find the topic.
const (
	sizeLow, sizeHigh = 30, 99
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
