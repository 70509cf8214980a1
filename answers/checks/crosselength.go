package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

const crosseTopic = "crosse-length"

// A length outside these is no crosse's: something else was measured, or the
// unit is wrong, and the answer asks again. They judge no crosse.
const (
	leastCrosse = int64(measure.Yard / 2)
	mostCrosse  = int64(3 * measure.Yard)
)

// crosseLength judges a crosse's overall length: a field player's must lie in
// the short or the long range, a goalkeeper's in its own.
func crosseLength() *Check {
	return &Check{
		Topic:      crosseTopic,
		Help:       "whether a stick of some length may be used",
		HelpES:     "si se puede usar un palo de cierto largo",
		Examples:   []string{"U11 attack, 45-inch stick?", "is 41 1/2 in ok for a U13 middie"},
		ExamplesES: []string{"¿un palo de 45 pulgadas para ataque de U11?"},
		Wants: []question.Want{
			{Name: "player_height_in", Read: question.Measure{Kind: question.Length, Dims: []string{"height"}}.Reader()},
			{Name: "crosse_length_in", Read: question.Measure{Kind: question.Length, Dims: []string{"stick", "", "headlength", "distance"},
				BareUnit: int64(measure.Inch), BareLo: 20, BareHi: 99, BareDims: []string{"*", ""}}.Reader()},
			{Name: "other_length_in", Read: question.Other(question.Measure{Kind: question.Length, Dims: []string{"stick", "", "headlength"},
				BareUnit: int64(measure.Inch), BareLo: 20, BareHi: 99, BareDims: []string{"stick", ""}, First: true}.Reader())},
			{Name: "adjustable", Read: question.Flagged([]string{"thing:adjustable"}, nil)},
		},
		Keys:       []string{"crosse-length/short", "crosse-length/long", "crosse-length/goalkeeper", "crosse-length/adjustable_allowed", "crosse-length/cap_long_by_height"},
		ByDivision: true, ByPosition: true,
		Changes: "crosse_length_in",
		Decide:  decideCrosseLength,
	}
}

func decideCrosseLength(c *Case) {
	if adj, ok := c.Said("adjustable"); ok && adj {
		if allowed, ok := c.Flag(crosseTopic, "adjustable_allowed"); ok && !allowed {
			c.Rule(answer.NotLegal, "adjustable")
			c.Line("from-memory")
			return
		}
	}
	v, ok := c.Fact("crosse_length_in")
	if !ok {
		c.putLengths()
		c.Need("crosse_length_in")
		return
	}
	if v.Lo < leastCrosse || v.Hi > mostCrosse {
		c.Need("crosse_length_in")
		c.Head = "implausible"
		return
	}
	var ranges [2][2]int64
	var names [2]string
	n := 0
	for _, key := range [...]string{"short", "long", "goalkeeper"} {
		if (key == "goalkeeper") != c.Goalkeeper() {
			continue
		}
		if lo, hi, ok := c.Range(crosseTopic, key); ok {
			ranges[n], names[n] = [2]int64{lo, hi}, key
			c.PutRange(key+"_in", In(lo), In(hi))
			n++
		}
	}
	if n == 0 {
		c.NotCovered()
		return
	}
	if other, ok := c.Fact("other_length_in"); ok && rangeOf(other, ranges[:n]) != rangeOf(v, ranges[:n]) {
		c.Rule(answer.Depends, "two-lengths") // which of the two he carries decides
		c.Line("ranges-" + names[n-1])
		return
	}
	c.judge(v, ranges[:n], names[:n])
}

// rangeOf is the index of the range that holds a length, or -1.
func rangeOf(v question.Val, ranges [][2]int64) int {
	for i, r := range ranges {
		if v.Lo >= r[0] && v.Hi <= r[1] {
			return i
		}
	}
	return -1
}

// putLengths gives the ranges that a question without a length can rest on.
func (c *Case) putLengths() {
	if c.Goalkeeper() {
		if lo, hi, ok := c.Range(crosseTopic, "goalkeeper"); ok {
			c.PutRange("goalkeeper_in", In(lo), In(hi))
		}
		return
	}
	if lo, hi, ok := c.Range(crosseTopic, "short"); ok {
		c.PutRange("short_in", In(lo), In(hi))
	}
	if lo, hi, ok := c.Range(crosseTopic, "long"); ok {
		c.PutRange("long_in", In(lo), In(hi))
	}
}

// judge compares a length with the ranges, lowest first.
func (c *Case) judge(v question.Val, ranges [][2]int64, names []string) {
	in := rangeOf(v, ranges)
	if v.Lo != v.Hi && in < 0 { // a span of lengths that no one range holds
		c.Need("crosse_length_in")
		return
	}
	last := ranges[len(ranges)-1]
	switch {
	case in >= 0:
		c.PutText("as", names[in])
		c.Rule(answer.Legal, "legal-"+names[in])
		if h, ok := c.Fact("player_height_in"); ok && names[in] == "long" && v.Lo > h.Lo {
			if r := c.Peek(crosseTopic, "cap_long_by_height"); r != nil && r.Value.Lo != 0 {
				c.PutBool("taller_than_player", true)
				c.Line("taller")
			}
		}
	case v.Hi < ranges[0][0]:
		c.Rule(answer.NotLegal, "too-short")
		c.Line("fix-too-short")
	case v.Lo > last[1]:
		c.Rule(answer.NotLegal, "too-long")
		c.ParamNum("longest", In(last[1]))
		c.Line("fix-too-long")
	default: // between two ranges
		c.Rule(answer.NotLegal, "between")
		c.ParamNum("cut_to", In(ranges[0][1]))
		c.ParamNum("use_from", In(last[0]))
		c.Line("fix-between")
	}
	c.ParamNum("shortest", In(ranges[0][0]))
	c.Line("ranges-" + names[len(names)-1])
	for _, r := range ranges {
		if c.Edge(v.Lo, r[0], r[1]) {
			break
		}
	}
}
