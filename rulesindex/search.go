package rulesindex

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"sidewall/answers/measure"
)

// ErrClosed says that the index was closed before the search began.
var ErrClosed = errors.New("the index is closed")

// Query is what is asked.
type Query struct {
	Text     string
	Lang     string       // "en", "es", or "" to let the words decide
	Division string       // "": all
	On       measure.Date // summaries that begin later are left out; zero: all
	Limit    int          // at most so many hits; 0 is 3
	All      bool         // also what answers too little: for measuring the order alone
}

// Hit is a passage that answers, the best of its summary.
type Hit struct {
	ID      string // of the summary
	Title   string
	Section string // the heading; "" for text before the first
	Snippet string // plain text
	Score   float64
	Line    int // of the section in the summary's file
}

const (
	defaultLimit = 3
	// candidates is how many passages bleve hands over. Several of one summary
	// may be among them, and some fall to the filters.
	candidates = 32
	// relatedBoost is the weight of a related word in the query.
	relatedBoost = 0.5
)

// scratch is the memory of one search, used again by the next.
type scratch struct {
	words    words
	seq, es  []word
	concepts []concept
	faint    []stemID
	remark   bool
	cands    []candidate
	pages    []pageScore
}

// Search finds the passages that answer a question, best first. A hit's score says
// how sure it is, from 0 to 1: under a half it is a guess, and what is less than a
// poor guess is left out (see rank.go).
func (ix *Index) Search(ctx context.Context, q Query) ([]Hit, error) {
	if !ix.enter() {
		return nil, ErrClosed
	}
	defer ix.leave()
	sc := ix.scratch.Get().(*scratch)
	defer ix.scratch.Put(sc)

	sc.words.split(q.Text, maxWords)
	sc.remark = ix.vocab.lx.remark(&sc.words) || strings.Contains(q.Text, "!!") && !strings.ContainsAny(q.Text, "?¿")
	hits, err := ix.searchPart(ctx, sc, q, span{0, sc.words.len()})
	if err != nil || len(hits) > 0 {
		return hits, err
	}
	// A long story hides its question among words about something else.
	if part, ok := lastQuestion(&sc.words); ok {
		return ix.searchPart(ctx, sc, q, part)
	}
	return nil, nil
}

func (ix *Index) searchPart(ctx context.Context, sc *scratch, q Query, part span) ([]Hit, error) {
	concepts := ix.understand(sc, q.Lang, part)
	bq := ix.bleveQuery(concepts)
	if bq == nil {
		return nil, ctx.Err()
	}
	limit := q.Limit
	if limit <= 0 {
		limit = defaultLimit
	}
	sc.cands, sc.pages = sc.cands[:0], sc.pages[:0]
	for from := 0; ; from += candidates {
		res, err := ix.bleve.SearchInContext(ctx, bleve.NewSearchRequestOptions(bq, candidates, from, false))
		if err != nil {
			return nil, fmt.Errorf("searching the summaries: %w", err)
		}
		left := 0
		for _, h := range res.Hits {
			n, err := strconv.Atoi(h.ID)
			if err != nil || n < 0 || n >= len(ix.passages) {
				return nil, fmt.Errorf("the index holds a document %q that is none of its passages", h.ID)
			}
			if p := &ix.passages[n]; visible(p.summary, q) {
				sc.cands = append(sc.cands, candidate{passage: p, order: n, bleve: float32(h.Score)})
			} else {
				left++
			}
		}
		// Where the filters took passages away, the next ones may do.
		if len(sc.cands) >= candidates/2 || left == 0 || uint64(from+candidates) >= res.Total {
			break
		}
	}
	return ix.rank(sc, concepts, limit, q.All), nil
}

// visible says whether a summary is for that division and day.
func visible(p *page, q Query) bool {
	if q.On != 0 && p.from > q.On {
		return false
	}
	return q.Division == "" || len(p.divisions) == 0 || slices.Contains(p.divisions, q.Division)
}

// bleveQuery looks for each word in each field that has it. It is nil where the
// book has none of the words.
func (ix *Index) bleveQuery(concepts []concept) query.Query {
	var qs []query.Query
	add := func(st stemID, boost float64) {
		if st < 0 || int(st) >= len(ix.fields) {
			return
		}
		for f := range nFields {
			if ix.fields[st]&(1<<f) == 0 {
				continue
			}
			t := query.NewTermQuery(ix.vocab.names[st])
			t.SetField(fieldNames[f])
			t.SetBoost(fieldBoosts[f] * boost)
			qs = append(qs, t)
		}
	}
	for _, c := range concepts {
		add(c.stem, float64(c.sure))
		for _, st := range c.related {
			add(st, relatedBoost*float64(c.sure))
		}
	}
	if len(qs) == 0 {
		return nil
	}
	return query.NewDisjunctionQuery(qs)
}

// snippet is the sentence of a passage that has most of the question, and the
// next one where both are short.
func (ix *Index) snippet(p *passage, concepts []concept) string {
	best, at := float32(-1), 0
	for i, s := range p.sentences {
		var sum float32
		for _, c := range concepts {
			if _, ok := slices.BinarySearch(s.stems, c.stem); ok {
				sum += c.weight
				continue
			}
			for _, st := range c.related {
				if _, ok := slices.BinarySearch(s.stems, st); ok {
					sum += c.weight * relatedBoost
					break
				}
			}
		}
		if sum > best {
			best, at = sum, i
		}
	}
	if len(p.sentences) == 0 {
		return ""
	}
	text := p.sentences[at].text
	if at+1 < len(p.sentences) && len(text)+1+len(p.sentences[at+1].text) <= snippetLength {
		return text + " " + p.sentences[at+1].text
	}
	return shorten(text)
}

// snippetLength is the length of a snippet in bytes, about two lines in a chat.
const snippetLength = 220

// shorten cuts a text at a space.
func shorten(s string) string {
	if len(s) <= snippetLength {
		return s
	}
	cut := strings.LastIndexByte(s[:snippetLength], ' ')
	if cut < snippetLength/2 {
		cut = snippetLength
		for cut > 0 && s[cut]&0xC0 == 0x80 { // not inside a letter
			cut--
		}
	}
	return strings.TrimRight(s[:cut], " ,;:") + "…"
}

// byScore orders results: score, then id.
func byScore(a, b pageScore) int {
	if c := cmp.Compare(b.score, a.score); c != 0 {
		return c
	}
	return strings.Compare(a.page.id, b.page.id)
}
