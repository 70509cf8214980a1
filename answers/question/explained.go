package question

// TopicScores are the scores of all topics, for explaining.
func (q *Question) TopicScores() []Score { return q.scores(q.Whole(), &q.set, nil) }

// Word is a phrase that was recognised, for explaining.
type Word struct {
	Text    string
	Tags    []string
	Negated bool
	Fixed   bool // after correcting its spelling
}

// Words are the phrases that were recognised.
func (q *Question) Words() []Word {
	var out []Word
	for k := range q.hits {
		h := &q.hits[k]
		w := Word{Negated: h.negated, Fixed: h.fixed}
		for i := h.start; i < h.end; i++ {
			if i > h.start && !q.toks[i].glued {
				w.Text += " "
			}
			w.Text += q.toks[i].text
		}
		for _, t := range h.tags {
			w.Tags = append(w.Tags, q.x.names[t])
		}
		out = append(out, w)
	}
	return out
}

// Cues are the cues of a topic that matched, for explaining.
func (q *Question) Cues(topic string) []string {
	var out []string
	for _, t := range q.r.topics {
		if t.name != topic {
			continue
		}
		for k := range t.cues {
			if t.cues[k].match(&q.set) {
				out = append(out, t.cues[k].text)
			}
		}
	}
	return out
}

// WordCount counts the words of the question.
func (q *Question) WordCount() int {
	n := 0
	for i := range q.toks {
		if q.toks[i].kind == wordToken {
			n++
		}
	}
	return n
}

// TextOf is the text of a quantity, for explaining.
func (q *Question) TextOf(u Quantity) string {
	s := ""
	for i := u.start; i < u.end && i < len(q.toks); i++ {
		if i > u.start && !q.toks[i].glued {
			s += " "
		}
		s += q.toks[i].text
	}
	return s
}
