// Package rulesindex finds the passage of a club's summaries that answers a
// question, or says that none does. Lint and publishing live elsewhere.
//
// A summary is split at its headings; each section is one document of a bleve
// index in memory. Both the book and the question go through the same steps:
// words, joined pairs ("face off" is faceoff), stop words (which leave no, off,
// out, over and under alone), stems, and the club's synonyms with their phrases.
// bleve gets the stems, so nothing is analysed twice and nothing can differ.
//
// A question takes the further steps that a book needs not: Spanish words become
// English ones, words that the book lacks are corrected against those it has.
// bleve then gives the candidates; rank.go orders them by how much of the question
// they answer, and says how sure a hit is, which decides that nothing was found.
package rulesindex

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/whitespace"
	"github.com/blevesearch/bleve/v2/document"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/mapping"
	index "github.com/blevesearch/bleve_index_api"

	"sidewall/answers/book"
	"sidewall/answers/markdown"
	"sidewall/answers/measure"
)

// The fields of a document, what they weigh in bleve's query, and the share of
// a word's weight that a match there gives in the coverage (see rank.go).
const (
	fTitle = iota
	fQuestions
	fTopics
	fHeading
	fBody
	nFields
)

var (
	fieldNames  = [nFields]string{"title", "questions", "topics", "heading", "body"}
	fieldBoosts = [nFields]float64{1.5, 1, 0.75, 1.5, 1}
	fieldShares = [nFields]float32{1, 1, 0.9, 1, 0.85}
)

// otherSection is the share of a match in another section of the summary.
const otherSection = 0.7

// Options is how an index is built; the zero value is right for most.
type Options struct {
	Words fs.FS // the folder of word lists; nil: ShippedWords
}

// strength says how well a stem is covered.
type strength struct {
	stem  stemID
	share float32
}

// passage is one section of a summary.
type passage struct {
	summary   *page
	heading   string
	line      int
	terms     []strength // heading and body, by stem
	faint     []strength // the faint words of heading and body
	pairs     []pair     // neighbouring stems of its sentences, sorted
	sentences []sentence
}

// pair is two stems next to each other, in one number. Book and question leave out
// stop words alike, so "length of a pole" and "pole length" differ only in order.
type pair uint32

func pairOf(a, b stemID) pair {
	// Different pairs may share a number; a wrong one in four thousand million does no harm.
	return pair(uint32(a)*2654435761 ^ uint32(b)*2246822519)
}

// sentence is a sentence as shown, and its stems in order of number.
type sentence struct {
	text  string
	stems []stemID // faint words too
}

// ask is one of the questions that a summary says it answers.
type ask struct {
	stems []stemID // sorted
	norm  float32  // square root of the sum of the squared weights
}

// page is a summary.
type page struct {
	id, title string
	divisions []string
	from      measure.Date
	terms     []strength // of the whole summary, by stem
	asks      []ask      // its questions, and its title
}

// Index is the index of one book. It does not change; a new book gets a new
// Index, and Live swaps them.
type Index struct {
	bleve    bleve.Index
	vocab    *vocabulary
	spell    *speller
	spSpell  *speller
	passages []passage
	weights  []float32 // by stem; 0 where the book lacks the stem
	faint    []float32 // by stem: what it weighs as a faint word
	fields   []uint8   // by stem: the fields that have it, as bits
	unknown  float32   // the weight of a word that the book lacks
	scratch  sync.Pool

	users    atomic.Int64 // searches that run, and one for the owner
	closed   atomic.Bool
	closeErr error
	done     chan struct{} // closed when bleve's index is
}

// Build indexes the summaries of a book in memory.
func Build(ctx context.Context, b *book.Book, opts Options) (*Index, error) {
	if opts.Words == nil {
		opts.Words = ShippedWords()
	}
	lx, err := readLexicon(opts.Words)
	if err != nil {
		return nil, err
	}
	bi, err := newBleve()
	if err != nil {
		return nil, err
	}
	ix := &Index{bleve: bi, vocab: newVocabulary(lx), done: make(chan struct{})}
	ix.scratch.New = func() any { return new(scratch) }
	ix.users.Store(1)
	if err := ix.fill(ctx, b); err != nil {
		_ = bi.Close() // the first error says more
		return nil, err
	}
	return ix, nil
}

