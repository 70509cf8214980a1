package question

import (
	"strings"
)

// pointsBack says whether a clause speaks of what was said before it.
func (q *Question) pointsBack(c Scope) bool {
	for i := c.start; i < c.end; i++ {
		switch q.toks[i].text {
		case "it", "that", "those", "them", "this", "its", "eso", "esos", "esas", "ese", "esa", "lo", "la":
			return true
		}
	}
	return false
}

// PointsBack says whether the question speaks of what was said before it.
func (q *Question) PointsBack() bool { return q.pointsBack(q.Whole()) }

// carry adds what "it" may stand for: the fouls, acts and things before a token.
func (q *Question) carry(set *tagSet, before int) {
	for k := range q.hits {
		h := &q.hits[k]
		if h.end > before || h.negated {
			continue
		}
		for _, t := range h.tags {
			n := q.x.names[t]
			for _, prefix := range [...]string{"foul:", "act:", "stick", "thing:", "item:"} {
				if strings.HasPrefix(n, prefix) {
					set.add(t)
				}
			}
		}
	}
}

// each finds the things that "are both ok?" asks about: every stretch between
// "and"s, commas and sentence ends that is of a topic by itself.
func (q *Question) each() []Part {
	var parts []Part
	start := 0
	add := func(end int) {
		s := Scope{start, end}
		set := q.tagsIn(s.start, s.end)
		var sbuf [32]Score
		sc := q.scores(s, &set, sbuf[:0])
		if len(sc) == 0 || sc[0].Sum < sure {
			return // it goes on with the next stretch
		}
		start = end
		if n := len(parts); n > 0 && parts[n-1].Topic == sc[0].Topic {
			parts[n-1].Scope.end = end
			return
		}
		p := part(sc)
		p.Scope = s
		parts = append(parts, p)
	}
	for i := 1; i < len(q.toks); i++ {
		if q.toks[i].sent != q.toks[i-1].sent || q.connector(i) && q.toks[i].text != "-" {
			add(i)
		}
	}
	add(len(q.toks))
	if n := len(parts); n > 0 && start < len(q.toks) { // what is left has no topic of its own
		parts[n-1].Scope.end = len(q.toks)
	}
	return parts
}

// asks says whether a set of concepts asks something.
func (q *Question) asks(s *tagSet) bool {
	if s.has(q.x.std.qMark) {
		return true
	}
	for _, t := range q.r.askTags {
		if s.has(t) {
			return true
		}
	}
	return false
}

// asksIn says whether a clause asks: by its concepts, or by a verb in front ("is
// it releasable", "do we still get two").
func (q *Question) asksIn(c Scope, set *tagSet) bool {
	if q.asksFor(set) {
		return true
	}
	for i := c.start; i < c.end; i++ {
		switch q.toks[i].text {
		case "is", "are", "do", "does", "did", "will", "would", "should":
			var buf [32]Score
			sc := q.scores(c, set, buf[:0])
			return len(sc) > 0 && sc[0].Sum >= sure || q.mentions("releasable:yes", c) && q.pointsBack(c) // "do they get poles, how many": the rest asks it
		}
		if !q.connector(i) {
			return false
		}
	}
	return false
}

// asksFor is asks without what a story tells as well: "the ref threw a flag", "he
// forgot his gloves".
func (q *Question) asksFor(s *tagSet) bool {
	if s.has(q.x.std.qMark) {
		return true
	}
	for _, t := range q.r.askTags {
		if s.has(t) {
			switch q.x.names[t] {
			case "ask:penalty", "ask:without":
				continue
			}
			return true
		}
	}
	return false
}

// asking joins a clause that asks nothing to the one after it, which asks about
// it, and a last one to the one before.
func (q *Question) asking(cs []Scope) []Scope {
	out := cs[:0]
	for i := 0; i < len(cs); i++ {
		c := cs[i]
		for i+1 < len(cs) {
			set := q.tagsIn(c.start, c.end)
			if q.asksIn(c, &set) {
				break
			}
			if q.adds(cs[i+1].start) { // "sticks at 44 and does he need a cup": the fragment asks too
				var sbuf [32]Score
				if sc := q.scores(c, &set, sbuf[:0]); len(sc) > 0 && sc[0].Sum >= sure {
					break
				}
			}
			i++
			c.end = cs[i].end
		}
		out = append(out, c)
	}
	if n := len(out); n > 1 {
		set := q.tagsIn(out[n-1].start, out[n-1].end)
		if !q.asksIn(out[n-1], &set) {
			out[n-2].end = out[n-1].end
			out = out[:n-1]
		}
	}
	return out
}

// clauses splits the question at sentence ends and at "and", "also", "plus",
// "y", "además" where what follows begins a question of its own.
func (q *Question) clauses(out []Scope) []Scope {
	start := 0
	for i := 1; i < len(q.toks); i++ {
		cut := q.toks[i].sent != q.toks[i-1].sent
		if !cut && q.connector(i) && q.opens(i+1) {
			cut = true
		}
		if cut && i > start {
			out = append(out, Scope{start, i})
			start = i
		}
	}
	if start < len(q.toks) {
		out = append(out, Scope{start, len(q.toks)})
	}
	return out
}

func (q *Question) connector(i int) bool {
	if q.toks[i].kind == markToken {
		return q.toks[i].text == "," || q.toks[i].text == "&" || q.toks[i].text == "+" || q.toks[i].text == "-" && !q.toks[i].glued
	}
	switch q.toks[i].text {
	case "and", "also", "plus", "y", "e", "tambien", "ademas", "then":
		return true
	}
	return false
}

// adds says whether token i is an "and" or "also" that adds a question.
func (q *Question) adds(i int) bool {
	return q.toks[i].kind == wordToken && q.connector(i)
}

// opens says whether the words at i begin a question: a question word or a verb
// that turns a statement into one.
func (q *Question) opens(i int) bool {
	for k := i; k < min(i+3, len(q.toks)); k++ {
		if h := q.hitAt[k]; h >= 0 && q.hits[h].start == k {
			for _, t := range q.hits[h].tags {
				if q.x.info[t].group == gAsk {
					return true
				}
			}
		}
		if k == i {
			switch q.toks[k].text {
			case "if", "si", "is", "are", "do", "does", "did", "should", "would", "will", "how", "what", "when", "can", "may", "must", "who", "which",
				"es", "son", "puede", "pueden", "se", "tiene", "tienen", "hay", "que", "cuanto", "cuantos", "cuando", "cual", "como", "debe":
				return true
			}
			if !q.connector(k) {
				continue
			}
		}
	}
	return false
}

// Asks says whether the question has a question mark or a word that asks.
func (q *Question) Asks() bool { return q.asks(&q.set) }
