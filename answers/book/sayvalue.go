package book

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// An admin says a new value in one sentence, such as
//
//	U11 long crosse is 47 to 54 from 2027-03-01, league decision of 12 January
//
// whom it is for and what it is called, what it is, since when, and who decided.
// SayValue only finds the parts, by the book's own names. Whether they are right
// is for the sheet's reader to say, who knows file and line.

const valueForm = "write it as: U11 long crosse is 47 to 54 from 2027-03-01, league decision of 12 January"

const (
	numberRE = `-?\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+`
	monthRE  = `[[:alpha:]]{3,10}\.?`
	dateRE   = `\d{4}(?:-\d{1,2}-\d{1,2})?|\d{1,2}\s+(?:de\s+)?` + monthRE + `\s+(?:de\s+)?\d{4}|` + monthRE + `\s+\d{1,2},?\s+\d{4}`
)

var (
	fromRE  = compiled(`(?i)\b(?:from|since|as of|starting|beginning|desde|a partir de)(?:\s+el)?\s+(` + dateRE + `)(?:$|[\s,;.])`)
	untilRE = compiled(`(?i)\b(?:until|till|through|hasta)(?:\s+el)?\s+(` + dateRE + `)(?:$|[\s,;.])`)
	verbRE  = compiled(`(?i)(?:\s|^)(?:is now|are now|is|are|becomes|become|will be|es|son|será|=|:=)(?:\s|$)`)
	rangeRE = compiled(`^(?:between |de )?(` + numberRE + `)\s*([[:alpha:]"'%°]*)\s*(?:to|and|a|y|-|–|—)\s*(` + numberRE + `)\s*([[:alpha:]"'%°]*)$`)
	oneRE   = compiled(`^(` + numberRE + `)\s*([[:alpha:]"'%°]*)$`)
	ageRE   = compiled(`^(?:u(\d{1,2})|(\d{1,2})u)$`)
)

// compiled makes an expression when it is first needed: every start of the
// program would pay for it.
func compiled(expr string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}

// SayValue reads a change of a value out of a sentence. The error says what is
// missing or unclear.
func (b *Book) SayValue(text string) (PutValue, error) {
	text = strings.Join(strings.Fields(text), " ")
	if len(text) > 2000 {
		return PutValue{}, errors.New("this is too long for one value; " + valueForm)
	}
	if text == "" {
		return PutValue{}, errors.New(valueForm)
	}
	verbs := verbRE().FindAllStringIndex(text, -1)
	if len(verbs) == 0 {
		return PutValue{}, errors.New("what is to be what? " + valueForm)
	}
	// A name may hold a verb ("is there checking"): the first that gives a sense.
	var first error
	for _, v := range verbs[:min(len(verbs), 4)] {
		c, err := b.sayValue(text[:v[0]], text[v[1]:])
		if err == nil {
			return c, nil
		}
		if first == nil {
			first = err
		}
	}
	return PutValue{}, first
}

func (b *Book) sayValue(subject, rest string) (PutValue, error) {
	var c PutValue
	named, err := b.subject(subject)
	if err != nil {
		return c, err
	}
	value, source, err := c.dates(rest)
	if err != nil {
		return c, err
	}
	c.Topic, c.Key, c.Divisions, c.Positions = named.topic, named.key, named.divisions, named.positions
	old, err := b.stands(&c)
	if err != nil {
		return c, err
	}
	if err := b.sayNumber(&c, value, old); err != nil {
		return c, err
	}
	return c, b.saySource(&c, source)
}

// dates takes the days out of what follows the verb: the value stands before
// them, the source behind.
func (c *PutValue) dates(rest string) (value, source string, err error) {
	from := fromRE().FindStringSubmatchIndex(rest)
	if from == nil {
		return "", "", errors.New("since when? add the day, such as: from 2027-03-01")
	}
	value, source = rest[:from[0]], rest[from[3]:]
	c.From = sayDate(rest[from[2]:from[3]])
	if u := untilRE().FindStringSubmatchIndex(source); u != nil && strings.Trim(source[:u[0]], " ,;") == "" {
		c.Until, source = sayDate(source[u[2]:u[3]]), source[u[3]:]
	} else if u := untilRE().FindStringSubmatchIndex(value + " "); u != nil {
		c.Until, value = sayDate(value[u[2]:u[3]]), value[:u[0]]
	}
	return strings.Trim(value, " ,;:"), strings.Trim(source, " ,;:."), nil
}