// newBleve makes an empty index. bleve.NewMemOnly is the slower of its two
// stores; scorch without a path keeps everything in memory.
func newBleve() (bleve.Index, error) {
	m := bleve.NewIndexMapping()
	const stems = "stems"
	if err := m.AddCustomAnalyzer(stems, map[string]any{"type": custom.Name, "tokenizer": whitespace.Name}); err != nil {
		return nil, fmt.Errorf("setting up the analyzer: %w", err)
	}
	doc := mapping.NewDocumentStaticMapping()
	for _, name := range fieldNames {
		f := mapping.NewTextFieldMapping()
		f.Analyzer, f.Store, f.IncludeTermVectors, f.IncludeInAll, f.DocValues = stems, false, false, false, false
		doc.AddFieldMappingsAt(name, f)
	}
	m.DefaultMapping, m.DefaultAnalyzer, m.ScoringModel = doc, stems, "bm25"
	bi, err := bleve.NewUsing("", m, scorch.Name, scorch.Name, nil)
	if err != nil {
		return nil, fmt.Errorf("opening an index in memory: %w", err)
	}
	return bi, nil
}

// fill puts the summaries in: one batch, because bleve's scores depend on how
// documents are spread over batches.
func (ix *Index) fill(ctx context.Context, b *book.Book) error {
	md := markdown.NewParser()
	pages := make([]*rawPage, 0, len(b.Summaries))
	var ws words
	freq := map[string]int{}
	count := func(surface string) { freq[surface]++ }
	for i, s := range b.Summaries {
		if i%64 == 0 && ctx.Err() != nil {
			return fmt.Errorf("indexing the summaries: %w", ctx.Err())
		}
		p := newRawPage(s)
		for _, t := range p.texts() {
			ix.vocab.learn(&ws, t, count)
		}
		for _, sec := range p.sections {
			sents := sentences(md, sec.Text)
			for _, t := range sents {
				ix.vocab.learn(&ws, t, count)
			}
			p.sentences = append(p.sentences, sents)
		}
		pages = append(pages, p)
		runtime.Gosched() // what waits for an answer goes first
	}

	batch := ix.bleve.NewBatch()
	an := analyser{v: ix.vocab, fields: make([]uint8, len(ix.vocab.names)), docs: make([]int32, len(ix.vocab.names)), in: make([]int32, len(ix.vocab.names))}
	ix.passages = make([]passage, 0, 4*len(pages))
	for i, p := range pages {
		if i%64 == 0 && ctx.Err() != nil {
			return fmt.Errorf("indexing the summaries: %w", ctx.Err())
		}
		if err := ix.add(batch, &an, p); err != nil {
			return err
		}
		runtime.Gosched()
	}
	ix.weigh(&an, len(pages))
	if err := ix.bleve.Batch(batch); err != nil {
		return fmt.Errorf("indexing %d passages: %w", len(ix.passages), err)
	}
	ix.spell = newSpeller(freq, lxFreq(ix.vocab))
	ix.spSpell = newSpeller(nil, spanishFreq(ix.vocab))
	return nil
}

// rawPage is a summary on its way into the index.
type rawPage struct {
	*book.Summary
	topics    string
	sections  []book.Section
	sentences [][]string
}

func newRawPage(s *book.Summary) *rawPage {
	p := &rawPage{Summary: s, sections: s.Sections}
	if len(p.sections) == 0 {
		p.sections = []book.Section{{Text: s.Body}}
	}
	// A topic is an id of several words: long-crosse-count.
	p.topics = strings.ReplaceAll(strings.Join(s.Topics, " "), "-", " ")
	return p
}

