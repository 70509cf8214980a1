package checks_test

import (
	"slices"
	"testing"

	"sidewall/answers/answer"
)

// Common practice: moulded, and any visible colour but clear or white.
func TestMouthguard(t *testing.T) {
	table(t, "mouthguard", []row{
		{name: "clear", facts: facts{word("color", "clear")}, verdict: answer.NotLegal, values: values{"banned_colors": []string{"clear", "white"}}},
		{name: "red", facts: facts{word("color", "red")}, verdict: answer.Legal, values: values{"banned_colors": []string{"clear", "white"}}},
		{name: "not molded", facts: facts{word("color", "red"), flag("molded", false)}, verdict: answer.NotLegal},
		{name: "molded, white", facts: facts{word("color", "white"), flag("molded", true)}, verdict: answer.NotLegal},
		{name: "red or white", facts: facts{word("color", "red"), word("other_color", "white")}, verdict: answer.Depends},
		{name: "out of the mouth", facts: facts{flag("out_of_mouth", true)}, verdict: answer.NotLegal},
		{name: "which colors", asked: "what is not allowed", verdict: answer.Info, values: values{"banned_colors": []string{"white", "clear"}}},
		{name: "no color", asked: "is it legal", verdict: answer.Need, missing: "color"},
	})
}

// As restated (certified, clear visors); common practice (strap, fit, sport); the
// number ND041 of the standard is from memory.
func TestHelmet(t *testing.T) {
	table(t, "helmet", []row{
		{name: "certified", facts: facts{flag("certified", true)}, verdict: answer.Legal},
		{name: "not certified", facts: facts{flag("certified", false)}, verdict: answer.NotLegal},
		{name: "mark expired", facts: facts{flag("certified", true), flag("certification_expired", true)}, verdict: answer.Depends},
		{name: "strap undone", facts: facts{flag("chinstrap_fastened", false)}, verdict: answer.NotLegal},
		{name: "strap done, loose", facts: facts{flag("chinstrap_fastened", true), flag("loose", true)}, verdict: answer.NotLegal},
		{name: "all right", facts: facts{flag("certified", true), flag("chinstrap_fastened", true), flag("loose", false)}, verdict: answer.Legal},
		{name: "another sport's", facts: facts{word("made_for", "other"), flag("certified", true)}, verdict: answer.NotLegal},
		{name: "lacrosse", facts: facts{word("made_for", "lacrosse")}, verdict: answer.Legal},
		{name: "tinted", facts: facts{word("visor", "tinted")}, verdict: answer.NotLegal},
		{name: "clear", facts: facts{word("visor", "clear")}, verdict: answer.Legal},
		{name: "changed", facts: facts{flag("altered", true)}, verdict: answer.NotLegal},
		{name: "which mark", asked: "what mark does it need", verdict: answer.Info, values: values{"standard": "ND041"}},
		{name: "must the strap", asked: "does the chin strap have to be buckled", facts: facts{flag("chinstrap_fastened", true)}, verdict: answer.Info},
		{name: "nothing told", asked: "is it legal", verdict: answer.Need, missing: "certified"},
	})
	for _, facts := range []facts{nil, {flag("certified", true)}, {flag("loose", true)}} {
		if c := rule(t, "helmet", "U11", "attack", "2027-04-10", "is it legal", facts...); !c.Safety {
			t.Errorf("%s carries no safety caution", c.Head)
		}
	}
}

// Common practice.
func TestGloves(t *testing.T) {
	table(t, "gloves", []row{
		{name: "cut", facts: facts{flag("palms_altered", true)}, verdict: answer.NotLegal},
		{name: "intact", facts: facts{flag("palms_altered", false)}, verdict: answer.Legal},
		{name: "intact but loose", facts: facts{flag("palms_altered", false), flag("loose", true)}, verdict: answer.NotLegal},
		{name: "changed elsewhere", facts: facts{flag("palms_altered", false), flag("altered", true)}, verdict: answer.NotLegal},
		{name: "nothing told", asked: "are they legal", verdict: answer.Need, missing: "palms_altered"},
	})
}

