package answers

// Topic is a check as help shows it.
type Topic struct {
	ID           string
	Help, HelpES string
	Examples     []string
	ExamplesES   []string
}

// Topics are what the desk's checks answer, in the order of help.
func (d *Desk) Topics() []Topic {
	out := make([]Topic, len(d.checks))
	for i, c := range d.checks {
		out[i] = Topic{ID: c.Topic, Help: c.Help, HelpES: c.HelpES, Examples: c.Examples, ExamplesES: c.ExamplesES}
	}
	return out
}

// Named is the one division and the position that words name, as the book calls
// them; "" where they name none, or more than one division.
func (d *Desk) Named(text string) (division, position string) {
	q := d.rec.Read(text, "")
	if ds := q.Divisions(q.Whole()); len(ds) == 1 {
		division = d.book.Divisions[ds[0]].ID
	}
	return division, q.Position(q.Whole())
}

// Known says whether a word is one that the desk knows or an everyday one, and
// so hardly somebody's name.
func (d *Desk) Known(word string) bool { return d.rec.Known(word) }
