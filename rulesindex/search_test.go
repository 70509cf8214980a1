package rulesindex_test

import (
	"context"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/rulesindex"
)

// smallBook has what the tests of single properties need.
func smallBook() *book.Book {
	sum := func(id, title string, divisions []string, from measure.Date, text string) *book.Summary {
		return &book.Summary{ID: id, Title: title, Divisions: divisions, From: from, Sections: []book.Section{
			{Heading: "Before all", Text: "Ask the coach.", Line: 12},
			{Heading: "The rule", Text: text, Line: 20},
		}}
	}
	return &book.Book{Summaries: []*book.Summary{
		sum("gloves", "Gloves", nil, 20260901, "Gloves keep their **whole** palms. See [the list](https://example.org/list) for more."),
		sum("gloves-next", "Gloves next year", nil, 20280101, "Gloves may be any colour."),
		sum("small-field", "The small field", []string{"U9"}, 20260901, "The small field is short.\n\n- Cones mark the corners.\n- The `crease` stays round."),
		sum("big-field", "The big field", []string{"U13", "HS"}, 20260901, "The big field is long."),
		sum("offside", "Offside", nil, 20260901, "Too many players over midfield is off-side. The ball is out, not over the line."),
		sum("goalkeeper", "The goalkeeper", nil, 20260901, "The goalkeeper wears a throat guard."),
		sum("twin-b", "Whistles", nil, 20260901, "Whistles are loud."),
		sum("twin-a", "Whistles", nil, 20260901, "Whistles are loud."),
	}}
}

func TestSearch(t *testing.T) {
	ix := build(t, smallBook())
	for _, c := range []struct {
		name string
		q    rulesindex.Query
		want []string
	}{
		{"word", rulesindex.Query{Text: "gloves palms?", On: onDay}, []string{"gloves"}},
		{"begins later", rulesindex.Query{Text: "gloves", On: 20280101}, []string{"gloves", "gloves-next"}},
		{"limit", rulesindex.Query{Text: "gloves", On: 20280101, Limit: 1}, []string{"gloves"}},
		{"no day", rulesindex.Query{Text: "gloves next year colour"}, []string{"gloves-next"}},
		{"division", rulesindex.Query{Text: "field", Division: "U9", On: onDay}, []string{"small-field"}},
		{"other division", rulesindex.Query{Text: "field", Division: "HS", On: onDay}, []string{"big-field"}},
		{"no division", rulesindex.Query{Text: "field", On: onDay}, []string{"big-field", "small-field"}},
		{"synonym", rulesindex.Query{Text: "goalie", On: onDay}, []string{"goalkeeper"}},
		{"phrase", rulesindex.Query{Text: "what does the goal keeper wear", On: onDay}, []string{"goalkeeper"}},
		{"phrase of a synonym", rulesindex.Query{Text: "neck guard for keepers", On: onDay}, []string{"goalkeeper"}},
		{"pair that is one word", rulesindex.Query{Text: "OFF SIDE!", On: onDay}, []string{"offside"}},
		{"hyphen", rulesindex.Query{Text: "off-side", On: onDay}, []string{"offside"}},
		{"slip", rulesindex.Query{Text: "gaolkeeper", On: onDay}, []string{"goalkeeper"}},
		{"two slips", rulesindex.Query{Text: "goolkeper", On: onDay}, []string{"goalkeeper"}},
		{"short words are not corrected", rulesindex.Query{Text: "gola", On: onDay}, nil},
		{"Spanish", rulesindex.Query{Text: "¿Qué usa el portero?", On: onDay}, []string{"goalkeeper"}},
		{"Spanish, said so", rulesindex.Query{Text: "guantes", Lang: "es", On: onDay}, []string{"gloves"}},
		{"tie by id", rulesindex.Query{Text: "whistles", On: onDay}, []string{"twin-a", "twin-b"}},
		{"another matter", rulesindex.Query{Text: "soccer gloves", On: onDay}, nil},
		{"one known word among unknown ones", rulesindex.Query{Text: "do zebras eat gloves in winter storms", On: onDay}, nil},
		{"a story with the question at its end", rulesindex.Query{Text: "We drove through seven towns, ate pancakes, sang hymns and met a giraffe. Do the gloves need palms?", On: onDay}, []string{"gloves"}},
		{"stop words", rulesindex.Query{Text: "what is it that you do", On: onDay}, nil},
		{"nothing", rulesindex.Query{On: onDay}, nil},
		{"signs", rulesindex.Query{Text: "?!… 🥍 — \x00\xff", On: onDay}, nil},
		{"other script", rulesindex.Query{Text: "какая сегодня погода", On: onDay}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			hits, err := ix.Search(t.Context(), c.q)
			if err != nil {
				t.Fatal(err)
			}
			if got := ids(hits); !reflect.DeepEqual(got, c.want) {
				t.Errorf("%q: got %v, want %v", c.q.Text, got, c.want)
			}
			again, err := ix.Search(t.Context(), c.q)
			if err != nil || !reflect.DeepEqual(hits, again) {
				t.Errorf("%q: a second search gives %v, %v; the first gave %v", c.q.Text, again, err, hits)
			}
		})
	}
}

