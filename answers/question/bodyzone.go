package question

import "sidewall/answers/measure"

// zones are the parts of the body where no hit may land, and the act that it is.
var zones = [...]struct{ tag, act string }{
	{"zone:back", "from-behind"}, {"zone:low", "below-waist"}, {"zone:high", "above-shoulders"},
}

// bodyZone finds a part of the body on which a hit landed that may not be hit.
// A part of his own, "with his hip", and a part that is hurt are none.
func (q *Question) bodyZone(s Scope) (string, span, bool) {
	if q.tagInScope(s, "stick", "act:stick-check", "act:one-handed") {
		return "", span{}, false
	}
	for _, z := range zones {
		for k := range q.hits {
			h := &q.hits[k]
			if s.holds(h.start, h.end) && q.is(h, z.tag) && !q.deniedClose(h) && q.landsOn(h) {
				return z.act, span{h.start, h.end}, true
			}
		}
	}
	return "", span{}, false
}

// landsOn says whether a word that leads to a place comes within three words
// before a part of the body, or one of height after it, and nothing says that it
// is the hitter's own or that it hurts.
func (q *Question) landsOn(h *hit) bool {
	for i := h.end; i < min(h.end+2, len(q.toks)); i++ {
		switch q.toks[i].text {
		case "high", "level", "height", "down", "area", "region", "abajo":
			return true
		}
	}
	for i := h.start - 1; i >= max(0, h.start-4); i-- {
		switch q.toks[i].text {
		case "with", "hurt", "hurts", "twisted", "rolled", "bent", "con", "took":
			return false
		case "in", "into", "on", "onto", "to", "at", "up", "across", "below", "under", "around", "by", "the", "his", "near", "over", "square":
			if q.toks[i].text != "the" && q.toks[i].text != "his" {
				return true
			}
		case "hit", "hits", "got", "gets", "caught", "catches", "clipped", "clips", "nailed", "popped", "drilled", "smacked", "tagged":
			return true
		}
	}
	return false
}

// secondsLate says whether a hit is told to have come seconds after a pass or shot:
// "he'd passed it like two seconds before and then #44 body checks him".
func (q *Question) secondsLate(s Scope) bool {
	gone := false
	for i := s.start; i < s.end; i++ {
		switch q.toks[i].text {
		case "passed", "pass", "shot", "shoots", "threw", "thrown", "left", "gone", "released", "dumped", "unloaded", "moved", "let":
			gone = true
		}
	}
	if !gone {
		return false
	}
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Span || !s.holds(u.start, u.end) || u.Lo > int64(10*measure.Second) {
			continue
		}
		for j := u.end; j < min(u.end+2, len(q.toks)); j++ {
			switch q.toks[j].text {
			case "before", "after", "later", "ago", "late":
				return true
			}
		}
	}
	return false
}
