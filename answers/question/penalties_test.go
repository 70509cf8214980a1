package question

import (
	"reflect"
	"testing"
)

func storyRecogniser(tb testing.TB) *Recogniser {
	tb.Helper()
	r, err := NewRecogniser(Vocabulary{Divisions: []Division{
		{ID: "U11", Under: 11, Band: 10}, {ID: "U13", Under: 13, Band: 12}, {ID: "HS", Aliases: []string{"high school"}}}})
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

func TestStory(t *testing.T) {
	t.Parallel()
	r := storyRecogniser(t)
	for _, tc := range []struct {
		name, text string
		want       Story
	}{
		{"a length and a clock that look alike", "1:00 slash at 3:20 in the 2nd",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 60, Period: 2, Clock: 200}}}},
		{"in words", "slashing, one minute, three twenty left in the second",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 60, Period: 2, Clock: 200}}}},
		{"time left is a clock", "a minute for tripping, goes in w/ ten seconds left in the 1st quarter",
			Story{Penalties: []Told{{Foul: "tripping", LengthS: 60, Period: 1, Clock: 10}}, Quarters: true}},
		{"a goal is theirs, a clock each", "two minute slash from 3:00 in the first, goal by THEM at 1:45",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 120, Period: 1, Clock: 180}}, Goals: []Scored{{By: Theirs, Period: 1, Clock: 105}}}},
		{"got scored on", "hold from 8:00 of the 2nd, we got scored on at 7:45",
			Story{Penalties: []Told{{Foul: "holding", Period: 2, Clock: 480}}, Goals: []Scored{{By: Theirs, Period: 2, Clock: 465, Past: true}}}},
		{"a goal in the next period", "slash, 2 min, 0:50 left in the 1st and then they score with 11:30 on the clock",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 120, Period: 1, Clock: 50}}, Goals: []Scored{{By: Theirs, Period: 2, Clock: 690}}}},
		{"whose is said before and after", "our #4 a minute for slashing, #9 of theirs thirty seconds for pushing, same restart at 6:00 in the 2nd",
			Story{Penalties: []Told{{Who: "4", Team: Ours, Foul: "slashing", LengthS: 60, Period: 2, Clock: 360}, {Who: "9", Team: Theirs, Foul: "pushing", LengthS: 30, Period: 2, Clock: 360}}}},
		{"labels", "B1 two minutes slashing, A2 one minute slashing, 10:00 left in the 1st. A scores at 9:20 and at 8:40",
			Story{Penalties: []Told{{Who: "B1", Team: TeamB, Foul: "slashing", LengthS: 120, Period: 1, Clock: 600}, {Who: "A2", Team: TeamA, Foul: "slashing", LengthS: 60, Period: 1, Clock: 600}},
				Goals: []Scored{{By: TeamA, Period: 1, Clock: 560}, {By: TeamA, Period: 1, Clock: 520}}}},
		{"four of one kind", "four 30 sec technicals on us 8:00 in the 2nd: #1 #2 #3 #4",
			Story{Penalties: []Told{
				{Who: "1", Team: Ours, Technical: true, LengthS: 30, Period: 2, Clock: 480}, {Who: "2", Team: Ours, Technical: true, LengthS: 30, Period: 2, Clock: 480},
				{Who: "3", Team: Ours, Technical: true, LengthS: 30, Period: 2, Clock: 480}, {Who: "4", Team: Ours, Technical: true, LengthS: 30, Period: 2, Clock: 480}}}},
		{"clocks of their own", "#7 slash one minute at 5:00 of the 2nd, #10 hold 30 seconds at 4:40",
			Story{Penalties: []Told{{Who: "7", Foul: "slashing", LengthS: 60, Period: 2, Clock: 300}, {Who: "10", Foul: "holding", LengthS: 30, Period: 2, Clock: 280}}}},
		{"one player's two", "#12: slash 1:00 plus unsportsmanlike 1:00, from 7:00 of the third",
			Story{Penalties: []Told{{Who: "12", Foul: "slashing", LengthS: 60, Period: 3, Clock: 420}, {Who: "12", Foul: "unsportsmanlike-conduct", LengthS: 60, Period: 3, Clock: 420}}}},
		{"numbers that are no part of it", "4:00 pm on field 3, score 5-4, our #12 slashes with 2:00 left in the third, one minute",
			Story{Penalties: []Told{{Who: "12", Team: Ours, Foul: "slashing", LengthS: 60, Period: 3, Clock: 120}}}},
		{"a slip mended", "stalling? no it was a hold, thirty seconds, at eleven forty in the second",
			Story{Penalties: []Told{{Foul: "holding", LengthS: 30, Period: 2, Clock: 700}}}},
		{"releasable is asked, not said", "illegal crosse at 8:00 in the 1st. when's he out and is it releasable",
			Story{Penalties: []Told{{Foul: "illegal-crosse", Period: 1, Clock: 480}}}},
		{"releasable is said", "3 min non releasable with 1:10 left in the third",
			Story{Penalties: []Told{{LengthS: 180, Locked: SaidYes, Period: 3, Clock: 70}}}},
		{"nobody scored", "slash, one minute, 5:00 of the fourth, nobody scores",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 60, Period: 4, Clock: 300}}, NoGoal: true}},
		{"periods with their length", "we play 10 minute quarters. one minute slash at 0:20 in the 2nd",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 60, Period: 2, Clock: 20}}, PeriodS: 600, Quarters: true}},
		{"Spanish", "slash de un minuto a los 3:20 del segundo cuarto y nos anotan a 3:00, ¿cuándo regresa?",
			Story{Penalties: []Told{{Foul: "slashing", LengthS: 60, Period: 2, Clock: 200}}, Goals: []Scored{{By: Theirs, Period: 2, Clock: 180}}, Quarters: true}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			q := r.Read(tc.text, "")
			got, ok := q.Story(q.Whole())
			if !ok {
				t.Fatal("no story")
			}
			got.extend = false
			if len(got.Goals) == 0 {
				got.Goals = nil
			}
			if !reflect.DeepEqual(*got, tc.want) {
				t.Errorf("%q\n got %+v\nwant %+v", tc.text, *got, tc.want)
			}
		})
	}
}

