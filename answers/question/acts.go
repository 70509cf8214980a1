package question

// ActOf reads a word of a group as TaggedOf does, but takes only a negation
// right before the phrase as one, and where nothing else was said also what is
// denied ("no body checking at U9, right?").
func ActOf(group string, order []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		for _, denied := range [...]bool{false, true} {
			if v, sp, ok := q.ranked(group, order, s, denied); ok {
				return v, sp, true
			}
		}
		return Val{}, span{}, false
	}
}

func (q *Question) ranked(group string, order []string, s Scope, denied bool) (Val, span, bool) {
	var v Val
	var at span
	rank := len(order)
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || !denied && q.deniedClose(h) || q.ballIsDown(h) {
			continue
		}
		for _, t := range h.tags {
			name := q.x.names[t]
			if len(name) <= len(group) || name[len(group)] != ':' || name[:len(group)] != group {
				continue
			}
			for r := 0; r < rank; r++ {
				if order[r] == name[len(group)+1:] {
					v, at, rank = Val{Kind: WordVal, Word: order[r]}, span{h.start, h.end}, r
				}
			}
		}
	}
	return v, at, v.Kind == WordVal
}

// ballIsDown says whether it is the ball that lies on the ground, not a player.
func (q *Question) ballIsDown(h *hit) bool {
	if !q.is(h, "act:on-down-player") {
		return false
	}
	for k := range q.hits {
		b := &q.hits[k]
		if b.end <= h.start && h.start-b.end <= 4 && q.sameSentence(b.start, h.start) && q.is(b, "thing:ball", "ball:loose") {
			for m := k + 1; m < len(q.hits); m++ {
				if p := &q.hits[m]; p.start >= b.end && p.end <= h.start && q.is(p, "person") {
					return false
				}
			}
			return true
		}
	}
	return false
}

// BodyAct reads what is done with the body. A body that meets the head is above
// the shoulders, unless a stick is spoken of.
func BodyAct(order []string) Reader {
	said := ActOf("act", order)
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits { // what is asked for goes before what happened: "flattened … are they allowed to body check"
			h := &q.hits[k]
			if !s.holds(h.start, h.end) || !q.is(h, "act:body-check") || h.start < 2 || q.otherAct(h) {
				continue
			}
			for j := h.start - 2; j < h.start; j++ {
				if p := q.hitAt[j]; p >= 0 && q.is(&q.hits[p], "ask:may") && !q.is(&q.hits[p], "ask:legal") && q.hits[p].end <= h.start {
					return Val{Kind: WordVal, Word: "body-check"}, span{h.start, h.end}, true
				}
			}
		}
		for k := range q.hits { // "equal pressure" is contact of its own kind, whatever "contact" it is called
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.is(h, "contact:equal") && !q.tagInScope(s, "bodycheck:said") {
				return Val{Kind: WordVal, Word: "push"}, span{h.start, h.end}, true
			}
		}
		v, at, ok := said(q, s)
		if (!ok || v.Word == "body-check") && q.secondsLate(s) {
			return Val{Kind: WordVal, Word: "late"}, span(s), true
		}
		if !ok || v.Word == "body-check" || v.Word == "push" || v.Word == "takeout" {
			if act, sp, hit := q.bodyZone(s); hit {
				return Val{Kind: WordVal, Word: act}, sp, true
			}
		}
		if (!ok || v.Word == "body-check") && q.tagInScope(s, "act:to-head") && !q.tagInScope(s, "stick", "act:stick-check") {
			return Val{Kind: WordVal, Word: "above-shoulders"}, span(s), true
		}
		return v, at, ok
	}
}

// StickAct reads where a stick check lands. A check of the stick with no more
// said lands on what it names: a glove, or the stick itself.
func StickAct(order []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		v, sp, ok := q.ranked("act", order, s, false)
		if ok && v.Word == "to-head" {
			return v, sp, ok
		}
		for k := range q.hits { // "the stick came down right on the face mask"
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.is(h, "zone:high") && !q.deniedClose(h) && q.landsOn(h) {
				return Val{Kind: WordVal, Word: "to-head"}, span{h.start, h.end}, true
			}
		}
		if ok {
			return v, sp, ok
		}
		for _, on := range [...]struct{ tag, act string }{{"item:gloves", "on-glove"}, {"stick", "on-crosse"}} {
			for k := range q.hits {
				h := &q.hits[k]
				if s.holds(h.start, h.end) && q.is(h, on.tag) && !q.is(h, "act:stick-check") {
					return Val{Kind: WordVal, Word: on.act}, span{h.start, h.end}, true
				}
			}
		}
		return q.ranked("act", order, s, true)
	}
}

// lengthFollows says whether a length begins within two words of a token.
func (q *Question) lengthFollows(i int) bool {
	for k := range q.Quantities {
		if u := &q.Quantities[k]; u.Kind == Length && u.start >= i && u.start-i <= 2 {
			return true
		}
	}
	return false
}

