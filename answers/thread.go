package answers

import (
	"slices"
	"strings"

	"sidewall/answers/answer"
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
	lang     string // the one spoken last
	facts    question.Facts
	asked    question.Asked
	divs     sheet.Mask
	division string
	position string
	byAge    bool
	pending  bool // the last answer asked back
	missing  []string
	fresh    int   // how many of the facts were said last
	unit     int64 // in which the last length was said; 0 for none
}

// followUp decides whether a question goes on with its thread: it names no
// topic of its own, or the same one with a fact changed.
func (d *Desk) followUp(a *ask, parts []question.Part) []question.Part {
	t := a.thread
	if t == nil || t.Topic == "" || d.by[t.Topic] == nil {
		return nil
	}
	q := a.q
	if _, changes := q.Change(); changes && d.by[t.Topic].Changes != "" {
		if _, known := t.facts.Get(d.by[t.Topic].Changes); known { // "the new rubber end adds half an inch to it. still?"
			return []question.Part{{Topic: t.Topic, Scope: q.Whole(), Whole: true, Sum: question.Enough, Follow: true}}
		}
	}
	// a new topic must be likely by itself, and more so where the thread waits for a fact
	limit := question.Enough
	follows := q.FollowsOn()
	if t.pending || follows {
		limit += 3
	}
	if len(parts) == 1 && follows && parts[0].Topic != t.Topic && parts[0].Cued <= weakly && len(q.Fill(d.by[t.Topic].Wants, q.Whole(), nil)) > 0 {
		parts = nil // "what if he uses a clear one" of a mouthguard
	}
	if len(parts) > 0 && parts[0].Whole && parts[0].Topic != t.Topic && parts[0].Cued < question.Enough && d.addsFact(a) {
		parts = nil // nothing but habit speaks for another topic
	}
	if len(parts) == 1 && follows && (parts[0].Topic == t.Topic || parts[0].Topic == "division" && t.Topic != "division" && !q.Dated()) {
		parts = nil // "what if it goes away", "what about my oldest, he is in high school"
	}
	if len(parts) == 1 && parts[0].Whole && parts[0].Topic == t.Topic && (len(q.Divisions(q.Whole())) > 0 || q.Position(q.Whole()) != "") && !q.Has("ask:howmany") && !q.Has("ask:what") && len(q.Fill(d.by[t.Topic].Wants, q.Whole(), nil)) == 0 {
		parts = nil // "moves up to high school next year, ok there?"
	}
	if len(parts) == 1 && parts[0].Topic != t.Topic && (follows || q.PointsBack()) && (len(q.Divisions(q.Whole())) > 0 || q.Position(q.Whole()) != "") &&
		!q.Has("ask:howmany") && !q.Has("ask:what") && len(d.by[parts[0].Topic].Wants) > 0 && len(q.Fill(d.by[parts[0].Topic].Wants, q.Whole(), nil)) == 0 {
		parts = nil // "he lends it to the long stick middie on the u13s. still ok?"
	}
	if len(parts) > 0 && parts[0].Sum >= limit && (q.Asks() || !d.addsFact(a)) {
		return nil // it asks something of its own; a statement that adds a fact goes on with the thread
	}
	if len(parts) == 0 && !d.addsFact(a) && !(follows && (q.Speaks(t.Topic) || q.WordCount() <= shortFollow && !q.NewWords() && (q.Has("follow") || q.Has("ask:may")))) {
		return nil
	}
	return []question.Part{{Topic: t.Topic, Scope: q.Whole(), Whole: true, Sum: question.Enough, Follow: true}}
}

// shortFollow is how many words a question has at most that names nothing and is
// worded as the next one: "can he just go without then".
const shortFollow = 8

