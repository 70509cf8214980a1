package checks_test

import (
	"testing"

	"sidewall/answers/answer"
)

// NFHS Boys Lacrosse Rules Book 1-6 (short 40-42, long 52-72, goalkeeper 40-72);
// youth U11 37-42 and 47-54, U9 37-42 without a long one: common practice.
func TestCrosseLength(t *testing.T) {
	at := func(v float64) facts { return facts{inches("crosse_length_in", v)} }
	table(t, "crosse-length", []row{
		{name: "between", division: "U11", position: "attack", facts: at(45), verdict: answer.NotLegal, values: values{"short_in": pair{37, 42}, "long_in": pair{47, 54}}},
		{name: "shortest", division: "U11", position: "attack", facts: at(37), verdict: answer.Legal, values: values{"as": "short"}},
		{name: "below it", division: "U11", position: "attack", facts: at(36.99), verdict: answer.NotLegal},
		{name: "longest", division: "U11", position: "defense", facts: at(54), verdict: answer.Legal, values: values{"as": "long"}},
		{name: "older range", division: "U11", position: "defense", on: "2013-12-31", facts: at(53), verdict: answer.NotLegal, values: values{"long_in": pair{47, 52}}},
		{name: "no long one at U9", division: "U9", position: "defense", facts: at(50), verdict: answer.NotLegal, values: values{"long_in": nil}},
		{name: "goalkeeper from the layer below", division: "U9", position: "goalkeeper", facts: at(72), verdict: answer.Legal, values: values{"goalkeeper_in": pair{40, 72}, "as": "goalkeeper"}},
		{name: "taller than its player", division: "U13", position: "defense", facts: facts{inches("crosse_length_in", 60), inches("player_height_in", 58)}, verdict: answer.Legal, values: values{"taller_than_player": true}},
		{name: "no such advice in high school", division: "HS", position: "defense", facts: facts{inches("crosse_length_in", 72), inches("player_height_in", 58)}, verdict: answer.Legal, values: values{"taller_than_player": nil}},
		{name: "no tolerance", division: "HS", position: "attack", facts: facts{cm("crosse_length_in", 107)}, verdict: answer.NotLegal},
		{name: "adjustable", division: "HS", position: "attack", facts: facts{flag("adjustable", true)}, verdict: answer.NotLegal},
		{name: "no length", division: "HS", position: "attack", verdict: answer.Need, missing: "crosse_length_in"},
	})
}

// Ranges as above; a long crosse no taller than the player: common practice, youth.
func TestCrosseChoice(t *testing.T) {
	tall := func(v float64) facts { return facts{inches("player_height_in", v)} }
	table(t, "crosse-choice", []row{
		{name: "attack", division: "U13", position: "attack", asked: "what length", verdict: answer.Info, values: values{"short_in": pair{40, 42}, "long_in": nil}},
		{name: "midfield with a long one", division: "U11", position: "midfield", asked: "what length for a long pole", verdict: answer.Info, values: values{"long_in": pair{47, 54}}},
		{name: "defense", division: "U15", position: "defense", asked: "what length", verdict: answer.Info, values: values{"long_in": pair{52, 72}}},
		{name: "capped by the height", division: "U11", position: "defense", asked: "what length", facts: tall(51), verdict: answer.Info, values: values{"long_in": pair{47, 51}}},
		{name: "just tall enough", division: "U13", position: "defense", asked: "what length", facts: tall(52), verdict: answer.Info, values: values{"long_in": pair{52, 52}}},
		{name: "too small for one", division: "U13", position: "defense", asked: "what length", facts: tall(50), verdict: answer.Info, values: values{"short_in": pair{40, 42}, "long_in": nil}},
		{name: "no cap in high school", division: "HS", position: "defense", asked: "what length", facts: tall(60), verdict: answer.Info, values: values{"long_in": pair{52, 72}}},
		{name: "no long one at U9", division: "U9", position: "defense", asked: "what length", facts: tall(72), verdict: answer.Info, values: values{"short_in": pair{37, 42}, "long_in": nil}},
		{name: "goalkeeper", division: "U11", position: "goalkeeper", asked: "what length", verdict: answer.Info, values: values{"goalkeeper_in": pair{40, 72}, "short_in": nil}},
	})
	if c := rule(t, "crosse-choice", "U13", "defense", "2027-04-10", "what length", tall(50)...); c.Head != "no-long-fits" {
		t.Errorf("headline %q does not say that no long crosse fits", c.Head)
	}
}