func (p *rawPage) texts() []string {
	out := append([]string{p.Title, p.topics}, p.Questions...)
	for _, s := range p.sections {
		out = append(out, s.Heading)
	}
	return out
}

// analyser keeps what indexing counts.
type analyser struct {
	v      *vocabulary
	ws     words
	seq    []word
	faint  []stemID // of the last text
	fields []uint8
	docs   []int32 // summaries that have the stem
	in     []int32 // passages that have it as a faint word
}

// stems analyses one text and notes the field that it stands in.
func (an *analyser) stems(text string, field int) []stemID {
	var out []stemID
	an.seq, out, an.faint = an.v.analyse(&an.ws, text, an.seq, nil, an.faint[:0])
	for _, st := range out {
		an.fields[st] |= 1 << field
	}
	return out
}

func (an *analyser) text(stems []stemID) string {
	var b strings.Builder
	for i, st := range stems {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(an.v.names[st])
	}
	return b.String()
}

// bleveDocument makes what bleve indexes of a passage. It goes round bleve's
// mapping, whose tokenizer takes eight kilobytes for each text: of ten thousand
// summaries that is two gigabytes, and a collector that keeps the questions waiting.
func bleveDocument(n int, texts *[nFields]string) *document.Document {
	doc := document.NewDocument(strconv.Itoa(n))
	for i, name := range fieldNames {
		f := document.NewTextFieldCustom(name, nil, []byte(texts[i]), index.IndexField, stemCutter{})
		f.Analyze()
		doc.AddField(analysed{f})
	}
	doc.SetIndexed()
	return doc
}

// analysed is a field that has been analysed. bleve would do it on more goroutines
// than there are cores, so that a question that comes meanwhile finds none free.
type analysed struct{ *document.TextField }

// Analyze has nothing left to do.
func (analysed) Analyze() {}

// stemCutter cuts a text of stems at its blanks, as the mapping's analyzer does.
type stemCutter struct{}

func (stemCutter) Analyze(text []byte) analysis.TokenStream {
	n := bytes.Count(text, []byte{' '}) + 1
	tokens, out := make([]analysis.Token, 0, n), make(analysis.TokenStream, 0, n)
	for start := 0; start < len(text); {
		end := len(text)
		if i := bytes.IndexByte(text[start:], ' '); i >= 0 {
			end = start + i
		}
		if end > start {
			tokens = append(tokens, analysis.Token{Term: text[start:end], Start: start, End: end, Position: len(tokens) + 1, Type: analysis.AlphaNumeric})
			out = append(out, &tokens[len(tokens)-1])
		}
		start = end + 1
	}
	return out
}

func (ix *Index) add(batch *bleve.Batch, an *analyser, raw *rawPage) error {
	p := &page{id: raw.ID, title: raw.Title, divisions: raw.Divisions, from: raw.From}
	all := map[stemID]float32{}
	note := func(into map[stemID]float32, stems []stemID, share float32) {
		for _, st := range stems {
			into[st] = max(into[st], share)
		}
	}
	title, topics := an.stems(raw.Title, fTitle), an.stems(raw.topics, fTopics)
	note(all, title, fieldShares[fTitle])
	note(all, topics, fieldShares[fTopics])
	p.asks = append(p.asks, ask{stems: sorted(title)})
	var questions []stemID
	for _, q := range raw.Questions {
		st := an.stems(q, fQuestions)
		p.asks = append(p.asks, ask{stems: sorted(st)})
		questions = append(questions, st...)
	}
	note(all, questions, fieldShares[fQuestions])
	var texts [nFields]string
	texts[fTitle], texts[fQuestions], texts[fTopics] = an.text(title), an.text(questions), an.text(topics)
	for i, sec := range raw.sections {
		ps := passage{summary: p, heading: sec.Heading, line: sec.Line}
		own := map[stemID]float32{}
		heading := an.stems(sec.Heading, fHeading)
		note(own, heading, fieldShares[fHeading])
		faint := map[stemID]float32{}
		note(faint, an.faint, fieldShares[fHeading])
		note(all, heading, otherSection)
		var body []stemID
		for _, s := range raw.sentences[i] {
			st := an.stems(s, fBody)
			note(faint, an.faint, fieldShares[fBody])
			for j := 1; j < len(st); j++ {
				ps.pairs = append(ps.pairs, pairOf(st[j-1], st[j]))
			}
			ps.sentences = append(ps.sentences, sentence{s, sorted(append(st[:len(st):len(st)], an.faint...))})
			body = append(body, st...)
		}
		note(own, body, fieldShares[fBody])
		note(all, body, otherSection)
		slices.Sort(ps.pairs)
		ps.pairs = slices.Clip(slices.Compact(ps.pairs))
		ps.terms, ps.faint = strengths(own), strengths(faint)
		for st := range faint {
			an.in[st]++
		}
		texts[fHeading], texts[fBody] = an.text(heading), an.text(body)
		if err := batch.IndexAdvanced(bleveDocument(len(ix.passages), &texts)); err != nil {
			return fmt.Errorf("indexing %q of %s: %w", sec.Heading, raw.ID, err)
		}
		ix.passages = append(ix.passages, ps)
	}
	p.terms = strengths(all)
	for st := range all {
		an.docs[st]++
	}
	return nil
}

