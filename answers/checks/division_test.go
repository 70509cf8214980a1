package checks_test

import (
	"testing"

	"sidewall/answers/answer"
	"sidewall/answers/measure"
)

// Youth age and eligibility guidelines, tables of 2014-15 and after.
func TestDivision(t *testing.T) {
	day := func(d measure.Date) facts { return facts{born(d, d)} }
	spring := func(y float64, f facts) facts { return append(f, count("season", y)) }
	in := func(division string, age float64, cutoff string) values {
		return values{"division": division, "age_on_cutoff": age, "cutoff": cutoff}
	}
	table(t, "division", []row{
		{name: "first day of U9", facts: day(20170901), verdict: answer.Info, values: in("U9", 8, "2026-08-31")},
		{name: "the day before", facts: day(20170831), verdict: answer.Info, values: in("U11", 9, "2026-08-31")},
		{name: "window", facts: day(20151003), verdict: answer.Info, values: values{"born_from": "2015-09-01", "born_to": "2017-08-31"}},
		{name: "too old for U15", facts: day(20110831), verdict: answer.Info, values: values{"division": "HS", "born_from": nil, "born_to": "2011-08-31"}},
		{name: "another season", facts: spring(2015, day(20050901)), verdict: answer.Info, values: in("U9", 8, "2014-08-31")},
		{name: "a year across two windows", facts: facts{born(20150101, 20151231)}, verdict: answer.Need, missing: "birth_date"},
		{name: "a year inside one", facts: facts{born(20140101, 20141231)}, verdict: answer.Info, values: values{"division": "U13", "age_on_cutoff": nil}},
		{name: "an age inside one", facts: facts{count("age", 12)}, verdict: answer.Info, values: values{"division": "U13"}},
		{name: "an age across two", facts: facts{count("age", 9)}, verdict: answer.Need, missing: "birth_date"},
		{name: "a grade", facts: facts{count("grade", 8)}, verdict: answer.Depends, values: values{"division": "U15"}},
		{name: "a birth date beats a grade", facts: append(day(20170901), count("grade", 8)), verdict: answer.Info, values: values{"division": "U9"}},
		{name: "not born yet", facts: day(20280101), verdict: answer.Need, missing: "birth_date"},
		{name: "past school age", facts: day(19900101), verdict: answer.NoAnswer},
		{name: "cut-off", asked: "when is the age cutoff", verdict: answer.Info, values: values{"cutoff": "2026-08-31"}},
		{name: "a division's window", division: "U13", asked: "which birth dates", verdict: answer.Info, values: values{"born_from": "2013-09-01", "born_to": "2015-08-31"}},
		{name: "the oldest division's", division: "HS", asked: "which birth dates", verdict: answer.Info, values: values{"born_from": nil, "born_to": "2011-08-31"}},
		{name: "nothing told", asked: "which division", verdict: answer.Need, missing: "birth_date"},
	})
}