// NFHS 2010: four. Boys' youth rule changes 2018, 2.1.1: two at U11. U9 none: common
// practice. The league's three at U13 is its own, from 2026-09-01.
func TestLongCrosseCount(t *testing.T) {
	n := func(v float64) facts { return facts{count("long_crosses", v)} }
	table(t, "long-crosse-count", []row{
		{name: "five", division: "U15", facts: n(5), verdict: answer.NotLegal, values: values{"max_long": 4.0}},
		{name: "four", division: "HS", facts: n(4), verdict: answer.Legal, values: values{"max_long": 4.0}},
		{name: "league", division: "U13", facts: n(4), on: "2026-09-01", verdict: answer.NotLegal, values: values{"max_long": 3.0}},
		{name: "before the league's", division: "U13", facts: n(4), on: "2026-08-31", verdict: answer.Legal, values: values{"max_long": 4.0}},
		{name: "U11", division: "U11", facts: n(3), on: "2018-01-01", verdict: answer.NotLegal, values: values{"max_long": 2.0}},
		{name: "U11 before", division: "U11", facts: n(3), on: "2017-12-31", verdict: answer.Legal, values: values{"max_long": 4.0}},
		{name: "U9", division: "U9", facts: n(1), verdict: answer.NotLegal, values: values{"max_long": 0.0}},
		{name: "U9 asked", division: "U9", asked: "can they use them", verdict: answer.NotLegal},
		{name: "how many", division: "U13", asked: "how many", verdict: answer.Info, values: values{"max_long": 3.0}},
		{name: "goalkeeper's left out", division: "U15", facts: append(n(5), flag("goalkeeper_included", true)), verdict: answer.Legal},
		{name: "one taken off", division: "U11", facts: append(n(3), count("fewer", 1)), verdict: answer.Legal},
	})
}

