package answers

import (
	"slices"
	"strings"
	"sync/atomic"

	"sidewall/answers/answer"
	"sidewall/answers/checks"
	"sidewall/answers/lang"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// shown is a record as an answer's basis shows it in one language.
type shown struct {
	basis    answer.Basis
	replaced string // how it reads where something replaces it
}

// shownIn holds a record in each language, once somebody asked for it.
type shownIn [len(lang.Languages)]atomic.Pointer[shown]

// shown is a record in a language. Two questions at once may both make it; they
// make the same.
func (d *Desk) shown(r *sheet.Record, li int) *shown {
	at := &d.basis[r][li]
	if s := at.Load(); s != nil {
		return s
	}
	l := lang.Languages[li]
	layer := d.book.Sheet.Layers[r.Layer]
	s := &shown{basis: answer.Basis{Layer: layer.ID, Rule: d.ruleName(r, l), Value: r.Value.Text, From: r.From.String(),
		LayerName: layer.Name.In(l), Says: d.said(r, l)}}
	if r.Source != nil {
		s.basis.Source = r.Source.String()
	}
	s.replaced = layer.Name.In(l) + " " + s.basis.ValueText()
	at.Store(s)
	return s
}

func langIndex(l string) int {
	if l == "es" {
		return 1
	}
	return 0
}

// prepare makes what every answer needs again and again.
func (d *Desk) prepare() {
	recs := d.book.Sheet.All()
	d.basis = make(map[*sheet.Record]*shownIn, len(recs))
	all := make([]shownIn, len(recs))
	for i, r := range recs {
		d.basis[r] = &all[i]
	}
	d.read = map[string]answer.Found{}
	place := map[string]int{} // of a topic among those of the summary that was taken
	for _, s := range d.book.Summaries {
		for at, t := range s.Topics {
			if strings.Contains(s.ID, t) {
				at = -1 // it bears the topic's name
			}
			if had, ok := place[t]; d.by[t] == nil || ok && had <= at {
				continue // the one that is first of all about the topic says the most
			}
			f := answer.Found{ID: s.ID, Title: s.Title}
			if len(s.Sections) > 0 {
				f.Section = s.Sections[0].Heading
			}
			d.read[t], place[t] = f, at
		}
	}
	var ids []string
	for _, div := range d.book.Divisions {
		ids = append(ids, div.ID)
	}
	d.divs = strings.Join(ids, ", ")
}

// itemPage is the summary of a topic about an item of gear: its id has the item's
// words, or at least what kind of thing it is ("metal-spikes" is in "shoes-and-spikes";
// pads and guards there are many of).
func (d *Desk) itemPage(topic, item string) (answer.Found, bool) {
	kind := item[strings.LastIndexByte(item, '-')+1:]
	for _, words := range [...]string{item, kind} {
		for _, s := range d.book.Summaries {
			if words == "" || !slices.Contains(s.Topics, topic) || !hasWords(s.ID, words) {
				continue
			}
			f := answer.Found{ID: s.ID, Title: s.Title}
			if len(s.Sections) > 0 {
				f.Section = s.Sections[0].Heading
			}
			return f, true
		}
		if kind == "pads" || kind == "guards" {
			break
		}
	}
	return answer.Found{}, false
}

// hasWords says whether an id of words and dashes has all the words of another.
func hasWords(id, words string) bool {
	for w := range strings.SplitSeq(words, "-") {
		found := false
		for h := range strings.SplitSeq(id, "-") {
			found = found || h == w
		}
		if !found {
			return false
		}
	}
	return true
}

// ruleName is a record's name in the sheet: its topic's title and its key's name.
func (d *Desk) ruleName(r *sheet.Record, l string) string {
	t := d.book.Sheet.Topics[r.Topic]
	if t == nil {
		return r.Basis()
	}
	key, field, dotted := strings.Cut(r.Key, ".")
	name := key
	if n, ok := t.Names[r.Key]; ok {
		name, dotted = n.Text.In(l), false
	} else if n, ok := t.Names[key]; ok {
		name = n.Text.In(l)
	}
	if dotted {
		name += " (" + d.word("field-", field, l) + ")"
	}
	return t.Title.In(l) + ": " + name
}

// said is a record's value as people read it: the names that the sheet has for
// its words. "" is as written.
func (d *Desk) said(r *sheet.Record, l string) string {
	switch r.Value.Kind {
	case sheet.Word, sheet.Words, sheet.Barred:
	default:
		return "" // as it stands in the book
	}
	words := r.Value.Words
	if len(words) == 0 {
		words = []string{"none"}
	}
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = d.valueName(r.Topic, w, l)
	}
	return strings.Join(out, ", ")
}