// weigh gives every stem its weight: the rarer, the heavier.
func (ix *Index) weigh(an *analyser, pages int) {
	rarity := func(docs int32, of int) float32 {
		return float32(math.Log(1 + (float64(of)-float64(docs)+0.5)/(float64(docs)+0.5)))
	}
	weight := func(docs int32) float32 { return rarity(docs, pages) }
	ix.fields = an.fields
	ix.weights = make([]float32, len(an.docs))
	for st, n := range an.docs {
		if n > 0 {
			ix.weights[st] = weight(n)
		}
	}
	ix.faint = make([]float32, len(an.in))
	for st, n := range an.in {
		if n > 0 {
			ix.faint[st] = rarity(n, len(ix.passages))
		}
	}
	// As heavy as a word that two of a hundred summaries have: heavier, and one
	// odd word would sink a good question in a big book.
	ix.unknown = weight(int32(1 + pages/50))
	for i := range ix.passages {
		p := ix.passages[i].summary
		if len(p.asks) == 0 || p.asks[0].norm != 0 {
			continue
		}
		for j := range p.asks {
			var sum float32
			for _, st := range p.asks[j].stems {
				sum += ix.weights[st] * ix.weights[st]
			}
			p.asks[j].norm = float32(math.Sqrt(float64(sum)))
		}
	}
}

func sorted(stems []stemID) []stemID {
	out := slices.Clone(stems)
	slices.Sort(out)
	return slices.Compact(out)
}

func strengths(m map[stemID]float32) []strength {
	out := make([]strength, 0, len(m))
	for st, share := range m {
		out = append(out, strength{st, share})
	}
	slices.SortFunc(out, func(a, b strength) int { return int(a.stem - b.stem) })
	return out
}

// enter lets a search in; false when the index is closed or closing.
func (ix *Index) enter() bool {
	for {
		n := ix.users.Load()
		if n == 0 || ix.closed.Load() {
			return false
		}
		if ix.users.CompareAndSwap(n, n+1) {
			return true
		}
	}
}

// leave ends a search; the last one out closes.
func (ix *Index) leave() {
	if ix.users.Add(-1) == 0 {
		if err := ix.bleve.Close(); err != nil {
			ix.closeErr = fmt.Errorf("closing the index: %w", err)
		}
		close(ix.done)
	}
}

// retire closes the index when its last search has ended, without waiting.
func (ix *Index) retire() {
	if ix.closed.CompareAndSwap(false, true) {
		ix.leave()
	}
}

// Close waits for the searches that run, and frees the index. Calling it again
// does no harm.
func (ix *Index) Close() error {
	ix.retire()
	<-ix.done
	return ix.closeErr
}