// Required gear: common practice; cup in high school: NFHS changes 2022, 1-9-1f;
// rib pads and shin guards at U9 and U11: the club's own, from 2026-09-01.
func TestGearList(t *testing.T) {
	field := []string{"crosse", "helmet", "mouthguard", "gloves", "shoulder-pads", "arm-pads", "cup", "shoes"}
	keeper := []string{"crosse", "helmet", "throat-guard", "mouthguard", "gloves", "chest-protector", "cup", "shoes"}
	and := func(l []string, more ...string) []string { return append(slices.Clone(l), more...) }
	table(t, "gear-list", []row{
		{name: "U13 field", division: "U13", position: "defense", verdict: answer.Info, values: values{"required": field, "recommended": []string{"rib-pads"}, "optional": []string{"eye-shield"}}},
		{name: "U11 field", division: "U11", position: "attack", verdict: answer.Info, values: values{"required": and(field, "rib-pads"), "recommended": nil}},
		{name: "U11 field before", division: "U11", position: "attack", on: "2026-08-31", verdict: answer.Info, values: values{"required": field, "recommended": []string{"rib-pads"}}},
		{name: "HS field", division: "HS", position: "midfield", verdict: answer.Info, values: values{"required": field, "optional": []string{"rib-pads", "eye-shield"}}},
		{name: "HS field in 2021", division: "HS", position: "midfield", on: "2021-12-31", verdict: answer.Info, values: values{"recommended": []string{"cup"}}},
		{name: "U9 goalkeeper", division: "U9", position: "goalkeeper", verdict: answer.Info, values: values{"required": and(keeper, "arm-pads"), "recommended": []string{"shin-guards"}}},
		{name: "HS goalkeeper", division: "HS", position: "goalkeeper", verdict: answer.Info, values: values{"required": keeper,
			"optional": []string{"shoulder-pads", "arm-pads", "rib-pads", "shin-guards", "knee-pads", "thigh-pads", "eye-shield"}}},
	})
}

// Sources as for the list; metal spikes: NFHS changes 2023, 1-9-1g; altered gear:
// 2024, 1-9-1; ND200: notices, 2021 and 2022; jewelry: from memory.
func TestGearItem(t *testing.T) {
	item := func(id string, more ...string) facts {
		f := facts{word("item", id)}
		for _, m := range more {
			f = append(f, flag(m, true))
		}
		return f
	}
	status := func(s string) values { return values{"status": s} }
	table(t, "gear-item", []row{
		{name: "must, recommended", division: "U13", position: "defense", asked: "does he have to wear it", facts: item("rib-pads"), verdict: answer.Info, values: status("recommended")},
		{name: "must, required", division: "U11", position: "attack", asked: "does he have to wear it", facts: item("rib-pads"), verdict: answer.Info, values: status("required")},
		{name: "must, optional", division: "HS", position: "goalkeeper", asked: "does he have to wear it", facts: item("arm-pads"), verdict: answer.Info, values: status("optional")},
		{name: "without, required", division: "U9", position: "midfield", asked: "can he play without", facts: item("rib-pads"), verdict: answer.NotLegal, values: status("required")},
		{name: "without, recommended", division: "U13", position: "attack", asked: "can he play without", facts: item("rib-pads"), verdict: answer.Legal, values: status("recommended")},
		{name: "without, optional", division: "U9", position: "goalkeeper", asked: "can he play without", facts: item("rib-pads"), verdict: answer.Legal, values: status("optional")},
		{name: "lacking, no other word", division: "U9", position: "attack", facts: item("mouthguard", "without"), verdict: answer.NotLegal, values: status("required")},
		{name: "with, optional", division: "U13", position: "goalkeeper", asked: "can he wear it", facts: item("thigh-pads"), verdict: answer.Legal, values: status("optional")},
		{name: "with, banned", division: "U13", position: "attack", asked: "can he wear it", facts: item("metal-spikes"), verdict: answer.NotLegal, values: status("banned")},
		{name: "spikes before 2023", division: "U13", position: "attack", on: "2022-12-31", asked: "can he wear it", facts: item("metal-spikes"), verdict: answer.NoAnswer},
		{name: "a helmet's kind is not judged here", division: "U13", position: "attack", asked: "can he wear it", facts: item("helmet"), verdict: answer.Depends},
		{name: "jewelry", division: "U13", position: "attack", asked: "can he wear it", facts: item("jewelry"), verdict: answer.NotLegal, values: status("banned")},
		{name: "jewelry, taped", division: "U13", position: "attack", asked: "can he wear it", facts: item("jewelry", "taped"), verdict: answer.NotLegal},
		{name: "medical, taped", division: "U13", position: "attack", asked: "can he wear it", facts: append(item("jewelry", "taped"), word("special", "medical")), verdict: answer.Legal},
		{name: "medical, not taped", division: "U13", position: "attack", asked: "can he wear it", facts: append(item("jewelry"), word("special", "medical"), flag("taped", false)), verdict: answer.NotLegal},
		{name: "medical, not said", division: "U13", position: "attack", asked: "can he wear it", facts: append(item("jewelry"), word("special", "medical")), verdict: answer.Depends},
		{name: "no mark", division: "HS", position: "goalkeeper", asked: "is it ok", facts: append(item("chest-protector"), flag("certified", false)), verdict: answer.NotLegal},
		{name: "no mark asked before 2021", division: "HS", position: "goalkeeper", on: "2020-12-31", asked: "does he need it", facts: append(item("chest-protector"), flag("certified", false)), verdict: answer.Info, values: status("required")},
		{name: "changed", division: "HS", position: "attack", asked: "is it ok", facts: item("shoulder-pads", "altered"), verdict: answer.NotLegal},
		{name: "throat guard in the field", division: "U13", position: "attack", asked: "does he need it", facts: item("throat-guard"), verdict: answer.NoAnswer},
		{name: "visor of unknown tint", division: "U13", position: "attack", asked: "can he wear it", facts: item("eye-shield"), verdict: answer.Depends},
		{name: "tinted visor", division: "U13", position: "attack", asked: "can he wear it", facts: append(item("eye-shield"), word("visor", "tinted")), verdict: answer.NotLegal},
		{name: "no item", division: "U13", position: "attack", asked: "does he need it", verdict: answer.Need, missing: "item"},
	})
}

