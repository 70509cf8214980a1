package book

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"text/tabwriter"

	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// Changed is a value that is another one than before, for some positions of a
// division. Before and After are nil where the book is silent.
type Changed struct {
	Topic, Key    string
	Name          sheet.Text2 // of the key, as people call it
	Title         sheet.Text2 // of the topic
	Positions     sheet.Mask
	Before, After *sheet.Record
	// AfterLayer is the layer that the new value is of.
	AfterLayer sheet.Layer

	words map[string]sheet.Name // how the topic calls its words
}

// Position is the positions in words, "" for all.
func (c *Changed) Position() string {
	if c.Positions == sheet.AllPositions {
		return ""
	}
	return positionsName(c.Positions)
}

// Was is the old value as people read it.
func (c *Changed) Was(lang string) string { return c.shown(c.Before, lang) }

// Is is the new value as people read it.
func (c *Changed) Is(lang string) string { return c.shown(c.After, lang) }

// plainWord is a value that people would not say as the sheet has it; "" is none
// at all.
func plainWord(w, lang string) (string, bool) {
	var t sheet.Text2
	switch w {
	case "":
		t = sheet.Text2{EN: "not in the book", ES: "no está en el libro"}
	case "true":
		t = sheet.Text2{EN: "yes", ES: "sí"}
	case "false":
		t = sheet.Text2{EN: "no", ES: "no"}
	case "none":
		t = sheet.Text2{EN: "none", ES: "ninguno"}
	case "legal":
		t = sheet.Text2{EN: "legal", ES: "permitido"}
	case "not_legal":
		t = sheet.Text2{EN: "not legal", ES: "no permitido"}
	default:
		return "", false
	}
	return t.In(lang), true
}

func (c *Changed) shown(r *sheet.Record, lang string) string {
	if r == nil {
		out, _ := plainWord("", lang)
		return out
	}
	words := r.Value.Words
	if r.Value.Kind == sheet.Flag || r.Value.Kind == sheet.Barred {
		words = []string{r.Value.Text}
	}
	if len(words) == 0 {
		return r.Value.Text
	}
	out := make([]string, len(words))
	for i, w := range words {
		switch said, plain := plainWord(w, lang); {
		case c.words[w].Text.EN != "":
			out[i] = c.words[w].Text.In(lang)
		case plain:
			out[i] = said
		default:
			out[i] = strings.ReplaceAll(w, "_", " ")
		}
	}
	return strings.Join(out, ", ")
}

// Why is the note of the new value, else what made it hold: its layer and day.
func (c *Changed) Why(lang string) string {
	switch {
	case c.After == nil && lang == "es":
		return "ya no hay valor"
	case c.After == nil:
		return "it has ended"
	case c.After.Note.In(lang) != "":
		return c.After.Note.In(lang)
	case lang == "es":
		return c.AfterLayer.Name.In(lang) + ", desde " + c.After.From.String()
	}
	return c.AfterLayer.Name.In(lang) + ", from " + c.After.From.String()
}

// Source is where the new value comes from, with its mark.
func (c *Changed) Source() string {
	if c.After == nil || c.After.Source == nil {
		return ""
	}
	out := c.After.Source.String()
	if c.After.Mark != "" {
		out += " [" + c.After.Mark + "]"
	}
	return out
}

// Diff is what holds for a division in b on a day and did not in a on another:
// the resolved values, whatever records give them. Both may be one book.
func Diff(a, b *Book, division string, onA, onB measure.Date) ([]*Changed, error) {
	da, db := a.Sheet.DivisionIndex(division), b.Sheet.DivisionIndex(division)
	if db < 0 && da < 0 {
		return nil, fmt.Errorf("the book has no division %q; %s", division, choice(division, b.Sheet.Divisions))
	}
	lookup := func(bk *Book, topic, key string, d, p int, on measure.Date) *sheet.Record {
		if d < 0 {
			return nil
		}
		win, _ := bk.Sheet.Lookup(topic, key, d, p, on)
		return win
	}
	var out []*Changed
	for _, k := range bothKeys(a, b) {
		had := len(out)
		for p := range sheet.Positions {
			was, is := lookup(a, k.topic, k.key, da, p, onA), lookup(b, k.topic, k.key, db, p, onB)
			if was == nil && is == nil || was != nil && is != nil && Same(was.Value, is.Value) {
				continue
			}
			if i := slices.IndexFunc(out[had:], func(c *Changed) bool { return c.Before == was && c.After == is }); i >= 0 {
				out[had+i].Positions |= 1 << uint(p)
				continue
			}
			c := &Changed{Topic: k.topic, Key: k.key, Positions: 1 << uint(p), Before: was, After: is}
			for _, bk := range []*Book{a, b} { // the later names count
				if t := bk.Sheet.Topics[k.topic]; t != nil {
					c.Title, c.words = t.Title, t.Names
					c.Name = keyName(t, k.key)
				}
			}
			if is != nil {
				c.AfterLayer = b.Sheet.Layers[is.Layer]
			}
			out = append(out, c)
		}
	}
	return out, nil
}

