package book

import (
	"fmt"
	"slices"
	"strings"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

var (
	bookKeys     = []string{"club", "contact", "season", "cutoff", "max_age", "layers", "divisions"}
	contactKeys  = []string{"name", "address"}
	seasonKeys   = []string{"name", "from", "to"}
	cutoffKeys   = []string{"month", "day"}
	layerKeys    = []string{"id", "name", "divisions"}
	divisionKeys = []string{"id", "under", "band", "grades", "usual_grades", "aliases"}
)

// maxDivisions is how many divisions fit a sheet.Mask.
const maxDivisions = 32

func (l *loader) bookFile(f *file) {
	root, ok := f.yaml(f.text)
	if !ok {
		return
	}
	if root.kind == null {
		f.err(1, 1, "the file is empty", "write club, contact, season, cutoff, layers and divisions")
		return
	}
	o, ok := f.object(&root, bookFile, bookKeys)
	if !ok {
		return
	}
	b := l.book
	b.Club = f.word(o.need("club", "the club's name"), "club", "the club's name")
	if n := o.need("contact", "{name: …, address: …}"); n != nil {
		if c, ok := f.object(n, "contact", contactKeys); ok {
			b.Contact.Name = f.text2(c.need("name", "{en: …, es: …}"), "name")
			b.Contact.Address = f.word(c.need("address", "rules@club.example"), "address", "rules@club.example")
		}
	}
	l.season(&o)
	if n := o.get("max_age"); n != nil {
		b.MaxAge = f.integer(n, "max_age", 5, 30)
	} else {
		b.MaxAge = 19
	}
	// Layers name divisions as their default scope, so divisions come first.
	if n := o.need("divisions", "a list, youngest first"); n != nil {
		l.readDivisions(f, n)
	}
	if n := o.need("layers", "a list, lowest first"); n != nil {
		l.readLayers(f, n)
	}
	l.hasBook = len(l.layers) > 0 && len(l.divisions) > 0
}

func (l *loader) season(o *object) {
	f, b := o.f, l.book
	if n := o.need("season", "{name: \"2027\", from: 2026-09-01, to: 2027-08-31}"); n != nil {
		if s, ok := f.object(n, "season", seasonKeys); ok {
			from, to := s.need("from", "2026-09-01"), s.need("to", "2027-08-31")
			b.Season = Season{Name: f.word(s.need("name", "\"2027\""), "name", "\"2027\""), From: f.date(from, "from"), To: f.date(to, "to")}
			if b.Season.From > 0 && b.Season.To > 0 && b.Season.To < b.Season.From {
				f.bad(to, "write the season's last day", "the season ends on %s, before it starts on %s", b.Season.To, b.Season.From)
			}
		}
	}
	if n := o.need("cutoff", "{month: 8, day: 31}"); n != nil {
		if c, ok := f.object(n, "cutoff", cutoffKeys); ok {
			day := c.need("day", "31")
			b.Cutoff = Cutoff{Month: f.integer(c.need("month", "8"), "month", 1, 12), Day: f.integer(day, "day", 1, 31)}
			// 2027 has no 29 February: a cut-off day has to be in every year.
			if _, ok := measure.NewDate(2027, b.Cutoff.Month, b.Cutoff.Day); !ok && b.Cutoff.Month > 0 && b.Cutoff.Day > 0 {
				f.bad(day, "write a day that every year has", "month %d has no day %d in every year", b.Cutoff.Month, b.Cutoff.Day)
			}
		}
	}
}

func (l *loader) readDivisions(f *file, n *node) {
	if n.kind != list || len(n.items) == 0 {
		f.bad(n, "write one line a division, youngest first, such as - {id: U9, under: 9}", "divisions is a list, but here is %s", n.what())
		return
	}
	if len(n.items) > maxDivisions {
		f.bad(&n.items[maxDivisions], "keep the divisions that have rules of their own", "a book has at most %d divisions", maxDivisions)
		return
	}
	type called struct {
		division string
		line     int
	}
	names := map[string]called{}
	name := func(w *node, division string) {
		key := strings.ToLower(strings.Join(strings.Fields(w.text), " "))
		if first, dup := names[key]; dup {
			fix := "keep the name with one division only"
			if first.division == division {
				if w.text != division && strings.EqualFold(w.text, division) {
					return // "hs" beside HS says nothing new and does no harm
				}
				fix = "leave out one of the two"
			}
			f.bad(w, fix, "%q is already a name of %s, in line %d", w.text, first.division, first.line)
			return
		}
		names[key] = called{division, w.line + f.offset}
	}
	last := 0
	for i := range n.items {
		it := &n.items[i]
		o, ok := f.object(it, "a division", divisionKeys)
		if !ok {
			continue
		}
		idNode := o.need("id", "U11")
		d := Division{ID: f.id(idNode, "id", "U11"), File: f.name, Line: it.line}
		if d.ID == "" {
			continue
		}
		if slices.Contains(l.divisions, d.ID) {
			f.bad(idNode, "give every division an id of its own", "there are two divisions %s", d.ID)
			continue
		}
		if u := o.get("under"); u != nil {
			d.Under = f.integer(u, "under", 4, 30)
			switch {
			case d.Under == 0:
			case d.Under <= last:
				f.bad(u, "list the divisions youngest first", "%s takes players under %d, but the division before it those under %d", d.ID, d.Under, last)
			case l.book.MaxAge > 0 && d.Under > l.book.MaxAge+1:
				f.bad(u, fmt.Sprintf("write a smaller number, or raise max_age above %d", d.Under-1), "%s takes players under %d, but the book's max_age is %d", d.ID, d.Under, l.book.MaxAge)
			}
			last = max(last, d.Under)
		} else if i < len(n.items)-1 {
			f.bad(it, "write under: and the age", "%s has no age, which only the last division may lack", d.ID)
		}
		if g := o.get("band"); g != nil {
			d.Band = f.integer(g, "band", 3, 30)
		}
		d.Grades = f.integers(o.get("grades"), "grades", 0, 12)
		d.UsualGrades = f.integers(o.get("usual_grades"), "usual_grades", 0, 12)
		name(idNode, d.ID)
		for _, w := range f.words(o.get("aliases"), "aliases", "juniors") {
			name(w, d.ID)
			d.Aliases = append(d.Aliases, w.text)
		}
		l.divisions = append(l.divisions, d.ID)
		l.book.Divisions = append(l.book.Divisions, d)
	}
}

func (l *loader) readLayers(f *file, n *node) {
	if n.kind != list || len(n.items) == 0 {
		f.bad(n, "write one line a layer, lowest first, such as - {id: club, name: {en: club, es: club}}", "layers is a list, but here is %s", n.what())
		return
	}
	all := sheet.Mask(1<<uint(len(l.divisions)) - 1)
	l.hasBook = len(l.divisions) > 0 // for scope's errors
	for i := range n.items {
		it := &n.items[i]
		o, ok := f.object(it, "a layer", layerKeys)
		if !ok {
			continue
		}
		idNode := o.need("id", "club")
		y := sheet.Layer{ID: f.id(idNode, "id", "club"), Name: f.text2(o.need("name", "{en: club, es: club}"), "name"), Default: all}
		if d := o.get("divisions"); d != nil {
			y.Default = l.scope(f, d)
		}
		if y.ID == "" {
			continue
		}
		if slices.Contains(l.layerIDs, y.ID) {
			f.bad(idNode, "give every layer an id of its own", "there are two layers %s", y.ID)
			continue
		}
		l.layers, l.layerIDs = append(l.layers, y), append(l.layerIDs, y.ID)
	}
}
