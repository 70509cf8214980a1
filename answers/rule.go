package answers

import (
	"slices"

	"sidewall/answers/answer"
	"sidewall/answers/checks"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// split makes one part for each division that is compared, and one for each
// gear item that is asked about.
func (d *Desk) split(a *ask, parts []question.Part) []question.Part {
	if len(parts) != 1 || parts[0].Follow {
		return parts
	}
	p := parts[0]
	c := d.by[p.Topic]
	if c == nil {
		return parts
	}
	if c.ByDivision && !a.q.Has("moveup") {
		if ds := a.q.Divisions(p.Scope); len(ds) > 1 {
			parts = parts[:0]
			for _, k := range ds {
				q := p
				q.Division = k + 1
				parts = append(parts, q)
			}
			return parts
		}
	}
	return parts
}

// rule runs a part's check for everyone it may mean and makes one answer of the rulings.
func (d *Desk) rule(a *ask, c *checks.Check, p *question.Part) *answer.Answer {
	w := d.who(a, p)
	b := d.pool.Get().(*bench)
	defer d.pool.Put(b)

	facts := a.q.Fill(c.Wants, p.Scope, question.Facts(b.facts[:0]))
	if !p.Whole {
		facts = fillRest(a.q, c, facts)
	}
	asked, fresh := a.q.Asked(p.Scope), len(facts)
	if t := a.thread; t != nil && t.Topic == c.Topic && p.Follow {
		if len(facts) == 0 {
			if name := d.bareFact(a, c); name != "" {
				u, _ := a.q.Only(question.Bare)
				facts = facts.Set(name, bareVal(name, u.Lo, t.unit))
			}
		}
		facts = d.inSaidUnit(a, c, d.lastSaid(a, c, facts))
		if v, ok := t.facts.Get("birth_date"); ok {
			if day, ok := a.q.SameYear(v.Lo); ok {
				facts = facts.Set("birth_date", day)
			}
		}
		counted := false
		counts := countFact(c, t.facts)
		if c.Stated != "" && a.q.Has("count:pulled") { // off the field, not out of the box
			counts = ""
			if _, ok := t.facts.Get(c.Stated); ok {
				counts = c.Stated
			}
		}
		if counts != "" {
			known, _ := t.facts.Get(counts)
			if by, ok := a.q.CountChange(); ok && known.Lo+by*measure.One >= 0 {
				more, timed := facts.Get(c.Adds)
				known.Lo, known.Hi = known.Lo+by*measure.One, known.Hi+by*measure.One
				facts = question.Facts(nil).Set(counts, known)             // the words say no more than that
				if had, ok := t.facts.Get(c.Adds); ok && timed && by > 0 { // but how long the new one is
					had.Lo, had.Hi = had.Lo+more.Lo, had.Hi+more.Hi
					facts = facts.Set(c.Adds, had)
				}
				counted = true
			}
			if n, ok := a.q.NewTotal(); ok {
				name := counts
				if c.Stated != "" && n > mostInBox { // "so it's 9 now": on the field, not in the box
					name = c.Stated
				}
				known.Lo, known.Hi = n, n
				facts = facts.Set(name, known)
			}
			if n, ok := a.q.CountTo(); ok {
				if now, said := facts.Get(counts); !said || c.Stated == "" && now.Lo < n*measure.One {
					known.Lo, known.Hi = n*measure.One, n*measure.One
					facts = facts.Set(counts, known)
				}
			}
		}
		if sign := a.q.Relative(); sign != 0 && !counted {
			for i := range facts {
				now := &facts[i].Val
				old, known := t.facts.Get(facts[i].Name)
				if known && now.Kind == question.WordVal { // "four seconds more" names no other count
					*now = old
				}
				if known && old.Kind == now.Kind && now.Lo > 0 && old.Lo+sign*now.Lo >= 0 &&
					(now.Kind == question.LengthVal || now.Kind == question.CountVal || now.Kind == question.SpanVal) {
					now.Lo, now.Hi = old.Lo+sign*now.Lo, old.Hi+sign*now.Hi
				}
			}
		}
		fresh = len(facts)
		for _, f := range t.facts {
			now, ok := facts.Get(f.Name)
			if m, merges := now.Obj.(question.Merger); merges { // a story goes on where it stopped
				now.Obj = m.Over(f.Val.Obj)
				facts = facts.Set(f.Name, now)
			}
			if c.Undoes[1] != "" && f.Val.Word == c.Undoes[1] && a.q.Has(c.Undoes[0]) {
				continue
			}
			if f.Name == c.Stated && c.Stated != "" && (a.q.Has("ask:howmany") || a.q.Has("ask:how") && a.q.Has("players:onfield")) {
				continue // who asks how many may play does not say so
			}
			if !ok && !c.Drops(facts, f.Name) {
				facts = append(facts, f)
			}
		}
		if a.q.FollowsOn() && !asked.May() { // "what about 3" asks what was asked before
			asked = question.Asked{}
		}
		before := t.asked
		if asked.May() && fresh > 0 { // "how many may we have" was answered; "so 4 is a no?" asks anew
			before = before.Without("ask:howmany", "ask:what", "ask:how", "ask:howlong", "ask:howfar", "ask:most")
		}
		asked.Merge(before)
	}
	facts = change(a.q, c.Changes, facts)

	var out *answer.Answer
	switch {
	case w.unknown != 0 && c.ByDivision:
		out = d.needUnknown(a, c, w)
	case w.tooOld && c.ByDivision:
		out = d.none(a, "none-age")
		out.Topic = c.Topic
	default:
		out = d.decide(a, c, b, w, facts, asked)
	}
	out.Facts = d.facts(c, facts, w)
	if a.thread != nil {
		a.thread.remember(a.q, c.Topic, facts, fresh, asked, w, out.Missing)
	}
	return out
}

// mostInBox is the largest number, in thousandths, that is taken for one of the box.
const mostInBox = 6 * measure.One

// countFact is the number of a thread that "one more" changes: the check's own, or
// the only number that the thread holds. "" for none.
func countFact(c *checks.Check, facts question.Facts) string {
	if c.Counts == "" {
		return ""
	}
	if _, ok := facts.Get(c.Counts); ok {
		return c.Counts
	}
	name := ""
	for _, f := range facts {
		if f.Val.Kind == question.CountVal {
			if name != "" {
				return ""
			}
			name = f.Name
		}
	}
	return name
}

// fillRest reads what a clause does not say from the rest of the question.
func fillRest(q *question.Question, c *checks.Check, facts question.Facts) question.Facts {
	if len(facts) > 0 {
		return facts
	}
	return q.Fill(c.Wants, q.Whole(), facts)
}

// decide runs the check for each division and position and compares.
func (d *Desk) decide(a *ask, c *checks.Check, b *bench, w who, facts question.Facts, asked question.Asked) *answer.Answer {
	divs, pos := w.divs, w.pos
	if divs == 0 { // too old, or born in the future: what the check says does not depend on it
		divs = d.allDivisions()
	}
	if !c.ByDivision {
		divs &= -divs // one stands for all
	}
	if !c.ByPosition {
		pos &= -pos
	}
	b.rulings, b.keys = b.rulings[:0], b.keys[:0]
	cs := &b.c
	*cs = checks.Case{Sheet: d.book.Sheet, On: a.on, Topic: c.Topic, Facts: facts, Asked: asked,
		DivKnown: w.divFact != "" || w.byAge, PosKnown: w.posFact != "", Birth: d.birthOf(a.on), Grades: d.grades}
	for i := range d.book.Divisions {
		if !divs.Has(i) {
			continue
		}
		for j := range sheet.Positions {
			if !pos.Has(j) {
				continue
			}
			cs.Division, cs.Position = i, j
			cs.Ruling.Reset()
			c.Decide(cs)
			b.rulings = append(b.rulings, cs.Ruling)
			b.keys = append(b.keys, combo{i, j})
		}
	}
	m := merger{d: d, a: a, c: c, b: b, w: w, facts: facts}
	return m.merge()
}

func (d *Desk) birthOf(on measure.Date) func(from, to measure.Date, spring int) checks.Windows {
	return func(from, to measure.Date, spring int) checks.Windows { return d.birth(from, to, on, spring) }
}

// grades is the usual division of a school grade.
func (d *Desk) grades(grade int) (string, bool) {
	for _, div := range d.book.Divisions {
		if slices.Contains(div.UsualGrades, grade) {
			return div.ID, true
		}
	}
	for _, div := range d.book.Divisions {
		if slices.Contains(div.Grades, grade) {
			return div.ID, true
		}
	}
	return "", false
}

// merger makes one answer of the rulings for all whom a question may mean.
type merger struct {
	d     *Desk
	a     *ask
	c     *checks.Check
	b     *bench
	w     who
	facts question.Facts
}

// same says whether two rulings agree: the same verdict, and for a number or a
// list the same values. A legal or not legal agrees whatever values stand behind it.
func same(x, y *checks.Ruling) bool {
	if x.Verdict != y.Verdict {
		return false
	}
	switch x.Verdict {
	case answer.Legal, answer.NotLegal, answer.NoAnswer:
		return true
	case answer.Need:
		return x.Missing()[0] == y.Missing()[0]
	}
	return sameValues(x, y)
}

func sameValues(x, y *checks.Ruling) bool {
	xs, ys := x.Values(), y.Values()
	if len(xs) != len(ys) {
		return false
	}
	for i := range xs {
		if xs[i].Name != ys[i].Name || !xs[i].Val.Equal(ys[i].Val) {
			return false
		}
	}
	return true
}

func (m *merger) merge() *answer.Answer {
	rs, ks := m.b.rulings, m.b.keys
	// leave out those for whom the book has no rule, where it has one for others
	covered := 0
	for i := range rs {
		if rs[i].Verdict != answer.NoAnswer {
			rs[covered], ks[covered] = rs[i], ks[i]
			covered++
		}
	}
	if covered > 0 {
		rs, ks = rs[:covered], ks[:covered]
	}
	if all(rs, func(r *checks.Ruling) bool { return same(r, &rs[0]) }) {
		return m.one(rs, ks)
	}
	// a fact that some of them lack settles nothing yet for the others: ask for it
	if n := needs(rs); n != nil && !m.splitByKeeper(rs, ks) {
		if all(rs, func(r *checks.Ruling) bool { return r.Verdict == answer.Need || r.Verdict == n.Verdict }) || 2*count(rs, answer.Need) >= len(rs) {
			return m.need(n, n.Missing()...)
		}
	}
	byDiv := m.settles(rs, ks, true)
	byPos := m.settles(rs, ks, false)
	switch {
	case m.splitByKeeper(rs, ks) && !m.c.AskSplit:
		return m.fieldAndKeeper(rs, ks)
	case byPos && !byDiv:
		return m.need(&rs[0], "position")
	case byDiv && !byPos:
		return m.need(&rs[0], m.divisionFact())
	case byDiv:
		return m.need(&rs[0], m.divisionFact())
	}
	return m.need(&rs[0], m.divisionFact(), "position")
}

// divisionFact is what to ask for where divisions differ.
func (m *merger) divisionFact() string {
	if m.w.byAge {
		return "birth_date"
	}
	return "division"
}

func all(rs []checks.Ruling, f func(*checks.Ruling) bool) bool {
	for i := range rs {
		if !f(&rs[i]) {
			return false
		}
	}
	return true
}

func needs(rs []checks.Ruling) *checks.Ruling {
	for i := range rs {
		if rs[i].Verdict == answer.Need {
			return &rs[i]
		}
	}
	return nil
}

func count(rs []checks.Ruling, verdict string) int {
	n := 0
	for i := range rs {
		if rs[i].Verdict == verdict {
			n++
		}
	}
	return n
}

// settles says whether knowing the division (or the position) alone would settle it.
func (m *merger) settles(rs []checks.Ruling, ks []combo, division bool) bool {
	for i := range rs {
		for j := i + 1; j < len(rs); j++ {
			alike := ks[i].pos == ks[j].pos
			if division {
				alike = ks[i].div == ks[j].div
			}
			if alike && !same(&rs[i], &rs[j]) {
				return false
			}
		}
	}
	return true
}

// splitByKeeper says whether all field players agree, all goalkeepers agree, and
// the two differ.
func (m *merger) splitByKeeper(rs []checks.Ruling, ks []combo) bool {
	field, keeper := -1, -1
	for i := range rs {
		at := &field
		if sheet.Goalkeeper.Has(ks[i].pos) {
			at = &keeper
		}
		if *at < 0 {
			*at = i
		} else if !same(&rs[i], &rs[*at]) {
			return false
		}
	}
	return field >= 0 && keeper >= 0 && !same(&rs[field], &rs[keeper])
}
