package question

// negate marks the phrases that a negation before them reaches: "no butt cap",
// "without a mouthguard", "nobody ever cut the palms".
func (q *Question) negate() {
	for k := range q.hits {
		neg := false
		for _, t := range q.hits[k].tags {
			neg = neg || q.x.info[t].group == gNeg
		}
		if !neg || q.onlyAsks(k) || q.saysNo(k) {
			continue
		}
		most := q.saidWhole(k)
		for m := k + 1; m < len(q.hits); m++ {
			h := &q.hits[m]
			if h.end > most && q.is(h, "palms:intact") {
				continue
			}
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

// saidWhole is where the longer phrase ends that a "not" belongs to and that has a
// meaning of its own: in "not cut, not touched" neither reaches the other.
func (q *Question) saidWhole(k int) int {
	n := &q.hits[k]
	if n.end-n.start > 1 {
		return len(q.toks)
	}
	for m := range q.hits {
		h := &q.hits[m]
		if m != k && h.start == n.start && h.end > n.end && q.is(h, "palms:intact") {
			return h.end
		}
	}
	return len(q.toks)
}

// saysNo says whether a "no" answers what was said before and denies nothing that
// follows: "no i did not cut them".
func (q *Question) saysNo(k int) bool {
	n := &q.hits[k]
	i := n.start
	if n.end != i+1 || i > 0 && q.toks[i-1].kind != markToken && q.toks[i-1].sent == q.toks[i].sent || !q.wordAt(i, "no") && !q.wordAt(i, "nope") && !q.wordAt(i, "nah") || i+1 >= len(q.toks) {
		return false
	}
	switch q.toks[i+1].text {
	case "i", "he", "we", "they", "it", "its", "hes", "im", "theyre", "were", "that", "thats", "she", ",":
		return true
	}
	return false
}
