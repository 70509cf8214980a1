package checks_test

import (
	"testing"

	"sidewall/answers/answer"
	"sidewall/answers/checks"
	"sidewall/answers/lang"
	"sidewall/answers/measure"
)

// say reads a question with a topic's own readers and decides it for one
// division and day: what is read and what is ruled are tested together.
func say(t *testing.T, topic, division, date, text, in string) *checks.Case {
	t.Helper()
	b, r := shipped()
	on, err := measure.ParseDate(date)
	if err != nil {
		t.Fatal(err)
	}
	q := r.Read(text, in)
	for _, k := range checks.All() {
		if k.Topic != topic {
			continue
		}
		c := &checks.Case{Sheet: b.Sheet, On: on, Topic: topic, Division: b.Sheet.DivisionIndex(division), DivKnown: true,
			Facts: q.Fill(k.Wants, q.Whole(), nil), Asked: q.Asked(q.Whole())}
		k.Decide(c)
		return c
	}
	t.Fatalf("no topic %q", topic)
	return nil
}

// numVal and its like make values as a ruling holds them.
func numVal(f float64) answer.Val      { return answer.Val{Kind: answer.Num, A: f, B: f} }
func rangeVal(a, b float64) answer.Val { return answer.Val{Kind: answer.Range, A: a, B: b} }
func textVal(s string) answer.Val      { return answer.Val{Kind: answer.Text, S: s} }
func boolVal(b bool) answer.Val {
	if b {
		return answer.Val{Kind: answer.Bool, A: 1}
	}
	return answer.Val{Kind: answer.Bool}
}

type vals map[string]answer.Val

type saying struct {
	topic, division, date string // date "": the spring of 2027
	text                  string
	verdict               string
	want                  vals
}

func (s saying) run(t *testing.T, in string) {
	t.Helper()
	date := s.date
	if date == "" {
		date = "2027-04-10"
	}
	c := say(t, s.topic, s.division, date, s.text, in)
	s.hasTexts(t, c)
	if c.Verdict != s.verdict {
		t.Errorf("%s %s %q: %s (%s), want %s", s.topic, s.division, s.text, c.Verdict, c.Head, s.verdict)
	}
	for name, w := range s.want {
		got, ok := answer.Fields(c.Values()).Get(name)
		if !ok || !got.Equal(w) {
			t.Errorf("%s %s %q: %s is %+v, want %+v", s.topic, s.division, s.text, name, got, w)
		}
	}
}

// hasTexts looks for every text that a ruling names, in both languages.
func (s saying) hasTexts(t *testing.T, c *checks.Case) {
	t.Helper()
	all := texts()
	for _, l := range lang.Languages {
		for _, key := range append([]string{c.Head}, c.Lines()...) {
			if !all.Has(l, s.topic, key) && !all.Has(l, "common", key) {
				t.Errorf("%q: no text %s/%s/%s", s.text, l, s.topic, key)
			}
		}
	}
}

func sayAll(t *testing.T, all []saying) {
	t.Helper()
	for _, s := range all {
		s.run(t, "en")
	}
}

