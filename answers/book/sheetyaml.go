package book

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

var (
	sheetKeys  = []string{"topic", "title", "names", "values"}
	nameKeys   = []string{"en", "es", "also"}
	recordKeys = []string{"key", "value", "unit", "layer", "divisions", "positions", "from", "until", "source", "mark", "note"}
)

// firstDay is from where a record holds that names no date.
const firstDay measure.Date = 20100101

func (l *loader) sheetFile(f *file) (*sheet.Topic, []*sheet.Record) {
	root, ok := f.yaml(f.text)
	if !ok {
		return nil, nil
	}
	if root.kind == null {
		f.err(1, 1, "the file is empty", "write topic, title and values")
		return nil, nil
	}
	o, ok := f.object(&root, "a sheet file", sheetKeys)
	if !ok {
		return nil, nil
	}
	base := strings.TrimSuffix(path.Base(f.name), ".yaml")
	t := &sheet.Topic{ID: base, File: f.name, Line: root.line}
	if n := o.need("topic", base); n != nil {
		if id := f.id(n, "topic", base); id != "" && id != base {
			f.bad(n, "write topic: "+base+", or rename the file to "+id+".yaml", "the topic is %q, but the file is called %s", id, path.Base(f.name))
		}
	}
	t.Title = f.text2(o.need("title", "{en: …, es: …}"), "title")
	t.Names = f.names(o.get("names"))
	vs := o.need("values", "a list")
	if vs == nil {
		return t, nil
	}
	if vs.kind != list || len(vs.items) == 0 {
		f.bad(vs, "write one block a value, starting with - key:", "values is a list, but here is %s", vs.what())
		return t, nil
	}
	recs := make([]*sheet.Record, 0, len(vs.items)+8)
	seen := make(map[string]bool, len(vs.items))
	for i := range vs.items {
		had := len(recs)
		recs = l.record(f, &vs.items[i], base, recs)
		for _, r := range recs[had:] {
			if !seen[r.Key] {
				seen[r.Key] = true
				t.Order = append(t.Order, r.Key)
			}
		}
	}
	return t, recs
}

// names reads how keys and word values are called. One word for two of them
// would make a question ambiguous without anybody noticing.
func (f *file) names(n *node) map[string]sheet.Name {
	if n == nil {
		return nil
	}
	if n.kind != mapping {
		f.bad(n, "write one line a key, such as short: {en: short crosse, es: palo corto}", "names is a block of keys, but here is %s", n.what())
		return nil
	}
	out := make(map[string]sheet.Name, len(n.keys))
	for i := range n.keys {
		k, it := &n.keys[i], &n.items[i]
		if first, dup := out[k.text]; dup {
			f.bad(k, "keep one of the two", "the name of %q stands here twice, first in line %d", k.text, first.Line)
			continue
		}
		o, ok := f.object(it, "a name", nameKeys)
		if !ok {
			continue
		}
		m := sheet.Name{Line: k.line + f.offset}
		m.Text = sheet.Text2{EN: f.word(o.need("en", "the English name"), "en", "the English name"), ES: f.word(o.get("es"), "es", "the Spanish name")}
		if also := o.get("also"); also != nil {
			if a, ok := f.object(also, "also", textKeys); ok {
				m.AlsoEN = f.also(a.get("en"), "en")
				m.AlsoES = f.also(a.get("es"), "es")
			}
		}
		out[k.text] = m
	}
	return out
}

// also reads what else people call something, each name once.
func (f *file) also(n *node, lang string) []string {
	ws := f.words(n, lang, "another name")
	if len(ws) == 0 {
		return nil
	}
	out := make([]string, 0, len(ws))
	for i, w := range ws {
		dup := slices.ContainsFunc(ws[:i], func(o *node) bool { return strings.EqualFold(o.text, w.text) })
		if dup {
			f.bad(w, "leave out one of the two", "%q stands here twice", w.text)
			continue
		}
		out = append(out, w.text)
	}
	return out
}

