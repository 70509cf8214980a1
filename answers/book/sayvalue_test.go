package book_test

import (
	"errors"
	"strings"
	"testing"

	"sidewall/answers/book"
	"sidewall/config"
)

func TestSayValue(t *testing.T) {
	b := load(t, config.ShippedBook())
	league := "league decision of 12 January"
	for _, tt := range []struct {
		text string
		want book.PutValue
	}{
		{"U11 long crosse is 47 to 54 from 2027-03-01, league decision of 12 January",
			book.PutValue{Topic: "crosse-length", Key: "long", Layer: "league", Divisions: []string{"U11"}, Positions: []string{"field"}, Value: "47 to 54", Unit: "in", From: "2027-03-01", NewSource: league}},
		{"short stick at U9 and U11 = 36-42 inches since 1 March 2027 until 2027-08-31; source: " + league,
			book.PutValue{Topic: "crosse-length", Key: "short", Layer: "league", Divisions: []string{"U9", "U11"}, Positions: []string{"field"}, Value: "36 to 42", Unit: "in", From: "2027-03-01", Until: "2027-08-31", NewSource: league}},
		{"10U goalie stick will be between 40 and 60 in from March 1, 2027, the club's board",
			book.PutValue{Topic: "crosse-length", Key: "goalkeeper", Layer: "club", Divisions: []string{"U11"}, Positions: []string{"goalkeeper"}, Value: "40 to 60", Unit: "in", From: "2027-03-01", NewSource: "the club's board"}},
		{"U11 long crosse is none from 2027-3-1, club-2027",
			book.PutValue{Topic: "crosse-length", Key: "long", Layer: "club", Divisions: []string{"U11"}, Positions: []string{"field"}, Value: "none", From: "2027-03-01", Source: "club-2027"}},
		{"game-format: players for U13 is 9 from 2027-03-01, " + league,
			book.PutValue{Topic: "game-format", Key: "players", Layer: "league", Divisions: []string{"U13"}, Value: "9", Unit: "players", From: "2027-03-01", NewSource: league}},
		{"slashing max at U11 is 2 min from 2027-03-01, " + league,
			book.PutValue{Topic: "foul", Key: "slashing.max", Layer: "league", Divisions: []string{"U11"}, Value: "2", Unit: "min", From: "2027-03-01", NewSource: league}},
		{"crosse-length adjustable length for all divisions is allowed from 2027-03-01, " + league,
			book.PutValue{Topic: "crosse-length", Key: "adjustable_allowed", Layer: "league", Divisions: []string{"U9", "U11", "U13", "U15", "HS"}, Value: "true", From: "2027-03-01", NewSource: league}},
		{"el palo largo de los sub 11 es 48 a 54 desde 1 de marzo de 2027, decisión de la liga",
			book.PutValue{Topic: "crosse-length", Key: "long", Layer: "league", Divisions: []string{"U11"}, Positions: []string{"field"}, Value: "48 to 54", Unit: "in", From: "2027-03-01", NewSource: "decisión de la liga"}},
		// What is wrong goes on to the sheet's reader, which knows file and line.
		{"U17 long crosse is 54 to 47 from 2027-02-30, " + league,
			book.PutValue{Topic: "crosse-length", Key: "long", Layer: "league", Divisions: []string{"U17"}, Value: "54 to 47", From: "2027-02-30", NewSource: league}},
	} {
		got, err := b.SayValue(tt.text)
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		if !samePut(got, tt.want) {
			t.Errorf("%s:\n got %+v\nwant %+v", tt.text, got, tt.want)
		}
	}
}

func samePut(a, b book.PutValue) bool {
	as, bs := strings.Join(a.Divisions, " ")+"|"+strings.Join(a.Positions, " "), strings.Join(b.Divisions, " ")+"|"+strings.Join(b.Positions, " ")
	return as == bs && a.Topic == b.Topic && a.Key == b.Key && a.Layer == b.Layer && a.Value == b.Value && a.Unit == b.Unit && a.From == b.From && a.Until == b.Until && a.Source == b.Source && a.NewSource == b.NewSource
}

func TestSayValueAsksBack(t *testing.T) {
	b := load(t, config.ShippedBook())
	for text, want := range map[string]string{
		"":          "write it as",
		"long pole": "what is to be what",
		"U11 long crosse is 47 to 54, league decision":                          "since when",
		"long crosse is 47 to 54 from 2027-03-01, league decision":              "for which division",
		"U11 flux capacitor is 47 from 2027-03-01, league decision":             "no value of this name",
		"U11 long crosse is 47 to 54 from 2027-03-01":                           "who decided",
		"U11 long crosse is 47 to 54 from 2027-03-01, somebody's idea":          "whose decision",
		"U11 long crosse is big from 2027-03-01, league decision":               "is no number",
		"U11 slashing is 2 min from 2027-03-01, league decision":                "foul: slashing.max",
		"U11 purple long crosse is 47 to 54 from 2027-03-01, league decision":   `what is "purple"`,
		"U11 long crosse is from 2027-03-01, league decision":                   "what is the new value",
		strings.Repeat("U11 long crosse is 47 ", 200) + "from 2027-03-01, club": "too long",
	} {
		if c, err := b.SayValue(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %+v, %v; want %q", text, c, err, want)
		}
	}
}

// From the sentence to the book: bad values come back with file and line.
func TestSaidValuesAreChecked(t *testing.T) {
	dir := folder(t, shippedFiles(t))
	p := publisher(t, dir)
	b := loadDir(t, dir)
	for text, want := range map[string]string{
		"U11 long crosse is 48 to 54 from 2027-03-01, league decision": "",
		"U11 long crosse is 54 to 47 from 2027-03-01, league decision": "the bounds are swapped",
		"U11 long crosse is 47 to 54 from 2027-02-30, league decision": "there is no day 2027-02-30",
		"U17 long crosse is 47 to 54 from 2027-03-01, league decision": `no division "U17"`,
	} {
		c, err := b.SayValue(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		_, err = p.Propose(t.Context(), c)
		var wrong book.Errors
		switch {
		case want == "" && err != nil:
			t.Errorf("%s: %v", text, err)
		case want == "":
		case !errors.As(err, &wrong) || wrong[0].File != "sheet/crosse-length.yaml" || wrong[0].Line == 0 || !strings.Contains(err.Error(), want):
			t.Errorf("%s: %v", text, err)
		}
	}
}

// Whatever an admin types, nothing breaks, and what is understood is proposed or
// refused by the sheet's reader, never written as something else.
func FuzzSayValue(f *testing.F) {
	for _, s := range []string{
		"U11 long crosse is 47 to 54 from 2027-03-01, league decision of 12 January", "short stick at U9 = [36, 42] in since 2027, club-2027",
		"U11 short crosse is none from 2027-03-01 until 2027-08-31, club", "U11 long crosse is a: {b, from 2027-03-01, club \"x\" 'y' \\", "U11 most long is -1 from 0000-00-00, club #",
	} {
		f.Add(s)
	}
	files := smallBook(f)
	dir := folder(f, files)
	p := publisher(f, dir)
	b := loadDir(f, dir)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := b.SayValue(text)
		if err != nil {
			return
		}
		pr, err := p.Propose(t.Context(), c)
		if err != nil {
			return
		}
		if len(pr.To.Sheet.All()) != len(b.Sheet.All())+1 {
			t.Errorf("%q made %d records of %d", text, len(pr.To.Sheet.All()), len(b.Sheet.All()))
		}
	})
}
