package lint

import (
	"fmt"
	"strings"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// The three checks of this file go through every key, division, position and
// day on which anything changes: between two such days nothing can differ.

// cells calls f for each of them.
func (l *linter) cells(k key, f func(d, p int, on measure.Date)) {
	for _, on := range changes(k.records) {
		for d := range l.b.Sheet.Divisions {
			for p := range sheet.Positions {
				f(d, p, on)
			}
		}
	}
}

// winners works out from the rules alone, not from the sheet's order, which
// records nothing beats.
func winners(rs []*sheet.Record, d, p int, on measure.Date) []*sheet.Record {
	var held []*sheet.Record
	top := -1
	for _, r := range rs {
		if r.Holds(d, p, on) {
			held = append(held, r)
			top = max(top, r.Layer)
		}
	}
	var out []*sheet.Record
	for _, r := range held {
		beaten := r.Layer < top
		for _, o := range held {
			if o == r || o.Layer != r.Layer {
				continue
			}
			in := o.Divisions&^r.Divisions == 0 && o.Positions&^r.Positions == 0
			same := o.Divisions == r.Divisions && o.Positions == r.Positions
			if in && !same || same && o.From > r.From {
				beaten = true
			}
		}
		if !beaten {
			out = append(out, r)
		}
	}
	return out
}

func (l *linter) resolution() {
	type pair struct{ a, b *sheet.Record }
	for _, k := range l.keys {
		told := map[pair]bool{}
		l.cells(k, func(d, p int, on measure.Date) {
			ws := winners(k.records, d, p, on)
			where := fmt.Sprintf("%s %s on %s", l.b.Sheet.Divisions[d], sheet.Positions[p], on)
			if len(ws) > 1 && !told[pair{ws[0], ws[1]}] {
				told[pair{ws[0], ws[1]}] = true
				l.at(ws[1], "give one of them a later from, an until, or a scope within the other's", "%s ties with %s:%d for %s", ws[1].Basis(), ws[0].File, ws[0].Line, where)
			}
			win, _ := l.b.Sheet.Lookup(k.topic, k.key, d, p, on)
			if len(ws) == 1 && win != ws[0] && !told[pair{win, ws[0]}] {
				told[pair{win, ws[0]}] = true
				l.at(ws[0], "this is a fault of the program: please report it", "%s should hold for %s, but the sheet answers otherwise", ws[0].Basis(), where)
			}
		})
	}
}

// silence tells where a key says nothing although it looks as if it should.
// A silence is declared by `value: none`, by a scope that a whole key leaves
// out at its edge (pockets are a field player's matter), and before the key's
// first day. It is not declared where a value ended and nothing followed, and
// not where younger and older divisions both have a value.
func (l *linter) silence() {
	for _, k := range l.keys {
		type hole struct {
			at   *sheet.Record
			what string
		}
		where := map[hole]*scope{}
		var order []hole
		note := func(h hole, d, p int, on measure.Date) {
			s := where[h]
			if s == nil {
				s = &scope{on: on}
				where[h] = s
				order = append(order, h)
			}
			if s.on == on {
				s.divisions |= 1 << uint(d)
				s.positions |= 1 << uint(p)
			}
		}
		l.cells(k, func(d, p int, on measure.Date) {
			if len(k.records) == 0 || l.speaks(k, d, p, on) {
				return
			}
			var ended *sheet.Record
			for _, r := range k.records {
				if r.Divisions.Has(d) && r.Positions.Has(p) && r.Until != 0 && r.Until < on && (ended == nil || r.Until > ended.Until) {
					ended = r
				}
			}
			if ended != nil {
				note(hole{ended, "ended"}, d, p, on)
				return
			}
			var younger, older bool
			for i := range l.b.Sheet.Divisions {
				if i < d {
					younger = younger || l.speaks(k, i, p, on)
				} else if i > d {
					older = older || l.speaks(k, i, p, on)
				}
			}
			if younger && older {
				note(hole{first(k.records), "between"}, d, p, on)
			}
		})
		for _, h := range order {
			s := where[h]
			if h.what == "ended" {
				l.at(h.at, "add the value that follows, or one with value: none", "%s ends on %s, and from %s on nothing holds for %s", h.at.Basis(), h.at.Until, s.on, l.scopeName(*s))
			} else {
				l.at(h.at, "add the value, or one with value: none", "%s has values for younger and for older players, but from %s on none for %s", h.at.Basis(), s.on, l.scopeName(*s))
			}
		}
	}
}

type scope struct {
	on                   measure.Date
	divisions, positions sheet.Mask
}

func (l *linter) speaks(k key, d, p int, on measure.Date) bool {
	for _, r := range k.records {
		if r.Holds(d, p, on) {
			return true
		}
	}
	return false
}

func (l *linter) scopeName(s scope) string {
	var ds, ps []string
	for i, d := range l.b.Sheet.Divisions {
		if s.divisions.Has(i) {
			ds = append(ds, d)
		}
	}
	out := strings.Join(ds, ", ")
	if s.positions == sheet.AllPositions {
		return out
	}
	if s.positions == sheet.FieldPositions {
		return out + " field players"
	}
	for i, p := range sheet.Positions {
		if s.positions.Has(i) {
			ps = append(ps, p)
		}
	}
	return out + " " + strings.Join(ps, ", ")
}

func (l *linter) neverWins() {
	for _, k := range l.keys {
		won := map[*sheet.Record]bool{}
		l.cells(k, func(d, p int, on measure.Date) {
			if win, _ := l.b.Sheet.Lookup(k.topic, k.key, d, p, on); win != nil {
				won[win] = true
			}
		})
		for _, r := range k.records {
			if !won[r] {
				l.at(r, "take it out, or mend its layer, scope or dates", "%s %s of layer %s holds on no day: something above it always does", r.Basis(), r.Value.Text, l.b.Sheet.Layers[r.Layer].ID)
			}
		}
	}
}