// NFHS rules changes 2018 (width 6-10, before 6.5-10; sidewalls apart), 2024 1-6-2
// (goalkeeper 10-12 wide, at most 16.5 long).
func TestCrosseHead(t *testing.T) {
	wide := func(v float64) facts { return facts{inches("head_width_in", v)} }
	long := func(v float64) facts { return facts{inches("head_length_in", v)} }
	gap := func(v, at float64) facts { return facts{inches("sidewall_gap_in", v), inches("at_in", at)} }
	table(t, "crosse-head", []row{
		{name: "goalkeeper", position: "goalkeeper", facts: wide(11), verdict: answer.Legal, values: values{"head_in": pair{10, 12}}},
		{name: "goalkeeper too wide", position: "goalkeeper", facts: wide(12.25), verdict: answer.NotLegal},
		{name: "goalkeeper too narrow", position: "goalkeeper", facts: wide(9.99), verdict: answer.NotLegal},
		{name: "field", position: "attack", facts: wide(6), verdict: answer.Legal, values: values{"head_in": pair{6, 10}}},
		{name: "field too narrow", position: "attack", facts: wide(5.75), verdict: answer.NotLegal},
		{name: "field with a goalkeeper's", position: "midfield", facts: wide(11), verdict: answer.NotLegal},
		{name: "before 2018", position: "attack", on: "2017-12-31", facts: wide(6.25), verdict: answer.NotLegal, values: values{"head_in": pair{6.5, 10}}},
		{name: "from 2018", position: "attack", on: "2018-01-01", facts: wide(6.25), verdict: answer.Legal},
		{name: "longest", position: "goalkeeper", facts: long(16.5), verdict: answer.Legal},
		{name: "too long", position: "goalkeeper", facts: facts{cm("head_length_in", 42)}, verdict: answer.NotLegal},
		{name: "no length rule before 2024", position: "goalkeeper", on: "2023-12-31", facts: long(20), verdict: answer.NoAnswer},
		{name: "no length rule in the field", position: "attack", facts: long(20), verdict: answer.NoAnswer},
		{name: "both told, one wrong", position: "goalkeeper", facts: append(wide(11), long(17)...), verdict: answer.NotLegal},
		{name: "gap", position: "midfield", facts: gap(3.5, 5), verdict: answer.Legal},
		{name: "gap too small at five", position: "midfield", facts: gap(3.25, 5), verdict: answer.NotLegal},
		{name: "gap enough at three", position: "midfield", facts: gap(3, 3), verdict: answer.Legal},
		{name: "gap elsewhere", position: "midfield", facts: gap(3.25, 4), verdict: answer.Depends},
		{name: "gap too small anywhere", position: "midfield", facts: gap(2.75, 3)[:1], verdict: answer.NotLegal},
		{name: "gap without its place", position: "midfield", facts: gap(3.25, 3)[:1], verdict: answer.Need, missing: "at_in"},
		{name: "no gap rule for the goalkeeper", position: "goalkeeper", facts: gap(2, 3), verdict: answer.NoAnswer},
		{name: "what", position: "attack", asked: "how wide", verdict: answer.Info, values: values{"head_in": pair{6, 10}}},
		{name: "no measure", position: "attack", asked: "is it legal", verdict: answer.Need, missing: "head_width_in"},
	})
}

// NFHS 1-7 (the ball's top not below the sidewall); the depth in ball diameters is
// worked out from the ball's 7.75-8 in; no limit for a goalkeeper: changes 2024.
func TestPocket(t *testing.T) {
	deep := func(v float64, more ...float64) facts {
		f := facts{inches("pocket_depth_in", v)}
		for _, d := range more {
			f = append(f, inches("ball_diameter_in", d))
		}
		return f
	}
	below := func(yes bool) facts { return facts{flag("ball_below_sidewall", yes)} }
	legalBalls := pair{2.467, 2.546}
	table(t, "pocket", []row{
		{name: "below", position: "attack", facts: below(true), verdict: answer.NotLegal, values: values{"max_pocket_depth_in": nil}},
		{name: "level", position: "attack", facts: below(false), verdict: answer.Legal},
		{name: "goalkeeper below", position: "goalkeeper", facts: below(true), verdict: answer.Legal},
		{name: "goalkeeper deep", position: "goalkeeper", facts: deep(4), verdict: answer.Legal},
		{name: "goalkeeper how deep", position: "goalkeeper", asked: "how deep can it be", verdict: answer.Info},
		{name: "shallow", position: "midfield", facts: deep(2.466), verdict: answer.Legal, values: values{"max_pocket_depth_in": legalBalls}},
		{name: "between the balls", position: "midfield", facts: deep(2.5), verdict: answer.Depends, values: values{"max_pocket_depth_in": legalBalls}},
		{name: "too deep", position: "midfield", facts: deep(2.547), verdict: answer.NotLegal},
		{name: "small ball", position: "midfield", facts: deep(2.5, 2.467), verdict: answer.NotLegal, values: values{"max_pocket_depth_in": 2.467}},
		{name: "large ball", position: "midfield", facts: deep(2.54, 2.546), verdict: answer.Legal},
		{name: "a ball that is not legal does not stretch it", position: "midfield", facts: deep(2.7, 2.8), verdict: answer.NotLegal, values: values{"max_pocket_depth_in": legalBalls}},
		{name: "the eye settles what the measure leaves open", position: "midfield", facts: append(deep(2.5), below(true)...), verdict: answer.NotLegal},
		{name: "measure and eye at odds", position: "midfield", facts: append(deep(3), below(false)...), verdict: answer.Depends},
		{name: "how deep", position: "defense", asked: "how deep can it be", verdict: answer.Info, values: values{"max_pocket_depth_in": legalBalls}},
		{name: "nothing told", position: "defense", asked: "is it legal", verdict: answer.Need, missing: "ball_below_sidewall"},
	})
}

