package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const foulTopic = "foul"

// foulIDs are the fouls, the more telling first: a take-out is also a body
// check, and "thrown out" is asked of many a foul.
var foulIDs = []string{
	"takeout-check", "defenseless-player", "check-to-head", "unnecessary-roughness", "unsportsmanlike-conduct", "illegal-crosse",
	"illegal-equipment", "cross-check", "tripping", "slashing", "mouthguard-out", "illegal-screen", "illegal-procedure", "offside",
	"warding", "withholding", "stalling", "interference", "holding", "pushing", "illegal-body-check", "conduct-foul", "crease-violation",
	"ejection-foul",
}

// foulFields are a foul's keys in the sheet; made once, since a decision must
// not build strings.
type foulFields struct{ id, class, min, max, releasable, ejection, mended string }

var foulSheet = func() []foulFields {
	out := make([]foulFields, len(foulIDs))
	for i, id := range foulIDs {
		out[i] = foulFields{id, id + ".class", id + ".min", id + ".max", id + ".releasable", id + ".ejection_possible", id + ".usable_once_mended"}
	}
	return out
}()

// foul tells what a foul costs.
func foul() *Check {
	return &Check{
		Topic:      foulTopic,
		Help:       "what a foul costs: class, time, releasable or not",
		HelpES:     "qué cuesta una falta: clase, tiempo, si se libera",
		Examples:   []string{"what's the penalty for a slash?", "is an illegal crosse releasable?", "holding: personal or technical?"},
		ExamplesES: []string{"¿cuánto es por un slash?"},
		Wants:      []question.Want{{Name: "foul", Read: question.FoulOf(foulIDs)}},
		Keys:       []string{"foul/*"},
		ByDivision: true,
		Decide:     decideFoul,
	}
}

func decideFoul(c *Case) {
	id := c.Told("foul")
	if id == "" {
		c.foulClass()
		return
	}
	for i := range foulSheet {
		if foulSheet[i].id == id {
			c.putFoul(&foulSheet[i])
			return
		}
	}
	c.Need("foul")
}

func (c *Case) putFoul(f *foulFields) {
	class, ok := c.Word(foulTopic, f.class)
	if !ok {
		c.NotCovered()
		return
	}
	c.PutText("class", class)
	lo, _, min := c.Range(foulTopic, f.min)
	hi, _, max := c.Range(foulTopic, f.max)
	if !min || !max {
		c.Rule(answer.Info, "class-only")
		return
	}
	c.PutNum("min_s", Sec(lo))
	c.PutNum("max_s", Sec(hi))
	rel := c.Find(foulTopic, f.releasable)
	c.putReleasable(rel)
	if out, ok := c.Flag(foulTopic, f.ejection); ok && out {
		c.PutBool("ejection_possible", true)
		c.Line("ejection-possible")
	}
	c.foulHead(class, lo == hi)
	if r := c.Peek(foulTopic, f.mended); r != nil && r.Value.Lo != 0 {
		c.Line("usable-once-mended")
	}
	if class == "technical" {
		c.Find(foulTopic, "technical.without_possession")
		c.Line("possession-only")
	}
	c.memory(c.Peek(foulTopic, f.class))
}

func (c *Case) foulHead(class string, fixed bool) {
	switch {
	case class == "ejection":
		c.Rule(answer.Info, "ejection")
	case fixed && class == "technical":
		c.Rule(answer.Info, "technical")
	case fixed:
		c.Rule(answer.Info, "personal-fixed")
	default:
		c.Rule(answer.Info, "personal-range")
	}
}

func (c *Case) putReleasable(r *sheet.Record) {
	if r == nil {
		return
	}
	switch r.Value.Kind {
	case sheet.Flag:
		c.PutBool("releasable", r.Value.Lo != 0)
		if r.Value.Lo != 0 {
			c.Line("releasable")
		} else {
			c.Line("non-releasable")
		}
	case sheet.Word:
		c.PutText("releasable", r.Value.Words[0])
		c.Line("releasable-depends")
	}
}

// foulClass tells what a whole class of fouls costs ("how long is a technical?").
func (c *Case) foulClass() {
	class := ""
	switch {
	case c.Asked.Has("foul:technical") && !c.Asked.Has("foul:personal"):
		class = "technical"
	case c.Asked.Has("foul:personal") && !c.Asked.Has("foul:technical"):
		class = "personal"
	default:
		c.Need("foul")
		return
	}
	var lo, hi int64
	found, same := false, true
	var rel *sheet.Record
	for i := range foulSheet {
		f := &foulSheet[i]
		k, min, max := c.Peek(foulTopic, f.class), c.Peek(foulTopic, f.min), c.Peek(foulTopic, f.max)
		if k == nil || len(k.Value.Words) == 0 || k.Value.Words[0] != class || min == nil || max == nil || min.Value.Kind != sheet.Number || max.Value.Kind != sheet.Number {
			continue
		}
		if !found || min.Value.Lo < lo {
			lo = min.Value.Lo
		}
		if !found || max.Value.Hi > hi {
			hi = max.Value.Hi
		}
		r := c.Peek(foulTopic, f.releasable)
		if found && (r == nil || rel == nil || r.Value.Text != rel.Value.Text) {
			same = false
		}
		if !found {
			c.Use(k, nil)
		}
		rel, found = r, true
	}
	if !found {
		c.NotCovered()
		return
	}
	c.PutText("class", class)
	c.PutNum("min_s", Sec(lo))
	c.PutNum("max_s", Sec(hi))
	if same {
		c.putReleasable(rel)
	} else {
		c.PutText("releasable", actDepends)
		c.Line("which-foul")
	}
	c.Rule(answer.Info, "class-"+class)
	if class == "technical" {
		c.Find(foulTopic, "technical.without_possession")
		c.Line("possession-only")
	}
}