func TestBodyCheck(t *testing.T) {
	sayAll(t, []saying{
		// Boys Youth Rules Guidebook, 2016, p. 64: no body checks at U11 and below
		{"body-check", "U9", "", "can they body check", "not_legal", vals{"allowed": boolVal(false)}},
		{"body-check", "U11", "", "no body checking at this age, right?", "not_legal", vals{"allowed": boolVal(false)}},
		{"body-check", "U13", "", "can they body check", "legal", vals{"allowed": boolVal(true)}},
		{"body-check", "HS", "", "is body checking legal", "legal", vals{"allowed": boolVal(true)}},
		{"body-check", "U15", "", "which body checks are there, what counts", "info", vals{"allowed": boolVal(true)}},
		// the same page: from behind, low, high, late, on a player who is down, at any age
		{"body-check", "HS", "", "can he body check from behind", "not_legal", vals{"allowed": boolVal(false)}},
		{"body-check", "HS", "", "didnt think you could check from behind, can you?", "not_legal", nil},
		{"body-check", "HS", "", "not from behind, a body check from the front, legal?", "legal", nil},
		{"body-check", "U15", "", "body check below the waist, legal?", "not_legal", nil},
		{"body-check", "U15", "", "body check, shoulder to the helmet?", "not_legal", nil},
		{"body-check", "HS", "", "a late body check after the shot, ok?", "not_legal", nil},
		{"body-check", "U13", "", "body check on a kid already down on the ground?", "not_legal", nil},
		{"body-check", "U13", "", "body check from the front, ball was on the ground, legal?", "legal", nil},
		{"body-check", "U13", "", "body check with one hand on his stick, legal?", "not_legal", nil},
		{"body-check", "U13", "", "can he body check a kid without the ball", "depends", nil},
		// common practice: no take-out checks in youth; from memory in high school
		{"body-check", "U15", "", "take-out check, allowed?", "not_legal", nil},
		{"body-check", "HS", "", "take-out check, allowed?", "depends", nil},
		// Boys' Youth Rulebook, 2017, p. 7: holds and pushes stay legal for the youngest
		{"body-check", "U9", "", "can they push", "legal", vals{"allowed": boolVal(true)}},
		{"body-check", "U13", "", "can he grab his jersey", "depends", nil},
	})
}

func TestContactDistance(t *testing.T) {
	sayAll(t, []saying{
		// NFHS Boys Lacrosse Rules Book, changes of 2025, rule 4-16: five yards
		{"contact-distance", "HS", "", "push 5 yards from a loose ball, ok?", "legal", vals{"max_distance_yd": numVal(5)}},
		{"contact-distance", "HS", "", "push 16 feet from a loose ball, ok?", "not_legal", nil},
		// Boys Youth Rules Guidebook, 3rd edition, 2014, p. 21: three yards
		{"contact-distance", "U9", "", "push from 108 inches off a ground ball", "legal", vals{"max_distance_yd": numVal(3)}},
		{"contact-distance", "U15", "", "holding him off 3 1/4 yards from the loose ball. legal?", "not_legal", nil},
		{"contact-distance", "U11", "", "how near the ball before my guys may push", "info", vals{"max_distance_yd": numVal(3)}},
		{"contact-distance", "U15", "", "three yards or five for hitting on loose balls, what is it", "info", nil},
		// a step is half a yard to a yard: all lengths of it must agree
		{"contact-distance", "U9", "", "two steps from a loose ball, shove, ok?", "legal", nil},
		{"contact-distance", "U15", "", "4 steps from a loose ball, body check, ok?", "depends", nil},
		{"contact-distance", "U13", "", "seven steps from a loose ball, hold, ok?", "not_legal", nil},
		// a ban goes before a distance (2016, p. 64)
		{"contact-distance", "U11", "", "body check 1 yard from a loose ball, legal?", "not_legal", vals{"allowed": boolVal(false)}},
		{"contact-distance", "U11", "", "hold, 1 yard from a loose ball, legal?", "legal", nil},
		// with the ball held only its carrier may be checked
		{"contact-distance", "U13", "", "teammate has the ball, can I body check another attackman 2 yards from the carrier?", "not_legal", nil},
		// near enough, but wrong in another way
		{"contact-distance", "HS", "", "push from behind 2 yards from a loose ball, legal?", "not_legal", nil},
		{"contact-distance", "U13", "", "one handed check 1 yard from a loose ball, legal?", "not_legal", nil},
		{"contact-distance", "HS", "", "push 4 yards off, the ball was on the ground, legal?", "legal", nil},
	})
	if c := say(t, "contact-distance", "U11", "2027-04-10", "body check 1 yard from a loose ball, legal?", "en"); c.As != "body-check" {
		t.Errorf("a banned body check is answered as %q", c.As)
	}
}