// NFHS 1-7-3 (shooting strings within 4 in), 1-8 (sidewall strings); hanging strings 2 in as restated.
func TestStringing(t *testing.T) {
	from := func(v float64) facts { return facts{inches("string_distance_in", v)} }
	hangs := func(v float64) facts { return facts{inches("hanging_string_in", v)} }
	table(t, "stringing", []row{
		{name: "at the limit", position: "attack", facts: from(4), verdict: answer.Legal, values: values{"max_string_distance_in": 4.0}},
		{name: "too low", position: "attack", facts: from(4.25), verdict: answer.NotLegal},
		{name: "goalkeeper", position: "goalkeeper", facts: from(8), verdict: answer.Legal},
		{name: "before 2017", position: "attack", on: "2016-12-31", facts: from(5), verdict: answer.NoAnswer},
		{name: "hanging", position: "attack", facts: hangs(2), verdict: answer.Legal},
		{name: "hanging too long", position: "goalkeeper", facts: hangs(2.5), verdict: answer.NotLegal},
		{name: "one right, one wrong", position: "attack", facts: append(from(3), hangs(3)...), verdict: answer.NotLegal},
		{name: "pull string", position: "attack", facts: facts{flag("changes_depth", true)}, verdict: answer.NotLegal},
		{name: "one sidewall string", position: "attack", facts: facts{count("sidewall_strings", 1)}, verdict: answer.Legal},
		{name: "doubled", position: "attack", facts: facts{flag("extra_sidewall_string", true)}, verdict: answer.NotLegal},
		{name: "how far", position: "midfield", asked: "how far down", verdict: answer.Info, values: values{"max_string_distance_in": 4.0}},
		{name: "goalkeeper how far", position: "goalkeeper", asked: "how far down", verdict: answer.Info},
		{name: "nothing told", position: "attack", asked: "is it legal", verdict: answer.Need, missing: "string_distance_in"},
	})
}

// As leagues and officials' associations restate the rule of 2012.
func TestCrosseEnd(t *testing.T) {
	around := func(v float64) facts { return facts{inches("handle_circumference_in", v)} }
	table(t, "crosse-end", []row{
		{name: "none", facts: facts{flag("end_cap", false)}, verdict: answer.NotLegal},
		{name: "tape alone", facts: facts{flag("end_cap", false), flag("taped", true)}, verdict: answer.NotLegal},
		{name: "cap", facts: facts{flag("end_cap", true)}, verdict: answer.Legal},
		{name: "cap with tape", facts: facts{flag("end_cap", true), flag("taped", true)}, verdict: answer.Legal},
		{name: "bottle cap", facts: facts{flag("bottle_cap", true), flag("taped", true)}, verdict: answer.NotLegal},
		{name: "solid wood", facts: facts{flag("end_cap", false), flag("wooden", true)}, verdict: answer.Depends},
		{name: "thick", facts: around(3.5), verdict: answer.Legal},
		{name: "too thick", facts: facts{cm("handle_circumference_in", 9)}, verdict: answer.NotLegal},
		{name: "thin without a cap", facts: append(around(3), flag("end_cap", false)), verdict: answer.NotLegal},
		{name: "must it", asked: "do they need one", verdict: answer.Info},
		{name: "only tape told", asked: "is it legal", facts: facts{flag("taped", true)}, verdict: answer.Need, missing: "end_cap"},
	})
}