var months = [...][2]string{{"jan", "ene"}, {"feb", "feb"}, {"mar", "mar"}, {"apr", "abr"}, {"may", "may"}, {"jun", "jun"}, {"jul", "jul"}, {"aug", "ago"}, {"sep", "sep"}, {"oct", "oct"}, {"nov", "nov"}, {"dec", "dic"}}

// sayDate writes a date as the sheet does; what is none stays as it was said.
func sayDate(s string) string {
	if y, rest, ok := strings.Cut(s, "-"); ok {
		m, d, _ := strings.Cut(rest, "-")
		return fmt.Sprintf("%s-%02s-%02s", y, m, d)
	}
	month, nums := 0, []int{}
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || r == ',' || r == '.' }) {
		if n, err := strconv.Atoi(w); err == nil {
			nums = append(nums, n)
			continue
		}
		for i, m := range months {
			if len(w) >= 3 && (strings.EqualFold(w[:3], m[0]) || strings.EqualFold(w[:3], m[1])) {
				month = i + 1
			}
		}
	}
	if month == 0 || len(nums) != 2 {
		return s
	}
	return fmt.Sprintf("%04d-%02d-%02d", nums[1], month, nums[0])
}

// named is what a sentence is about.
type named struct {
	topic, key           string
	divisions, positions []string
}