func TestRestartDistance(t *testing.T) {
	sayAll(t, []saying{
		// Boys Youth Rules Guidebook, 3rd edition, 2014, rule 4-5-1: five yards, not three
		{"restart-distance", "U11", "", "how far off on a restart?", "info", vals{"min_distance_yd": numVal(5)}},
		{"restart-distance", "U11", "", "does the three yard rule count on restarts", "info", vals{"min_distance_yd": numVal(5)}},
		{"restart-distance", "HS", "", "restart: is 15 feet enough room", "legal", nil},
		{"restart-distance", "U9", "", "quick restart, opponent at 4 yd 2 ft. legal?", "not_legal", nil},
		{"restart-distance", "U9", "", "4.5 m from the player restarting, legal?", "not_legal", nil},
		{"restart-distance", "U13", "", "4 steps off on the restart - legal?", "not_legal", nil},
		{"restart-distance", "U13", "", "8 steps off on the restart - legal?", "depends", nil},
		{"restart-distance", "U13", "", "10 steps off on the restart - legal?", "legal", nil},
	})
}

func TestStickCheck(t *testing.T) {
	sayAll(t, []saying{
		// common practice: one-handed is a slash in youth whether or not it touches
		{"stick-check", "U13", "", "one-handed check that missed?", "not_legal", vals{"foul": textVal("slashing")}},
		// from memory: in high school the official judges it
		{"stick-check", "HS", "", "one handed check ok?", "depends", nil},
		// Boys' Youth Rulebook, 2017: controlled, on the crosse or the gloved hand
		{"stick-check", "U11", "", "poke check on the crosse, two hands, controlled. allowed", "legal", nil},
		{"stick-check", "U15", "", "not one handed, both hands, poke to the crosse of the carrier, legal?", "legal", nil},
		{"stick-check", "U9", "", "check his gloved hand, legal?", "legal", nil},
		{"stick-check", "U9", "", "can he tomahawk it onto the gloved hand", "depends", nil},
		{"stick-check", "HS", "", "stick check on the arm ok?", "depends", nil},
		{"stick-check", "U13", "", "poke check on the crosse of a kid without the ball, ok?", "not_legal", nil},
		// Boys' youth rule changes, 2018, 5.7: at least a slash
		{"stick-check", "HS", "", "went for the crosse, stick came down on his helmet, legal?", "not_legal", vals{"foul": textVal("slashing")}},
	})
}