func TestHit(t *testing.T) {
	ix := build(t, smallBook())
	for text, want := range map[string]rulesindex.Hit{
		"whole palms in gloves":                   {ID: "gloves", Title: "Gloves", Section: "The rule", Snippet: "Gloves keep their whole palms. See the list for more.", Line: 20},
		"cones in the corners of the small field": {ID: "small-field", Title: "The small field", Section: "The rule", Snippet: "Cones mark the corners. The crease stays round.", Line: 20},
		"what does the goalie have at his throat": {ID: "goalkeeper", Title: "The goalkeeper", Section: "The rule", Snippet: "The goalkeeper wears a throat guard.", Line: 20},
	} {
		hits, err := ix.Search(t.Context(), rulesindex.Query{Text: text, On: onDay, Limit: 1})
		if err != nil || len(hits) != 1 {
			t.Errorf("%q: %v, %v", text, hits, err)
			continue
		}
		got := hits[0]
		if got.Score <= 0 || got.Score > 1.001 {
			t.Errorf("%q: score %v is not between 0 and 1", text, got.Score)
		}
		if got.Score = 0; got != want {
			t.Errorf("%q:\n got %+v\nwant %+v", text, got, want)
		}
	}
}

func TestLongSnippet(t *testing.T) {
	long := "Gloves " + strings.Repeat("größer und größer ", 40) + "end."
	ix := build(t, &book.Book{Summaries: []*book.Summary{{ID: "g", Title: "Gloves", Sections: []book.Section{{Text: long}}}}})
	hits, err := ix.Search(t.Context(), rulesindex.Query{Text: "gloves"})
	if err != nil || len(hits) != 1 {
		t.Fatal(hits, err)
	}
	s := hits[0].Snippet
	if len(s) > 230 || !strings.HasSuffix(s, "…") || strings.ContainsRune(s, '\uFFFD') {
		t.Errorf("snippet of %d bytes: %q", len(s), s)
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := rulesindex.Build(ctx, smallBook(), rulesindex.Options{}); err == nil {
		t.Error("Build went on after its context had ended")
	}
	if _, err := build(t, smallBook()).Search(ctx, rulesindex.Query{Text: "gloves"}); err == nil {
		t.Error("Search went on after its context had ended")
	}
}

func TestEmptyBook(t *testing.T) {
	hits, err := build(t, &book.Book{}).Search(t.Context(), rulesindex.Query{Text: "gloves"})
	if err != nil || hits != nil {
		t.Errorf("an empty book gives %v, %v", hits, err)
	}
}

// TestWordLists says what is wrong with a word list, and where.
func TestWordLists(t *testing.T) {
	lists := func(name, content string) fstest.MapFS {
		m := fstest.MapFS{}
		for _, n := range []string{"stop", "spanish-stop", "everyday", "soft", "faint", "elsewhere", "remarks", "synonyms", "spanish"} {
			m[n+".txt"] = &fstest.MapFile{}
		}
		m["stop.txt"].Data = []byte("the")
		m[name] = &fstest.MapFile{Data: []byte(content)}
		return m
	}
	for _, c := range []struct{ name, content, want string }{
		{"synonyms.txt", "# a comment\ngoalie keeper", "synonyms.txt:2:"},
		{"synonyms.txt", "the = goalie", "synonyms.txt:1:"},
		{"synonyms.txt", "goalkeeper = goalie, , keeper", "synonyms.txt:1:"},
		{"synonyms.txt", "goalkeeper = the", "stop word"},
		{"synonyms.txt", "big rain > storm", "only one word"},
		{"spanish.txt", "portero", "spanish.txt:1:"},
		{"spanish.txt", "portero, = goalkeeper", "spanish.txt:1:"},
	} {
		_, err := rulesindex.Build(t.Context(), smallBook(), rulesindex.Options{Words: lists(c.name, c.content)})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %q: got %v, want it to say %q", c.name, c.content, err, c.want)
		}
	}
	if _, err := rulesindex.Build(t.Context(), smallBook(), rulesindex.Options{Words: fstest.MapFS{}}); err == nil || !strings.Contains(err.Error(), "stop.txt") {
		t.Errorf("a folder without lists: %v", err)
	}
	own := lists("synonyms.txt", "gloves = mittens")
	ix, err := rulesindex.Build(t.Context(), smallBook(), rulesindex.Options{Words: own})
	if err != nil {
		t.Fatal(err)
	}
	defer ix.Close()
	if hits, err := ix.Search(t.Context(), rulesindex.Query{Text: "mittens", On: onDay}); err != nil || len(hits) == 0 || hits[0].ID != "gloves" {
		t.Errorf("a club's own synonym finds %v, %v", hits, err)
	}
}

// FuzzSearch throws texts at the shipped book: no panic, no error, hits that
// are whole, and the same ones again.
func FuzzSearch(f *testing.F) {
	for _, s := range []string{"", "goalie gloves?", "face-off", "don't 's ' - -a- ’s", "¿Dónde está el portero?", "\xff\x00🥍", strings.Repeat("a", 5000), strings.Repeat("ab ", 4000), "U11 45½\"", "الحارس 门将 goalie", "a\u0301b-\u2011c"} {
		f.Add(s, "U11", "")
	}
	f.Add("protector bucal", "", "es")
	ix := shippedIndex(f)
	f.Fuzz(func(t *testing.T, text, division, lang string) {
		q := rulesindex.Query{Text: text, Division: division, Lang: lang, On: onDay}
		hits, err := ix.Search(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		if len(hits) > 3 {
			t.Errorf("%d hits, the default is 3", len(hits))
		}
		for i, h := range hits {
			if h.ID == "" || h.Title == "" || h.Snippet == "" || !(h.Score > 0 && h.Score <= 1.001) || i > 0 && h.Score > hits[i-1].Score {
				t.Errorf("hit %d of %q: %+v", i, text, h)
			}
		}
		again, err := ix.Search(context.Background(), q)
		if err != nil || !reflect.DeepEqual(hits, again) {
			t.Errorf("%q: a second search differs: %v, %v", text, again, err)
		}
	})
}
