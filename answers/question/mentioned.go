package question

import (
	"slices"
)

// ofSomebodyElse says whether a division is another's ("a kid on the varsity")
// where the player's own is named too.
func (q *Question) ofSomebodyElse(d mention) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.start > d.start || h.end < d.end || !q.is(h, "else:division") {
			continue
		}
		for _, o := range q.divs {
			if o.index != d.index {
				return true
			}
		}
	}
	return false
}

// takenBack says whether the division d is mended by the next one named:
// "can U13s, I mean U11s".
func (q *Question) takenBack(d mention) bool {
	next := len(q.toks)
	for _, o := range q.divs {
		if o.start >= d.end {
			next = min(next, o.start)
		}
	}
	if next == len(q.toks) || next-d.end > 7 {
		return false
	}
	return q.rather(d.end, next) || q.noAfterDivision(d.end, next)
}

// rather says whether words that mend what was said stand between two tokens.
func (q *Question) rather(from, to int) bool {
	for k := range q.hits {
		if h := &q.hits[k]; h.start >= from && h.end <= to && q.is(h, "story:rather") {
			return true
		}
	}
	return false
}

// Divisions are the indexes of the divisions named in a scope, in order, once each.
func (q *Question) Divisions(s Scope) []int {
	var out []int
next:
	for _, d := range q.divs {
		if !s.holds(d.start, d.end) || q.ofSomebodyElse(d) || q.takenBack(d) {
			continue
		}
		for _, o := range out {
			if o == d.index {
				continue next
			}
		}
		out = append(out, d.index)
	}
	return out
}

// Position is the last position named in a scope; of a position that is denied
// ("not a goalie") only the goalkeeper's leaves something: a field player. Gear
// that is made for a position ("goalie stick") tells it where nothing else does.
func (q *Question) Position(s Scope) string {
	out, denied, hint := "", "", ""
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		of := q.namesStick(h)
		for _, t := range h.tags {
			n := q.x.names[t]
			switch {
			case len(n) > 4 && n[:4] == "pos:" && h.negated && q.denies(k):
				denied = n[4:]
			case len(n) > 4 && n[:4] == "pos:" && (of || q.myOwn(h)):
				hint = n[4:]
			case len(n) > 4 && n[:4] == "pos:":
				out = n[4:]
			case len(n) > 8 && n[:8] == "poshint:":
				hint = n[8:]
			}
		}
	}
	switch {
	case out != "":
		return out
	case denied == "goalkeeper":
		return "field"
	}
	return hint
}

// namesStick says whether a position names a kind of stick ("his attack stick"),
// and not whoever holds it ("my attackman's stick").
func (q *Question) namesStick(h *hit) bool {
	if q.is(h, "stick") {
		return true
	}
	if h.end != h.start+1 || h.end >= len(q.toks) {
		return false
	}
	switch q.toks[h.start].text {
	case "attack", "defense", "defence", "midfield", "goalkeeper", "goalie":
	default:
		return false
	}
	next := q.hitAt[h.end]
	return next >= 0 && q.hits[next].start == h.end && q.is(&q.hits[next], "stick")
}

// Values are the words of a group of tags in a scope ("item": "rib-pads", …), in
// order, once each.
func (q *Question) Values(group string, s Scope) []string {
	var out []string
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		for _, t := range h.tags {
			n := q.x.names[t]
			if len(n) <= len(group)+1 || n[:len(group)] != group || n[len(group)] != ':' {
				continue
			}
			v := n[len(group)+1:]
			if group == "item" && q.isPlace(h) && len(out) > 0 {
				continue // "a chain under the shoulder pads"
			}
			if !slices.Contains(out, v) {
				out = append(out, v)
			}
		}
	}
	return out
}

// isPlace says whether a thing only tells where another one is: "under the pads".
func (q *Question) isPlace(h *hit) bool {
	for i := max(0, h.start-2); i < h.start; i++ {
		switch q.toks[i].text {
		case "under", "underneath", "beneath", "over", "inside", "debajo", "bajo", "encima", "dentro":
			return true
		}
	}
	return false
}

// First is the first quantity of a kind in a scope.
func (q *Question) First(k Kind, s Scope) (Quantity, bool) {
	for _, u := range q.Quantities {
		if u.Kind == k && s.holds(u.start, u.end) {
			return u, true
		}
	}
	return Quantity{}, false
}

// Only is the one quantity of a kind in the question; ok is false where there
// are none or several.
func (q *Question) Only(k Kind) (Quantity, bool) {
	n, at := 0, 0
	for i := range q.Quantities {
		if q.Quantities[i].Kind == k {
			n, at = n+1, i
		}
	}
	if n != 1 {
		return Quantity{}, false
	}
	return q.Quantities[at], true
}

// myOwn says whether a position is that of whoever asks for another: "my little
// brother is a goalie … i play d so no clue".
func (q *Question) myOwn(h *hit) bool {
	if q.wordAt(h.start-1, "i") && (q.wordAt(h.start, "play") || q.wordAt(h.start, "played")) {
		return true
	}
	if !q.wordAt(h.start-2, "i") && !q.wordAt(h.start-3, "i") {
		return false
	}
	switch q.toks[h.start-1].text {
	case "play", "played", "was", "a", "am":
		return true
	}
	return false
}
