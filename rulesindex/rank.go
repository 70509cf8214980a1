package rulesindex

import (
	"math"
	"slices"
)

// How the candidates are ordered, and when nothing was found
//
// bleve's score says which passage is nearer, not whether it is near: its sum
// grows with the question and has no upper end. So every candidate gets shares
// between 0 and 1, each of the question's words weighed by how rare it is:
//
//	cover   the words that its summary has (a match in the title, the questions or the
//	        heading counts in full, in the text a little less, in another section less
//	        still); a word that the book lacks is heavy and covered by nothing
//	asked   how alike the question is to one that the summary says it answers (cosine)
//	own     like cover, but by the section alone
//	near    bleve's score over the best candidate's

// candidate is a passage that bleve found.
type candidate struct {
	passage *passage
	order   int
	bleve   float32
	own     float32
}

// pageScore is a summary among the candidates.
type pageScore struct {
	page        *page
	best        *candidate
	cover       float32
	asked, near float32
	mass        float32 // the weight that is covered
	score       float32
}

// The shares' parts in the score; they add up to 1.
const (
	partCover = 0.40
	partAsked = 0.30
	partOwn   = 0.15
	partNear  = 0.15
)

func (ix *Index) rank(sc *scratch, concepts []concept, limit int) []Hit {
	if len(sc.cands) == 0 {
		return nil
	}
	var total, norm, top float32
	for _, c := range concepts {
		total += c.weight
		norm += c.weight * c.weight
	}
	norm = float32(math.Sqrt(float64(norm)))
	for i := range sc.cands {
		top = max(top, sc.cands[i].bleve)
	}
	for i := range sc.cands {
		c := &sc.cands[i]
		c.own = ownShare(c.passage.terms, concepts) / total
		at := slices.IndexFunc(sc.pages, func(p pageScore) bool { return p.page == c.passage.summary })
		if at < 0 {
			sc.pages = append(sc.pages, ix.scorePage(c.passage.summary, concepts, total, norm))
			at = len(sc.pages) - 1
		}
		p := &sc.pages[at]
		if p.best == nil || better(c, p.best, top) {
			p.best = c
		}
		p.near = max(p.near, c.bleve/top)
	}
	for i := range sc.pages {
		p := &sc.pages[i]
		p.score = partCover*p.cover + partAsked*p.asked + partOwn*p.best.own + partNear*p.near
	}
	slices.SortFunc(sc.pages, byScore)
	var hits []Hit
	for i := range sc.pages {
		p := &sc.pages[i]
		if !enough(p, concepts) {
			continue
		}
		if hits == nil {
			hits = make([]Hit, 0, limit)
		}
		hits = append(hits, Hit{
			ID: p.page.id, Title: p.page.title, Section: p.best.passage.heading, Line: p.best.passage.line,
			Snippet: ix.snippet(p.best.passage, concepts), Score: float64(p.score),
		})
		if len(hits) == limit {
			break
		}
	}
	return hits
}

// better says which of two passages of a summary stands for it.
func better(a, b *candidate, top float32) bool {
	x, y := a.own+0.5*a.bleve/top, b.own+0.5*b.bleve/top
	if x != y {
		return x > y
	}
	return a.order < b.order
}

// ownShare is the weight of the question that a list covers.
func ownShare(list []strength, concepts []concept) float32 {
	var sum float32
	for i := range concepts {
		c := &concepts[i]
		sum += c.weight * c.sure * conceptShare(list, c)
	}
	return sum
}

// relatedShare is what a related word covers.
const relatedShare = 0.6

func conceptShare(list []strength, c *concept) float32 {
	s := share(list, c.stem)
	if s == 0 {
		for _, st := range c.related {
			s = max(s, relatedShare*share(list, st))
		}
	}
	return s
}

func (ix *Index) scorePage(p *page, concepts []concept, total, norm float32) pageScore {
	ps := pageScore{page: p, mass: ownShare(p.terms, concepts)}
	ps.cover = ps.mass / total
	for i := range p.asks {
		a := &p.asks[i]
		var dot float32
		for j := range concepts {
			c := &concepts[j]
			if _, ok := slices.BinarySearch(a.stems, c.stem); ok {
				dot += c.weight * c.weight * c.sure
			}
		}
		if dot > 0 {
			ps.asked = max(ps.asked, dot/(a.norm*norm))
		}
	}
	return ps
}

func enough(p *pageScore, concepts []concept) bool {
	for i := range concepts {
		if c := &concepts[i]; c.must && conceptShare(p.page.terms, c) == 0 {
			return false
		}
	}
	return p.cover >= 0.5
}
