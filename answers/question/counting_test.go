package question

import (
	"strings"
	"testing"

	"sidewall/answers/measure"
)

// lax is a recogniser with the divisions that the cases below speak of.
func lax(tb testing.TB) *Recogniser {
	tb.Helper()
	r, err := NewRecogniser(Vocabulary{Divisions: []Division{{ID: "U9", Under: 9}, {ID: "U11", Under: 11}, {ID: "U13", Under: 13}, {ID: "HS"}}})
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

// none is what a reader gives that finds nothing.
const none = -1

func readCount(r *Recogniser, text string, read Reader) int64 {
	q := r.Read(text, "")
	v, _, ok := read(q, q.Whole())
	if !ok {
		return none
	}
	return v.Lo / measure.One
}

func TestBoxCounts(t *testing.T) {
	r := lax(t)
	for _, c := range []struct {
		text              string
		inBox, more, said int64
	}{
		{"three in the box, a fourth foul?", 3, 1, none},
		{"two serving time, how many on the field", 2, none, none},
		{"two man down, how many on the field", 2, none, none},
		{"nobody in the box and they have 11 on the field, legal?", 0, none, 11},
		{"one of ours in box, and two of theirs", 1, none, none},
		{"table says three of ours are serving and now #40 got flagged as well", 3, 1, none},
		{"we had 3 boys sitting when a 4th was called", 3, 1, none},
		{"a fourth penalty on us", 3, 1, none},
		{"may we keep 9 field players plus a goalie while one is serving", 1, none, 10},
		{"their bench: 1 serving. I count ten guys on the grass incl the goalie", 1, none, 10},
		{"as many as nine out if one's serving", 1, none, 9},
		{"five penalties on us", none, 5, none},
		{"three kids in the sin bin U eleven how many play", 3, none, none},
		{"no one is hurt, which one plays", none, none, none},
	} {
		got := [3]int64{readCount(r, c.text, InBox()), readCount(r, c.text, MorePenalties()), readCount(r, c.text, StatedOnField())}
		if want := [3]int64{c.inBox, c.more, c.said}; got != want {
			t.Errorf("%q: %v, want %v", c.text, got, want)
		}
	}
}

func TestHalfCounts(t *testing.T) {
	r := lax(t)
	for _, c := range []struct {
		text     string
		off, def int64
	}{
		{"7 in our offensive half?", 7, none},
		{"8 defensive half, 2 offensive half", 2, 8},
		{"six defenders plus the goalie in our own half", none, 7},
		{"eight of our guys including keeper are back", none, 8},
		{"five attacking and three defending", 5, 3},
		{"four in their defensive end, six in the offensive", 6, 4},
		{"my lsm crossed so now its 7 in the offensive end, 3 back", 7, 3},
		{"i see 3 attack and 3 mids in the offensive half so 6", 6, none},
		{"4 attack and 3 mids in the offensive half", 7, none},
		{"one in the box, 6 in the offensive half and 3 in the defensive half", 6, 3},
		{"the sixth in the offensive half", 6, none},
		{"how many in the offensive half", none, none},
	} {
		got := [2]int64{readCount(r, c.text, OffensiveHalf()), readCount(r, c.text, DefensiveHalf())}
		if want := [2]int64{c.off, c.def}; got != want {
			t.Errorf("%q: %v, want %v", c.text, got, want)
		}
	}
}

func TestFoulSum(t *testing.T) {
	r := lax(t)
	for _, c := range []struct {
		text           string
		fouls, seconds int64
	}{
		{"two personals at two minutes each and one at one", 3, 300},
		{"3 personals, one was three minutes, the others one minute each", 3, 300},
		{"he had a 2 minute and a 1 minute personal", 2, 180},
		{"two personal fouls, two minutes each", 2, 240},
		{"five minutes of personal foul time in three fouls", 3, 300},
		{"three personals totalling 4:30", 3, 270},
		{"not five, only four personals", 4, none},
		{"personal foul number five", 5, none},
		{"just picked up his 4th personal", 4, none},
		{"4 technical fouls", none, none},
		{"how many personals before one is out", none, none},
	} {
		got := [2]int64{readCount(r, c.text, PersonalFouls()), readCount(r, c.text, FoulTime())}
		if want := [2]int64{c.fouls, c.seconds}; got != want {
			t.Errorf("%q: %v, want %v", c.text, got, want)
		}
	}
}

func TestLead(t *testing.T) {
	r := lax(t)
	for _, c := range []struct {
		text      string
		now, most int64
	}{
		{"up 12 in the third", 12, none},
		{"13 to 3 after halftime", 10, none},
		{"3-13 in the 4th", 10, none},
		{"we're down twelve in the second quarter", 12, none},
		{"lead of 20 goals third quarter u thirteen", 20, none},
		{"was 12 up in the 3rd, they scored twice so now 10", 10, 12},
		{"does the clock run", none, none},
	} {
		got := [2]int64{readCount(r, c.text, GoalDifference()), readCount(r, c.text, WidestLead())}
		if want := [2]int64{c.now, c.most}; got != want {
			t.Errorf("%q: %v, want %v", c.text, got, want)
		}
	}
}

func TestApart(t *testing.T) {
	r := lax(t)
	yards := func(f float64) int64 { return int64(f * float64(measure.Yard)) }
	for _, c := range []struct {
		text   string
		lo, hi int64
	}{
		{"opponent at 4 yd 2 ft", yards(4) + 2*int64(measure.Foot), yards(4) + 2*int64(measure.Foot)},
		{"two steps from a loose ball", yards(1), yards(2)},
		{"a yard and a half from the ball", yards(1.5), yards(1.5)},
		{"more like four actually", yards(4), yards(4)},
		{"does the three yard rule count", none, none},
		{"three yards or five for loose balls", none, none},
		{"two hands on the stick", none, none},
	} {
		q := r.Read(c.text, "")
		v, _, ok := Apart()(q, q.Whole())
		if !ok {
			v.Lo, v.Hi = none, none
		}
		if v.Lo != c.lo || v.Hi != c.hi {
			t.Errorf("%q: %d to %d, want %d to %d", c.text, v.Lo, v.Hi, c.lo, c.hi)
		}
	}
}

func TestTimeOfDay(t *testing.T) {
	for _, c := range []struct {
		at   TimeOfDay
		add  int64
		want string
	}{
		{TimeOfDay{342, StylePlain}, 30, "6:12"},
		{TimeOfDay{12*60 + 342, StylePM}, 30, "6:12 pm"},
		{TimeOfDay{17*60 + 42, Style24}, 30, "18:12"},
		{TimeOfDay{40, StylePlain}, 30, "1:10"},          // 12:40
		{TimeOfDay{11*60 + 45, StylePlain}, 30, "12:15"}, // over noon or midnight
		{TimeOfDay{11*60 + 45, StyleAM}, 30, "12:15 pm"}, // over noon
		{TimeOfDay{23*60 + 45, StylePM}, 30, "12:15 am"}, // over midnight
		{TimeOfDay{23*60 + 45, Style24}, 30, "00:15"},    // likewise
	} {
		if got := c.at.Add(c.add).String(); got != c.want {
			t.Errorf("%v and %d minutes: %q, want %q", c.at, c.add, got, c.want)
		}
	}
}

// FuzzCounting reads everything that this file's readers read out of any text:
// none may panic, and no count may be negative.
func FuzzCounting(f *testing.F) {
	for _, s := range []string{
		"three in the box, a fourth foul? U15", "six defenders plus the goalie in our own half", "two personals at two minutes each and one at one",
		"was 12 up in the 3rd, now 10", "opponent at 4 yd 2 ft", "thunder at 11:50 pm, and again at 12:05 am", "half past", "las siete y media",
		"one one one at at of", "humidity is 50... no, 45", "#5 personal foul #", "down", "ones", "u eleven 11", "plus the goalie",
	} {
		f.Add(s)
	}
	r := lax(f)
	readers := []Reader{InBox(), MorePenalties(), StatedOnField(), OffensiveHalf(), DefensiveHalf(), WentBack(), PersonalFouls(), FoulTime(),
		GoalDifference(), WidestLead(), PeriodSaid(), HalfSaid(), Apart(), Target(), Lasted(), LastStrike(), Temperature(), Humidity(), HeatIndexSaid(),
		BallState(), StickAct([]string{"to-head", "one-handed"}), BodyAct([]string{"body-check"}), FoulOf([]string{"slashing"}),
		FormatAsk([]string{"periods"}), CountWhich([]string{"clear"})}
	f.Fuzz(func(t *testing.T, text string) {
		for _, lang := range [...]string{"", "es"} {
			q := r.Read(text, lang)
			for i, read := range readers {
				v, at, ok := read(q, q.Whole())
				if !ok {
					continue
				}
				if at.start < 0 || at.end > len(q.toks) {
					t.Errorf("reader %d says tokens %d to %d of %d in %q", i, at.start, at.end, len(q.toks), text)
				}
				if v.Kind == CountVal && v.Lo < 0 && !strings.ContainsAny(text, "-−–—") && !strings.Contains(strings.ToLower(text), "minus") && !strings.Contains(strings.ToLower(text), "menos") {
					t.Errorf("reader %d counts %d in %q", i, v.Lo, text)
				}
			}
		}
	})
}