func TestFoul(t *testing.T) {
	personal := vals{"class": textVal("personal"), "min_s": numVal(60), "max_s": numVal(180), "releasable": boolVal(true)}
	locked := vals{"class": textVal("personal"), "min_s": numVal(60), "max_s": numVal(180), "releasable": boolVal(false)}
	technical := vals{"class": textVal("technical"), "min_s": numVal(30), "max_s": numVal(30), "releasable": boolVal(true)}
	harder := vals{"class": textVal("personal"), "min_s": numVal(120), "max_s": numVal(180), "releasable": boolVal(false), "ejection_possible": boolVal(true)}
	sayAll(t, []saying{
		// NFHS Boys Lacrosse Rules Book, rules 5 and 6; Youth Guidebook 2016, p. 64: one to three minutes
		{"foul", "U13", "", "what's the penalty for a slash?", "info", personal},
		{"foul", "HS", "", "cross check - how long", "info", personal},
		{"foul", "U9", "", "is tripping releasable", "info", personal},
		{"foul", "U13", "", "penalty for a late body check", "info", personal},
		{"foul", "U15", "", "how much time for unsportsmanlike conduct", "info", locked},
		{"foul", "HS", "", "holding: personal or technical", "info", technical},
		{"foul", "HS", "", "how long for warding", "info", technical},
		{"foul", "U15", "", "stick hits the helmet, what will he serve", "info", personal},
		{"foul", "U15", "", "hit to the head by a shoulder - releasable?", "info", locked},
		// common practice and NFHS: unnecessary roughness
		{"foul", "U13", "", "unnecessary roughness, how long", "info", locked},
		{"foul", "HS", "", "unnecessary roughness, how long", "info", vals{"releasable": textVal("depends"), "min_s": numVal(60), "max_s": numVal(180)}},
		// common practice (take-out); Youth Guidebook 2014, p. 22 (defenseless)
		{"foul", "U11", "", "takeout hit - can he be thrown out of the game for that?", "info", harder},
		{"foul", "HS", "", "penalty for hitting a defenseless player", "info", harder},
		// NFHS changes of 2024 and of 2020
		{"foul", "HS", "2023-12-31", "check to the head, how long", "info", vals{"min_s": numVal(120), "max_s": numVal(180)}},
		{"foul", "HS", "2024-01-01", "check to the head, how long", "info", vals{"min_s": numVal(60), "max_s": numVal(180)}},
		{"foul", "HS", "2019-12-31", "illegal crosse penalty", "info", vals{"min_s": numVal(60), "max_s": numVal(180), "releasable": boolVal(false)}},
		{"foul", "HS", "2020-01-01", "illegal crosse penalty", "info", vals{"min_s": numVal(120), "max_s": numVal(120), "releasable": boolVal(false)}},
		{"foul", "U9", "", "illegal equipment penalty", "info", vals{"min_s": numVal(60), "max_s": numVal(60), "releasable": boolVal(false)}},
		{"foul", "U15", "", "two kids fighting. what's the penalty", "info", vals{"class": textVal("ejection"), "min_s": numVal(180), "max_s": numVal(180), "releasable": boolVal(false)}},
		// Boys' Youth Rulebook, 2017, p. 7: personal before, and for how long is not known
		{"foul", "U13", "2016-05-01", "mouthguard out, how long", "info", vals{"class": textVal("personal")}},
		{"foul", "U13", "", "mouthguard out, how long", "info", technical},
		// a whole class
		{"foul", "U13", "", "how long is a technical foul", "info", technical},
		{"foul", "HS", "", "how long is a personal foul", "info", vals{"min_s": numVal(60), "max_s": numVal(180), "releasable": textVal("depends")}},
		{"foul", "U13", "", "what's the penalty for that", "need", nil},
	})
	if c := say(t, "foul", "U13", "2016-05-01", "mouthguard out, how long", "en"); len(c.Values()) != 1 {
		t.Errorf("before 2017 the book knows no time, yet: %+v", c.Values())
	}
}

func TestPlayersAllowed(t *testing.T) {
	on := func(field, waiting float64) vals { return vals{"on_field": numVal(field), "waiting": numVal(waiting)} }
	sayAll(t, []saying{
		// NFHS Boys Lacrosse Rules Book, rule 7: three serve at once, so seven is the fewest
		{"players-allowed", "U15", "", "three in the box, a fourth foul?", "info", on(7, 1)},
		{"players-allowed", "U13", "", "one guy in the box. how many can we have out there", "info", on(9, 0)},
		{"players-allowed", "HS", "", "four of our guys got penalties at once. how many are we allowed", "info", on(7, 1)},
		{"players-allowed", "HS", "", "3 in the box already then two more flags on us. how many on, how many waiting", "info", on(7, 2)},
		{"players-allowed", "HS", "", "down three men, how many of us are out there with the goalie?", "info", on(7, 0)},
		{"players-allowed", "U15", "", "man down by two. number of players allowed on field", "info", on(8, 0)},
		{"players-allowed", "HS", "", "both our close d and a middie are in the box. how many on the field", "info", on(8, 0)},
		{"players-allowed", "HS", "", "one of ours in box, and two of theirs. how many can we have on?", "info", on(9, 0)},
		{"players-allowed", "HS", "", "nobody serving, how many can be on the field", "info", on(10, 0)},
		{"players-allowed", "HS", "", "we had 3 boys sitting when a 4th was called. how many is it?", "info", on(7, 1)},
		{"players-allowed", "U13", "", "one in the box, 10 on the field. legal?", "not_legal", on(9, 0)},
		{"players-allowed", "U11", "", "may we keep 9 field players plus a goalie while one is serving", "not_legal", nil},
		{"players-allowed", "HS", "", "3 serving and we put out 7, legal right", "legal", nil},
		{"players-allowed", "HS", "", "can they have 6 on the field with two serving?", "depends", nil},
		{"players-allowed", "HS", "", "what is the fewest on the field with penalties", "info", vals{"on_field": numVal(7)}},
		// the league's seven a side from 2026-09-01: the book does not say how few may be left
		{"players-allowed", "U9", "", "what's the fewest on the field when kids are in the box", "none", nil},
		{"players-allowed", "U9", "", "three in the box, how many on the field", "none", nil},
		{"players-allowed", "U9", "2026-05-02", "2 in the box how many do we put out", "info", on(8, 0)},
	})
}

