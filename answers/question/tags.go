package question

import (
	"fmt"
	"strconv"
	"strings"

	"sidewall/answers/measure"
)

// group is what a tag is used for by the recognisers; most tags are plain concepts.
type group uint8

const (
	gConcept    group = iota
	gNum              // num:45
	gPart             // part:500, thousandths: half, quarter
	gUnit             // u:in
	gMonth            // month:10
	gOrd              // ord:3
	gOrdSuffix        // ordsuffix: st, nd, rd, th
	gPeriodWord       // periodword:1 a period, :4 a quarter, :2 a half
	gOvertime         // overtime
	gDiv              // div:U11; n is the division's index
	gUnder            // under:0 sure ("u", "sub"), under:1 only with a number the book has ("under", "you")
	gAndUnder         // andunder
	gAgeWord          // ageword: age, aged, turning
	gGradeWord        // gradeword:0 grade, gradeword:6 secundaria (grades count on from 6)
	gGradeName        // gradename:0 kindergarten
	gJerseyWord       // jerseyword
	gNoon             // noon:12, noon:0
	gHalfDay          // halfday:0 am, halfday:1 pm
	gAfterIn          // afterin: words after which "in" was a preposition
	gStickWord        // pluralthing: things that are counted ("two thirty second penalties")
	gSeasonWord       // seasonword:0 spring, seasonword:1 autumn
	gDim              // dim:height and so on: what a length measures
	gNeg              // neg
	gAsk              // ask:may and so on
	gDenom            // denom:8: eighths
	gAgeIs            // ageis: "he is", before an age
	gAgeNext          // agenext: words that may follow an age without its years
)

var groupOf = map[string]group{
	"num": gNum, "part": gPart, "u": gUnit, "month": gMonth, "ord": gOrd, "ordsuffix": gOrdSuffix, "periodword": gPeriodWord,
	"overtime": gOvertime, "div": gDiv, "under": gUnder, "andunder": gAndUnder, "ageword": gAgeWord, "gradeword": gGradeWord,
	"gradename": gGradeName, "jerseyword": gJerseyWord, "noon": gNoon, "halfday": gHalfDay, "afterin": gAfterIn,
	"pluralthing": gStickWord, "seasonword": gSeasonWord, "dim": gDim, "neg": gNeg, "ask": gAsk, "denom": gDenom, "ageis": gAgeIs, "agenext": gAgeNext,
}

type unitFactor struct {
	kind Kind
	n    int64
}

// Exact factors (NIST SP 811); counts of thousandths are scaled by them.
var units = map[string]unitFactor{
	"in": {Length, int64(measure.Inch)}, "ft": {Length, int64(measure.Foot)}, "yd": {Length, int64(measure.Yard)},
	"mm": {Length, int64(measure.Millimetre)}, "cm": {Length, int64(measure.Centimetre)}, "m": {Length, int64(measure.Metre)},
	"step": {Length, int64(measure.Yard)},
	"s":    {Span, int64(measure.Second)}, "min": {Span, int64(measure.Minute)}, "hr": {Span, int64(measure.Hour)},
	"oz": {Weight, int64(measure.Ounce)}, "g": {Weight, int64(measure.Gram)}, "kg": {Weight, 1000 * int64(measure.Gram)}, "lb": {Weight, int64(measure.Pound)},
	"deg": {Warmth, 1}, "f": {Warmth, 1}, "c": {Warmth, 1}, "pct": {Humid, 1}, "year": {Age, 1},
}

// tagInfo is what the recognisers need to know of a tag.
type tagInfo struct {
	group    group
	n        int64
	unitKind Kind
	format   bool   // asks about the game's format
	value    string // after the colon
	lenTag   Tag    // of a dimension: the tag of a length that has it,
	bareTag  Tag    // and of a bare number that has it
}

// std are the tags that code names.
type std struct {
	inch, foot, yard, step, percent, f, c, degree         Tag
	qLen, qYards, qSpan, qClock, qTimeOfDay               Tag
	qWeight, qTemp, qPercent, qDay, qAge, qGrade, qJersey Tag
	qPeriod, qHalf, qPair, qBare, qDiv, qUnknownDiv       Tag
	qSeason, qFeet, qMetric, qNeg, qTwoLengths, qMark     Tag
	dimHeight, dimHeadLength, dimStick, person            Tag
	lenNone, bareNone                                     Tag
	dimChange, qSize, qHot, qCount, askMay, sealed, under Tag
	childHeight                                           int64 // people are no shorter
	bigChange                                             int64 // a longer length is a size, not a change of one
}

