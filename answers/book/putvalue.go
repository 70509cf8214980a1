package book

import (
	"fmt"
	"slices"
	"strings"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// PutValue writes a value into the sheet as a record of its own: what it
// replaces stays, and holds until the new one begins. The fields are texts as
// the sheet has them, and checked as the sheet is.
type PutValue struct {
	Topic, Key  string // a field of a block is key.field
	Layer       string
	Divisions   []string
	Positions   []string // empty: all
	Value       string   // 60, "47 to 54", [47, 54], none, true, a word, [word, word]
	Unit        string   // in, s, …; "" for a plain count or a word
	From, Until string   // From has to be there
	Source      string   // the id of an entry in sources.yaml
	// NewSource is the title of a source that the book lacks: Source is then the
	// id that it gets, "" for one of the layer and the day.
	NewSource string
	Note      string
}

func (c PutValue) String() string {
	out := c.Topic + ": " + c.Key + " " + strings.Join(c.Divisions, " ")
	if len(c.Positions) > 0 {
		out += " " + strings.Join(c.Positions, " ")
	}
	out += " is " + c.Value
	if c.Unit != "" {
		out += " " + c.Unit
	}
	out += " from " + c.From
	if c.Until != "" {
		out += " until " + c.Until
	}
	return out
}

func (c PutValue) edit(d *draft) error {
	t := d.book.Sheet.Topics[c.Topic]
	if t == nil {
		var ids []string
		for id := range d.book.Sheet.Topics {
			ids = append(ids, id)
		}
		slices.Sort(ids)
		return Errors{{File: sheetDir, What: fmt.Sprintf("the sheet has no topic %q", c.Topic), Fix: choice(c.Topic, ids)}}
	}
	if c.From == "" {
		return Errors{{File: t.File, Line: t.Line, Col: 1, What: "the new value has no first day: it would hold for the past too", Fix: "write from 2027-03-01"}}
	}
	if !slices.Contains(t.Order, c.Key) {
		return Errors{{File: t.File, Line: t.Line, Col: 1, What: fmt.Sprintf("%s has no key %q", c.Topic, c.Key), Fix: choice(c.Key, t.Order)}}
	}
	if c.Source == "" && c.NewSource == "" {
		return Errors{{File: t.File, Line: t.Line, Col: 1, What: "the new value names no source", Fix: "say where it comes from, such as the league's decision and its day"}}
	}
	source, err := c.source(d)
	if err != nil {
		return err
	}
	e, err := d.parse(t.File)
	if err != nil {
		return err
	}
	base, _, _ := strings.Cut(c.Key, ".")
	text, err := e.insert("values", c.record(source), func(n *node) bool {
		for i := range n.keys {
			if n.keys[i].text == "key" {
				return n.items[i].text == base
			}
		}
		return false
	})
	if err != nil {
		return err
	}
	d.put(t.File, text)
	return nil
}

// record is the new value as a line of the sheet.
func (c PutValue) record(source string) string {
	key, field, inBlock := strings.Cut(c.Key, ".")
	value, unit := scalarText(c.Value), c.Unit
	if inBlock {
		value = "{" + field + ": " + value + "}"
	}
	out := "{key: " + quote(key) + ", value: " + value
	add := func(name, text string) {
		if text != "" {
			out += ", " + name + ": " + text
		}
	}
	listed := func(ws []string) string {
		if len(ws) == 0 {
			return ""
		}
		qs := make([]string, len(ws))
		for i, w := range ws {
			qs[i] = quote(w)
		}
		return "[" + strings.Join(qs, ", ") + "]"
	}
	if unit != "" {
		add("unit", quote(unit))
	}
	add("layer", quote(c.Layer))
	add("divisions", listed(c.Divisions))
	add("positions", listed(c.Positions))
	add("from", dateText(c.From))
	if c.Until != "" {
		add("until", dateText(c.Until))
	}
	add("source", quote(source))
	if c.Note != "" {
		add("note", quote(c.Note))
	}
	return out + "}"
}

// dateText is a date as the sheet has it; what is none goes in as a text, for
// the sheet's own reader to refuse.
func dateText(s string) string {
	if _, err := measure.ParseDate(s); err == nil {
		return s
	}
	return quote(s)
}

// scalarText is a value as the sheet has it.
func scalarText(s string) string {
	s = strings.TrimSpace(s)
	if inner, ok := strings.CutPrefix(s, "["); ok && strings.HasSuffix(inner, "]") {
		var out []string
		for w := range strings.SplitSeq(strings.TrimSuffix(inner, "]"), ",") {
			out = append(out, scalarText(strings.Trim(strings.TrimSpace(w), "[]")))
		}
		return "[" + strings.Join(out, ", ") + "]"
	}
	if lo, hi, ok := twoNumbers(s); ok {
		return "[" + lo + ", " + hi + "]"
	}
	if number, unit := splitUnit(s); isNumber(s) || isNumber(number) && isID(unit) || s == "none" || s == "true" || s == "false" {
		return s
	}
	return quote(s)
}

// twoNumbers takes a range apart as people write it: 47 to 54, 47-54, 47–54.
func twoNumbers(s string) (lo, hi string, ok bool) {
	for _, mid := range []string{" to ", " and ", " a ", " y ", "–", "—", "-"} {
		lo, hi, found := strings.Cut(s, mid)
		lo, hi = strings.TrimSpace(lo), strings.TrimSpace(hi)
		if found && isNumber(lo) && isNumber(hi) {
			return lo, hi, true
		}
	}
	return "", "", false
}

// source is the id of the source; one that the book lacks is added to it.
func (c PutValue) source(d *draft) (string, error) {
	if c.NewSource == "" || d.book.Sources[c.Source] != nil {
		return c.Source, nil
	}
	for id, s := range d.book.Sources { // the same decision, told for another value
		if s.Kind == "own" && strings.EqualFold(s.Title, strings.Join(strings.Fields(c.NewSource), " ")) {
			return id, nil
		}
	}
	e, err := d.parse(sourcesFile)
	if err != nil {
		return "", err
	}
	id := c.Source
	if id == "" {
		id = c.Layer + "-" + c.From
		if !isID(id) {
			id = "own-decision"
		}
	}
	first := id
	for n := 2; d.book.Sources[id] != nil || strings.Contains(e.file.text, "id: "+id+","); n++ {
		id = fmt.Sprintf("%s-%d", first, n)
	}
	text, err := e.insert("sources", "{id: "+quote(id)+", kind: own, title: "+quote(c.NewSource)+", mark: I}", func(*node) bool { return true })
	if err != nil {
		return "", err
	}
	d.put(sourcesFile, text)
	return id, nil
}

// insert adds an item to the list under a key at the top of a YAML file: behind
// the last item that is akin to it, else at the end.
func (e *edited) insert(key, item string, akin func(*node) bool) (string, error) {
	root, ok := e.yaml(e.file.text)
	if !ok {
		return "", e.failed()
	}
	at := slices.IndexFunc(root.keys, func(k node) bool { return k.text == key })
	if at < 0 || root.items[at].kind != list || len(root.items[at].items) == 0 {
		e.err(1, 1, "there is no list under "+key+": in this file", "write the first one into the file")
		return "", e.failed()
	}
	items := root.items[at].items
	last := len(items) - 1
	for i := range slices.Backward(items) {
		if akin(&items[i]) {
			last = i
			break
		}
	}
	// Where the next item, or the next key of the file, begins.
	next := strings.Count(strings.TrimRight(e.file.text, "\n"), "\n") + 2
	for i := range root.keys {
		if l := root.keys[i].line; l > items[len(items)-1].line && l < next {
			next = l
		}
	}
	if last+1 < len(items) {
		next = items[last+1].line
	}
	indent, found := "", false
	for n := items[last].line; n >= root.keys[at].line && !found; n-- { // the dash may stand alone above
		line := e.line(n)
		rest := strings.TrimLeft(line, " ")
		if rest == "-" || strings.HasPrefix(rest, "- ") {
			indent, found = line[:len(line)-len(rest)], true
		}
	}
	if !found {
		e.bad(&items[last], "write one line a value, each starting with a dash", "a list in brackets cannot be added to from here")
		return "", e.failed()
	}
	// Comments and blank lines above the next item belong to that one.
	for next > items[last].line+1 {
		line := strings.TrimSpace(e.line(next - 1))
		if line != "" && line != "-" && !strings.HasPrefix(line, "#") {
			break
		}
		next--
	}
	start := e.lineStart(next)
	before := e.file.text[:start]
	if !strings.HasSuffix(before, "\n") {
		before += "\n"
	}
	return e.stored(before + indent + "- " + item + "\n" + e.file.text[start:]), nil
}

// check sees to it that the new record is there, that every other one is still
// what it was, and that the new one holds somewhere.
func (c PutValue) check(from, to *Book) error {
	t := to.Sheet.Topics[c.Topic]
	place := Errors{{File: t.File, Line: t.Line, Col: 1}}
	had := map[string]int{}
	for _, r := range from.Sheet.All() {
		had[from.signature(r)]++
	}
	var added []*sheet.Record
	for _, r := range to.Sheet.All() {
		if s := to.signature(r); had[s] > 0 {
			had[s]--
		} else {
			added = append(added, r)
		}
	}
	for _, n := range had {
		if n > 0 {
			place[0].What, place[0].Fix = "the new value would change others of this file", "write it into the file by hand"
			return place
		}
	}
	i := slices.IndexFunc(added, func(r *sheet.Record) bool { return r.Topic == c.Topic && r.Key == c.Key })
	if i < 0 {
		return ErrNoChange
	}
	n := added[i]
	place[0].Line, place[0].Col, place[0].Source = n.Line, n.Col, ""
	var above *sheet.Record
	for d := range to.Sheet.Divisions {
		for p := range sheet.Positions {
			if !n.Holds(d, p, n.From) {
				continue
			}
			win, _ := to.Sheet.Lookup(n.Topic, n.Key, d, p, n.From)
			if win != n {
				above = win
				continue
			}
			old, _ := from.Sheet.Lookup(n.Topic, n.Key, from.Sheet.DivisionIndex(to.Sheet.Divisions[d]), p, n.From)
			if old == nil || !Same(old.Value, n.Value) || old.Layer != n.Layer {
				return nil
			}
			above = old
		}
	}
	switch {
	case above == nil:
		return nil
	case Same(above.Value, n.Value):
		place[0].What = fmt.Sprintf("the sheet says %s already, in %s:%d", n.Value.Text, above.File, above.Line)
		place[0].Fix = "leave it as it is, or mend that line in the file"
	default:
		place[0].What = fmt.Sprintf("the new value would hold nowhere: %s of layer %s in %s:%d goes before it", above.Value.Text, to.Sheet.Layers[above.Layer].ID, above.File, above.Line)
		place[0].Fix = "name that layer or a higher one, a later day, or fewer divisions"
	}
	return place
}

// signature is a record without its place.
func (b *Book) signature(r *sheet.Record) string {
	id := ""
	if r.Source != nil {
		id = r.Source.ID
	}
	return fmt.Sprint(r.Topic, "|", r.Key, "|", r.Layer, "|", r.Divisions, "|", r.Positions, "|", r.From, "|", r.Until, "|", r.Value, "|", id, "|", r.Mark, "|", r.Note)
}

// Same says whether two values say the same, however they are written.
func Same(a, b sheet.Value) bool {
	if a.Kind != b.Kind || a.Unit != b.Unit || a.Lo != b.Lo || a.Hi != b.Hi || len(a.Words) != len(b.Words) {
		return false
	}
	for _, w := range a.Words {
		if !slices.Contains(b.Words, w) {
			return false
		}
	}
	return true
}