func TestFoulLimit(t *testing.T) {
	youth := vals{"limit": numVal(4), "limit_s": numVal(300)}
	sayAll(t, []saying{
		// NFHS Boys Lacrosse Rules Book: five; youth from memory: four, or five minutes
		{"foul-limit", "HS", "", "our #7 has five personal fouls, can he keep playing", "not_legal", vals{"limit": numVal(5)}},
		{"foul-limit", "HS", "", "not five, only four personals, can he play", "legal", vals{"limit": numVal(5)}},
		{"foul-limit", "HS", "", "sent back out after personal foul number five, is that allowed", "not_legal", nil},
		{"foul-limit", "U13", "", "#12 has four personals, can he stay in", "not_legal", youth},
		{"foul-limit", "U15", "", "just picked up his 4th personal. Can I put him back?", "not_legal", youth},
		{"foul-limit", "U15", "", "five minutes of personal foul time in three fouls. may he go back in", "not_legal", youth},
		{"foul-limit", "U13", "", "three personal fouls totalling 4:30, is he ok to continue", "legal", youth},
		{"foul-limit", "U13", "", "two personals at two minutes each and one at one. can he play", "not_legal", youth},
		{"foul-limit", "U11", "", "3 personals, one was three minutes, the others one minute each. can he play", "not_legal", youth},
		{"foul-limit", "U11", "", "two personal fouls, two minutes each. can he still play", "legal", youth},
		{"foul-limit", "U13", "", "he had a 2 minute and a 1 minute personal, can he keep playing", "legal", youth},
		{"foul-limit", "U13", "", "4 technical fouls, can he play", "info", youth},
		{"foul-limit", "U13", "", "foul limit?", "info", youth},
	})
}

func TestOnsideCount(t *testing.T) {
	sayAll(t, []saying{
		// Boys Youth Rules Guidebook, 3rd edition, 2014, p. 10: four back, three forward
		{"onside-count", "U13", "", "7 in our offensive half?", "not_legal", vals{"max_offensive": numVal(6)}},
		{"onside-count", "U13", "", "six in the offensive half, onside?", "legal", vals{"max_offensive": numVal(6)}},
		{"onside-count", "HS", "", "seven defenders plus the goalie in our own half. legal?", "not_legal", vals{"max_defensive": numVal(7)}},
		{"onside-count", "U13", "", "six defenders plus the goalie in our own half, legal?", "legal", vals{"max_defensive": numVal(7)}},
		{"onside-count", "U13", "", "is it ok if eight of our guys including keeper are back", "not_legal", nil},
		{"onside-count", "HS", "", "is 6 forward and 4 back onside", "legal", vals{"max_offensive": numVal(6), "max_defensive": numVal(7)}},
		{"onside-count", "HS", "", "8 defensive half, 2 offensive half. onside?", "not_legal", nil},
		{"onside-count", "HS", "", "he isn't the 7th, he's only the sixth in the offensive half. legal?", "legal", nil},
		{"onside-count", "U11", "", "i see 3 attack and 3 mids in the offensive half so 6. legal?", "legal", nil},
		{"onside-count", "U11", "", "4 attack and 3 mids in the offensive half. legal?", "not_legal", nil},
		{"onside-count", "HS", "", "one in the box, 6 in the offensive half and 3 in the defensive half. onside?", "legal", nil},
		{"onside-count", "HS", "", "whats the max number in the defensive half", "info", vals{"max_defensive": numVal(7)}},
		{"onside-count", "U9", "", "five in the offensive half, is it offside", "none", nil},
		{"onside-count", "U9", "2026-04-18", "six of ours in the offensive half, onside?", "legal", vals{"max_offensive": numVal(6)}},
	})
}