// Boys' Youth Rulebook 2017, 1.5.1: 7.75-8 in around, 5-5.25 oz; ND049: notice.
func TestBall(t *testing.T) {
	around := func(v float64) facts { return facts{inches("circumference_in", v)} }
	size, weight := pair{7.75, 8}, pair{5, 5.25}
	table(t, "ball", []row{
		{name: "smallest", facts: around(7.75), verdict: answer.Legal, values: values{"circumference_in": size, "weight_oz": nil}},
		{name: "too big", facts: around(8.01), verdict: answer.NotLegal},
		{name: "too small", facts: facts{cm("circumference_in", 19.5)}, verdict: answer.NotLegal},
		{name: "heaviest", facts: facts{ounces(5.25)}, verdict: answer.Legal, values: values{"weight_oz": weight, "circumference_in": nil}},
		{name: "too heavy", facts: facts{ounces(5.26)}, verdict: answer.NotLegal},
		{name: "one right, one wrong", facts: append(around(7.8), ounces(4.8)), verdict: answer.NotLegal, values: values{"circumference_in": size, "weight_oz": weight}},
		{name: "both right", facts: append(around(8), ounces(5.1)), verdict: answer.Legal},
		{name: "right size, no mark", facts: append(around(8), flag("certified", false)), verdict: answer.NotLegal},
		{name: "how heavy", asked: "how much does it weigh", verdict: answer.Info, values: values{"weight_oz": weight, "circumference_in": nil}},
		{name: "how big around", asked: "how big around is it", verdict: answer.Info, values: values{"circumference_in": size, "weight_oz": nil}},
		{name: "size and weight", asked: "what size and weight", verdict: answer.Info, values: values{"circumference_in": size, "weight_oz": weight}},
		{name: "nothing told", asked: "is it legal", verdict: answer.Need, missing: "circumference_in"},
	})
}

// Of two items told together the one that settles it counts.
func TestGearItemOther(t *testing.T) {
	two := func(a, b string) facts { return facts{word("item", a), word("other_item", b)} }
	table(t, "gear-item", []row{
		{name: "without an optional and a required one", division: "U13", position: "goalkeeper", asked: "can he play without", facts: two("shoulder-pads", "throat-guard"), verdict: answer.NotLegal},
		{name: "with an optional and a banned one", division: "U13", position: "goalkeeper", asked: "can he wear it", facts: two("thigh-pads", "jewelry"), verdict: answer.NotLegal},
		{name: "without two optional ones", division: "U13", position: "goalkeeper", asked: "can he play without", facts: two("shoulder-pads", "rib-pads"), verdict: answer.Legal},
	})
}