// record reads one entry under values; a map as the value makes one record a field.
func (l *loader) record(f *file, n *node, topic string, out []*sheet.Record) []*sheet.Record {
	o, ok := f.object(n, "a value", recordKeys)
	if !ok {
		return out
	}
	before := len(*f.errs)
	r := sheet.Record{Topic: topic, Positions: sheet.AllPositions, File: f.name, Line: n.line + f.offset, Col: n.col}
	r.Key = f.id(o.need("key", "short"), "key", "short")
	if y := o.need("layer", "club"); y != nil {
		if id := f.word(y, "layer", "club"); id != "" {
			r.Layer = slices.Index(l.layerIDs, id)
			if r.Layer < 0 && l.hasBook {
				f.bad(y, choice(id, l.layerIDs), "the book has no layer %q", id)
			}
		}
	}
	if r.Layer >= 0 && r.Layer < len(l.layers) {
		r.Divisions = l.layers[r.Layer].Default
	}
	if d := o.get("divisions"); d != nil {
		r.Divisions = l.scope(f, d)
	}
	if p := o.get("positions"); p != nil {
		r.Positions = f.positions(p)
	}
	r.From = firstDay
	if d := o.get("from"); d != nil {
		r.From = f.date(d, "from")
	}
	if u := o.get("until"); u != nil {
		r.Until = f.date(u, "until")
		if r.Until > 0 && r.From > 0 && r.Until < r.From {
			f.bad(u, "write a day that is not before "+r.From.String(), "it ends on %s, before it starts on %s", r.Until, r.From)
		}
	}
	if s := o.get("source"); s != nil {
		r.Source = l.source(f, s)
	} else {
		// Lint tells of it; an answer can still be printed.
		if l.noSource == nil {
			l.noSource = &sheet.Source{Title: "no source named"}
		}
		r.Source = l.noSource
	}
	r.Mark = f.oneOf(o.get("mark"), "mark", marks)
	if r.Mark == "" && r.Source != nil {
		r.Mark = r.Source.Mark
	}
	r.Note = f.text2(o.get("note"), "note")
	unit := o.get("unit")
	if unit != nil {
		f.unit(unit)
	}
	v := o.need("value", "the number, word, list or block; none where there is explicitly none")
	if v == nil || r.Key == "" {
		return out
	}
	var recs []*sheet.Record
	if v.kind == mapping {
		recs = f.fields(v, unit, r)
	} else if val, ok := f.value(v, unit, false); ok {
		r.Value = val
		recs = append(recs, &r)
	}
	if len(*f.errs) > before {
		return out // a record with an error in it must not also tie with others
	}
	return append(out, recs...)
}

// fields makes one record a field of a map value.
func (f *file) fields(v, unit *node, r sheet.Record) []*sheet.Record {
	if len(v.keys) == 0 {
		f.bad(v, "write its fields, or none", "the block is empty")
	}
	var out []*sheet.Record
	for i := range v.keys {
		k, it := &v.keys[i], &v.items[i]
		if j := slices.IndexFunc(v.keys[:i], func(o node) bool { return o.text == k.text }); j >= 0 {
			f.bad(k, "keep one of the two", "key %q stands here twice, first in line %d", k.text, v.keys[j].line+f.offset)
			continue
		}
		if !isID(k.text) {
			f.bad(k, "use letters, digits, - and _ only, such as max", "%q is no name for a field", k.text)
			continue
		}
		val, ok := f.value(it, unit, true)
		if !ok {
			continue
		}
		c := r
		c.Key, c.Value = r.Key+"."+k.text, val
		c.Line, c.Col = k.line+f.offset, k.col
		out = append(out, &c)
	}
	return out
}

func (f *file) positions(n *node) sheet.Mask {
	var m sheet.Mask
	if n.kind == list && len(n.items) == 0 {
		f.bad(n, "name positions, or leave the key out", "the list of positions is empty")
	}
	for _, w := range f.words(n, "positions", "field") {
		p, ok := sheet.PositionMask(w.text)
		if !ok {
			f.bad(w, choice(w.text, append(sheet.Positions[:len(sheet.Positions):len(sheet.Positions)], "field")), "there is no position %q", w.text)
			continue
		}
		if m&p != 0 {
			f.bad(w, "name it once", "position %s is in the list already", w.text)
		}
		m |= p
	}
	return m
}

func (f *file) unit(n *node) (u measure.Unit, factor int64, ok bool) {
	name := f.word(n, "unit", "in")
	if name == "" {
		return 0, 0, false
	}
	u, factor, ok = measure.ParseUnit(name)
	if !ok {
		f.bad(n, unitFix(name), "there is no unit %q", name)
	}
	return u, factor, ok
}

