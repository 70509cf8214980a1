package question

import (
	"strconv"

	"sidewall/answers/measure"
)

// TimeOfDay is a clock of day as somebody wrote it: minutes from midnight, or
// from 12 where neither half of the day was said, and the style.
type TimeOfDay struct {
	Minutes int64
	Style   uint8
}

const (
	halfDay  = 12 * 60
	wholeDay = 24 * 60
)

// Add is the time some minutes later, in the same style.
func (t TimeOfDay) Add(minutes int64) TimeOfDay {
	m := t.Minutes + minutes
	switch t.Style {
	case Style24:
		return TimeOfDay{m % wholeDay, Style24}
	case StyleAM, StylePM:
		m %= wholeDay
		style := StyleAM
		if m >= halfDay {
			style = StylePM
		}
		return TimeOfDay{m, style}
	}
	return TimeOfDay{m % halfDay, t.Style}
}

// String writes the time in its style: "18:12", "6:12 pm", "6:12".
func (t TimeOfDay) String() string {
	h, m := t.Minutes/60, t.Minutes%60
	var buf [8]byte
	b := buf[:0]
	if t.Style == Style24 {
		if h < 10 {
			b = append(b, '0')
		}
	} else if h %= 12; h == 0 {
		h = 12
	}
	b = strconv.AppendInt(b, h, 10)
	b = append(b, ':', byte('0'+m/10), byte('0'+m%10))
	switch t.Style {
	case StyleAM:
		b = append(b, " am"...)
	case StylePM:
		b = append(b, " pm"...)
	}
	return string(b)
}

// timeOfDay makes one of a clock as read, with the half of the day that may
// follow it.
func (q *Question) timeOfDay(u *Quantity) (TimeOfDay, bool) {
	style := u.Style
	if style == StylePlain {
		if s, _, ok := q.halfDay(u.end); ok {
			style = s
		}
	}
	return dayTime(u.Lo, style)
}

func dayTime(m int64, style uint8) (TimeOfDay, bool) {
	if m < 0 || m >= wholeDay {
		return TimeOfDay{}, false
	}
	switch style {
	case StyleAM, StylePM:
		if m >= halfDay+60 {
			return TimeOfDay{m, Style24}, true // "18:12 pm"
		}
		m %= halfDay
		if style == StylePM {
			m += halfDay
		}
	case StylePlain:
		if m >= halfDay+60 {
			return TimeOfDay{m, Style24}, true
		}
		m %= halfDay
	}
	return TimeOfDay{m, style}, true
}

// LastStrike reads when the last lightning or thunder was. Of several the last
// one counts; a time that belongs to something else ("game at 9:30", "4:12 left
// on the clock", "can we go at 6:45") is none.
func LastStrike() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		var all [maxCounted]strike
		n := q.strikes(s, &all)
		told := false
		for i := 0; i < n; i++ {
			if i > 0 && all[i-1].told && q.listed(all[i-1].span.end, all[i].span.start) {
				all[i].told = true // "thunder at 6:02, 6:09 and 6:15"
			}
			told = told || all[i].told
		}
		best := -1
		for i := 0; i < n; i++ {
			if told && !all[i].told && !all[i].again {
				continue
			}
			if best < 0 || later(all[i].at, all[best].at) {
				best = i
			}
		}
		if best < 0 {
			return Val{}, span{}, false
		}
		t := all[best].at
		if t.Style == StylePlain { // another one that says am or pm says it for all
			for i := 0; i < n; i++ {
				if o := all[i].at; o.Style == StyleAM || o.Style == StylePM {
					t = o.Add(((t.Minutes-o.Minutes)%halfDay + halfDay) % halfDay)
					break
				}
			}
		}
		return Val{Kind: WordVal, Lo: t.Minutes, Hi: int64(t.Style), Word: t.String()}, all[best].span, true
	}
}

// listed says whether nothing but commas and "and" stands between two tokens.
func (q *Question) listed(from, to int) bool {
	for i := from; i < to; i++ {
		if !q.mark(i, ",") && !q.joins(i) {
			return false
		}
	}
	return from < to
}

// OfDay is the time that a LastStrike fact holds.
func (v Val) OfDay() TimeOfDay { return TimeOfDay{v.Lo, uint8(v.Hi)} }

type strike struct {
	at    TimeOfDay
	span  span
	told  bool // lightning or thunder stands with it
	again bool // "another one"
}

// later says whether a is after b, taking the shorter way around the clock.
func later(a, b TimeOfDay) bool {
	turn := int64(wholeDay)
	if a.Style == StylePlain || b.Style == StylePlain {
		turn = halfDay
	}
	d := ((a.Minutes-b.Minutes)%turn + turn) % turn
	return d < turn/2
}

