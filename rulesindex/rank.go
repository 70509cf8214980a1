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
//	said    the words that one sentence of its text has together
//	near    bleve's score over the best candidate's
//	phrase  the words that follow each other in its text as they do in the question
//
// Their weighted sum gives the order. How sure a hit is, is another question, with
// another sum, at the end of this file; that is the score which a caller sees.

// candidate is a passage that bleve found.
type candidate struct {
	passage *passage
	order   int
	bleve   float32
	fit     float32 // how well it stands for its summary
}

// pageScore is a summary among the candidates.
type pageScore struct {
	page   *page
	best   *candidate
	cover  float32
	asked  float32
	said   float32
	phrase float32
	near   float32
	score  float32
}

// The shares' parts in the score.
const (
	partCover  = 0.45
	partAsked  = 0.25
	partSaid   = 0.15
	partPhrase = 0.05
	partNear   = 0.15
)

func (ix *Index) rank(sc *scratch, concepts []concept, limit int, all bool) []Hit {
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
		at := slices.IndexFunc(sc.pages, func(p pageScore) bool { return p.page == c.passage.summary })
		if at < 0 {
			sc.pages = append(sc.pages, ix.scorePage(c.passage.summary, concepts, total, norm))
			at = len(sc.pages) - 1
		}
		p := &sc.pages[at]
		c.fit = ix.sectionFit(c, concepts, sc.faint) + fitNear*c.bleve/top
		if p.best == nil || c.fit > p.best.fit || c.fit == p.best.fit && c.order < p.best.order {
			p.best = c
		}
		p.near = max(p.near, c.bleve/top)
		p.phrase = max(p.phrase, phrased(c.passage, concepts))
		p.said = max(p.said, bestSentence(c.passage, concepts)/total)
	}
	for i := range sc.pages {
		p := &sc.pages[i]
		p.score = partCover*p.cover + partAsked*p.asked + partSaid*p.said + partPhrase*p.phrase + partNear*p.near
	}
	slices.SortFunc(sc.pages, byScore)
	var hits []Hit
	var first float32
	least := float32(1)
	for i := range sc.pages {
		p := &sc.pages[i]
		if hits != nil && !all && p.score < keep*first {
			break
		}
		ahead := p.score
		if i+1 < len(sc.pages) {
			ahead -= sc.pages[i+1].score
		}
		f, ok := ix.seen(p, concepts, ahead)
		sure := float32(0)
		if ok {
			if sure = f.sure(); sc.remark {
				sure *= remarked
			}
			least = min(least, sure) // the order is the score's: a later hit is not surer
		}
		if !all && (!ok || least < leastSure) {
			continue
		}
		if hits == nil {
			hits, first = make([]Hit, 0, limit), p.score
		}
		hits = append(hits, Hit{
			ID: p.page.id, Title: p.page.title, Section: p.best.passage.heading, Line: p.best.passage.line,
			Snippet: ix.snippet(p.best.passage, concepts), Score: float64(least),
		})
		if len(hits) == limit {
			break
		}
	}
	return hits
}

// What counts for a section against the other sections of its summary: what the
// title says fits them all, so it counts little; what a heading says counts more;
// and the faint words of a question may stand in only one of them.
const (
	fitHeading, fitTitle            = 1.6, 0.3
	fitFaintHeading, fitFaintInText = 1.0, 0.6
	fitNear                         = 0.3
)

func (ix *Index) sectionFit(c *candidate, concepts []concept, faint []stemID) float32 {
	var sum, total float32
	title := c.passage.summary.asks[0].stems
	for i := range concepts {
		k := &concepts[i]
		total += k.weight
		s := conceptShare(c.passage.terms, k)
		if s == fieldShares[fHeading] {
			s *= fitHeading
		}
		if _, ok := slices.BinarySearch(title, k.stem); ok {
			s *= fitTitle
		}
		sum += k.weight * s
	}
	fit := sum / total
	var said float32
	for _, st := range faint {
		w := ix.faint[st]
		total += w
		switch share(c.passage.faint, st) {
		case fieldShares[fHeading]:
			said += fitFaintHeading * w
		case fieldShares[fBody]:
			said += fitFaintInText * w
		}
	}
	return fit + said/total
}

