package bot

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// TestSilences names what gets no answer. Each case comes after one answered
// question in a thread of a channel, and one that nobody asked the bot.
func TestSilences(t *testing.T) {
	const q = "can U11s body check?"
	cases := map[string]struct {
		e   Event
		why string
	}{
		"own message":                       {Event{Text: Me + " " + q, Self: true}, "it is our own"},
		"own message in a direct talk":      {Event{Text: q, Direct: true, Self: true}, "it is our own"},
		"another bot":                       {Event{Text: Me + " " + q, Robot: true}, "another bot"},
		"talk in a channel":                 {Event{Text: q}, "nobody asked us"},
		"talk in a thread without us":       {Event{Text: q, Thread: "m-other"}, "a thread that is not ours"},
		"talk in our thread":                {Event{Text: "we play at nine on Saturday then", Thread: "m-asked"}, "talk in our thread"},
		"a question to somebody else":       {Event{Text: Somebody + " and at U13?", Thread: "m-asked"}, "it is for somebody else"},
		"mid-sentence mention":              {Event{Text: "yesterday I asked our " + Me + " about body checks"}, "a mention in mid-sentence"},
		"mid-sentence mention in a thread":  {Event{Text: "no no, the " + Me + " said so already", Thread: "m-asked"}, "a mention in mid-sentence"},
		"thanks":                            {Event{Text: "Thank you so much!", Thread: "m-asked"}, "thanks"},
		"thanks with a mention":             {Event{Text: Me + " thanks 🙏"}, "thanks"},
		"thanks in Spanish":                 {Event{Text: "¡Muchas gracias!", Direct: true}, "thanks"},
		"a picture in a direct talk":        {Event{Direct: true}, "no words"},
		"edited talk":                       {Event{Kind: Edited, Message: "m-talk", Text: q}, "a change of a message that was not for us"},
		"edited talk that now mentions us":  {Event{Kind: Edited, Message: "m-talk", Text: Me + " " + q, Mentioned: true}, "a change of a message that was not for us"},
		"an edit that changes no word":      {Event{Kind: Edited, Message: "m-asked", Text: Me + "  U11 attack, 45-inch stick?"}, "an edit that changes no word"},
		"an edit that leaves nothing":       {Event{Kind: Edited, Message: "m-asked", Text: Me}, "an edit that leaves no words"},
		"our own edit":                      {Event{Kind: Edited, Message: "m-asked", Text: "x", Self: true}, "it is our own"},
		"deleted talk":                      {Event{Kind: Deleted, Message: "m-talk"}, "a change of a message that was not for us"},
		"a reaction to somebody's message":  {Event{Kind: Pressed, Control: Number(1), Reply: Ref{Channel: "C1", Message: "m-talk"}}, "not a reply of ours"},
		"a number that was never offered":   {Event{Kind: Pressed, Control: Number(9), Reply: Ref{Channel: "C1", Message: "bot-1"}}, "a number that was not offered"},
		"a kind that nobody knows":          {Event{Kind: "joined"}, "an unknown kind of event"},
		"the same message in other channel": {Event{Kind: Deleted, Message: "m-asked", Channel: "C2"}, "a change of a message that was not for us"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			inBubble(t, nil, func(t *testing.T, r *rig) {
				r.do(Event{Message: "m-asked", Text: Me + " U11 attack, 45-inch stick?"})
				r.do(Event{Message: "m-talk", Text: "who brings the goals?"})
				r.want(1, "before")
				e := r.event(c.e)
				why, err := r.bot.ignore(t.Context(), &job{ev: e, key: e.Key()})
				if err != nil || why != c.why {
					t.Fatalf("ignored because %q (%v), want %q", why, err, c.why)
				}
				r.handle(e)
				r.want(1, "after")
				if left, err := r.store.Unfinished(t.Context()); err != nil || len(left) != 0 {
					t.Errorf("something of it was kept: %v, %v", left, err)
				}
				if state, _ := r.store.State(t.Context(), e.Key()); c.e.Kind == "" && state != Unseen {
					t.Errorf("of talk that is not for the bot a key was kept: state %d", state)
				}
			})
		})
	}
}

// TestAnswered names what does get an answer though it is near a silence.
func TestAnswered(t *testing.T) {
	const q = "can U11s body check?"
	cases := map[string]Event{
		"a mention first":                 {Text: Me + " " + q},
		"a mention behind a greeting":     {Text: "hey coach " + Me + ", " + q},
		"a mention at the end":            {Text: "is body checking legal at U11 " + Me},
		"a mention inside a question":     {Text: "we wanted to know from " + Me + " whether U11s can body check?"},
		"a mention beside the text":       {Text: q, Mentioned: true},
		"a direct message":                {Text: q, Direct: true},
		"a command":                       {Kind: Command, Text: q},
		"a mention in somebody's thread":  {Text: Me + " " + q, Thread: "m-other"},
		"a follow-up without a mention":   {Text: "and at U13?", Thread: "m-asked"},
		"a follow-up without a mark":      {Text: "what about 50", Thread: "m-asked"},
		"a follow-up by somebody else":    {Text: "and for a goalie?", Thread: "m-asked", Person: "bob"},
		"only the name":                   {Text: Me},
		"a thank you with a question too": {Text: Me + " thanks, and can they hold?"},
	}
	for name, e := range cases {
		t.Run(name, func(t *testing.T) {
			inBubble(t, nil, func(t *testing.T, r *rig) {
				r.do(Event{Message: "m-asked", Text: Me + " U11 attack, 45-inch stick?"})
				r.do(e)
				r.want(2, name)
			})
		})
	}
}

// TestOverheard: what is said to nobody in our thread is answered only where it
// is a question of ours, and leaves no open question behind.
func TestOverheard(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("U11 attack, 45-inch stick?")
		r.do(Event{Text: "and who brings oranges on Saturday?", Thread: asked.Message})
		r.want(1, "a question that is not ours")
		if open, _ := r.bot.OpenQuestions(t.Context(), time.Time{}); len(open) != 0 {
			t.Errorf("it became an open question: %+v", open)
		}
	})
}

func TestEditAfterThreadsLife(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("U11 attack, 45-inch stick?")
		time.Sleep(13 * time.Hour) // the bubble's own time
		synctest.Wait()
		before := r.chat.standing()[0]
		r.do(Event{Kind: Edited, Message: asked.Message, Text: Me + " U11 attack, 41-inch stick?"})
		if got := r.chat.standing()[0]; got != before {
			t.Errorf("a forgotten question's answer was changed: %s", got)
		}
	})
}

func TestNothingIsKeptOfTalk(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Text: "my son Thaddeus is ill"})
		s := r.store.(*SQLite)
		var n int
		if err := s.read.QueryRow("SELECT (SELECT count(*) FROM events) + (SELECT count(*) FROM turns)").Scan(&n); err != nil || n != 0 {
			t.Errorf("%d records, %v", n, err)
		}
		if strings.Contains(r.log.String(), "Thaddeus") {
			t.Error("the log has what was said")
		}
	})
}
