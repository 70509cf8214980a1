package question

// Outside says whether the question is about something the book does not speak
// of: other rules (girls', college) settle it wherever they stand; talk about
// other things only where the clause that asks is about them. It gives the parts
// that are left to answer.
func (q *Question) Outside(parts []Part) ([]Part, bool) {
	if q.mentions("scope:out", q.Whole()) && !q.besideHer(parts) {
		return nil, true
	}
	if q.Has("scope:care") { // how to look after a thing: no check, perhaps a summary
		return nil, false
	}
	chat := func(s Scope) bool {
		return q.mentions("scope:chat", s) || q.playsOther(s) || q.otherSport(s) && !q.mentions("lax", s) && len(q.Values("item", s)) == 0 || q.mentions("scope:nonsense", s)
	}
	if len(parts) > 0 && parts[0].Sum >= surelyLearned && parts[0].Cued >= clear && !q.mentions("scope:nonsense", q.Whole()) && !q.mentions("scope:sport", q.Whole()) {
		return parts, false // "lost and found has a head that is eleven inches wide, usable?"
	}
	if !chat(q.Whole()) {
		return parts, q.Passing() && (len(parts) == 0 || parts[0].Sum < sure)
	}
	if len(parts) > 0 && parts[0].Cued >= surelySafety && !q.mentions("scope:nonsense", q.Whole()) {
		switch parts[0].Topic {
		case "lightning", "heat":
			return parts, false // "a flash over the parking lot" is no talk about parking
		}
	}
	if len(parts) == 1 && parts[0].Topic == "division" && q.mentions("which-division", q.Whole()) && !q.mentions("scope:sport", q.Whole()) && !q.mentions("scope:nonsense", q.Whole()) {
		return parts, false // "we have to sign him up, which division": it is asked at sign-up
	}
	if len(parts) == 1 && parts[0].Cued >= surelyAsked && !q.mentions("scope:sport", q.Whole()) && !q.mentions("scope:nonsense", q.Whole()) {
		var cbuf [12]Scope
		for _, c := range q.clauses(cbuf[:0]) { // "on sale for 89, a 43 inch stick, is that legal for my U13 middie"
			set := q.tagsIn(c.start, c.end)
			if q.asks(&set) && !chat(c) && set.has(q.x.std.askMay) {
				return parts, false
			}
		}
	}
	var buf [12]Scope
	for _, c := range q.clauses(buf[:0]) {
		set := q.tagsIn(c.start, c.end)
		if chat(c) || !q.asks(&set) || q.mentions("scope:sport", q.sentence(c)) {
			continue
		}
		var sbuf [32]Score
		if sc := q.scores(c, &set, sbuf[:0]); len(sc) > 0 && sc[0].Sum >= sure {
			p := part(sc)
			p.Scope = c
			return []Part{p}, false
		}
	}
	// "Late from my daughter's game. #12 is dizzy, ok to let him play?": the rest
	// after the last such talk is one question.
	after := 0
	for _, c := range q.clauses(buf[:0]) {
		if chat(c) || q.mentions("scope:sport", q.sentence(c)) {
			after = q.sentence(c).end
		}
	}
	if rest := (Scope{after, len(q.toks)}); after > 0 && after < len(q.toks) {
		set := q.tagsIn(rest.start, rest.end)
		var sbuf [32]Score
		if sc := q.scores(rest, &set, sbuf[:0]); q.asks(&set) && len(sc) > 0 && sc[0].Sum >= sure {
			p := part(sc)
			p.Scope = rest
			return []Part{p}, false
		}
	}
	return nil, true
}

// otherSport says whether another sport is spoken of; the helmet of one is a thing
// that people wear here.
func (q *Question) otherSport(s Scope) bool {
next:
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || h.negated || !q.is(h, "scope:sport") {
			continue
		}
		for m := range q.hits {
			if o := &q.hits[m]; q.is(o, "helmet:other-sport") && o.start <= h.start && o.end >= h.end {
				continue next
			}
		}
		return true
	}
	return false
}

// sentence is the whole sentence that a clause stands in.
func (q *Question) sentence(s Scope) Scope {
	for s.start > 0 && q.toks[s.start-1].sent == q.toks[s.start].sent {
		s.start--
	}
	for s.end < len(q.toks) && q.toks[s.end].sent == q.toks[s.end-1].sent {
		s.end++
	}
	return s
}

// mentions says whether a concept stands in a scope without a negation before it.
func (q *Question) mentions(tag string, s Scope) bool {
	t, ok := q.x.tags[tag]
	if !ok {
		return false
	}
	for k := range q.hits {
		if h := &q.hits[k]; s.holds(h.start, h.end) && !h.negated && contains(h.tags, t) {
			return true
		}
	}
	return false
}

// playsOther says whether another sport is where the matter is, not what a thing
// was made for: "are metal cleats legal in baseball", "tints in football", but not
// "can he wear his hockey gloves".
func (q *Question) playsOther(s Scope) bool {
	if q.mentions("lax", q.Whole()) {
		return false
	}
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || h.negated || !q.is(h, "scope:sport") {
			continue
		}
		if h.end < len(q.toks) {
			switch q.toks[h.end].text {
			case "glove", "gloves", "helmet", "helmets", "pads", "lid", "stick", "cup", "mouthguard", "cleats", "shoes", "guards", "shin", "spikes", "gear", "equipment", "visor", "mask":
				continue
			}
		}
		for i := h.start - 1; i >= max(0, h.start-4); i-- {
			if i > 0 {
				switch q.toks[i-1].text {
				case "usaba", "usa", "uso", "used", "wore", "wears", "had", "tenia", "jugaba":
					i = -1 // "the spikes he used in baseball, may he wear them here"
				}
			}
			if i < 0 {
				break
			}
			switch q.toks[i].text {
			case "in", "for", "at", "play", "plays", "playing", "en", "para", "juega", "jugar":
				return true
			case "from", "than", "not", "like", "no", "of", "with", ",", "or", "and":
				i = 0
			}
		}
	}
	return false
}

// besideHer says whether girls are only spoken of beside a boy's matter: "mi hija
// dice que su hermano", "I have refereed girls for years, this middie".
func (q *Question) besideHer(parts []Part) bool {
	if len(parts) == 0 || parts[0].Sum < surelyLearned {
		return false
	}
	for k := range q.hits {
		h := &q.hits[k]
		if h.negated || !q.is(h, "scope:out") {
			continue
		}
		if h.end-h.start > 1 {
			return false // "girls lacrosse"
		}
		switch q.toks[h.start].text {
		case "girls", "girl", "daughter", "daughters", "hija", "hijas", "nina", "ninas", "sister", "sisters", "muchacha", "senora", "chica", "nieta", "sobrina", "hermana", "hermanas", "hijita", "sisters'":
		default:
			return false
		}
	}
	for i := range q.toks {
		switch q.toks[i].text {
		case "he", "hes", "his", "him", "boy", "boys", "son", "sons", "brother", "brothers", "hijo", "hermano", "hermanito", "chamaco", "nene", "nino", "chico", "mediocampista", "middie", "defensa", "portero":
			return true
		}
	}
	return false
}

// surelyLearned is the score of a question that is surely of the game.
const surelyLearned = 40