func (d *Desk) valueName(topic, word, l string) string {
	for _, t := range [...]string{topic, "foul"} {
		if s := d.book.Sheet.Topics[t]; s != nil {
			if n, ok := s.Names[word]; ok {
				return n.Text.In(l)
			}
		}
	}
	return d.word("is-", word, l)
}

// word is a text of the desk for a word of the sheet, or the word itself.
func (d *Desk) word(prefix, word, l string) string {
	if d.texts.Has(l, "common", prefix+word) {
		return d.texts.Say(l, "common", prefix+word, nil)
	}
	return strings.NewReplacer("-", " ", "_", " ").Replace(word)
}

// textValues are places of a text by name.
type textValues map[string]string

func (v textValues) Value(name string) (answer.Val, bool) {
	s, ok := v[name]
	return answer.Val{Kind: answer.Text, S: s}, ok
}
func (v textValues) Name(id, _ string) string { return id }

// say writes a text of the desk itself, with what every text may name.
func (d *Desk) say(a *ask, topic, key string, v textValues) string {
	return d.texts.Say(a.lang, topic, key, deskValues{d: d, a: a, more: v})
}

type deskValues struct {
	d    *Desk
	a    *ask
	more textValues
}

func (v deskValues) Value(name string) (answer.Val, bool) {
	if s, ok := v.more[name]; ok {
		return answer.Val{Kind: answer.Text, S: s}, true
	}
	return v.d.place(name, v.a.lang)
}

func (v deskValues) Name(id, l string) string { return v.d.name(id, l) }

// place is what any text may name: the club, whom to ask, the divisions.
func (d *Desk) place(name, l string) (answer.Val, bool) {
	switch name {
	case "contact":
		s := d.book.Contact.Name.In(l)
		if d.book.Contact.Address != "" {
			s += " (" + d.book.Contact.Address + ")"
		}
		return answer.Val{Kind: answer.Text, S: s}, true
	case "club":
		return answer.Val{Kind: answer.Text, S: d.book.Club}, true
	case "divisions":
		return answer.Val{Kind: answer.Text, S: d.divs}, true
	case "max_age":
		return answer.Val{Kind: answer.Num, A: float64(d.book.MaxAge)}, true
	}
	return answer.Val{}, false
}

// name is what the book, or the texts, call an id.
func (d *Desk) name(id, l string) string {
	for _, topic := range [...]string{"gear", "foul"} {
		if t := d.book.Sheet.Topics[topic]; t != nil {
			if n, ok := t.Names[id]; ok {
				return n.Text.In(l)
			}
		}
	}
	if d.texts.Has(l, "names", id) {
		return d.texts.Say(l, "names", id, textValues{})
	}
	return id
}

// scene is what the texts of one ruling may name: its values, its parameters,
// the facts, and whom it is about.
type scene struct {
	m   *merger
	r   *checks.Ruling
	div string
	pos int
}

func (s *scene) Value(name string) (answer.Val, bool) {
	for _, f := range s.r.Params() {
		if f.Name == name {
			return f.Val, true
		}
	}
	for _, f := range s.r.Values() {
		if f.Name == name {
			return f.Val, true
		}
	}
	switch name {
	case "division":
		return answer.Val{Kind: answer.Text, S: s.div}, true
	case "position":
		return answer.Val{Kind: answer.Text, S: s.m.d.name(s.m.position(s.pos), s.m.a.lang)}, true
	case "title":
		return answer.Val{Kind: answer.Text, S: s.m.d.title(s.m.c.Topic, s.m.a.lang)}, true
	}
	if v, ok := s.m.facts.Get(name); ok {
		if f, ok := factVal(name, v); ok {
			return f, true
		}
	}
	return s.m.d.place(name, s.m.a.lang)
}

func (s *scene) Name(id, l string) string { return s.m.d.name(id, l) }

