package bot

import (
	"os"
	"reflect"
	"strings"
	"testing"
)

func spoil(t *testing.T, path string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(strings.Repeat("not a database. ", 400)), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestUnderstand(t *testing.T) {
	d := testDesk(t)
	for text, want := range map[string]wish{
		"help":                                       {intent: wantHelp, lang: "en"},
		"Help!":                                      {intent: wantHelp, lang: "en"},
		"What can I ask you?":                        {intent: wantHelp, lang: "en"},
		"¿Qué puedo preguntar?":                      {intent: wantHelp, lang: "es"},
		"help crosse length":                         {intent: wantHelp, lang: "en", rest: "crosse length"},
		"help me with a 45 inch stick for U11":       {},
		"this channel is U11":                        {intent: wantBind, lang: "en", rest: "u11", division: "U11"},
		"This channel is for U11 attack.":            {intent: wantBind, lang: "en", rest: "u11 attack", division: "U11", position: "attack"},
		"set this room to the under 13 goalies":      {intent: wantBind, lang: "en", rest: "under 13 goalies", division: "U13", position: "goalkeeper"},
		"este canal es U11 ataque":                   {intent: wantBind, lang: "es", rest: "u11 ataque", division: "U11", position: "attack"},
		"this channel is for high school":            {intent: wantBind, lang: "en", rest: "high school", division: "HS"},
		"this channel is U11 and the field is muddy": {intent: wantBind, lang: "en", rest: "u11 and the field is muddy"},
		"this channel is U11?":                       {},
		"what is this channel set to?":               {intent: wantBinding, lang: "en"},
		"¿Qué división es este canal?":               {intent: wantBinding, lang: "es"},
		"unbind this channel":                        {intent: wantUnbind, lang: "en"},
		"este canal es para todos":                   {intent: wantUnbind, lang: "es"},
		"my team is U11":                             {intent: wantDefault, lang: "en", rest: "u11", division: "U11"},
		"I coach the U13 defense":                    {intent: wantDefault, lang: "en", rest: "u13 defense", division: "U13", position: "defense"},
		"mi equipo es U9":                            {intent: wantDefault, lang: "es", rest: "u9", division: "U9"},
		"I coach U11, can they use a 45 inch stick":  {},
		"my team is the best":                        {},
		"my team is U11 and has 5 long poles":        {},
		"forget my default":                          {intent: wantNoDefault, lang: "en"},
		"cuál es mi división":                        {intent: wantMyDefault, lang: "es"},
		"forget me":                                  {intent: wantForget, lang: "en"},
		"olvídame":                                   {intent: wantForget, lang: "es"},
		"how do I help a goalie see the ball?":       {},
	} {
		got := understand(d, text)
		if want.intent == wantAnswer {
			want = wish{}
		}
		if got.intent == wantAnswer {
			got = wish{}
		}
		if got != want {
			t.Errorf("%q: %+v, want %+v", text, got, want)
		}
	}
}

// TestScrub: what may be kept of a question holds no names, numbers of people or
// contact data, and still says what was asked.
func TestScrub(t *testing.T) {
	d := testDesk(t)
	for text, want := range map[string]string{
		"U11 attack, 45-inch stick?":                         "U11 attack, 45-inch stick?",
		"Is Thaddeus allowed a 45 inch stick at U11?":        "Is [name] allowed a 45 inch stick at U11?",
		"Thaddeus Brumley has a 45 inch stick":               "[name] has a 45 inch stick",
		"can thaddeus's stick be 45 inches":                  "can [name] stick be 45 inches",
		"my son wendelin has no mouthguard":                  "my son [name] has no mouthguard",
		"coach brumley said U11 can body check":              "coach [name] said U11 can body check",
		"mi hijo Wendelín no tiene casco":                    "mi hijo [name] no tiene casco",
		"our #7 has five personal fouls":                     "our #[number] has five personal fouls",
		"player 12 got a slash":                              "player [number] got a slash",
		"call me at (555) 123-4567 about U13":                "call me at [contact] about U13",
		"write thad@harrowcreek.example, is 45 in legal?":    "write [contact], is 45 in legal?",
		"see https://example.org/u/thad?x=1 is it legal":     "see [contact] is it legal",
		"born 10/03/2015, which team":                        "born [number], which team",
		"born 2015-10-03, which team":                        "born [number], which team",
		"tell @thaddeus_b that U9 has no body checks":        "tell [contact] that U9 has no body checks",
		"one-minute slash at 3:20 in the 2nd, U13":           "one-minute slash at 3:20 in the 2nd, U13",
		"U13 defender 5'2\" with a 60 inch pole, 4'6\" too?": "U13 defender 5'2\" with a 60 inch pole, 4'6\" too?",
	} {
		if got := scrub(d, text); got != want {
			t.Errorf("%q\n got %q\nwant %q", text, got, want)
		}
	}
}

// FuzzScrub: whatever stands in a text, contact data and the marks of jersey
// numbers do not get through, and a second time changes nothing that matters.
func FuzzScrub(f *testing.F) {
	d := testDesk(f)
	for _, s := range []string{"write a@b.example", "our #7", "(555) 123-4567", "[name] [", "Ünïcode Ñandú's", "\xff\xfe"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := scrub(d, s)
		for _, re := range []interface{ MatchString(string) bool }{contactRE(), phoneRE(), jerseyRE()} {
			if re.MatchString(got) {
				t.Errorf("%q left %q", s, got)
			}
		}
	})
}

// FuzzHandle: no event whatever may panic in what Handle does itself, nor be
// understood in a way that panics later.
func FuzzUnderstand(f *testing.F) {
	d := testDesk(f)
	for _, s := range []string{"help", "this channel is U11", "my team is", "\xff", "¿", strings.Repeat("a ", 5000)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		w := understand(d, said(s))
		if w.intent == wantDefault && w.division == "" {
			t.Errorf("%q sets a default without a division", s)
		}
		isThanks(s)
		addressed(s)
	})
}

func TestWordsAreWholeInBothLanguages(t *testing.T) {
	en, es := reflect.ValueOf(*allWords["en"]), reflect.ValueOf(*allWords["es"])
	for i := range en.NumField() {
		name := en.Type().Field(i).Name
		if en.Field(i).Kind() != reflect.String {
			continue
		}
		a, b := en.Field(i).String(), es.Field(i).String()
		if a == "" || b == "" {
			t.Errorf("%s is empty in a language", name)
		}
		if strings.Count(a, "%") != strings.Count(b, "%") {
			t.Errorf("%s has other places in the other language: %q, %q", name, a, b)
		}
	}
}

func TestCutTo(t *testing.T) {
	for in, want := range map[string]string{"short": "short", "a long text, here": "a long…", "ñññññññññññññ": "ñññññññññ…"} {
		if got := cutTo(in, 10); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
