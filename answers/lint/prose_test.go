package lint

import (
	"regexp"
	"slices"
	"strconv"
	"testing"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
	"sidewall/config"
)

func proseOf(b *book.Book) *linter {
	l := &linter{b: b, keys: keysOf(b.Sheet), name: "prose"}
	l.prose()
	return l
}

// The comparison is worth nothing if it quietly stops to find the numbers.
func TestProseMeetsTheSheet(t *testing.T) {
	b, err := book.Load(t.Context(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	if n := proseOf(b).compared; n < 150 {
		t.Errorf("only %d numbers of the shipped summaries met a value", n)
	}
}

var (
	aNumber = regexp.MustCompile(`\d+(\.\d+)?`)
	aClaim  = regexp.MustCompile(`^( to \d+(\.\d+)?)? (in|yd|ft|min|s|goals|long|oz)\b`)
)

// Every number with a unit in the shipped summaries is raised by a half, one at
// a time: lint must tell of most of them. (The others stand in examples, or in
// sentences that name nothing of the sheet.)
func TestProseFindsAlteredNumbers(t *testing.T) {
	b, err := book.Load(t.Context(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	found, all := 0, 0
	for _, s := range b.Summaries {
		for _, m := range aNumber.FindAllStringIndex(s.Body, -1) {
			if !aClaim.MatchString(s.Body[m[1]:]) {
				continue
			}
			v, err := strconv.ParseFloat(s.Body[m[0]:m[1]], 64)
			if err != nil {
				t.Fatal(err)
			}
			changed := *s
			changed.Body = s.Body[:m[0]] + strconv.FormatFloat(v+0.5, 'f', -1, 64) + s.Body[m[1]:]
			one := *b
			one.Summaries = []*book.Summary{&changed}
			all++
			if len(proseOf(&one).out) > 0 {
				found++
			}
		}
	}
	t.Logf("found %d of %d", found, all)
	if all < 50 || found*100 < all*70 {
		t.Errorf("lint found %d of %d altered numbers, want at least 70 %%", found, all)
	}
}

// smallBook has two divisions and a few values to hold a sentence against.
func smallBook(body string) *book.Book {
	in := func(lo, hi int64) sheet.Value {
		v := sheet.Value{Kind: sheet.Range, Unit: measure.Long, Lo: lo * int64(measure.Inch), Hi: hi * int64(measure.Inch)}
		v.Text = measure.Num(float64(lo)) + "–" + measure.Num(float64(hi)) + " in"
		return v
	}
	sec := func(n int64) sheet.Value {
		return sheet.Value{Kind: sheet.Number, Unit: measure.Lasting, Lo: n * 1000, Hi: n * 1000, Text: measure.Num(float64(n)) + " s"}
	}
	count := func(n int64) sheet.Value {
		return sheet.Value{Kind: sheet.Number, Lo: n * measure.One, Hi: n * measure.One, Text: measure.Num(float64(n))}
	}
	rec := func(topic, key string, ds sheet.Mask, v sheet.Value) *sheet.Record {
		return &sheet.Record{Topic: topic, Key: key, Divisions: ds, Positions: sheet.AllPositions, From: 20100101, Value: v, File: "sheet/" + topic + ".yaml", Line: 1}
	}
	topics := map[string]*sheet.Topic{
		"stick": {ID: "stick", Names: map[string]sheet.Name{
			"short": {Text: sheet.Text2{EN: "short crosse"}, AlsoEN: []string{"short stick"}},
			"long":  {Text: sheet.Text2{EN: "long crosse"}, AlsoEN: []string{"pole"}},
			"most":  {Text: sheet.Text2{EN: "most long crosses on the field"}},
		}},
		"foul": {ID: "foul", Names: map[string]sheet.Name{"slash": {Text: sheet.Text2{EN: "slash"}}}},
	}
	recs := []*sheet.Record{
		rec("stick", "short", 1, in(37, 42)), rec("stick", "short", 2, in(40, 42)),
		rec("stick", "long", 1, in(47, 54)), rec("stick", "long", 2, in(52, 72)),
		rec("stick", "most", 1, count(2)), rec("stick", "most", 2, count(4)),
		rec("foul", "slash.min", 3, sec(60)), rec("foul", "slash.max", 3, sec(180)),
	}
	return &book.Book{
		Season:    book.Season{Name: "2027", From: 20260901, To: 20270831},
		Divisions: []book.Division{{ID: "U11", Under: 11, Band: 10}, {ID: "HS", Aliases: []string{"high school"}}},
		Sheet:     sheet.New([]sheet.Layer{{ID: "club", Default: 3}}, []string{"U11", "HS"}, topics, recs),
		Summaries: []*book.Summary{{ID: "page", File: "summaries/page.md", Topics: []string{"stick"}, Body: body, BodyLine: 10}},
	}
}

func TestProse(t *testing.T) {
	for _, c := range []struct {
		name, body string
		want       []string
	}{
		{"right", "U11: short crosse 37 to 42 in, long crosse 47 to 54 in.\n", nil},
		{"the example of the design", "U11: short crosse 42–47 in.\n", []string{"summaries/page.md:10: prose: the summary says 42–47 in for U11, the sheet says 37–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"the other division's", "First words.\n\nHigh school: a short stick is 37 to 42 inches.\n", []string{"summaries/page.md:12: prose: the summary says 37–42 in for HS, the sheet says 40–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"two divisions, one wrong", "U11 and HS: long crosse 52 to 72 in.\n", []string{"summaries/page.md:10: prose: the summary says 52–72 in for U11, the sheet says 47–54 in (stick: long); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"the heading names the division", "## Under 11\nThe long crosse is 47 to 52 in.\n", []string{"summaries/page.md:11: prose: the summary says 47–52 in for U11, the sheet says 47–54 in (stick: long); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"the division comes after", "A short crosse is 37 to 42 in at U11 and 40 to 42 in at HS.\n", nil},
		{"another unit", "U11: short crosse 94 to 107 cm.\n", []string{"summaries/page.md:10: prose: the summary says 94–107 cm for U11, the sheet says 37–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"bands are names", "10U: short crosse 40 to 42 in.\n", []string{"summaries/page.md:10: prose: the summary says 40–42 in for U11, the sheet says 37–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"a bound", "U11: the short crosse is at most 43 in.\n", []string{"summaries/page.md:10: prose: the summary says 43 in for U11, the sheet says 37–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"an example in the range", "At U11 a short crosse of 40 in is a good start.\n", nil},
		{"a count", "U11: at most 3 long crosses. HS: at most 4 long crosses.\n", []string{"summaries/page.md:10: prose: the summary says 3 for U11, the sheet says 2 (stick: most); mend the summary, or the value in sheet/stick.yaml:1"}},
		{"shortest and longest are two values", "HS: a slash is 1 to 3 minutes.\n", nil},
		{"no division: right somewhere is right", "A slash costs 60 s.\n", nil},
		{"no division: right nowhere", "A slash costs 2 min.\n", []string{"summaries/page.md:10: prose: the summary says 2 min at any age, the sheet says 60 s or 180 s (foul: slash.min); mend the summary, or the value in sheet/foul.yaml:1"}},
		{"nothing of the sheet", "U11 practice ends after 90 min. Bring 2 bottles.\n", nil},
		{"over a line break", "U11: short crosse 37 to\n43 in.\n", []string{"summaries/page.md:10: prose: the summary says 37–43 in for U11, the sheet says 37–42 in (stick: short); mend the summary, or the value in sheet/stick.yaml:1"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, f := range proseOf(smallBook(c.body)).out {
				got = append(got, f.String())
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

func FuzzProse(f *testing.F) {
	f.Add("U11: short crosse 37 to 42 in, at most 2 long crosses.\n")
	f.Add("## HS\n- 12:00 to 1/2 in° f 53 1/3 –9 %\n")
	f.Fuzz(func(t *testing.T, body string) {
		proseOf(smallBook(body)) // must not panic
	})
}