// unitSpelt are units as people write them, and as a sheet does.
var unitSpelt = map[string]string{
	"inch": "in", "inches": "in", "\"": "in", "foot": "ft", "feet": "ft", "'": "ft", "yard": "yd", "yards": "yd", "yds": "yd",
	"second": "s", "seconds": "s", "sec": "s", "minute": "min", "minutes": "min", "mins": "min", "ounce": "oz", "ounces": "oz",
	"f": "degF", "°f": "degF", "fahrenheit": "degF", "%": "percent", "year": "years", "goal": "goals", "player": "players", "foul": "fouls",
	"gram": "g", "grams": "g", "pound": "lb", "pounds": "lb",
}

func unitFix(name string) string {
	if s, ok := unitSpelt[strings.ToLower(name)]; ok {
		return "write " + s
	}
	names := measure.UnitNames()
	slices.Sort(names)
	if n := nearest(name, names); n != "" && len(name) > 2 {
		return "write " + n
	}
	return "write one of " + strings.Join(names, ", ")
}

// value reads one value. unit is the record's unit, nil where it has none;
// inline says that a scalar may carry a unit of its own ("60 s").
func (f *file) value(n, unit *node, inline bool) (sheet.Value, bool) {
	switch n.kind {
	case null:
		f.bad(n, "write the value; none where there is explicitly none", "there is no value here")
		return sheet.Value{}, false
	case mapping:
		f.bad(n, "write a number, word or list", "a block inside a block is too deep for a value")
		return sheet.Value{}, false
	case list:
		return f.listValue(n, unit, inline)
	case quoted:
		if strings.TrimSpace(n.text) == "" {
			f.bad(n, "write the value; none where there is explicitly none", "the value is an empty text")
			return sheet.Value{}, false
		}
		if number, own := splitUnit(n.text); own != "" && inline && isNumber(number) {
			return f.number(n, unit, inline)
		}
		return f.wordValue(n, unit, inline)
	}
	switch s := n.text; {
	case s == "none":
		return sheet.Value{Kind: sheet.Barred, Text: "none"}, true
	case s == "true" || s == "false":
		v := sheet.Value{Kind: sheet.Flag, Text: s}
		if s == "true" {
			v.Lo, v.Hi = 1, 1
		}
		return v, f.noUnit(n, unit, inline)
	case s[0] >= '0' && s[0] <= '9' || s[0] == '-' || s[0] == '+' || s[0] == '.':
		return f.number(n, unit, inline)
	}
	return f.wordValue(n, unit, inline)
}

// noUnit refuses a unit on something that is not a number. Inside a block the
// record's unit is for those fields that are numbers.
func (f *file) noUnit(n, unit *node, inline bool) bool {
	if unit == nil || inline {
		return true
	}
	f.bad(unit, "leave the unit out, or write a number", "%s has no unit", n.what())
	return false
}

func (f *file) wordValue(n, unit *node, inline bool) (sheet.Value, bool) {
	if n.kind == plain {
		switch strings.ToLower(n.text) {
		case "yes", "on", "true":
			f.bad(n, "write true, or put the word into quotes", "%q could be a word or a yes", n.text)
			return sheet.Value{}, false
		case "no", "off", "false":
			f.bad(n, "write false, or none, or put the word into quotes", "%q could be a word or a no", n.text)
			return sheet.Value{}, false
		}
	}
	return sheet.Value{Kind: sheet.Word, Words: []string{n.text}, Text: n.text}, f.noUnit(n, unit, inline)
}