func TestGameFormat(t *testing.T) {
	sayAll(t, []saying{
		// Boys Youth Rules Guidebook, 2016, p. 32; NFHS for high school
		{"game-format", "HS", "", "quarter length", "info", vals{"periods": numVal(4), "period_s": numVal(720), "clock": textVal("stop")}},
		{"game-format", "U15", "", "how long are quarters?", "info", vals{"period_s": numVal(600), "clock": textVal("stop")}},
		{"game-format", "U13", "", "how long are quarters?", "info", vals{"period_s": numVal(600)}},
		{"game-format", "U11", "", "how long are quarters?", "info", vals{"period_s": numVal(480), "running_period_s": numVal(720)}},
		{"game-format", "U9", "2026-08-31", "how long are quarters?", "info", vals{"period_s": numVal(720), "clock": textVal("running")}},
		{"game-format", "HS", "", "how long is overtime", "info", vals{"overtime_s": numVal(240)}},
		{"game-format", "U13", "", "what happens if it's tied after four quarters", "info", vals{"overtime_s": numVal(240)}},
		{"game-format", "U11", "", "do they play overtime?", "info", vals{"overtime_s": numVal(0)}},
		{"game-format", "U11", "", "timeouts per half?", "info", vals{"timeouts_per_half": numVal(2)}},
		{"game-format", "U13", "", "how big is the field", "info", vals{"field_yd": rangeVal(110, 60)}},
		{"game-format", "HS", "", "how long is halftime", "info", vals{"halftime_s": numVal(600)}},
		// the league's own from 2026-09-01 (invented for the demo)
		{"game-format", "U9", "2026-08-31", "how many kids a side", "info", vals{"players": numVal(10)}},
		{"game-format", "U9", "2026-09-01", "how many kids a side", "info", vals{"players": numVal(7)}},
		{"game-format", "U9", "", "how long are the halves", "info", vals{"periods": numVal(2), "period_s": numVal(1200), "clock": textVal("running")}},
		{"game-format", "U9", "", "field size?", "info", vals{"field_yd": rangeVal(60, 35)}},
		// Boys' Youth Rulebook, 2017: goal and crease; NFHS changes of 2023: substitution box
		{"game-format", "U11", "", "goal size?", "info", vals{"goal_ft": rangeVal(6, 6)}},
		{"game-format", "U11", "", "crease radius", "info", vals{"crease_radius_ft": numVal(9)}},
		{"game-format", "HS", "2022-12-31", "sub box size", "info", vals{"substitution_box_yd": numVal(10)}},
		{"game-format", "HS", "2023-01-01", "sub box size", "info", vals{"substitution_box_yd": numVal(5)}},
	})
}

func TestCount(t *testing.T) {
	sayAll(t, []saying{
		// NFHS Boys Lacrosse Rules Book: 4, 20 and 10 seconds
		{"count", "U13", "", "how many seconds does the goalie get in the crease", "info", vals{"limit_s": numVal(4)}},
		{"count", "HS", "", "how long to clear?", "info", vals{"limit_s": numVal(20)}},
		{"count", "U15", "", "once we cross midfield how long to get it into the goal area", "info", vals{"limit_s": numVal(10)}},
		{"count", "U15", "", "exactly 20 seconds to clear it, legal?", "legal", vals{"limit_s": numVal(20)}},
		{"count", "U13", "", "clear: 21 seconds. is it legal", "not_legal", nil},
		{"count", "HS", "", "ten seconds to clear it, legal?", "legal", vals{"limit_s": numVal(20)}},
		{"count", "U13", "", "4.5 seconds in the crease, goalie, legal", "not_legal", vals{"limit_s": numVal(4)}},
		{"count", "U13", "", "is there a 4 second count for the goalie in the crease", "info", vals{"limit_s": numVal(4)}},
		// Boys Youth Rules Guidebook, 3rd edition, 2014, p. 21: not kept at U11 and U9
		{"count", "U11", "", "took 40 seconds to clear, is that right?", "info", vals{"enforced": boolVal(false)}},
		{"count", "U9", "", "goalie in the crease with the ball, is there a 4 second count", "info", vals{"enforced": boolVal(false)}},
	})
}