// BallState reads where the ball is. One that is spoken of and not said to be
// held is taken as loose.
func BallState() Reader {
	said := ActOf("ball", []string{"in-flight", "loose", "possession"})
	return func(q *Question, s Scope) (Val, span, bool) {
		if v, at, ok := said(q, s); ok && !(v.Word == "possession" && q.lengthFollows(at.end)) { // "with the ball 8 feet off" holds none
			return v, at, ok
		}
		for k := range q.hits {
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.is(h, "thing:ball", "distance:near", "ball:possession") && !q.is(h, "ball:none") {
				return Val{Kind: WordVal, Word: "loose"}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// FormatAsk reads what of the game's format is asked for: a phrase for it, or a
// thing of the field and a word for its size.
func FormatAsk(order []string) Reader {
	said := ActOf("format", order)
	return func(q *Question, s Scope) (Val, span, bool) {
		v, at, ok := said(q, s)
		if ok && v.Word != "periods" && v.Word != "players" {
			return v, at, ok
		}
		if q.tagInScope(s, "ask:howbig", "measured") {
			for _, of := range [...]struct{ tag, ask string }{{"thing:crease", "crease"}, {"foul:crease-violation", "crease"}, {"cnt:goals", "goal"}, {"cnt:field", "field"}} {
				for k := range q.hits {
					h := &q.hits[k]
					if s.holds(h.start, h.end) && q.is(h, of.tag) && !q.is(h, "fn") {
						return Val{Kind: WordVal, Word: of.ask}, span{h.start, h.end}, true
					}
				}
			}
		}
		return v, at, ok
	}
}

// FoulOf reads which foul is meant: one named, or one that an act is by its
// nature (a stick that meets the head, a check from behind).
func FoulOf(order []string) Reader {
	named := ActOf("foul", order)
	return func(q *Question, s Scope) (Val, span, bool) {
		if v, sp, ok := named(q, s); ok {
			if v.Word != "illegal-body-check" && v.Word != "slashing" {
				return v, sp, ok
			}
			// the act can say more than the name: an illegal check to the head
			if f, ok := q.foulOfAct(s); ok && f == "check-to-head" && !q.tagInScope(s, "stick", "foul:slashing") {
				v.Word = f
			}
			return v, sp, true
		}
		if f, ok := q.foulOfAct(s); ok {
			return Val{Kind: WordVal, Word: f}, span(s), true
		}
		return Val{}, span{}, false
	}
}

func (q *Question) foulOfAct(s Scope) (string, bool) {
	body := q.tagInScope(s, "act:body-check", "act:takeout")
	stick := q.tagInScope(s, "act:stick-check", "act:one-handed", "act:on-crosse", "act:on-glove", "stick")
	switch {
	case q.tagInScope(s, "act:to-head"):
		if body && !stick {
			return "check-to-head", true
		}
		return "slashing", true
	case q.tagInScope(s, "act:above-shoulders"):
		return "check-to-head", true
	case q.tagInScope(s, "act:one-handed"):
		return "slashing", true
	case q.tagInScope(s, "act:takeout"):
		return "takeout-check", true
	case q.tagInScope(s, "act:from-behind", "act:below-waist", "act:late", "act:on-down-player"), body:
		return "illegal-body-check", true
	case q.tagInScope(s, "act:on-body"):
		return "slashing", true
	case q.tagInScope(s, "mouthguard:out"):
		return "mouthguard-out", true
	}
	return "", false
}

// CountWhich reads which count is meant. A phrase that is only a number of
// seconds says less than one that names a place.
func CountWhich(order []string) Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		var v Val
		var at span
		rank := 2 * len(order)
		for k := range q.hits {
			h := &q.hits[k]
			if !s.holds(h.start, h.end) {
				continue
			}
			weak := 0
			if _, num := q.numberWord(h.start); num || q.toks[h.start].kind == numberToken || h.open {
				weak = len(order)
			}
			for r, o := range order {
				if r+weak < rank && q.is(h, "which:"+o) {
					v, at, rank = Val{Kind: WordVal, Word: o}, span{h.start, h.end}, r+weak
				}
			}
		}
		if v.Kind == WordVal {
			return v, at, true
		}
		for k := range q.hits {
			if h := &q.hits[k]; s.holds(h.start, h.end) && q.is(h, "thing:crease", "foul:crease-violation", "format:crease") {
				return Val{Kind: WordVal, Word: "goalkeeper-crease"}, span{h.start, h.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// otherAct says whether the sentence of a body check names how or where it was.
func (q *Question) otherAct(h *hit) bool {
	for k := range q.hits {
		o := &q.hits[k]
		if o != h && q.inGroup(o, "act") && !q.is(o, "act:body-check") && q.sameSentence(o.start, h.start) {
			return true
		}
	}
	return false
}

// SeenBall reads whether the ball is seen below the sidewall. Where a depth is
// given and no ball is spoken of, "under the sidewall" says where it was measured.
func SeenBall() Reader {
	seen := Flagged([]string{"ball:below"}, []string{"ball:level"})
	return func(q *Question, s Scope) (Val, span, bool) {
		for k := range q.hits { // "2.5 inches deep below the sidewall"
			h := &q.hits[k]
			if !q.is(h, "ball:below") || !s.holds(h.start, h.end) {
				continue
			}
			for i := range q.Quantities {
				if u := &q.Quantities[i]; u.Kind == Length && u.end <= h.start && h.start-u.end <= 2 {
					return Val{}, span{}, false
				}
			}
		}
		if !q.tagInScope(s, "thing:ball") {
			for i := range q.Quantities {
				u := &q.Quantities[i]
				if u.Kind == Length && s.holds(u.start, u.end) && u.Role != noTag && q.x.info[u.Role].value == "depth" {
					return Val{}, span{}, false
				}
			}
		}
		return seen(q, s)
	}
}