// sayWords cuts a text into words, as names are compared.
func sayWords(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// at is where words stand in others, -1 for nowhere.
func at(in, words []string) int {
	for i := 0; len(words) > 0 && i+len(words) <= len(in); i++ {
		if slices.Equal(in[i:i+len(words)], words) {
			return i
		}
	}
	return -1
}

// cutWords takes words out, and leaves a mark so that what stood apart stays apart.
func cutWords(in, words []string) ([]string, bool) {
	i := at(in, words)
	if i < 0 {
		return in, false
	}
	return append(append(slices.Clone(in[:i]), ""), in[i+len(words):]...), true
}

// sayFill are words that say nothing of their own.
const sayFill = " the a an for at of in on and to age ages level division divisions player players team teams new value length size their our los las el la para de en y jugadores edad división "

var sayPositions = [...][]string{ // the sheet's own name first
	{"attack", "attacks", "attacker", "attackers", "attackman", "attackmen", "ataque", "atacantes"},
	{"midfield", "midfielder", "midfielders", "middie", "middies", "medio", "medios"},
	{"defense", "defence", "defender", "defenders", "defensemen", "defensa", "defensas"},
	{"goalkeeper", "goalkeepers", "goalie", "goalies", "keeper", "keepers", "portero", "porteros"},
	{"field", "campo"},
}

func (b *Book) subject(text string) (named, error) {
	ws := sayWords(text)
	n, ws, err := b.sayKey(ws)
	if err != nil {
		return n, err
	}
	for _, d := range b.Divisions {
		called := []string{d.ID}
		if d.Under > 0 {
			for _, f := range []string{"u%d", "%du", "u %d", "%d u", "under %d", "sub %d", "%d and under"} {
				if f == "%d and under" { // takes the age of its name in
					called = append(called, fmt.Sprintf(f, d.Under-1))
					continue
				}
				called = append(called, fmt.Sprintf(f, d.Under))
			}
		}
		if d.Band > 0 {
			called = append(called, fmt.Sprintf("u%d", d.Band), fmt.Sprintf("%du", d.Band))
		}
		said := false
		for _, name := range append(called, d.Aliases...) {
			var ok bool
			if ws, ok = cutWords(ws, sayWords(name)); ok {
				said = true
			}
		}
		if said {
			n.divisions = append(n.divisions, d.ID)
		}
	}
	for _, all := range []string{"all divisions", "every division", "all ages", "every age", "everyone", "everybody", "todas las divisiones", "todas las edades"} {
		var ok bool
		if ws, ok = cutWords(ws, sayWords(all)); ok {
			n.divisions = slices.Clone(b.Sheet.Divisions)
		}
	}
	for _, called := range sayPositions {
		said := false
		for _, w := range called {
			var ok bool
			if ws, ok = cutWords(ws, []string{w}); ok {
				said = true
			}
		}
		if said {
			n.positions = append(n.positions, called[0])
		}
	}
	for _, w := range ws {
		switch {
		case w == "" || strings.Contains(sayFill, " "+w+" "):
		case ageRE().MatchString(w): // the sheet's reader says which divisions there are
			n.divisions = append(n.divisions, strings.ToUpper(w))
		default:
			return n, fmt.Errorf("what is %q? %s", w, valueForm)
		}
	}
	if len(n.divisions) == 0 {
		return n, fmt.Errorf("for which division? name one or more of %s, or all divisions", strings.Join(b.Sheet.Divisions, ", "))
	}
	return n, nil
}

// sayKey finds the key that words name, by the longest name of any, and takes
// the name out.
func (b *Book) sayKey(ws []string) (named, []string, error) {
	type found struct {
		named
		parts [][]string // what to take out
		size  int
	}
	var best []found
	var half []string // keys of a block of which no field is named
	for _, id := range slices.Sorted(maps.Keys(b.Sheet.Topics)) {
		t := b.Sheet.Topics[id]
		about := longest(ws, append([]string{id}, t.Title.EN, t.Title.ES))
		for _, key := range t.Order {
			base, field, block := strings.Cut(key, ".")
			f := found{named: named{topic: id, key: key}}
			name := longest(ws, names(t, base))
			if whole := longest(ws, names(t, key)); block && whole != nil {
				name, block = whole, false
			}
			if name == nil {
				continue
			}
			f.parts = append(f.parts, name)
			left, _ := cutWords(ws, name)
			if block {
				part := longest(left, names(t, field))
				if part == nil {
					half = append(half, id+": "+key)
					continue
				}
				f.parts = append(f.parts, part)
				left, _ = cutWords(left, part)
			}
			if at(left, about) >= 0 {
				f.parts = append(f.parts, about)
			}
			for _, p := range f.parts {
				f.size += len(p)
			}
			switch {
			case len(best) == 0 || f.size > best[0].size:
				best = []found{f}
			case f.size == best[0].size:
				best = append(best, f)
			}
		}
	}
	const most = 8
	switch {
	case len(best) == 1:
		for _, p := range best[0].parts {
			ws, _ = cutWords(ws, p)
		}
		return best[0].named, ws, nil
	case len(best) > 1:
		var which []string
		for _, f := range best {
			which = append(which, f.topic+": "+f.key)
		}
		return named{}, ws, fmt.Errorf("which value is meant? say %s", strings.Join(which[:min(most, len(which))], " or "))
	case len(half) > 0:
		return named{}, ws, fmt.Errorf("which part of it? say %s", strings.Join(half[:min(most, len(half))], " or "))
	}
	return named{}, ws, fmt.Errorf("the sheet has no value of this name; `sidewall book show` lists them, and %s", valueForm)
}

// names is how a key is called, its id among it.
func names(t *sheet.Topic, key string) []string {
	n := t.Names[key]
	out := append([]string{key, n.Text.EN, n.Text.ES}, n.AlsoEN...)
	return append(out, n.AlsoES...)
}

// longest is the longest of the names that stands in the words.
func longest(in []string, names []string) []string {
	var out []string
	for _, name := range names {
		if ws := sayWords(name); len(ws) > len(out) && at(in, ws) >= 0 {
			out = ws
		}
	}
	return out
}

// stands is what the new value replaces for its first division; where no
// position was named the new value is for the same ones.
func (b *Book) stands(c *PutValue) (*sheet.Record, error) {
	on, err := measure.ParseDate(c.From)
	if err != nil {
		on = b.Season.From // the sheet's reader tells of the date
	}
	want := sheet.Mask(0)
	for _, p := range c.Positions {
		m, _ := sheet.PositionMask(p)
		want |= m
	}
	var old *sheet.Record
	masks := map[string]sheet.Mask{} // positions by what holds there
	for i, id := range c.Divisions {
		d := b.Sheet.DivisionIndex(id)
		if d < 0 {
			continue
		}
		here := map[*sheet.Record]sheet.Mask{}
		for p := range sheet.Positions {
			if want != 0 && !want.Has(p) {
				continue
			}
			if win, _ := b.Sheet.Lookup(c.Topic, c.Key, d, p, on); win != nil {
				here[win] |= 1 << uint(p)
				if old == nil {
					old = win
				}
			}
		}
		if want != 0 {
			continue
		}
		if len(here) > 1 {
			return nil, fmt.Errorf("for which position at %s? the sheet has %s", id, said(here))
		}
		for _, m := range here {
			masks[id] = m
		}
		if i > 0 && masks[id] != masks[c.Divisions[0]] {
			return nil, fmt.Errorf("%s and %s have it for other positions; say them one by one, or name positions", c.Divisions[0], id)
		}
	}
	if m := masks[c.Divisions[0]]; want == 0 && m != 0 && m != sheet.AllPositions {
		c.Positions = strings.Fields(positionsName(m))
	}
	return old, nil
}

func said(here map[*sheet.Record]sheet.Mask) string {
	var out []string
	for r, m := range here {
		out = append(out, r.Value.Text+" for "+positionsName(m))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// sayNumber reads what the value is to be. Without a unit it has the unit of
// what it replaces.
func (b *Book) sayNumber(c *PutValue, text string, old *sheet.Record) error {
	if text == "" {
		return errors.New("what is the new value? " + valueForm)
	}
	low := strings.ToLower(text)
	flag := old != nil && old.Value.Kind == sheet.Flag
	switch low {
	case "none", "nothing", "ninguno", "ninguna", "nada":
		c.Value = "none"
		return nil
	case "yes", "true", "allowed", "legal", "sí", "si", "permitido":
		if flag || low == "true" {
			c.Value = "true"
			return nil
		}
	case "no", "false", "not allowed", "not legal", "illegal", "no permitido", "prohibido":
		if flag || low == "false" {
			c.Value = "false"
			return nil
		}
	}
	unit := ""
	inner := strings.TrimSuffix(strings.TrimPrefix(low, "["), "]")
	if lo, hi, ok := strings.Cut(inner, ","); ok && inner != low {
		inner = strings.TrimSpace(lo) + " to " + strings.TrimSpace(hi)
	}
	if m := rangeRE().FindStringSubmatch(inner); m != nil {
		c.Value, unit = m[1]+" to "+m[3], m[4]
		if unit == "" {
			unit = m[2]
		}
	} else if m := oneRE().FindStringSubmatch(inner); m != nil {
		c.Value, unit = m[1], m[2]
	} else {
		if old != nil && (old.Value.Kind == sheet.Number || old.Value.Kind == sheet.Range) {
			return fmt.Errorf("%q is no number, and %s of %s is %s now; write a number, two with to between them, or none", text, c.Key, c.Topic, old.Value.Text)
		}
		c.Value = b.word(c.Topic, text)
		return nil
	}
	switch {
	case unit != "":
		c.Unit = unit
		if s, ok := unitSpelt[unit]; ok {
			c.Unit = s
		}
	case old != nil:
		c.Unit = unitOf(old.Value)
	}
	return nil
}

// unitOf is the unit in which a value is written.
func unitOf(v sheet.Value) string {
	if v.Kind != sheet.Number && v.Kind != sheet.Range {
		return ""
	}
	for name, shown := range unitShown {
		if shown != "" && strings.HasSuffix(v.Text, shown) {
			return name
		}
	}
	_, unit := splitUnit(v.Text)
	return unit
}

// word is the id of a word that people call by another name.
func (b *Book) word(topic, text string) string {
	t := b.Sheet.Topics[topic]
	ws := sayWords(text)
	for _, id := range slices.Sorted(maps.Keys(t.Names)) {
		for _, name := range names(t, id) {
			if name != "" && slices.Equal(sayWords(name), ws) {
				return id
			}
		}
	}
	return text
}

// saySource finds who decided: a source of the book, or the title of a new one.
// The layer is the one that it names, or that the source's other values have.
func (b *Book) saySource(c *PutValue, text string) error {
	for _, lead := range []string{"source:", "source is", "source", "fuente:", "fuente", "by the", "by", "per", "decided by"} {
		if rest, ok := strings.CutPrefix(strings.ToLower(text), lead+" "); ok {
			text = strings.TrimSpace(text[len(text)-len(rest):])
			break
		}
	}
	if text == "" {
		return errors.New("who decided it? add it behind the day, such as: league decision of 12 January")
	}
	if b.Sources[text] != nil {
		c.Source = text
		used := map[int]bool{}
		for _, r := range b.Sheet.All() {
			if r.Source != nil && r.Source.ID == text {
				used[r.Layer] = true
			}
		}
		if len(used) == 1 {
			for i := range used {
				c.Layer = b.Sheet.Layers[i].ID
			}
		}
	} else {
		c.NewSource = text
	}
	ws := sayWords(text)
	var named []string
	for _, l := range b.Sheet.Layers {
		if longest(ws, []string{l.ID, l.Name.EN, l.Name.ES}) != nil {
			named = append(named, l.ID)
		}
	}
	if len(named) == 1 {
		c.Layer = named[0]
	}
	if c.Layer == "" {
		var ids []string
		for _, l := range slices.Backward(b.Sheet.Layers) {
			ids = append(ids, l.ID)
		}
		return fmt.Errorf("whose decision is it? name one of %s, such as: %s decision of 12 January", strings.Join(ids, ", "), ids[0])
	}
	return nil
}
