package book

import (
	"fmt"

	"sidewall/answers/sheet"
)

// Two records of one key in one layer tie where, for some division, position
// and day, both hold and the rules do not rank them: their scopes are equal
// and so are their first days, or neither scope lies within the other. A sheet
// would pick one of the two silently, so the book does not load.

func (l *loader) ties(recs []*sheet.Record) {
	type id struct {
		topic, key string
		layer      int
	}
	by := make(map[id][]*sheet.Record, len(recs))
	for _, r := range recs {
		k := id{r.Topic, r.Key, r.Layer}
		for _, o := range by[k] {
			if !Tie(o, r) {
				continue
			}
			f := l.files_[r.File]
			f.err(r.Line, r.Col,
				fmt.Sprintf("%s of %s ties with %s:%d: both hold %s, and neither is narrower or newer", r.Key, r.Topic, o.File, o.Line, l.where(o, r)),
				"give one of the two a later from, an until, or divisions and positions within the other's")
		}
		by[k] = append(by[k], r)
	}
}

// Tie says whether two records of one key and layer tie somewhere.
func Tie(a, b *sheet.Record) bool {
	if a.Layer != b.Layer || a.Divisions&b.Divisions == 0 || a.Positions&b.Positions == 0 {
		return false
	}
	if a.Until != 0 && a.Until < b.From || b.Until != 0 && b.Until < a.From {
		return false
	}
	aInB := a.Divisions&^b.Divisions == 0 && a.Positions&^b.Positions == 0
	bInA := b.Divisions&^a.Divisions == 0 && b.Positions&^a.Positions == 0
	if aInB && bInA {
		return a.From == b.From
	}
	return !aInB && !bInA
}

// where names one division, position and day on which both hold.
func (l *loader) where(a, b *sheet.Record) string {
	out := "for "
	for i, d := range l.divisions {
		if (a.Divisions & b.Divisions).Has(i) {
			out += d
			break
		}
	}
	for i, p := range sheet.Positions {
		if (a.Positions & b.Positions).Has(i) {
			out += " " + p
			break
		}
	}
	return out + " on " + max(a.From, b.From).String()
}