// position is the name of whom the ruling is about: the one that was said, or
// the field where all field players were run.
func (m *merger) position(pos int) string {
	if m.w.posFact != "" {
		return m.w.posFact
	}
	if sheet.Goalkeeper.Has(pos) {
		return "goalkeeper"
	}
	return "field"
}

func (d *Desk) title(topic, l string) string {
	if d.texts.Has(l, topic, "title") {
		return d.texts.Say(l, topic, "title", textValues{})
	}
	return topic
}

// answer makes an answer of one ruling.
func (m *merger) answer(r *checks.Ruling, k combo, kind string) *answer.Answer {
	d, a := m.d, m.a
	caution := "caution"
	if r.Safety || m.c.Safety {
		caution = "caution-safety"
	}
	topic := m.c.Topic
	if r.As != "" { // "a ban goes before a distance"
		topic = r.As
	}
	out := answer.New(kind, topic, r.Verdict, d.say(a, "common", caution, nil))
	s := &scene{m: m, r: r, div: m.division(k), pos: k.pos}
	out.Headline = d.texts.Say(a.lang, m.c.Topic, r.Head, s)
	lines := r.Lines()
	out.Detail = make([]string, 0, len(lines)+2)
	for _, key := range lines {
		out.Detail = append(out.Detail, d.texts.Say(a.lang, m.c.Topic, key, s))
	}
	out.Values = append(answer.Fields(nil), r.Values()...)
	m.basis(out, r)
	f, ok := d.read[m.c.Topic]
	if m.c.PageBy != "" { // a page on another item is none
		item, _ := m.facts.Get(m.c.PageBy)
		f, ok = d.itemPage(m.c.Topic, item.Word)
	}
	if ok && kind == answer.Check {
		out.Summaries = []answer.Found{f}
	}
	return out
}

func (m *merger) division(k combo) string {
	if m.w.divFact != "" {
		return m.w.divFact
	}
	return m.d.book.Divisions[k.div].ID
}

func (m *merger) basis(out *answer.Answer, r *checks.Ruling) {
	used := r.Basis()
	if out.Basis == nil {
		out.Basis = make([]answer.Basis, 0, len(used))
	}
	li := langIndex(m.a.lang)
next:
	for _, u := range used {
		b := m.d.shown(u.Win, li).basis
		for i := range out.Basis {
			if out.Basis[i] == b {
				continue next
			}
		}
		if u.Replaced != nil && u.Replaced.Value.Text != u.Win.Value.Text {
			b.Replaces = m.d.shown(u.Replaced, li).replaced
		}
		out.Basis = append(out.Basis, b)
	}
}

// one is the answer where all rulings agree.
func (m *merger) one(rs []checks.Ruling, ks []combo) *answer.Answer {
	r, k := &rs[0], ks[0]
	// a field player's ruling reads better than a goalkeeper's where both agree
	kind := answer.Check
	switch r.Verdict {
	case answer.Need:
		return m.need(r, r.Missing()...)
	case answer.NoAnswer:
		out := m.answer(r, k, answer.None)
		return out
	}
	out := m.answer(r, k, kind)
	several := false
	for i := range rs {
		several = several || ks[i].div != ks[0].div
		if !sameValues(&rs[i], r) { // only values that hold for all stand at the top
			keep := out.Values[:0]
			for _, f := range out.Values {
				v, ok := answer.Fields(rs[i].Values()).Get(f.Name)
				if ok && v.Equal(f.Val) || !ok && sheet.Goalkeeper.Has(ks[i].pos) && !sheet.Goalkeeper.Has(ks[0].pos) && ks[i].div == ks[0].div { // where he has no limit, the field players' stands
					keep = append(keep, f)
				}
			}
			out.Values = keep
		}
	}
	if several && m.c.ByDivision {
		m.perDivision(out, rs, ks)
	}
	if m.w.assumed {
		out.Detail = append(out.Detail, m.d.say(m.a, "common", "assumed", textValues{"division": m.w.divFact}))
	}
	return out
}

