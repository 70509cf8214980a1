package answers

import (
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// Thread is what one conversation remembers: the topic, the facts, whom it is
// about. Its zero value is a new conversation. It must not be used by two
// questions at once.
type Thread struct {
	Topic    string
	facts    question.Facts
	asked    question.Asked
	divs     sheet.Mask
	division string
	position string
	byAge    bool
	pending  bool // the last answer asked back
}

// followUp decides whether a question goes on with its thread: it names no
// topic of its own, or the same one with a fact changed.
func (d *Desk) followUp(a *ask, parts []question.Part) []question.Part {
	t := a.thread
	if t == nil || t.Topic == "" || d.by[t.Topic] == nil {
		return nil
	}
	q := a.q
	// a new topic must be likely by itself, and more so where the thread waits for a fact
	limit := question.Enough
	if t.pending || q.Has("follow") {
		limit += 3
	}
	if len(parts) > 0 && parts[0].Sum >= limit {
		return nil
	}
	if len(parts) == 0 && !d.addsFact(a) {
		return nil
	}
	return []question.Part{{Topic: t.Topic, Scope: q.Whole(), Whole: true, Sum: question.Enough, Follow: true}}
}

// addsFact says whether a question names a division, a position or a fact that
// the thread's topic can use.
func (d *Desk) addsFact(a *ask) bool {
	q := a.q
	if len(q.Divisions(q.Whole())) > 0 || q.Position(q.Whole()) != "" || q.UnknownDivision != 0 {
		return true
	}
	if _, ok := q.Change(); ok {
		return true
	}
	for _, k := range [...]question.Kind{question.Age, question.Grade, question.Day, question.Season} {
		if _, ok := q.First(k, q.Whole()); ok {
			return true
		}
	}
	return len(q.Fill(d.by[a.thread.Topic].Wants, q.Whole(), nil)) > 0
}

// remember keeps what the next question of the thread may need.
func (t *Thread) remember(topic string, facts question.Facts, asked question.Asked, w who, pending bool) {
	t.Topic, t.asked, t.pending = topic, asked, pending
	t.facts = append(t.facts[:0], facts...)
	if w.divFact != "" || w.byAge {
		if !w.assumed {
			t.divs, t.division, t.byAge = w.divs, w.divFact, w.byAge
		}
	}
	if w.posFact != "" {
		t.position = w.posFact
	}
}

// change applies "cuts two inches off" to a length that is known.
func change(q *question.Question, name string, facts question.Facts) question.Facts {
	if name == "" {
		return facts
	}
	by, ok := q.Change()
	if !ok {
		return facts
	}
	v, ok := facts.Get(name)
	if !ok || v.Kind != question.LengthVal || v.Lo+by < int64(measure.Inch) {
		return facts
	}
	v.Lo, v.Hi = v.Lo+by, v.Hi+by
	return facts.Set(name, v)
}
