package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const headTopic = "crosse-head"

// crosseHead judges a head's inside width, a goalkeeper's head's length, and how
// far apart a field player's sidewalls are. Every measure that is told must be right.
func crosseHead() *Check {
	inch := int64(measure.Inch)
	return &Check{
		Topic:      headTopic,
		Help:       "whether the head of a stick is wide or long enough",
		HelpES:     "si la cabeza del palo mide lo que debe",
		Examples:   []string{"goalie head 11 inches wide?", "sidewalls 2 3/4 in apart at 3 inches from the throat, ok?"},
		ExamplesES: []string{"¿cabeza de portero de 11 pulgadas de ancho?"},
		Wants: []question.Want{
			{Name: "at_in", Read: question.Beside(question.Or(
				question.Measure{Kind: question.Length, Dims: []string{"at"}, BareUnit: inch, BareLo: 0, BareHi: 12, BareDims: []string{"at"}}.Reader(),
				question.LengthAfter(inch, "at", "a")), "dim:gap", "dim:at")},
			{Name: "sidewall_gap_in", Read: question.Beside(question.Measure{Kind: question.Length, Dims: []string{"gap", "headwidth", "distance", ""}, First: true, BareUnit: inch, BareLo: 1, BareHi: 12, BareDims: []string{"gap", ""}}.Reader(), "dim:gap")},
			{Name: "head_length_in", Read: question.Or(
				question.Measure{Kind: question.Length, Dims: []string{"headlength"}, BareUnit: inch, BareLo: 5, BareHi: 30, BareDims: []string{"headlength"}}.Reader(),
			)},
			{Name: "head_width_in", Read: question.Measure{Kind: question.Length, Dims: []string{"headwidth", "", "around"}, BareUnit: inch, BareLo: 3, BareHi: 20, BareDims: []string{"headwidth", "", "height"}}.Reader()},
		},
		Keys:       []string{"crosse-head/head_width", "crosse-head/head_length", "crosse-head/gap-1", "crosse-head/gap-2", "crosse-head/gap-3", "crosse-head/gap-widest"},
		ByPosition: true,
		Decide:     decideCrosseHead,
	}
}

// gaps are the places at which the sheet says how far apart the sidewalls are,
// and what texts call the place and the distance there.
var gaps = [...][4]string{
	{"gap-1.at", "gap-1.min", "at1", "min1"},
	{"gap-2.at", "gap-2.min", "at2", "min2"},
	{"gap-3.at", "gap-3.min", "at3", "min3"},
}

func decideCrosseHead(c *Case) {
	width, hasWidth := c.Fact("head_width_in")
	length, hasLength := c.Fact("head_length_in")
	gap, hasGap := c.Fact("sidewall_gap_in")
	if _, at := c.Fact("at_in"); at && hasWidth && !hasGap { // a width low in the head is what the gaps are about
		gap, hasGap, hasWidth = width, true, false
	}
	if !hasWidth && !hasLength && !hasGap {
		c.headLimits()
		return
	}
	var good, bad, ruled, unsure bool // of all that was told
	head := ""
	note := func(ok bool, legal, not string) {
		ruled = true
		if ok {
			if good = true; !bad && !unsure {
				head = legal
			}
			return
		}
		if !bad {
			head = not
		}
		bad = true
	}
	if hasWidth {
		if lo, hi, ok := c.Range(headTopic, "head_width"); ok {
			c.PutRange("head_in", In(lo), In(hi))
			switch {
			case width.Lo >= lo && width.Hi <= hi:
				note(true, "width-legal", "")
			case width.Hi < lo:
				note(false, "", "too-narrow")
			default:
				note(false, "", "too-wide")
			}
			c.Line("width-range")
			c.Edge(width.Lo, lo, hi)
		}
	}
	if hasLength {
		if limit, ok := c.Number(headTopic, "head_length"); ok {
			c.PutNum("max_head_length_in", In(limit))
			note(length.Hi <= limit, "length-legal", "too-long")
			c.Line("length-limit")
			c.Edge(length.Hi, limit)
		}
	}
	if hasGap {
		c.ParamNum("gap", In(gap.Lo))
		switch c.judgeGap(gap) {
		case answer.Legal:
			note(true, "gap-legal", "")
		case answer.NotLegal:
			note(false, "", "gap-too-small")
		case answer.Depends:
			ruled, unsure = true, true
			if !bad {
				head = "gap-depends"
			}
		case answer.Need:
			if !bad {
				c.Need("at_in")
				return
			}
		}
		c.Line("gap-list")
	}
	switch {
	case !ruled:
		c.NotCovered()
	case bad:
		c.Rule(answer.NotLegal, head)
	case unsure:
		c.Rule(answer.Depends, head)
	case good:
		c.Rule(answer.Legal, head)
	}
}

// headLimits answers what the limits are, or asks for a measure.
func (c *Case) headLimits() {
	if !c.Asked.Any("ask:howbig", "ask:what", "ask:howlong", "ask:howmany", "ask:how", "ask:most") {
		c.Need("head_width_in")
		return
	}
	if c.Asked.Any("ask:howlong", "dim:headlength") && !c.Asked.Any("dim:headwidth", "ask:howbig") {
		if limit, ok := c.Number(headTopic, "head_length"); ok {
			c.PutNum("max_head_length_in", In(limit))
			c.Rule(answer.Info, "info-length")
			return
		}
	}
	lo, hi, ok := c.Range(headTopic, "head_width")
	if !ok {
		c.NotCovered()
		return
	}
	c.PutRange("head_in", In(lo), In(hi))
	c.Rule(answer.Info, "info-width")
	if r := c.Peek(headTopic, "head_length"); r != nil && r.Value.Kind == sheet.Number {
		c.ParamNum("max_head_length_in", In(r.Value.Lo))
		c.Line("length-limit")
	}
}

// judgeGap judges how far apart the sidewalls are at a distance from the throat;
// "" where the book says nothing for this player.
func (c *Case) judgeGap(gap question.Val) string {
	at, told := c.Fact("at_in")
	least, any := int64(0), false
	verdict := ""
	for _, g := range gaps {
		place, ok1 := c.Number(headTopic, g[0])
		limit, ok2 := c.Number(headTopic, g[1])
		if !ok1 || !ok2 {
			continue
		}
		c.ParamNum(g[2], In(place))
		c.ParamNum(g[3], In(limit))
		if told && at.Lo == place && at.Hi == place {
			c.ParamNum("min_gap_in", In(limit))
			verdict = answer.NotLegal
			if gap.Lo >= limit {
				verdict = answer.Legal
			}
		}
		if !any || limit < least {
			least, any = limit, true
		}
	}
	if verdict != "" {
		return verdict
	}
	if !any {
		return ""
	}
	if !told && gap.Hi < least { // too small wherever it was measured
		c.ParamNum("min_gap_in", In(least))
		return answer.NotLegal
	}
	if !told {
		return answer.Need
	}
	return answer.Depends // the rule names other places
}
