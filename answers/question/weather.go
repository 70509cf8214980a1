package question

import "sidewall/answers/measure"

// Humidity reads the relative humidity: a percentage, or the number that stands
// with a word for it ("humidity 55"). The last one said counts.
func Humidity() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		if i := q.humidity(s); i >= 0 {
			u := &q.Quantities[i]
			return Val{Kind: CountVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}, true
		}
		return Val{}, span{}, false
	}
}

func (q *Question) humidity(s Scope) int {
	best := -1
	for i := range q.Quantities {
		if u := &q.Quantities[i]; u.Kind == Humid && s.holds(u.start, u.end) {
			best = i
		}
	}
	if best >= 0 {
		return best
	}
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Bare || !s.holds(u.start, u.end) || u.Lo < 0 || u.Hi > 100*measure.One {
			continue
		}
		for k := range q.hits {
			h := &q.hits[k]
			if !q.is(h, "humidity") || !q.sameSentence(h.start, u.start) || q.unchanged(h) || q.joins(h.start-1) && h.end-h.start == 1 && q.isDamp(h.start) {
				continue
			}
			after := h.start >= u.end && h.start-u.end <= 2
			before := h.end <= u.start && u.start-h.end <= 3
			if after && !q.bareBetween(u.end, h.start) && q.wordAt(h.start, "de") && h.start == u.end {
				return i // "65 de humedad en el campo 3"
			}
			if after && !q.bareBetween(u.end, h.start) || before && !q.bareBetween(h.end, u.start) {
				best = i
			}
		}
	}
	return best
}

// isDamp says whether a word only says that the air is damp: "94 and humid" gives
// a temperature and no humidity.
func (q *Question) isDamp(i int) bool {
	return q.wordAt(i, "humid") || q.wordAt(i, "humedo") || q.wordAt(i, "muggy")
}

// unchanged says whether a phrase is told to be as it was: "humidity the same".
func (q *Question) unchanged(h *hit) bool {
	return q.wordAt(h.start-1, "same") || q.wordAt(h.start-1, "misma") || q.wordAt(h.end, "same") || q.wordAt(h.end, "the") && q.wordAt(h.end+1, "same") ||
		q.wordAt(h.end, "igual") || q.wordAt(h.end, "la") && q.wordAt(h.end+1, "misma")
}

// ofHumidity says whether a bare number stands right after a word for humidity,
// even where a later one counts ("humidity is 50... no, 45 percent").
func (q *Question) ofHumidity(u *Quantity) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if q.is(h, "humidity") && h.end <= u.start && u.start-h.end <= 2 && q.sameSentence(h.start, u.start) && !q.bareBetween(h.end, u.start) && !q.mark(h.end, ",") && !q.joins(h.end) {
			return true
		}
	}
	return false
}

func (q *Question) bareBetween(a, b int) bool {
	for i := range q.Quantities {
		if u := &q.Quantities[i]; u.start >= a && u.end <= b {
			return true
		}
	}
	return false
}

// coolest and hottest are the bare numbers that a temperature may be, in °F.
const (
	coolest = 50
	hottest = 130
)

// NoScale is the word of a temperature that is neither called Fahrenheit nor
// Celsius; it is read as Fahrenheit.
const NoScale = "no-scale"

// Temperature reads the air temperature: one with its unit, or a bare number
// that may be one and is not the humidity.
func Temperature() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		best := -1
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if u.Kind == Warmth && s.holds(u.start, u.end) && !q.feltBefore(u.start) {
				best = i
			}
		}
		if best < 0 {
			wet := q.humidity(s)
			for i := range q.Quantities {
				u := &q.Quantities[i]
				if u.Kind != Bare || i == wet || q.ofHumidity(u) || !s.holds(u.start, u.end) || u.Lo < coolest*measure.One || u.Hi > hottest*measure.One || q.feltBefore(u.start) {
					continue
				}
				best = i
			}
		}
		if best < 0 {
			return Val{}, span{}, false
		}
		u := &q.Quantities[best]
		v := Val{Kind: WarmthVal, Lo: u.Lo, Hi: u.Hi}
		if u.Kind == Bare || u.Unit == q.x.std.degree {
			v.Word = NoScale
		}
		return v, span{u.start, u.end}, true
	}
}

// HeatIndexSaid reads a heat index that somebody looked up: "heat index is 101".
func HeatIndexSaid() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		wet := q.humidity(s)
		for i := range q.Quantities {
			u := &q.Quantities[i]
			if i == wet || u.Kind != Warmth && (u.Kind != Bare || u.Lo < coolest*measure.One || u.Hi > 2*hottest*measure.One) || !s.holds(u.start, u.end) {
				continue
			}
			if q.feltBefore(u.start) {
				return Val{Kind: WarmthVal, Lo: u.Lo, Hi: u.Hi}, span{u.start, u.end}, true
			}
		}
		return Val{}, span{}, false
	}
}

// feltBefore says whether a word for the heat index stands before a number, or
// right after it ("102 de sensación térmica").
func (q *Question) feltBefore(i int) bool {
	if wet := q.humidity(q.Whole()); wet >= 0 && q.warmths(q.Whole(), wet) < 2 {
		return false // told with the humidity it is the air's: "heat index if it's 86 and 60 percent"
	}
	for k := range q.hits {
		h := &q.hits[k]
		if q.feltAfter(i, h) {
			return true
		}
		if h.end <= i && i-h.end <= 2 && q.is(h, "heatindex") && q.sameSentence(h.start, i) && !q.bareBetween(h.end, i) && !q.wordAt(h.end, "at") && !q.wordAt(h.end, "with") && !q.wordAt(h.end, "con") {
			return true
		}
	}
	return false
}

// warmths is how many numbers of a scope could be temperatures or heat indexes.
func (q *Question) warmths(s Scope, wet int) int {
	n := 0
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if i != wet && s.holds(u.start, u.end) && (u.Kind == Warmth || u.Kind == Bare && u.Lo >= coolest*measure.One && u.Hi <= 2*hottest*measure.One) {
			n++
		}
	}
	return n
}