// finish numbers what the tags mean, once all data is loaded.
func (x *lexicon) finish(divisions []string) error {
	for name, p := range map[string]*Tag{
		"u:in": &x.std.inch, "u:ft": &x.std.foot, "u:yd": &x.std.yard, "u:step": &x.std.step, "u:pct": &x.std.percent,
		"u:f": &x.std.f, "u:c": &x.std.c, "u:deg": &x.std.degree,
		"q:len": &x.std.qLen, "q:yards": &x.std.qYards, "q:span": &x.std.qSpan, "q:clock": &x.std.qClock,
		"q:timeofday": &x.std.qTimeOfDay, "q:weight": &x.std.qWeight, "q:temp": &x.std.qTemp, "q:percent": &x.std.qPercent,
		"q:day": &x.std.qDay, "q:age": &x.std.qAge, "q:grade": &x.std.qGrade, "q:jersey": &x.std.qJersey, "q:period": &x.std.qPeriod,
		"q:half": &x.std.qHalf, "q:pair": &x.std.qPair, "q:size": &x.std.qSize, "q:hot": &x.std.qHot, "q:count": &x.std.qCount, "q:bare": &x.std.qBare, "q:div": &x.std.qDiv, "q:unknowndiv": &x.std.qUnknownDiv,
		"q:season": &x.std.qSeason, "q:feet": &x.std.qFeet, "q:metric": &x.std.qMetric, "q:neg": &x.std.qNeg, "q:twolengths": &x.std.qTwoLengths,
		"q:mark": &x.std.qMark, "ask:may": &x.std.askMay, "dim:height": &x.std.dimHeight, "dim:headlength": &x.std.dimHeadLength, "dim:stick": &x.std.dimStick, "person": &x.std.person, "dim:change": &x.std.dimChange, "sealed": &x.std.sealed, "under:0": &x.std.under,
	} {
		t, err := x.tag(name)
		if err != nil {
			return err
		}
		*p = t
	}
	x.std.bigChange = int64(16 * measure.Inch)
	x.std.childHeight = int64(40 * measure.Inch)
	for _, name := range x.names { // those that are added meanwhile are no dimensions
		if d, ok := strings.CutPrefix(name, "dim:"); ok {
			for _, of := range [...]string{"len:", "bare:"} {
				if _, err := x.tag(of + d); err != nil {
					return err
				}
			}
		}
	}
	for _, of := range [...]string{"len:none", "bare:none"} {
		if _, err := x.tag(of); err != nil {
			return err
		}
	}
	x.info = make([]tagInfo, len(x.names))
	for i, name := range x.names {
		g, v, _ := strings.Cut(name, ":")
		in := tagInfo{group: groupOf[g], value: v, format: g == "format"}
		switch in.group {
		case gNum, gDenom, gPart, gMonth, gOrd, gPeriodWord, gUnder, gGradeWord, gGradeName, gNoon, gHalfDay, gSeasonWord:
			n, err := strconv.ParseInt(v, 10, 64)
			if err != nil {
				return fmt.Errorf("tag %q: want a number after the colon", name)
			}
			in.n = n
		case gUnit:
			u, ok := units[v]
			if !ok {
				return fmt.Errorf("tag %q: no such unit", name)
			}
			in.unitKind, in.n = u.kind, u.n
		case gDiv:
			in.n = -1
			for k, d := range divisions {
				if d == v {
					in.n = int64(k)
				}
			}
			if in.n < 0 {
				return fmt.Errorf("tag %q: the book has no such division", name)
			}
		}
		if in.group == gDim {
			in.lenTag, in.bareTag = x.tags["len:"+v], x.tags["bare:"+v]
		}
		x.info[i] = in
	}
	x.std.lenNone, x.std.bareNone = x.tags["len:none"], x.tags["bare:none"]
	return nil
}

// divisionNumber says whether some division of the book is called by n.
func (x *lexicon) divisionNumber(n int) bool {
	if _, ok := x.under[n]; ok {
		return true
	}
	_, ok := x.band[n]
	return ok
}