func TestClockMode(t *testing.T) {
	run := func(yn bool, lead float64) vals { return vals{"running": boolVal(yn), "threshold": numVal(lead)} }
	sayAll(t, []saying{
		// NFHS changes of 2022, youth changes of 2022: twelve goals in the second half
		{"clock-mode", "HS", "", "up 12 in the third, running clock?", "info", run(true, 12)},
		{"clock-mode", "U15", "", "15-3 in Q3, do we run the clock", "info", run(true, 12)},
		{"clock-mode", "U15", "", "thirteen up but its still the first quarter. running?", "info", run(false, 12)},
		{"clock-mode", "HS", "", "we are up 13-1 in the second half, running clock?", "info", run(true, 12)},
		{"clock-mode", "HS", "", "12-2 in the fourth, running clock?", "info", run(false, 12)},
		{"clock-mode", "HS", "", "up 11 in the 4th, running clock?", "info", run(false, 12)},
		{"clock-mode", "HS", "", "up 12, running clock?", "depends", nil},
		{"clock-mode", "HS", "", "how many goals for the running clock", "info", vals{"threshold": numVal(12)}},
		{"clock-mode", "HS", "2022-01-01", "was 12 up in the 3rd, they scored twice so now 10. still running?", "info", run(true, 12)},
		{"clock-mode", "HS", "2021-12-31", "was 12 up in the 3rd, they scored twice so now 10. still running?", "info", run(false, 12)},
		// the league's from 2026-09-01 (invented for the demo)
		{"clock-mode", "U13", "2026-08-31", "lead is ten in the third, does clock run", "info", run(false, 12)},
		{"clock-mode", "U13", "2026-09-01", "lead is ten in the third, does clock run", "info", run(true, 10)},
		{"clock-mode", "U11", "", "12 to 3, third quarter", "info", run(false, 10)},
		{"clock-mode", "U11", "", "13 to 3 after halftime, running time?", "info", run(true, 10)},
		{"clock-mode", "U9", "", "up by 3 in the 2nd half. running clock?", "info", vals{"running": boolVal(true)}},
		{"clock-mode", "U9", "2026-05-16", "12 goal lead in the second half, running clock?", "none", nil},
	})
}

func TestLightning(t *testing.T) {
	at := func(s string) vals { return vals{"resume_at": textVal(s), "wait_s": numVal(1800)} }
	// NFHS guideline on lightning and thunder: thirty minutes from the last one
	sayAll(t, []saying{
		{"lightning", "U9", "", "thunder at 5:42, when can we restart?", "info", at("6:12")},
		{"lightning", "U9", "", "thunder at 5:42 pm, when can we restart?", "info", at("6:12 pm")},
		{"lightning", "U9", "", "lightning 17:55, earliest restart?", "info", at("18:25")},
		{"lightning", "U9", "", "lightning at 23:50, restart?", "info", at("00:20")},
		{"lightning", "U9", "", "thunder at 11:45 am, earliest restart", "info", at("12:15 pm")},
		{"lightning", "U9", "", "thunder at 11:45 pm, earliest restart", "info", at("12:15 am")},
		{"lightning", "U9", "", "Thunder 12:40, when can they go back on", "info", at("1:10")},
		{"lightning", "U9", "", "thunder at 7, when do we go back", "info", at("7:30")},
		{"lightning", "U9", "", "lighting at 6:20. can we go at 6:45 or do we have to wait longer", "info", at("6:50")},
		{"lightning", "U9", "", "thunder at noon, when can they go back on", "info", at("12:30 pm")},
		{"lightning", "U9", "", "half past four thunder. restart when?", "info", at("5:00")},
		{"lightning", "U9", "", "last rumble five fifty pm. when can we get back out there", "info", at("6:20 pm")},
		{"lightning", "U9", "", "lightning at 4:10 pm, thunder 4:22 pm, another rumble 4:31 pm", "info", at("5:01 pm")},
		{"lightning", "U9", "", "lightning at 12:50, thunder at 1:05, when can we go", "info", at("1:35")},
		{"lightning", "U9", "", "thunder at 11:50 pm, and again at 12:05 am", "info", at("12:35 am")},
		{"lightning", "U9", "", "game at 9:30, thunder at 9:10, when?", "info", at("9:40")},
		{"lightning", "U9", "", "heard thunder with 4:12 left on the game clock, it was 10:44 am", "info", at("11:14 am")},
		{"lightning", "U9", "", "how long do we wait after lightning", "info", vals{"wait_s": numVal(1800)}},
	})
}