func (q *Question) strikes(s Scope, out *[maxCounted]strike) int {
	n := 0
	put := func(t TimeOfDay, at span) {
		if n >= len(out) {
			return
		}
		kind := q.timeBelongs(at)
		if kind == belongsElsewhere {
			return
		}
		out[n] = strike{t, at, kind == belongsStrike, kind == belongsAgain}
		n++
	}
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind != Clock || !s.holds(u.start, u.end) {
			continue
		}
		if t, ok := q.timeOfDay(u); ok {
			put(t, span{u.start, u.end})
		}
	}
	for k := range q.hits { // half past four, quarter to six
		h := &q.hits[k]
		off, ok := q.pastMinutes(h)
		if !ok || !s.holds(h.start, h.end) || h.end >= len(q.toks) {
			continue
		}
		hour, ok := q.number(h.end)
		if !ok || hour.frac || hour.milli < 1000 || hour.milli > 12000 {
			continue
		}
		style := StylePlain
		if st, _, ok := q.halfDay(hour.end); ok {
			style = st
		}
		if t, ok := dayTime(hour.milli/1000%12*60, style); ok {
			put(t.Add(off+wholeDay), span{h.start, hour.end})
		}
	}
	for i := range q.Quantities { // las siete y cuarto, las siete y media
		u := &q.Quantities[i]
		part := u.Lo % measure.One
		if u.Kind != Bare || q.Lang != "es" || u.Lo != u.Hi || u.Lo < measure.One || u.Lo >= 13*measure.One || part != measure.One/2 && part != measure.One/4 ||
			!s.holds(u.start, u.end) || u.start == 0 || !q.wordAt(u.start-1, "las") && !q.wordAt(u.start-1, "la") {
			continue
		}
		style := StylePlain
		if st, _, ok := q.halfDay(u.end); ok {
			style = st
		}
		if t, ok := dayTime(u.Lo/measure.One%12*60+part*60/measure.One, style); ok {
			put(t, span{u.start, u.end})
		}
	}
	for i := range q.Quantities { // "thunder at 7"
		u := &q.Quantities[i]
		if u.Kind != Bare || u.Lo != u.Hi || u.Lo%measure.One != 0 || u.Lo < measure.One || u.Lo >= 13*measure.One || !s.holds(u.start, u.end) || u.start == 0 {
			continue
		}
		if w := u.start - 1; !q.wordAt(w, "at") && !(q.Lang == "es" && (q.wordAt(w, "las") || q.wordAt(w, "la"))) {
			continue
		}
		if t, ok := dayTime(u.Lo/measure.One%12*60, StylePlain); ok {
			put(t, span{u.start, u.end})
		}
	}
	return n
}

// pastMinutes is the minutes that "half past" and its like add to the hour.
func (q *Question) pastMinutes(h *hit) (int64, bool) {
	for _, t := range h.tags {
		name := q.x.names[t]
		if len(name) > 5 && name[:5] == "past:" {
			if v, err := strconv.ParseInt(name[5:], 10, 64); err == nil {
				return v, true
			}
		}
	}
	return 0, false
}

const (
	belongsNowhere = iota
	belongsStrike
	belongsAgain
	belongsElsewhere
)

// timeBelongs says what a time is of: the nearest telling phrase before it in
// its part of the sentence, or the nearest after it.
func (q *Question) timeBelongs(at span) int {
	kind := func(h *hit) int {
		switch {
		case q.is(h, "lightning:again") && !q.is(h, "lightning"):
			return belongsAgain
		case q.is(h, "lightning"):
			return belongsStrike
		case q.is(h, "dayclock:other", "resume"):
			return belongsElsewhere
		}
		return belongsNowhere
	}
	if at.end < len(q.toks) {
		if h := q.hitAt[at.end]; h >= 0 && q.is(&q.hits[h], "dayclock:left") {
			return belongsElsewhere
		}
	}
	for k := len(q.hits) - 1; k >= 0; k-- {
		h := &q.hits[k]
		if h.end > at.start || at.start-h.end > 7 || !q.sameSentence(h.start, at.start) || q.timeBetween(h.end, at.start) {
			continue
		}
		if b := kind(h); b != belongsNowhere {
			return b
		}
		if at.start-h.end <= 3 && q.is(h, "ask:may") { // "can we go at 6:45?"
			return belongsElsewhere
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if h.start < at.end || h.start-at.end > 8 || !q.sameSentence(h.start, at.start) || q.timeBetween(at.end, h.start) {
			continue
		}
		if b := kind(h); b == belongsStrike {
			return b
		}
	}
	return belongsNowhere
}

func (q *Question) timeBetween(a, b int) bool {
	for i := range q.Quantities {
		if u := &q.Quantities[i]; u.Kind == Clock && u.start >= a && u.end <= b {
			return true
		}
	}
	return false
}
