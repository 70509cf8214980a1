package question

import "sidewall/answers/measure"

// gameClocks turns times that are said to be left of a period into clocks: "with
// 25 seconds to go in the third" is 0:25. Time left of a penalty stays a time.
func (q *Question) gameClocks() {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Span || u.Lo != u.Hi || u.Lo > int64(15*measure.Minute) || !q.timeLeftAt(u.end) && !(u.start > 0 && (q.wordAt(u.start-1, "at") || q.wordAt(u.start-1, "con"))) {
			continue
		}
		ofPeriod := false
		for j := range q.Quantities {
			v := &q.Quantities[j]
			if (v.Kind == Period || v.Kind == Half || v.Kind == Ordinal) && v.start >= u.end && v.start-u.end <= 5 {
				ofPeriod = true
			}
		}
		for h := range q.hits {
			p := &q.hits[h]
			if p.start < u.end || p.start-u.end > 5 || !q.sameSentence(p.start, u.start) {
				continue
			}
			if q.is(p, "penalty", "box") {
				ofPeriod = false
				break
			}
			ofPeriod = ofPeriod || q.is(p, "clock:game")
		}
		if ofPeriod {
			u.Kind, u.Lo, u.Style = Clock, u.Lo/int64(measure.Second), StylePlain
			u.Hi = u.Lo
		}
	}
}