func TestNoStory(t *testing.T) {
	t.Parallel()
	r := storyRecogniser(t)
	for _, text := range []string{"", "what length for a U11 defender?", "thunder at 6:12 pm", "is #12 allowed to wear a visor"} {
		q := r.Read(text, "")
		if st, ok := q.Story(q.Whole()); ok && len(st.Penalties) > 0 && st.Penalties[0].Clock != NoClock {
			t.Errorf("%q: %+v", text, st)
		}
	}
}

// TestStoryOver follows one conversation about a penalty.
func TestStoryOver(t *testing.T) {
	t.Parallel()
	r := storyRecogniser(t)
	var st *Story
	tell := func(text string) {
		t.Helper()
		q := r.Read(text, "")
		now, ok := q.Story(q.Whole())
		if !ok {
			t.Fatalf("%q: no story", text)
		}
		st = now.Over(st)
	}
	tell("slash at 4:15 third. when can he return")
	tell("2 min")
	tell("they scored with 3:00 left")
	want := Story{Penalties: []Told{{Foul: "slashing", LengthS: 120, Period: 3, Clock: 255}}, Goals: []Scored{{By: Theirs, Period: 3, Clock: 180, Past: true}}}
	if !reflect.DeepEqual(*st, want) {
		t.Errorf("after the goal:\n got %+v\nwant %+v", *st, want)
	}
	tell("oh wait ref says it was unsportsmanlike not a slash")
	if p := st.Penalties[0]; p.Foul != "unsportsmanlike-conduct" || p.LengthS != 120 || len(st.Goals) != 1 {
		t.Errorf("after the change of the foul: %+v", *st)
	}
	before := len(st.Penalties)
	tell("one minute trip at 2:00 in the fourth")
	if len(st.Penalties) != before || st.Penalties[0].Clock != 120 || len(st.Goals) != 0 {
		t.Errorf("a new story: %+v", *st)
	}
}

// FuzzStory holds the reader to what a story can be, whatever is written.
func FuzzStory(f *testing.F) {
	for _, s := range []string{
		"#4 of ours a minute for slashing, their #9 thirty seconds for pushing, same restart at 6:00 in the 2nd",
		"A1 2:00 slash, A2 0:30 hold, B1 1:00 slash, all off the same restart at 9:00 in the 2nd, no goals",
		"four 30 second holds, numbers 5, 6, 7 and 8", "los dos equipos un minuto por rudeza a 5:00", "#", "1:00 1:00 1:00", "a 1 b 2 scores", "second overtime 3 20 left",
	} {
		f.Add(s, "")
		f.Add(s, "es")
	}
	r := storyRecogniser(f)
	f.Fuzz(func(t *testing.T, text, lang string) {
		if lang != "es" && lang != "en" {
			lang = ""
		}
		q := r.Read(text, lang)
		for _, s := range []Scope{q.Whole(), {1, len(q.toks) - 1}, {len(q.toks) / 2, len(q.toks) + 5}} {
			st, ok := q.Story(s)
			if !ok {
				continue
			}
			again, _ := q.Story(s)
			if !reflect.DeepEqual(st, again) {
				t.Fatalf("two readings of %q differ: %+v, %+v", text, st, again)
			}
			for _, p := range st.Penalties {
				if p.LengthS < 0 || p.LengthS > longestTold || p.Clock < FullClock || p.Period < 0 || p.Team > TeamB || p.Foul != "" && p.Technical {
					t.Fatalf("%q: penalty %+v", text, p)
				}
			}
			for _, g := range st.Goals {
				if g.Clock < FullClock || g.Period < 0 || g.AfterS < 0 || g.By > TeamB {
					t.Fatalf("%q: goal %+v", text, g)
				}
			}
			over := st.Over(&Story{Penalties: []Told{{Who: "4", LengthS: 60, Period: 1, Clock: 100}}})
			if len(over.Penalties) == 0 {
				t.Fatalf("%q: a story lost its penalties: %+v", text, over)
			}
		}
	})
}