// perDivision rewrites an answer that holds for several divisions: the headline
// says so, and the detail has a line for each where their values differ.
func (m *merger) perDivision(out *answer.Answer, rs []checks.Ruling, ks []combo) {
	a, d := m.a, m.d
	differ := false
	for i := range rs {
		differ = differ || !sameValues(&rs[i], &rs[0])
	}
	names, all := m.divisionNames(ks)
	key := "any-age"
	if !all || m.w.byAge {
		key = "both-ages"
	}
	if d.texts.Has(a.lang, m.c.Topic, "any-"+rs[0].Head) { // the topic has its own words for it
		s := &scene{m: m, r: &rs[0], div: names, pos: ks[0].pos}
		out.Headline = d.texts.Say(a.lang, m.c.Topic, "any-"+rs[0].Head, s)
	} else {
		s := &scene{m: m, r: &rs[0], div: names, pos: ks[0].pos}
		out.Headline = d.texts.Say(a.lang, m.c.Topic, rs[0].Head, s)
	}
	if isVerdict(rs[0].Verdict) && !sameHead(rs) { // not for one reason: no single one may stand for all
		out.Headline = d.say(a, "common", "all-divisions", textValues{"word": d.say(a, "common", "word-"+rs[0].Verdict, nil), "divisions": names})
	}
	if !differ {
		if all {
			return
		}
		out.Detail = append(out.Detail, d.say(a, "common", key, textValues{"divisions": names}))
		return
	}
	out.Detail = out.Detail[:0]
	last := -1
	for i := range rs {
		if ks[i].div == last {
			continue
		}
		last = ks[i].div
		if i > 0 {
			m.basis(out, &rs[i])
		}
		s := &scene{m: m, r: &rs[i], div: d.book.Divisions[ks[i].div].ID, pos: ks[i].pos}
		if key := d.texts.First(a.lang, m.c.Topic, s, "each", "each-less"); key != "" {
			out.Detail = append(out.Detail, d.texts.Say(a.lang, m.c.Topic, key, s))
			continue
		}
		out.Detail = append(out.Detail, s.div+": "+d.texts.Say(a.lang, m.c.Topic, rs[i].Head, s))
	}
}

// divisionNames lists the divisions of the rulings, and whether they are all.
func (m *merger) divisionNames(ks []combo) (string, bool) {
	var mask sheet.Mask
	for _, k := range ks {
		mask |= 1 << uint(k.div)
	}
	if mask == m.d.allDivisions() {
		return m.d.divs, true
	}
	var b strings.Builder
	for i, div := range m.d.book.Divisions {
		if mask.Has(i) {
			if b.Len() > 0 {
				b.WriteString(", ")
			}
			b.WriteString(div.ID)
		}
	}
	return b.String(), false
}

// fieldAndKeeper is the answer where only the goalkeeper differs.
func (m *merger) fieldAndKeeper(rs []checks.Ruling, ks []combo) *answer.Answer {
	field, keeper := -1, -1
	for i := range rs {
		if sheet.Goalkeeper.Has(ks[i].pos) {
			if keeper < 0 {
				keeper = i
			}
		} else if field < 0 {
			field = i
		}
	}
	a, d := m.a, m.d
	f, k := &rs[field], &rs[keeper]
	names, _ := m.divisionNames(ks)
	text := func(i int) string {
		s := &scene{m: m, r: &rs[i], div: names, pos: ks[i].pos}
		return d.texts.Say(a.lang, m.c.Topic, rs[i].Head, s)
	}
	out := m.answer(f, ks[field], answer.Check)
	out.Verdict = answer.Depends
	if isVerdict(f.Verdict) && isVerdict(k.Verdict) {
		out.Headline = d.say(a, "common", "field-keeper", textValues{
			"field": d.say(a, "common", "word-"+f.Verdict, nil), "keeper": d.say(a, "common", "word-"+k.Verdict+"-lower", nil)})
	} else {
		out.Headline = clip(d.say(a, "common", "field-keeper-info", textValues{"field": text(field), "keeper": text(keeper)}), 140)
	}
	out.Detail = []string{
		d.say(a, "common", "field-line", textValues{"text": text(field)}),
		d.say(a, "common", "keeper-line", textValues{"text": text(keeper)}),
	}
	for _, v := range k.Values() {
		if _, ok := out.Values.Get(v.Name); !ok {
			out.Values = append(out.Values, v)
		}
	}
	m.basis(out, k)
	return out
}

func isVerdict(v string) bool {
	return v == answer.Legal || v == answer.NotLegal || v == answer.Depends
}

