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

// Show writes a topic's values on a day as a table: value, layer, since when,
// source, and what it replaces. An empty division shows all of them, and so
// does an empty topic.
func Show(w io.Writer, b *Book, topic, division string, date measure.Date) error {
	topics := slices.Sorted(maps.Keys(b.Sheet.Topics))
	if topic != "" {
		if b.Sheet.Topics[topic] == nil {
			return fmt.Errorf("the book has no topic %q; %s", topic, choice(topic, topics))
		}
		topics = []string{topic}
	}
	divisions := b.Sheet.Divisions
	if division != "" {
		i := b.Sheet.DivisionIndex(division)
		if i < 0 {
			return fmt.Errorf("the book has no division %q; %s", division, choice(division, divisions))
		}
		divisions = divisions[i : i+1]
	}
	if date == 0 {
		date = b.Season.From
	}
	for i, id := range topics {
		if i > 0 {
			fmt.Fprintln(w)
		}
		t := b.Sheet.Topics[id]
		fmt.Fprintf(w, "%s (%s) on %s\n", t.Title.EN, id, date)
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "KEY\tDIVISION\tPOSITION\tVALUE\tLAYER\tSINCE\tSOURCE\tREPLACES")
		for _, key := range t.Order {
			for _, row := range b.rows(id, key, divisions, date) {
				fmt.Fprintln(tw, strings.Join(row, "\t"))
			}
		}
		if err := tw.Flush(); err != nil {
			return fmt.Errorf("showing %s: %w", id, err)
		}
	}
	return nil
}

// rows are a key's lines of the table; positions and then divisions that
// resolve alike share one.
func (b *Book) rows(topic, key string, divisions []string, on measure.Date) [][]string {
	type cell struct{ win, lost *sheet.Record }
	type group struct {
		divisions []string
		positions sheet.Mask
		cell
	}
	var groups []group
	for _, d := range divisions {
		di := b.Sheet.DivisionIndex(d)
		had := len(groups)
		for p := range sheet.Positions {
			win, lost := b.Sheet.Lookup(topic, key, di, p, on)
			c := cell{win, lost}
			if i := slices.IndexFunc(groups[had:], func(g group) bool { return g.cell == c }); i >= 0 {
				groups[had+i].positions |= 1 << uint(p)
				continue
			}
			groups = append(groups, group{[]string{d}, 1 << uint(p), c})
		}
	}
	var merged []group
	for _, g := range groups {
		i := slices.IndexFunc(merged, func(m group) bool { return m.cell == g.cell && m.positions == g.positions })
		if i >= 0 {
			merged[i].divisions = append(merged[i].divisions, g.divisions...)
			continue
		}
		merged = append(merged, g)
	}
	var out [][]string
	for _, g := range merged {
		row := []string{key, strings.Join(g.divisions, " "), positionsName(g.positions), "(nothing)", "", "", "", ""}
		if r := g.win; r != nil {
			row[3], row[4], row[5], row[6] = r.Value.Text, b.Sheet.Layers[r.Layer].ID, r.From.String(), r.Source.String()
			if r.Mark != "" {
				row[6] += " [" + r.Mark + "]"
			}
			if r.Until != 0 {
				row[5] += " until " + r.Until.String()
			}
		}
		if r := g.lost; r != nil {
			row[7] = fmt.Sprintf("%s (%s, %s)", r.Value.Text, b.Sheet.Layers[r.Layer].ID, r.From)
		}
		out = append(out, row)
	}
	return out
}

// positionsName is a set of positions in words.
func positionsName(m sheet.Mask) string {
	switch m {
	case sheet.AllPositions:
		return "all"
	case sheet.FieldPositions:
		return "field"
	}
	var out []string
	for i, p := range sheet.Positions {
		if m.Has(i) {
			out = append(out, p)
		}
	}
	return strings.Join(out, " ")
}