func (f *file) listValue(n, unit *node, inline bool) (sheet.Value, bool) {
	if len(n.items) == 0 {
		f.bad(n, "write none where there is explicitly none", "the list is empty")
		return sheet.Value{}, false
	}
	numbers := 0
	for i := range n.items {
		it := &n.items[i]
		if it.kind != plain && it.kind != quoted || it.text == "" {
			f.bad(it, "write numbers or words", "a list holds numbers or words, but here is %s", it.what())
			return sheet.Value{}, false
		}
		if number, _ := splitUnit(it.text); it.kind == plain && isNumber(number) {
			numbers++
		}
	}
	if numbers == 0 {
		words := make([]string, len(n.items))
		for i := range n.items {
			it := &n.items[i]
			words[i] = it.text
			if it.kind == plain && (it.text == "none" || it.text == "true" || it.text == "false") {
				f.bad(it, "write "+it.text+" alone, without brackets", "%s cannot be one of a list", it.text)
				return sheet.Value{}, false
			}
			if slices.Contains(words[:i], it.text) {
				f.bad(it, "name it once", "%q stands here twice", it.text)
				return sheet.Value{}, false
			}
		}
		return sheet.Value{Kind: sheet.Words, Words: words, Text: strings.Join(words, ", ")}, f.noUnit(n, unit, inline)
	}
	if len(n.items) != 2 || numbers != 2 {
		f.bad(n, "write [lowest, highest]", "a list of numbers is a range and has exactly two")
		return sheet.Value{}, false
	}
	lo, ok1 := f.number(&n.items[0], unit, inline)
	hi, ok2 := f.number(&n.items[1], unit, inline)
	if !ok1 || !ok2 {
		return sheet.Value{}, false
	}
	if lo.Unit != hi.Unit {
		f.bad(n, "give both the same unit", "the two ends count different things")
		return sheet.Value{}, false
	}
	if lo.Lo > hi.Lo {
		f.bad(n, fmt.Sprintf("write [%s, %s]", n.items[1].text, n.items[0].text), "the bounds are swapped: %s is more than %s", lo.Text, hi.Text)
		return sheet.Value{}, false
	}
	// "37–42 in": the unit once, where both ends are written in the same.
	a, _ := splitUnit(n.items[0].text)
	b, _ := splitUnit(n.items[1].text)
	if suffix := strings.TrimPrefix(hi.Text, b); a+suffix != lo.Text {
		a = lo.Text
	}
	return sheet.Value{Kind: sheet.Range, Unit: lo.Unit, Lo: lo.Lo, Hi: hi.Lo, Text: a + "–" + hi.Text}, true
}

// number reads one number, with the record's unit or, inside a block, its own.
func (f *file) number(n, unit *node, inline bool) (sheet.Value, bool) {
	text, own := splitUnit(n.text)
	if !isNumber(text) {
		f.bad(n, "write a number such as 42, 7.75 or 53 1/3, or put a word into quotes", "%q is neither a number nor a word", n.text)
		return sheet.Value{}, false
	}
	u, factor, name := measure.Count, measure.One, ""
	switch {
	case own != "" && unit != nil && !inline:
		f.bad(n, "write "+text+" alone", "%q carries a unit, and unit: says %q", n.text, unit.text)
		return sheet.Value{}, false
	case own != "":
		var ok bool
		if u, factor, ok = measure.ParseUnit(own); !ok {
			f.bad(n, unitFix(own), "there is no unit %q", own)
			return sheet.Value{}, false
		}
		name = own
	case unit != nil:
		var ok bool
		if u, factor, ok = measure.ParseUnit(unit.text); !ok {
			return sheet.Value{}, false // told already
		}
		name = unit.text
	}
	v, err := measure.ParseDecimal(text, factor)
	if err != nil {
		f.bad(n, "write a smaller number", "%v", err)
		return sheet.Value{}, false
	}
	if v < 0 && u != measure.Warmth {
		f.bad(n, "write a number from 0 on", "%s is below zero", n.text)
		return sheet.Value{}, false
	}
	if shown, ok := unitShown[name]; ok {
		text += shown
	} else {
		text += " " + name
	}
	return sheet.Value{Kind: sheet.Number, Unit: u, Lo: v, Hi: v, Text: text}, true
}

// unitShown are the units whose name in the sheet is not what people read.
var unitShown = map[string]string{"": "", "count": "", "degF": " °F", "percent": "%"}

// splitUnit takes "60 s" apart; "53 1/3" is a number as a whole.
func splitUnit(s string) (number, unit string) {
	i := strings.LastIndexByte(s, ' ')
	if i < 0 || i+1 == len(s) {
		return s, ""
	}
	if c := s[i+1]; c >= '0' && c <= '9' {
		return s, ""
	}
	return strings.TrimSpace(s[:i]), s[i+1:]
}

// isNumber says whether s is a decimal or a fraction as a sheet may write it:
// 42, 7.75, -5, 1/2, 53 1/3. No exponents, no leading zeros (010 is eight to
// some readers of YAML), nothing long.
func isNumber(s string) bool {
	if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
		s = s[1:]
	}
	if s == "" || len(s) > 24 {
		return false
	}
	whole, frac, mixed := strings.Cut(s, " ")
	if mixed {
		return digits(whole) && fraction(frac)
	}
	if strings.IndexByte(s, '/') > 0 {
		return fraction(s)
	}
	a, b, point := strings.Cut(s, ".")
	if point && !anyDigits(b) {
		return false
	}
	return digits(a)
}

func fraction(s string) bool {
	a, b, ok := strings.Cut(s, "/")
	return ok && digits(a) && digits(b) && b[0] != '0'
}

func digits(s string) bool { return anyDigits(s) && (len(s) == 1 || s[0] != '0') }

func anyDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}