// bestSentence is the most of the question's weight that one sentence has: words
// that stand together say more than the same words all over a page.
func bestSentence(p *passage, concepts []concept) float32 {
	var best float32
	for i := range p.sentences {
		stems := p.sentences[i].stems
		var sum float32
		for j := range concepts {
			c := &concepts[j]
			if _, ok := slices.BinarySearch(stems, c.stem); ok {
				sum += c.weight * c.sure
				continue
			}
			for _, st := range c.related {
				if _, ok := slices.BinarySearch(stems, st); ok {
					sum += c.weight * c.sure * relatedShare
					break
				}
			}
		}
		best = max(best, sum)
	}
	return best
}

// coverage is the weight of the question that a list covers.
func coverage(list []strength, concepts []concept) float32 {
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
	ps := pageScore{page: p, cover: coverage(p.terms, concepts) / total}
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

// How sure a hit is, as a chance: a logistic curve over what was seen of it, fitted
// on testdata/search and testdata/questions/search (without the held-out and the test
// sets) and on the questions that no book answers. Half is where a hit is as often
// right as wrong among those; from there a chat may show it.
const (
	sureBase    = -3.6
	sureCover   = 2.1  // the share of the question that summary and passage cover
	sureTopic   = 1.4  // the share that stands in title, topics, questions, heading
	sureAsked   = 0.9  // likeness to a question that the summary answers
	sureMass    = 2.7  // how much was found, whatever else was asked; see massOne
	sureAhead   = 2.4  // the score's lead over the next summary
	sureAlone   = -1.0 // a single word is found easily
	phraseTopic = 0.8  // a phrase of the question in the text says as much as a match above it
	massOne     = 2.4  // so many rare words found are a mass of one
	massMost    = 1.5
	remarked    = 0.5  // what is left for a text that begins like a remark
	leastSure   = 0.12 // below it a hit is not worth reading
)

// features are what sure weighs.
type features struct {
	cover, topic, asked, mass, ahead, alone float32
}

// seen gathers the features of a summary; ok is false where it cannot answer: a word
// that names another matter is not in it.
func (ix *Index) seen(p *pageScore, concepts []concept, ahead float32) (f features, ok bool) {
	var total float32
	matched := 0
	for i := range concepts {
		c := &concepts[i]
		whole := conceptShare(p.page.terms, c)
		if c.must {
			// A word of another matter allows the summary that has it, and says
			// little for it: "soccer cleats" is about cleats.
			if whole == 0 {
				return f, false
			}
			if whole < topical || p.asked < alike {
				total += c.weight
			}
			continue
		}
		best := max(whole, conceptShare(p.best.passage.terms, c))
		total += c.weight
		f.cover += c.weight * c.sure * best
		if best >= topical {
			f.topic += c.weight * c.sure
		}
		if best > 0 {
			matched++
		}
	}
	if total == 0 || matched == 0 {
		return f, false
	}
	if matched == 1 {
		f.alone = 1
	}
	f.mass = min(f.cover/(massOne*ix.unknown), massMost)
	f.cover, f.topic = f.cover/total, f.topic/total
	f.topic = max(f.topic, phraseTopic*p.phrase)
	f.asked, f.ahead = p.asked, ahead
	return f, true
}

// phrased is the share of the question that stands in the passage as it was asked:
// words that follow each other there too.
func phrased(p *passage, concepts []concept) float32 {
	var sum, total float32
	in := false // the word before was part of a phrase
	for i := range concepts {
		total += concepts[i].weight
		if i == 0 || concepts[i-1].stem < 0 || concepts[i].stem < 0 {
			in = false
			continue
		}
		if _, ok := slices.BinarySearch(p.pairs, pairOf(concepts[i-1].stem, concepts[i].stem)); !ok {
			in = false
			continue
		}
		if !in {
			sum += concepts[i-1].weight
		}
		sum, in = sum+concepts[i].weight, true
	}
	return sum / total
}

// alike is the likeness from which a question is nearly one that a summary answers.
const alike = 0.6

// sure is the chance that a hit with these features answers.
func (f features) sure() float32 {
	z := sureBase + sureCover*f.cover + sureTopic*f.topic + sureAsked*f.asked + sureMass*f.mass + sureAhead*f.ahead + sureAlone*f.alone
	return float32(1 / (1 + math.Exp(-float64(z))))
}