// weakly is what the cues of another topic come to at most where a question that
// is worded as the next one stays with its thread.
const weakly = 14

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
	for i, f := range a.thread.facts {
		if i >= a.thread.fresh && name != "" {
			break // a fact that was said last goes before older ones
		}
		switch f.Val.Kind {
		case question.LengthVal, question.CountVal, question.WeightVal, question.SpanVal, question.WarmthVal:
			name = f.Name
		}
	}
	if name == "" && len(a.thread.missing) == 0 {
		name = c.Changes // the limit was asked for; now a length is put beside it
		if c.Bare != "" {
			name = c.Bare
		}
	}
	for _, m := range a.thread.missing {
		if m != "division" && m != "position" && m != "birth_date" {
			return m
		}
	}
	return name
}

// farTooLong is what no stick, head or player measures: then the number is in
// another unit than the thread's last length.
const farTooLong = int64(120 * measure.Inch)

// bareVal is a bare number as the value of a fact, by the unit that its name ends in.
// A length is in the unit in which the thread's last one was said.
func bareVal(name string, milli, said int64) question.Val {
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
			if u.kind == question.LengthVal && said != 0 && !(u.suffix == "_in" && milli*said/measure.One > farTooLong) {
				u.unit = said
			}
			v.Kind, v.Lo = u.kind, milli*u.unit/measure.One
		}
	}
	v.Hi = v.Lo
	return v
}

// lastSaid takes a bare number that could be a temperature for the fact that the
// thread asked for or was told last: "94 grados?", "55" is then the humidity.
func (d *Desk) lastSaid(a *ask, c *checks.Check, facts question.Facts) question.Facts {
	u, ok := a.q.Only(question.Bare)
	if !ok || len(facts) != 1 || facts[0].Val.Kind != question.WarmthVal || facts[0].Val.Word != question.NoScale ||
		a.q.Has("humidity") || len(a.thread.missing) == 0 && a.thread.fresh != 1 {
		return facts
	}
	if name := d.bareFact(a, c); name != "" && name != facts[0].Name {
		return append(facts[:0], question.Fact{Name: name, Val: bareVal(name, u.Lo, 0)})
	}
	return facts
}

// inSaidUnit takes a bare number that a check read in its own unit for one in the
// unit in which the thread's last length was said: "114 cm?", "y 105?".
func (d *Desk) inSaidUnit(a *ask, c *checks.Check, facts question.Facts) question.Facts {
	u, ok := a.q.Only(question.Bare)
	if _, length := a.q.First(question.Length, a.q.Whole()); !ok || length || a.thread.unit == 0 {
		return facts
	}
	name := d.bareFact(a, c)
	if have, ok := facts.Get(name); ok && have.Lo == bareVal(name, u.Lo, 0).Lo {
		return facts.Set(name, bareVal(name, u.Lo, a.thread.unit))
	}
	return facts
}

// remember keeps what the next question of the thread may need.
func (t *Thread) remember(q *question.Question, topic string, facts question.Facts, fresh int, asked question.Asked, w who, missing []string) {
	t.Topic, t.asked, t.pending, t.missing = topic, asked, len(missing) > 0, missing
	t.facts, t.fresh = append(t.facts[:0], facts...), fresh
	if u := q.LengthUnit(); u != 0 {
		t.unit = u
	}
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

// goesOn answers a question of the thread's topic that says too little by itself
// with what the thread knows: "if we take an inch off". nil where it says enough,
// or where that does not help either.
func (d *Desk) goesOn(a *ask, parts []question.Part) *answer.Answer {
	t := a.thread
	if t == nil || len(parts) != 1 || parts[0].Follow || parts[0].Topic != t.Topic || d.by[t.Topic] == nil || len(t.facts) == 0 {
		return nil
	}
	before := *t
	before.facts = slices.Clone(t.facts)
	alone := d.rule(a, d.by[t.Topic], &parts[0])
	after := *t
	*t = before
	if alone.Verdict != answer.Need {
		return nil
	}
	p := parts[0]
	p.Follow = true
	if one := d.rule(a, d.by[t.Topic], &p); one.Verdict != answer.Need {
		return one
	}
	*t = after
	return alone
}