// need asks for facts.
func (m *merger) need(r *checks.Ruling, missing ...string) *answer.Answer {
	a, d := m.a, m.d
	caution := "caution"
	if m.c.Safety {
		caution = "caution-safety"
	}
	out := answer.New(answer.Clarify, m.c.Topic, answer.Need, d.say(a, "common", caution, nil))
	out.Missing = append([]string(nil), missing...)
	s := &scene{m: m, r: r, div: d.divs, pos: 0}
	key := "need-" + missing[0]
	if r.Verdict == answer.Need && r.Head != "" && r.Missing()[0] == missing[0] {
		key = r.Head
	}
	out.Headline = d.texts.Say(a.lang, m.c.Topic, key, s)
	switch missing[0] {
	case "division":
		for _, div := range d.book.Divisions {
			out.Choices = append(out.Choices, div.ID)
		}
	case "position":
		out.Choices = sheet.Positions[:]
	}
	return out
}

// needUnknown asks which division is meant where the book lacks the one named.
func (d *Desk) needUnknown(a *ask, c *checks.Check, w who) *answer.Answer {
	caution := "caution"
	if c.Safety {
		caution = "caution-safety"
	}
	out := answer.New(answer.Clarify, c.Topic, answer.Need, d.say(a, "common", caution, nil))
	out.Missing = []string{"division"}
	out.Headline = d.say(a, "common", "unknown-division", textValues{"number": measure.Num(float64(w.unknown))})
	for _, div := range d.book.Divisions {
		out.Choices = append(out.Choices, div.ID)
	}
	return out
}

// facts are what was understood, in the contract's units.
func (d *Desk) facts(c *checks.Check, fs question.Facts, w who) answer.Fields {
	out := make(answer.Fields, 0, len(fs)+2)
	if w.divFact != "" {
		out = append(out, answer.Field{Name: "division", Val: answer.Val{Kind: answer.Text, S: w.divFact}})
	}
	if w.posFact != "" {
		out = append(out, answer.Field{Name: "position", Val: answer.Val{Kind: answer.Text, S: w.posFact}})
	}
	for _, f := range fs {
		if v, ok := factVal(f.Name, f.Val); ok {
			out = append(out, answer.Field{Name: f.Name, Val: v})
		}
	}
	return out
}

// factVal converts a fact from base units to those of its name's ending.
func factVal(name string, v question.Val) (answer.Val, bool) {
	num := func(f func(int64) float64) (answer.Val, bool) {
		out := answer.Val{Kind: answer.Num, A: f(v.Lo), B: f(v.Hi)}
		if v.Lo != v.Hi {
			out.Kind = answer.Range
		}
		return out, true
	}
	switch v.Kind {
	case question.LengthVal:
		switch {
		case strings.HasSuffix(name, "_yd"):
			return num(checks.Yd)
		case strings.HasSuffix(name, "_ft"):
			return num(func(n int64) float64 { return measure.Length(n).Feet() })
		}
		return num(checks.In)
	case question.WeightVal:
		return num(checks.Oz)
	case question.SpanVal:
		return num(checks.Sec)
	case question.WarmthVal:
		return num(func(n int64) float64 { return measure.Temp(n).Fahrenheit() })
	case question.CountVal:
		return num(checks.N)
	case question.ClockVal:
		return answer.Val{Kind: answer.Text, S: measure.Clock(int(v.Lo))}, true
	case question.DayVal:
		if v.Lo == 0 || v.Lo != v.Hi {
			return answer.Val{}, false
		}
		return answer.Val{Kind: answer.Text, S: measure.Date(v.Lo).String()}, true
	case question.WordVal:
		return answer.Val{Kind: answer.Text, S: v.Word}, true
	case question.FlagVal:
		return answer.Val{Kind: answer.Bool, A: float64(v.Lo)}, true
	case question.ObjVal:
		if o, ok := v.Obj.(interface{ Field() (answer.Val, bool) }); ok {
			return o.Field()
		}
	}
	return answer.Val{}, false
}

// sameHead says whether all rulings say the same headline.
func sameHead(rs []checks.Ruling) bool {
	return all(rs, func(r *checks.Ruling) bool { return r.Head == rs[0].Head })
}
