package question

// Thresholds of the topic scores: below Enough no topic is likely; two topics
// within Close of each other are a toss-up.
const (
	Enough = 5
	sure   = 7 // what one clause needs to be a question of its own

	surelyAsked  = 16 // what a question of the game needs, likewise
	surelySafety = 12 // what a matter of safety needs to be answered whatever else is spoken of

	sureCarried = 10 // likewise, where "it" stands for what was said before
)

// askBonus is how much more the topic of the clause that asks counts.
const askBonus = 6

// Part is one thing that is asked: its topic, and the span of words that asks it.
type Part struct {
	Topic  string
	Sum    int
	Second string // the runner-up
	Gap    int    // how far behind it is
	Scope  Scope
	Whole  bool // the scope is the whole question
	Follow bool // it goes on with the thread's topic
	Cued   int  // what its hand-written cues alone came to

	Division int // where parts are one for each division: its index plus one
}

// Topics finds what is asked about: one part, or several where the question
// asks two things. None has an empty list.
func (q *Question) Topics() []Part {
	var buf [32]Score
	whole := q.scores(q.Whole(), &q.set, buf[:0])
	var cbuf [12]Scope
	clauses := q.asking(q.clauses(cbuf[:0]))
	var parts []Part
	last := -1 // the last clause that asks and has a topic
	if q.mentions("ask:each", q.Whole()) {
		if each := q.each(); len(each) > 1 {
			return each
		}
	}
	if len(clauses) > 1 {
		var pbuf [12]Part
		tops := pbuf[:0]
		for _, c := range clauses {
			set := q.tagsIn(c.start, c.end)
			var sbuf [32]Score
			sc := q.scores(c, &set, sbuf[:0])
			asks := q.asksIn(c, &set)
			if (len(sc) == 0 || sc[0].Sum < sure) && asks && c.start > 0 && q.pointsBack(c) {
				q.carry(&set, c.start)
				sc = q.scores(c, &set, sbuf[:0])
				if len(sc) > 0 && (sc[0].Sum < sureCarried || len(tops) > 0 && sc[0].Topic == tops[len(tops)-1].Topic) {
					continue
				}
			}
			if len(sc) == 0 || sc[0].Sum < sure || !asks && !(c.end < len(q.toks) && q.adds(c.end)) {
				continue
			}
			p := part(sc)
			p.Scope = c
			tops = append(tops, p)
		}
		if len(tops) > 0 {
			last = len(tops) - 1
		}
		distinct := false
		for i := 1; i < len(tops); i++ {
			distinct = distinct || tops[i].Topic != tops[0].Topic && !oneMatter(tops[i].Topic, tops[0].Topic) && !q.boxAndField(tops[i].Topic, tops[0].Topic)
		}
		if distinct && len(whole) > 0 && whole[0].Topic == "concussion" {
			distinct = false // the hit is its story
			for i := range tops {
				switch tops[i].Topic {
				case "concussion", "body-check", "contact-distance", "stick-check":
				default:
					distinct = true
				}
			}
		}
		if distinct {
			for i := range tops {
				if i > 0 && tops[i].Topic == tops[i-1].Topic {
					continue
				}
				parts = append(parts, tops[i])
			}
			if len(parts) > 1 {
				return parts
			}
		}
		if last >= 0 { // the clause that asks counts more than the story around it
			for i := range whole {
				if whole[i].Topic == tops[last].Topic {
					whole[i].Sum += askBonus
				}
			}
			sortScores(whole)
		}
	}
	if len(whole) == 0 || whole[0].Sum < Enough {
		return nil
	}
	p := part(whole)
	p.Scope, p.Whole = q.Whole(), true
	p.Cued = q.cued(p.Topic)
	return append(parts[:0], p)
}

// Speaks says whether anything in the question speaks for a topic.
func (q *Question) Speaks(topic string) bool { return q.cued(topic) > 0 }

// cued is what the hand-written cues of a topic come to for the whole question.
func (q *Question) cued(topic string) int {
	if !q.summed {
		q.r.cueSums(&q.set, q.cues[:len(q.r.topics)])
		q.summed = true
	}
	for i, t := range q.r.topics {
		if t.name == topic {
			return int(q.cues[i])
		}
	}
	return 0
}

// oneMatter says whether two topics are asked as one: a hit and how far from the
// ball it was.
func oneMatter(a, b string) bool {
	return a == "contact-distance" && b == "body-check" || a == "body-check" && b == "contact-distance"
}

func part(sc []Score) Part {
	p := Part{Topic: sc[0].Topic, Sum: sc[0].Sum, Gap: sc[0].Sum}
	if len(sc) > 1 {
		p.Second, p.Gap = sc[1].Topic, sc[0].Sum-sc[1].Sum
	}
	return p
}

func sortScores(out []Score) {
	for i := 1; i < len(out); i++ { // few entries: insertion sort, no allocation
		for j := i; j > 0 && (out[j].Sum > out[j-1].Sum || out[j].Sum == out[j-1].Sum && out[j].Topic < out[j-1].Topic); j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
}

// near says whether a concept stands within four words of a quantity.
func (q *Question) near(u *Quantity, tag string) bool {
	t, ok := q.x.tags[tag]
	if !ok {
		return false
	}
	for k := range q.hits {
		h := &q.hits[k]
		if contains(h.tags, t) && (h.end <= u.start && u.start-h.end <= 4 || h.start >= u.end && h.start-u.end <= 3) {
			return true
		}
	}
	return false
}
