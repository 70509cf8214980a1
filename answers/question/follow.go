package question

import (
	"sidewall/answers/measure"
)

// Change reads "cuts two inches off", "an inch longer": by how much a length
// changes, in nanometres.
func (q *Question) Change() (int64, bool) {
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind == Length && u.Role != noTag && q.x.info[u.Role].value == "change" {
			if q.near(u, "change:add") && !q.near(u, "change:cut") {
				return u.Lo, true
			}
			return -u.Lo, true
		}
	}
	return 0, false
}

// CountTo reads "and if i sneak a third one in": what a number that is known comes to.
func (q *Question) CountTo() (int64, bool) {
	for i := 1; i+1 < len(q.toks); i++ { // "now a second one went in", whatever phrase has the words
		if !q.oneMore(i) || !q.wordAt(i+1, "one") && !manWord(q.toks[i+1].text) {
			continue
		}
		for k, word := range [...]string{"second", "third", "fourth", "fifth"} {
			if q.wordAt(i, word) {
				return int64(k + 2), true
			}
		}
	}
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if (u.Kind == Ordinal || u.Kind == Period) && u.start > 0 && u.Lo > 1 && u.Lo <= smallBox && (q.oneMore(u.start) || u.Kind == Ordinal && q.isMan(u.end)) {
			return u.Lo, true
		}
	}
	return 0, false
}

// NewTotal reads "… so thatd be 5": what the number of a talk comes to, in
// thousandths, where nothing else is counted with it.
func (q *Question) NewTotal() (int64, bool) {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Bare || u.Lo != u.Hi || u.Lo%measure.One != 0 || u.Lo > 20*measure.One || u.end < len(q.toks) && q.joins(u.end) {
			continue
		}
		if q.endsAt(u.start, "count:total") || q.wordAt(u.start-1, "so") && (u.end == len(q.toks) || q.toks[u.end].kind == markToken) {
			return u.Lo, true
		}
	}
	return 0, false
}

// FollowsOn says whether the question is worded as the next one of a talk: "what
// about 3", "and at U13?", "even from the front?".
func (q *Question) FollowsOn() bool {
	if q.Has("follow") || q.endsAsNext() {
		return true
	}
	for i := range q.toks {
		switch q.toks[i].text {
		case "ok", "okay", "so", "hm", "hmm", "oh", "wait", "lol", "alright", "bueno", ",":
			continue
		case "and", "but", "even", "same", "y", "pero", "or":
			return true
		}
		return false
	}
	return false
}

// Dated says whether a day, an age or a grade is told.
func (q *Question) Dated() bool {
	for k := range q.Quantities {
		switch q.Quantities[k].Kind {
		case Day, Age, Grade:
			return true
		}
	}
	return false
}

// Relative says whether a number is told as a change of one that is known: 1 for
// "two more", -1 for "2 yards closer", 0 for a number of its own.
func (q *Question) Relative() int64 {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.start > 0 && (u.Kind == Bare || u.Kind == Span || u.Kind == Length && (u.Unit == q.x.std.yard || u.Unit == q.x.std.step)) {
			switch q.toks[u.start-1].text {
			case "another", "extra", "additional": // "he shuffled back another two yards"
				return 1
			}
		}
		if u.end >= len(q.toks) || u.Kind != Bare && u.Kind != Length && u.Kind != Span {
			continue
		}
		h := q.hitAt[u.end]
		if h < 0 || q.hits[h].start != u.end {
			continue
		}
		switch {
		case q.is(&q.hits[h], "rel:more"):
			return 1
		case q.is(&q.hits[h], "rel:less"):
			return -1
		}
	}
	return 0
}

// CountChange reads "what if we take one off", "another one just went in": by
// how many a number that is known changes.
func (q *Question) CountChange() (int64, bool) {
	for k := range q.hits {
		switch h := &q.hits[k]; {
		case q.is(h, "count:less", "count:pulled"):
			return -1, true
		case q.is(h, "count:more"):
			return 1, true
		}
	}
	return 0, false
}

// isMan says whether token i is somebody: "second kid just went in".
func (q *Question) isMan(i int) bool {
	return i < len(q.toks) && (manWord(q.toks[i].text) || q.hitAt[i] >= 0 && q.is(&q.hits[q.hitAt[i]], "person", "cnt:man"))
}

// endsAsNext says whether the last word makes the question the next one of a
// talk: "can he just go without then".
func (q *Question) endsAsNext() bool {
	for i := len(q.toks) - 1; i > 0; i-- {
		if q.toks[i].kind == markToken {
			continue
		}
		switch q.toks[i].text {
		case "then", "tho", "though", "instead", "either", "there", "entonces":
			return true
		}
		return false
	}
	return false
}

// NewWords says whether the question has a longer word that no phrase of the game
// knows: "and who brings oranges on Saturday?" goes on with no talk of ours.
func (q *Question) NewWords() bool {
	for i := range q.toks {
		if t := &q.toks[i]; t.kind == wordToken && len(t.text) >= strangeLen && q.hitAt[i] < 0 {
			return true
		}
	}
	return false
}
