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
//
// The score is their weighted sum; enough, at the end of this file, is the
// threshold.

// candidate is a passage that bleve found.
type candidate struct {
	passage *passage
	order   int
	bleve   float32
	own     float32
	fit     float32 // how well it stands for its summary
}

// pageScore is a summary among the candidates.
type pageScore struct {
	page        *page
	best        *candidate
	cover       float32
	asked, near float32
	score       float32
}

// The shares' parts in the score; they add up to 1.
const (
	partCover = 0.50
	partAsked = 0.35
	partOwn   = 0.10
	partNear  = 0.05
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
		c.fit = sectionFit(c, concepts) + 0.3*c.bleve/top
		if p.best == nil || c.fit > p.best.fit || c.fit == p.best.fit && c.order < p.best.order {
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
		if hits != nil && p.score < keep*float32(hits[0].Score) {
			break
		}
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

// sectionFit compares the sections of one summary: what its title says fits them
// all, so it counts little here, and what a heading says counts more.
func sectionFit(c *candidate, concepts []concept) float32 {
	var sum, total float32
	title := c.passage.summary.asks[0].stems
	for i := range concepts {
		k := &concepts[i]
		total += k.weight
		s := conceptShare(c.passage.terms, k)
		if s == fieldShares[fHeading] {
			s *= 1.6
		}
		if _, ok := slices.BinarySearch(title, k.stem); ok {
			s *= 0.3
		}
		sum += k.weight * s
	}
	return sum / total
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

// scorePage fills the shares of a summary; its best passage comes later.
func (ix *Index) scorePage(p *page, concepts []concept, total, norm float32) pageScore {
	ps := pageScore{page: p, cover: ownShare(p.terms, concepts) / total}
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

// keep is the share of the best score that a further hit must have.
const keep = 0.6

// topical is the share from which a match is more than one in the text: a match
// in the title, the topics, the questions or the heading.
const topical float32 = 0.9

// The least that a summary must cover, chosen on testdata/search (without the
// held-out set) and on the questions that no book answers.
const (
	leastScore = 0.36
	// Two words or more: enough of them, some topical; or fewer that are like a
	// question which the summary answers.
	leastCover, leastTopic      = 0.42, 0.3
	leastCoverAsked, leastAsked = 0.3, 0.4
	// One word alone is found easily: it must carry the question, or be most of
	// one that the summary answers.
	leastCoverOne             = 0.5
	leastCoverOneAsked, alike = 0.42, 0.6
)

// enough says whether a summary covers enough of the question to be shown. A
// match in the text alone proves little: the summaries of a club have "last",
// "night" and "won" somewhere.
func enough(p *pageScore, concepts []concept) bool {
	if p.score < leastScore {
		return false
	}
	var total, cover, topic float32
	matched, named := 0, false
	for i := range concepts {
		c := &concepts[i]
		whole := conceptShare(p.page.terms, c)
		if c.must {
			// A word of another matter allows the summary that has it, and says
			// little for it: "soccer cleats" is about cleats.
			if whole == 0 {
				return false
			}
			if whole < topical || p.asked < alike {
				total += c.weight
			}
			continue
		}
		best := max(whole, conceptShare(p.best.passage.terms, c))
		total += c.weight
		cover += c.weight * c.sure * best
		if best >= topical {
			topic += c.weight * c.sure
		}
		if best > 0 {
			matched++
		}
		named = named || whole >= topical
	}
	if total == 0 {
		return false
	}
	cover, topic = cover/total, topic/total
	if matched > 1 {
		return topic >= leastTopic && (cover >= leastCover || cover >= leastCoverAsked && p.asked >= leastAsked)
	}
	return named && (cover >= leastCoverOne || cover >= leastCoverOneAsked && p.asked >= alike)
}
