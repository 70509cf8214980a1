package lint

import (
	"fmt"
	"slices"
	"strings"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// Prose against the sheet. A summary is cut into sentences; in each, a number
// with a unit (or a bare count right before a name: "2 long crosses") belongs
// to the division named last before it, or first after it where none stands
// before, or named in the heading; and to the key whose name stands nearest
// before it, or right after it. The claim is then compared with what the sheet
// holds in the book's season. The comparison would rather miss a slip than cry
// wolf: an unclear sentence is left alone, and a plain number within a range
// is an example, not a claim.

func (l *linter) prose() {
	words := l.vocabulary()
	for _, s := range l.b.Summaries {
		for _, sen := range sentences(s) {
			l.sentence(s, words, sen)
		}
	}
}

func (l *linter) sentence(s *book.Summary, v *vocabulary, sen sentence) {
	ts := sen.tokens
	type mention struct {
		at, end int
		m       sheet.Mask
	}
	type named struct {
		at, end int
		keys    []phrase
	}
	var divisions []mention
	var names []named
	var qs []quantity
	for i := 0; i < len(ts); {
		if m, n := v.divisionGroup(ts, i); n > 0 {
			divisions = append(divisions, mention{i, i + n, m})
			i += n
			continue
		}
		// A number comes before a name: "2 periods" is a count of periods.
		if q, ok := quantityAt(ts, i); ok {
			qs = append(qs, q)
			i = q.end
			continue
		}
		if ps, n := v.name(ts, i); n > 0 {
			names = append(names, named{i, i + n, ps})
			i += n
			continue
		}
		i++
	}
	if len(qs) == 0 {
		return
	}
	var context sheet.Mask
	for i := range sen.heading {
		if m, n := v.divisionGroup(sen.heading, i); n > 0 {
			context = m
			break
		}
	}
	after := len(divisions) > 0 && context == 0 && qs[0].at < divisions[0].at
	previous := 0
	for i, q := range qs {
		next := len(ts)
		if i+1 < len(qs) {
			next = qs[i+1].at
		}
		c := claim{quantity: q, summary: s, line: ts[q.at].line, divisions: context}
		for _, d := range divisions {
			if !after && d.at < q.at {
				c.divisions = d.m
			}
			if after && d.at > q.at {
				c.divisions = d.m
				break
			}
		}
		direct := false
		for _, n := range names {
			ps := l.fitting(s, q, n.keys)
			if len(ps) == 0 {
				continue
			}
			if n.end <= q.at {
				c.names, direct = ps, n.at >= previous
			} else if n.at >= q.end && n.at <= q.end+1 && (len(c.names) == 0 || !direct || q.bare) {
				c.names, direct = ps, true
				c.follows = n.at == q.end
				break
			} else if n.at < next && n.at <= q.end+8 {
				// "10 s to get into the goal area" names it late: either may be meant.
				c.names = append(c.names, ps...)
				break
			}
		}
		if q.bare && !c.follows {
			c.names = l.fitting(s, q, v.part(ts[q.end:]))
			c.follows, direct = len(c.names) > 0, true
		}
		// A name that was said for an earlier number, or a loose word, may stand
		// for any value of its topic.
		c.exact = direct && !q.edge && slices.ContainsFunc(c.names, func(p phrase) bool { return p.proper || len(p.words) > 1 })
		previous = q.end
		if !q.bare || c.follows {
			l.compare(c)
		}
	}
}

// claim is a number of a summary with what it is said about.
type claim struct {
	quantity
	summary   *book.Summary
	line      int
	divisions sheet.Mask // 0 where none is named
	names     []phrase
	exact     bool // the names are meant, and not just near
	follows   bool // the name stands right after the number
}

// fitting are those of the names that have values in the number's unit. Names
// from outside the topics that the summary tells in its front matter count
// where the summary's own have none, and only as the sheet itself calls them.
func (l *linter) fitting(s *book.Summary, q quantity, ps []phrase) (own []phrase) {
	var others []phrase
	for _, p := range ps {
		switch {
		case len(l.keysFor(p, q.unit)) == 0:
		case slices.Contains(s.Topics, p.topic):
			own = append(own, p)
		case p.proper:
			others = append(others, p)
		}
	}
	if len(own) > 0 {
		return own
	}
	return others
}

// keysFor are the keys that a name means and that count in a unit.
func (l *linter) keysFor(p phrase, u measure.Unit) []key {
	return l.where(u, func(k key) bool {
		return k.topic == p.topic && (k.key == p.key || strings.HasPrefix(k.key, p.key+"."))
	})
}

func (l *linter) where(u measure.Unit, want func(key) bool) []key {
	var out []key
	for _, k := range l.keys {
		if want(k) && slices.ContainsFunc(k.records, func(r *sheet.Record) bool { return numeric(r, u) }) {
			out = append(out, k)
		}
	}
	return out
}

// compare tells where a claim agrees with no value that it may be about.
func (l *linter) compare(c claim) {
	if c.divisions == 0 && (len(c.names) == 0 || c.clock) || c.bare && !c.exact {
		return
	}
	var strict []key
	for _, p := range c.names {
		strict = append(strict, l.keysFor(p, c.unit)...)
	}
	cands := strict
	if !c.exact {
		topics := c.summary.Topics
		if len(c.names) > 0 {
			topics = nil
			for _, p := range c.names {
				topics = append(topics, p.topic)
			}
		}
		cands = l.where(c.unit, func(k key) bool { return slices.Contains(topics, k.topic) })
	}
	said := c.divisions != 0
	var off []string // divisions with values that the claim does not fit
	var show []*sheet.Record
	for d, id := range l.b.Sheet.Divisions {
		if said && !c.divisions.Has(d) {
			continue
		}
		vals := l.inSeason(cands, d, c.unit)
		if len(vals) == 0 {
			continue
		}
		l.compared++
		if agrees(c.quantity, vals) {
			if !said {
				return // true somewhere, and it does not say where
			}
			continue
		}
		if len(off) == 0 {
			if show = l.inSeason(strict, d, c.unit); len(show) == 0 {
				show = vals
			}
		}
		off = append(off, id)
	}
	if len(off) == 0 {
		return
	}
	r, texts := show[0], []string{}
	for _, v := range show {
		if v.Topic == r.Topic && !slices.Contains(texts, v.Value.Text) {
			texts = append(texts, v.Value.Text)
		}
	}
	whom := "for " + strings.Join(off, ", ")
	if !said {
		whom = "at any age"
	}
	l.add(c.summary.File, c.line, 0, fmt.Sprintf("mend the summary, or the value in %s:%d", r.File, r.Line),
		"the summary says %s %s, the sheet says %s (%s)", c.text, whom, strings.Join(texts, " or "), r.Basis())
	if said {
		l.out[len(l.out)-1].Divisions = off
	}
}

func numeric(r *sheet.Record, u measure.Unit) bool {
	return (r.Value.Kind == sheet.Number || r.Value.Kind == sheet.Range) && r.Value.Unit == u
}

// inSeason are the values that hold for a division at some time of the season,
// the season's first day first.
func (l *linter) inSeason(ks []key, d int, u measure.Unit) []*sheet.Record {
	var out []*sheet.Record
	for _, k := range ks {
		days := []measure.Date{l.b.Season.From}
		for _, on := range changes(k.records) {
			if on > l.b.Season.From && on <= l.b.Season.To {
				days = append(days, on)
			}
		}
		for _, on := range days {
			for p := range sheet.Positions {
				r, _ := l.b.Sheet.Lookup(k.topic, k.key, d, p, on)
				if r != nil && numeric(r, u) && !slices.Contains(out, r) {
					out = append(out, r)
				}
			}
		}
	}
	return out
}

// agrees says whether a claim fits one of the values, or is framed by two.
func agrees(q quantity, rs []*sheet.Record) bool {
	lo, hi := false, false
	for _, r := range rs {
		v := r.Value
		lo, hi = lo || v.Lo == q.lo, hi || v.Hi == q.hi
		switch {
		case v.Lo == q.lo && v.Hi == q.hi:
			return true
		case q.lo == q.hi && v.Kind == sheet.Range:
			if q.bound > 0 && q.hi == v.Hi || q.bound < 0 && q.lo == v.Lo || q.bound == 0 && v.Lo <= q.lo && q.hi <= v.Hi {
				return true
			}
		}
	}
	// "1 to 3 min" of a foul whose shortest and longest time are two values.
	return q.lo != q.hi && lo && hi
}
