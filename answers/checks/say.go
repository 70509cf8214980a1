package checks

import (
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// one is the number 1 of a count.
const one = measure.One

// position is the name of the case's position.
func (c *Case) position() string { return sheet.Positions[c.Position] }

// memory adds the line that a rule is from memory, where a record is so marked.
func (c *Case) memory(r *sheet.Record) {
	if r == nil {
		return
	}
	mark := r.Mark
	if mark == "" && r.Source != nil {
		mark = r.Source.Mark
	}
	if mark == "M" {
		c.Line("from-memory")
	}
}

// without is whether a question asks about being without a thing.
func (c *Case) without() bool {
	if w, ok := c.Said("without"); ok && w {
		return true
	}
	return c.Asked.Has("ask:without")
}