func TestHeat(t *testing.T) {
	band := func(index float64, name string) vals {
		return vals{"heat_index_f": numVal(index), "band": textVal(name)}
	}
	// the index by the National Weather Service's formula, the bands by the club (invented for the demo)
	sayAll(t, []saying{
		{"heat", "U9", "", "94 degrees and 60% humidity, can we practice?", "info", band(110, "stop")},
		{"heat", "U9", "", "78 degrees, 95 percent humidity", "info", band(79, "normal")},
		{"heat", "U9", "", "86 deg f, humidity 60", "info", band(91, "breaks")},
		{"heat", "U9", "", "33 c with 45% humidity", "info", band(95, "lighter")}, // 94.6, rounded before it is banded
		{"heat", "U9", "", "humidity 60%, temp 90", "info", band(100, "no-pads")}, // 99.7
		{"heat", "U9", "", "92F and 60% humidity", "info", band(105, "stop")},     // 104.7
		{"heat", "U9", "", "82 and 75% humidity fine?", "info", band(88, "normal")},
		{"heat", "U9", "", "heat index is 101, practice?", "info", band(101, "no-pads")},
		{"heat", "U9", "", "36 degrees and 50% humidity, can we practice", "need", nil}, // °F or °C?
		{"heat", "U9", "", "it's 94 degrees, can we practice", "need", nil},
		{"heat", "U9", "", "humidity is 50... no, 45 percent", "need", nil},
		{"heat", "U9", "", "94 degrees and 160% humidity", "need", nil},
		{"heat", "U9", "", "too hot to practice?", "need", nil},
	})
}

func TestConcussion(t *testing.T) {
	// restated by leagues and officials: out at once, no return the same day, written clearance
	sayAll(t, []saying{
		{"concussion", "U9", "", "he hit his head and feels fine, can he go back in?", "not_legal", nil},
		{"concussion", "HS", "", "concussion protocol?", "info", nil},
		{"concussion", "HS", "", "he hit his head, can he practice tomorrow", "not_legal", nil},
		{"concussion", "HS", "", "concussion last week, the doctor cleared him in writing, can he play today", "info", nil},
		{"concussion", "HS", "", "the nurse cleared him on the sideline after he banged his head, can he go back in", "not_legal", nil},
		{"concussion", "HS", "", "hit his head yesterday and hasnt been cleared, can he play today", "not_legal", nil},
	})
}

func TestGameChecksInSpanish(t *testing.T) {
	for _, s := range []saying{
		{"players-allowed", "HS", "", "con tres en la caja podemos tener ocho en el campo?", "not_legal", vals{"on_field": numVal(7)}},
		{"onside-count", "U13", "", "cinco arriba y cinco abajo, legal?", "legal", nil},
		{"clock-mode", "U13", "", "el marcador va 15 a 4 en el tercer cuarto, reloj corrido?", "info", vals{"running": boolVal(true)}},
		{"lightning", "U9", "", "tronó a las siete y cuarto, cuándo podemos volver a entrar", "info", vals{"resume_at": textVal("7:45")}},
		{"foul-limit", "U15", "", "tres personales que suman cuatro minutos y medio, puede volver a entrar?", "legal", nil},
		{"heat", "U9", "", "estamos a 32 grados centígrados con 60 por ciento de humedad", "info", vals{"heat_index_f": numVal(99)}},
	} {
		s.run(t, "es")
	}
}
