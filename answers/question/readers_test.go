package question_test

import (
	"testing"

	"sidewall/answers/measure"
	"sidewall/answers/question"
)

func gearWords(t *testing.T) *question.Recogniser {
	t.Helper()
	r, err := question.NewRecogniser(question.Vocabulary{
		Divisions: []question.Division{{ID: "U9", Under: 9}, {ID: "U11", Under: 11}, {ID: "U15", Under: 15}},
		Phrases: []question.Phrase{
			{Tag: "item:rib-pads", Text: "rib pads"}, {Tag: "item:cup", Text: "cup"}, {Tag: "item:helmet", Text: "helmet"},
			{Tag: "item:throat-guard", Text: "throat guard"},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func read(q *question.Question, r question.Reader) (question.Val, bool) {
	return q.Fill([]question.Want{{Name: "it", Read: r}}, q.Whole(), nil).Get("it")
}

// A "no" anywhere outweighs every "yes".
func TestJudged(t *testing.T) {
	palms := question.Judged([]string{"palms:intact"}, []string{"palms:cut"})
	strap := question.Judged([]string{"strap:done"}, []string{"strap:undone"})
	r := gearWords(t)
	for _, c := range []struct {
		text   string
		reader question.Reader
		want   string
	}{
		{"palms intact", palms, "yes"},
		{"the palms are cut out", palms, "no"},
		{"nobody cut the palms", palms, "yes"},
		{"palms are not intact", palms, "no"},
		{"he cut the palms out, but they look intact", palms, "no"},
		{"one snap isn't buckled", strap, "no"},
		{"all buckled", strap, "yes"},
		{"what about gloves", palms, ""},
	} {
		v, ok := read(r.Read(c.text, "en"), c.reader)
		got := ""
		if ok {
			got = map[int64]string{0: "no", 1: "yes"}[v.Lo]
		}
		if got != c.want {
			t.Errorf("%q reads %q, want %q", c.text, got, c.want)
		}
	}
}

// Only a word of lack makes it "without"; a negated verb does not.
func TestLacking(t *testing.T) {
	r := gearWords(t)
	for text, want := range map[string]bool{
		"no rib pads, can he play":        true,
		"he doesn't have a cup":           true,
		"without his rib pads":            true,
		"isn't a cup required":            false,
		"does he need rib pads":           false,
		"no, he has his rib pads":         false,
		"can't he wear a cup with a hole": false,
	} {
		_, got := read(r.Read(text, "en"), question.Lacking("lack", "item:"))
		if got != want {
			t.Errorf("%q lacks: %v, want %v", text, got, want)
		}
	}
}

func TestNamed(t *testing.T) {
	r := gearWords(t)
	for text, want := range map[string]string{
		"no helmet today":                           "helmet",
		"the throat guard fell off his helmet":      "throat-guard",
		"does he need rib pads under his jersey":    "rib-pads",
		"he needs a new stick":                      "",
		"his helmet is here but what about the cup": "cup",
	} {
		v, _ := read(r.Read(text, "en"), question.Named("item", "crosse", "helmet", "shoes"))
		if v.Word != want {
			t.Errorf("%q is about %q, want %q", text, v.Word, want)
		}
	}
}

func TestSaidOf(t *testing.T) {
	r := gearWords(t)
	for _, c := range []struct{ text, last, before string }{
		{"neon green mouthguard", "green", ""},
		{"not white, not clear, it is grey", "grey", ""},
		{"is white or red ok", "red", "white"},
		{"they sell white ones. is navy ok", "navy", ""},
	} {
		q := r.Read(c.text, "en")
		last, _ := read(q, question.SaidOf("color", "other"))
		before, _ := read(q, question.SaidToo("color", "other"))
		if last.Word != c.last || before.Word != c.before {
			t.Errorf("%q says %q and %q, want %q and %q", c.text, last.Word, before.Word, c.last, c.before)
		}
	}
}

func TestTallyOf(t *testing.T) {
	r := gearWords(t)
	for text, want := range map[string]int64{
		"five poles on the field":                      5,
		"3 d-poles plus an LSM":                        4,
		"two LSMs, two poles down low":                 4,
		"2 LSMs along with 3 close defenders, w poles": 5,
		"3 poles or 4 poles":                           4,
		"3 d poles + him = 4":                          4,
		"one kid with a long pole":                     1,
		"is 4 ok":                                      4, // nothing else is counted
		"how many poles do ten year olds get":          -1,
	} {
		v, ok := read(r.Read(text, "en"), question.TallyOf("stick:long", "count:total"))
		got := v.Lo / measure.One
		if !ok {
			got = -1
		}
		if got != want {
			t.Errorf("%q counts %d, want %d", text, got, want)
		}
	}
}

func TestBirthDateAndSeason(t *testing.T) {
	r := gearWords(t)
	for _, c := range []struct {
		text     string
		from, to measure.Date
		spring   int64
	}{
		{"born 10/3/2015, spring 2027", 20151003, 20151003, 2027},
		{"kid turns 11 on sept 14 2027, born sept 14 2016", 20160914, 20160914, 0},
		{"next spring (2028), born 10/10/2017", 20171010, 20171010, 2028},
		{"born in 2014", 20140101, 20141231, 0},
		{"born march 2014", 20140301, 20140331, 0},
		{"born oct 3", 0, 0, 0},
	} {
		facts := r.Read(c.text, "en").Fill([]question.Want{
			{Name: "birth_date", Read: question.BirthDate()}, {Name: "season", Read: question.SpringSeason()},
		}, r.Read(c.text, "en").Whole(), nil)
		day, _ := facts.Get("birth_date")
		season, _ := facts.Get("season")
		if measure.Date(day.Lo) != c.from || measure.Date(day.Hi) != c.to || season.Lo/measure.One != c.spring {
			t.Errorf("%q reads %d to %d, spring %d", c.text, day.Lo, day.Hi, season.Lo)
		}
	}
}

// A ball's size may be told around or across.
func TestRound(t *testing.T) {
	around := question.Measure{Kind: question.Length, Dims: []string{"around"}}.Reader()
	r := gearWords(t)
	v, ok := read(r.Read("the ball is 7.75 inches around", "en"), question.Diameter(around))
	if d := measure.Length(v.Lo).Inches(); !ok || d < 2.4668 || d > 2.4670 { // 7.75/π
		t.Errorf("a ball 7.75 in around is %v in across", d)
	}
	v, ok = read(r.Read("the ball is 2.5 inches around", "en"), question.Circumference(around))
	if c := measure.Length(v.Lo).Inches(); !ok || c < 7.8539 || c > 7.8541 { // 2.5π
		t.Errorf("a ball 2.5 in across is %v in around", c)
	}
	v, _ = read(r.Read("one string 1 inch from the scoop, the next 4 3/8 inches from the scoop", "en"),
		question.Largest(question.Measure{Kind: question.Length, Dims: []string{"string", "distance"}}.Reader()))
	if l := measure.Length(v.Lo).Inches(); l != 4.375 {
		t.Errorf("the lowest string is %v in down", l)
	}
}

func TestNamedWithout(t *testing.T) {
	r := gearWords(t)
	item := question.Or(question.NamedWithout("item", "lack"), question.Named("item"))
	for _, c := range []struct{ text, item, other string }{
		{"can he play without rib pads and a throat guard", "rib-pads", "throat-guard"},
		{"can he skip the throat guard if he wears rib pads", "throat-guard", ""},
		{"does he need a cup", "cup", ""},
		{"rib pads, throat guard needed", "throat-guard", "rib-pads"},
	} {
		q := r.Read(c.text, "en")
		one, _ := read(q, item)
		other, _ := read(q, question.NamedToo("item", item))
		if one.Word != c.item || other.Word != c.other {
			t.Errorf("%q is about %q and %q, want %q and %q", c.text, one.Word, other.Word, c.item, c.other)
		}
	}
}

func TestLengthAfter(t *testing.T) {
	v, ok := read(gearWords(t).Read("sidewalls 3 inches apart at 1.25", "en"), question.LengthAfter(int64(measure.Inch), "at"))
	if !ok || measure.Length(v.Lo).Inches() != 1.25 {
		t.Errorf("read %v", v)
	}
}