// keyName is how a key is called; a field of a block by both its names.
func keyName(t *sheet.Topic, key string) sheet.Text2 {
	if n, ok := t.Names[key]; ok {
		return n.Text
	}
	base, field, block := strings.Cut(key, ".")
	one := func(id string) sheet.Text2 {
		if n, ok := t.Names[id]; ok {
			return n.Text
		}
		return sheet.Text2{EN: strings.ReplaceAll(id, "_", " ")}
	}
	if !block {
		return one(key)
	}
	x, y := one(base), one(field)
	return sheet.Text2{EN: x.EN + ", " + y.EN, ES: x.In("es") + ", " + y.In("es")}
}

type topicKey struct{ topic, key string }

// bothKeys are the keys of two books, by topic and in the order of the file.
func bothKeys(a, b *Book) []topicKey {
	topics := map[string]bool{}
	for _, bk := range []*Book{a, b} {
		for id := range bk.Sheet.Topics {
			topics[id] = true
		}
	}
	var out []topicKey
	for _, id := range slices.Sorted(maps.Keys(topics)) {
		seen := map[string]bool{}
		for _, bk := range []*Book{b, a} {
			if t := bk.Sheet.Topics[id]; t != nil {
				for _, key := range t.Order {
					if !seen[key] {
						seen[key] = true
						out = append(out, topicKey{id, key})
					}
				}
			}
		}
	}
	return out
}

// SeasonChanges is what holds for a division in a season and did not the day
// before it: what changed this year.
func (b *Book) SeasonChanges(division string) ([]*Changed, error) {
	return Diff(b, b, division, b.Season.From.AddDays(-1), b.Season.To)
}

// Changes is what a proposal changes for each division that it touches, from the
// day on which a new value first holds; that day is beside it.
func (pr *Proposal) Changes() map[string][]*Changed {
	out := map[string][]*Changed{}
	for _, id := range pr.To.Sheet.Divisions {
		seen := map[topicKey]bool{}
		for _, on := range pr.days() {
			cs, err := Diff(pr.From, pr.To, id, on, on)
			if err != nil {
				continue // a division that one of the two lacks
			}
			for _, c := range cs {
				if k := (topicKey{c.Topic, c.Key + "|" + c.Position()}); !seen[k] {
					seen[k] = true
					out[id] = append(out[id], c)
				}
			}
		}
	}
	return out
}

// days are the days on which one of the two books has a value that the other
// lacks: between them nothing can differ in another way.
func (pr *Proposal) days() []measure.Date {
	had := map[string]int{}
	for _, r := range pr.From.Sheet.All() {
		had[pr.From.signature(r)]++
	}
	var out []measure.Date
	add := func(r *sheet.Record) {
		out = append(out, r.From)
		if r.Until != 0 {
			out = append(out, r.Until.AddDays(1))
		}
	}
	for _, r := range pr.To.Sheet.All() {
		if s := pr.To.signature(r); had[s] > 0 {
			had[s]--
		} else {
			add(r)
		}
	}
	for _, r := range pr.From.Sheet.All() {
		if s := pr.From.signature(r); had[s] > 0 {
			had[s]--
			add(r)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// WriteDiff writes changes as a table that a coach can read.
func WriteDiff(w io.Writer, cs []*Changed) error {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "VALUE\tPOSITION\tBEFORE\tAFTER\tWHY\tSOURCE")
	for _, c := range cs {
		position := c.Position()
		if position == "" {
			position = "all"
		}
		fmt.Fprintln(tw, strings.Join([]string{c.Title.EN + ": " + c.Name.EN, position, c.Was("en"), c.Is("en"), c.Why("en"), c.Source()}, "\t"))
	}
	if err := tw.Flush(); err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}

// ToConfirm is a value that somebody should look at before a season begins, and
// why.
type ToConfirm struct {
	Record *sheet.Record
	Layer  sheet.Layer
	Why    string
}

// Confirm lists what to confirm before a season: what ends or begins in it, what
// the club or its league decided for one before, and what nobody has seen in
// writing.
func (b *Book) Confirm(s Season) []ToConfirm {
	var out []ToConfirm
	for _, r := range b.Sheet.All() {
		why := ""
		switch {
		case r.Until != 0 && r.Until < s.From.AddDays(-1), r.From > s.To:
			continue // it is no matter of that season
		case r.Until != 0 && r.Until < s.To:
			why = "it ends on " + r.Until.String()
		case r.From > s.From:
			why = "it begins on " + r.From.String()
		case r.Source != nil && r.Source.Kind == "own":
			why = "decided for a season before"
		case r.Mark == "M":
			why = "from memory"
		default:
			continue
		}
		out = append(out, ToConfirm{r, b.Sheet.Layers[r.Layer], why})
	}
	return out
}

// InSeason is the book with another season, as lint looks at it; the rest is shared.
func (b *Book) InSeason(s Season) *Book {
	c := *b
	c.Season = s
	return &c
}

// Line is the change in one line for a chat: what, for whom, before, after and why.
func (c *Changed) Line(lang string) string {
	out := c.Title.In(lang) + ": " + c.Name.In(lang)
	if p := c.Position(); p != "" {
		out += " (" + p + ")"
	}
	out += ": " + c.Was(lang) + " → " + c.Is(lang)
	if why := c.Why(lang); why != "" {
		out += "; " + why
	}
	return out
}
