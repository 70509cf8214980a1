package answers

import (
	"strings"

	"sidewall/answers/checks"
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
	missing  []string
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
	follows := q.FollowsOn()
	if t.pending || follows {
		limit += 3
	}
	if len(parts) > 0 && parts[0].Whole && parts[0].Topic != t.Topic && parts[0].Cued < question.Enough && d.addsFact(a) {
		parts = nil // nothing but habit speaks for another topic
	}
	if len(parts) == 1 && follows && (parts[0].Topic == t.Topic || parts[0].Topic == "division" && t.Topic != "division" && !q.Dated()) {
		parts = nil // "what if it goes away", "what about my oldest, he is in high school"
	}
	if len(parts) > 0 && parts[0].Sum >= limit && (q.Asks() || !d.addsFact(a)) {
		return nil // it asks something of its own; a statement that adds a fact goes on with the thread
	}
	if len(parts) == 0 && !d.addsFact(a) && !(follows && q.Speaks(t.Topic)) {
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
	if _, ok := q.CountTo(); ok && d.by[a.thread.Topic].Counts != "" {
		return true
	}
	if _, ok := q.CountChange(); ok && d.by[a.thread.Topic].Counts != "" {
		return true
	}
	for _, k := range [...]question.Kind{question.Age, question.Grade, question.Day, question.Season} {
		if _, ok := q.First(k, q.Whole()); ok {
			return true
		}
	}
	c := d.by[a.thread.Topic]
	return len(q.Fill(c.Wants, q.Whole(), nil)) > 0 || d.bareFact(a, c) != ""
}

// bareFact is the fact that a bare number means in a thread that has asked for
// it or holds it: "and 44?", "3?", "other one is 7.9". "" for none.
func (d *Desk) bareFact(a *ask, c *checks.Check) string {
	if _, ok := a.q.Only(question.Bare); !ok {
		return ""
	}
	name := ""
	for _, f := range a.thread.facts {
		switch f.Val.Kind {
		case question.LengthVal, question.CountVal, question.WeightVal, question.SpanVal, question.WarmthVal:
			name = f.Name
		}
	}
	for _, m := range a.thread.missing {
		if m != "division" && m != "position" && m != "birth_date" {
			return m
		}
	}
	return name
}

// bareVal is a bare number as the value of a fact, by the unit that its name ends in.
func bareVal(name string, milli int64) question.Val {
	v := question.Val{Kind: question.CountVal, Lo: milli}
	for _, u := range [...]struct {
		suffix string
		kind   question.ValKind
		unit   int64
	}{
		{"_in", question.LengthVal, int64(measure.Inch)}, {"_yd", question.LengthVal, int64(measure.Yard)},
		{"_s", question.SpanVal, int64(measure.Second)}, {"_oz", question.WeightVal, int64(measure.Ounce)},
		{"_f", question.WarmthVal, int64(measure.DegreeF)},
	} {
		if strings.HasSuffix(name, u.suffix) {
			v.Kind, v.Lo = u.kind, milli*u.unit/measure.One
		}
	}
	v.Hi = v.Lo
	return v
}

// remember keeps what the next question of the thread may need.
func (t *Thread) remember(topic string, facts question.Facts, asked question.Asked, w who, missing []string) {
	t.Topic, t.asked, t.pending, t.missing = topic, asked, len(missing) > 0, missing
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
