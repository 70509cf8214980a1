package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
)

func TestAnswerReadsOnAPhone(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		for _, q := range []string{"U11 attack, 45-inch stick?", "can we body check?", "what does a U9 goalie need?", "can U13s body check and how long are their quarters?",
			"one-minute slash at 3:20 in the 2nd, U13: when is he back?", "snacks after the game", "tell me about quantum gravity", "¿puede un U11 usar un palo de 45 pulgadas?"} {
			e := r.ask(q)
			a := r.last()
			lines := 2 + len(a.Lines)
			if lines > 5 || a.Headline == "" || a.Caution == "" {
				t.Errorf("%q: %d lines, headline %q, caution %q", q, lines, a.Headline, a.Caution)
			}
			if strings.Contains(textOf(a), "\n\n") || a.Key != e.Key() || a.EventID != e.ID || a.Revision == "" || a.Where.Thread != e.Message || a.Private {
				t.Errorf("%q: %+v", q, a)
			}
			seen := map[string]bool{}
			for _, c := range append(append([]Control{}, a.Choices...), a.Controls...) {
				if seen[c.ID] || c.Label == "" || len(c.ID) > 200 {
					t.Errorf("%q: control %+v", q, c)
				}
				seen[c.ID] = true
			}
			if (a.Verdict == answer.Need) != (len(a.Choices) > 0) {
				t.Errorf("%q: verdict %s with %d choices", q, a.Verdict, len(a.Choices))
			}
		}
		r.ask("U11 attack, 45-inch stick?")
		a := r.last()
		if !strings.HasPrefix(a.Headline, "Not legal") || a.Verdict != answer.NotLegal || a.Lines[len(a.Lines)-1].Kind != Rule {
			t.Errorf("%+v", a)
		}
	})
}

func TestFollowUpsKeepFactsAndNewThreadsStartClean(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("U11 attack, 45-inch stick?")
		r.do(Event{Text: Me + " and at U13?", Thread: asked.Message})
		if a := r.last(); a.Verdict != answer.NotLegal || !strings.Contains(a.Headline, "U13") {
			t.Errorf("follow-up: %s", textOf(a))
		}
		r.ask("and at U13?")
		if a := r.last(); strings.Contains(a.Headline, "45") {
			t.Errorf("a new thread knew the old one: %s", textOf(a))
		}
		time.Sleep(12*time.Hour + time.Minute)
		r.do(Event{Text: Me + " and at U15?", Thread: asked.Message})
		if a := r.last(); strings.Contains(a.Headline, "45") {
			t.Errorf("a forgotten thread was known: %s", textOf(a))
		}
	})
}

func TestFactsOutliveARestart(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("U11 attack, 45-inch stick?")
		r.close()
		r.open()
		r.do(Event{Text: "and 41?", Thread: asked.Message})
		if a := r.last(); a.Verdict != answer.Legal || !strings.Contains(a.Headline, "U11") {
			t.Errorf("after a restart: %s", textOf(a))
		}
	})
}

func TestChoiceCompletesTheAnswerInPlace(t *testing.T) {
	ways := map[string]func(r *rig, asked Event) Event{
		"by its control": func(r *rig, asked Event) Event {
			return Event{Kind: Pressed, Control: r.last().Choices[1].ID, Of: asked.Key()}
		},
		"by a number as a reaction": func(r *rig, asked Event) Event {
			return Event{Kind: Pressed, Control: Number(2), Reply: Ref{Channel: "C1", Message: "bot-1"}}
		},
	}
	for name, press := range ways {
		t.Run(name, func(t *testing.T) {
			inBubble(t, nil, func(t *testing.T, r *rig) {
				asked := r.ask("attack, 39-inch stick?")
				if a := r.last(); a.Verdict != answer.Need || a.Choices[1].Label != "U11" {
					t.Fatalf("%+v", a)
				}
				e := r.event(press(r, asked))
				r.handle(e)
				r.handle(e) // a retry
				r.want(1, "completed in place")
				p := r.chat.posts[0]
				if len(p.history) != 1 || p.reply.Verdict != answer.Legal || !strings.Contains(p.reply.Headline, "U11") || p.reply.Key != asked.Key() || p.reply.Private {
					t.Errorf("%d changes, now %+v", len(p.history), p.reply)
				}
				r.do(Event{Text: "and 45?", Thread: asked.Message})
				if a := r.last(); a.Verdict != answer.NotLegal || !strings.Contains(a.Headline, "U11") {
					t.Errorf("the thread lost the choice: %s", textOf(a))
				}
			})
		})
	}
}

func TestTypedNumberChooses(t *testing.T) {
	for _, numbers := range []bool{true, false} {
		inBubble(t, nil, func(t *testing.T, r *rig) {
			r.chat.numbers = numbers
			asked := r.ask("attack, 39-inch stick?")
			r.do(Event{Text: "2", Thread: asked.Message})
			if got := r.posted() == 2 && r.last().Verdict == answer.Legal; got != numbers {
				t.Errorf("numbers shown: %v, taken as a choice: %v\n%s", numbers, got, r.chat.standing())
			}
		})
	}
}

func TestEditChangesTheAnswerInPlace(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("attack, 39-inch stick?")
		r.do(Event{Kind: Pressed, Control: choicePrefix + "U11", Of: asked.Key()})
		follow := r.do(Event{Text: Me + " and 41?", Thread: asked.Message})
		r.do(Event{Kind: Edited, Message: asked.Message, Text: Me + " U13 attack, 50-inch stick?"})
		r.want(2, "an edit posts nothing")
		if a := r.chat.posts[0].reply; !strings.Contains(a.Headline, "50") || !strings.Contains(a.Headline, "U13") || a.Key != asked.Key() {
			t.Errorf("the edited question's answer: %s", textOf(a))
		}
		r.do(Event{Kind: Edited, Message: follow.Message, Thread: asked.Message, Text: Me + " and 60?"})
		if a := r.chat.posts[1].reply; !strings.Contains(textOf(a), "U13") || !strings.Contains(a.Headline, "60") {
			t.Errorf("the edited follow-up's answer: %s", textOf(a))
		}
	})
}

func TestDeletedQuestionTakesItsAnswerAlong(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("tell me about quantum gravity")
		if open, _ := r.bot.OpenQuestions(t.Context(), time.Time{}); len(open) != 1 {
			t.Fatalf("open: %+v", open)
		}
		e := r.event(Event{Kind: Deleted, Message: asked.Message})
		r.handle(e)
		r.handle(e)
		r.handle(asked) // a late retry of what was taken away
		if left := r.chat.standing(); len(left) != 0 || len(r.chat.posts) != 1 {
			t.Errorf("left: %q", left)
		}
		if open, _ := r.bot.OpenQuestions(t.Context(), time.Time{}); len(open) != 0 {
			t.Errorf("open: %+v", open)
		}
	})
}

func TestBindings(t *testing.T) {
	const q = " can we body check?"
	inBubble(t, func(o *Options) { o.Channels = []Channel{{ID: "C9", Division: "U15"}} }, func(t *testing.T, r *rig) {
		say := func(e Event, want string) {
			t.Helper()
			r.do(e)
			if got := textOf(r.last()); !strings.Contains(got, want) {
				t.Errorf("%q got\n%s\nwant %q", e.Text, got, want)
			}
		}
		say(Event{Text: Me + q}, "Which age division")
		say(Event{Text: Me + " this channel is U11 attack", Person: "eve"}, "Only the club's admins")
		if !strings.Contains(r.log.String(), "refused") {
			t.Error("a refusal was not logged")
		}
		say(Event{Text: Me + q}, "Which age division")
		say(Event{Text: Me + " this channel is U12½ or so", Person: "boss"}, "I could not tell")
		say(Event{Text: Me + " This channel is U11 attack.", Person: "boss"}, "taken for U11 attack")
		say(Event{Text: Me + q}, "Taken for U11")
		say(Event{Text: Me + " what is this channel set to?"}, "taken for U11 attack")
		say(Event{Text: Me + " and U13: can they body check?"}, "U13")
		say(Event{Text: Me + " ¡Esta sala es U13!", Person: "boss"}, "se toma ahora como U13")
		say(Event{Text: Me + q, Channel: "C2"}, "Which age division")
		say(Event{Text: Me + q, Channel: "C9"}, "U15")
		say(Event{Text: Me + " unbind this channel", Channel: "C9", Person: "boss"}, "no longer")
		say(Event{Text: Me + q, Channel: "C9"}, "Which age division")

		say(Event{Text: "my team is U11 goalkeeper", Direct: true, Channel: "D1"}, "for U11 goalkeeper")
		say(Event{Text: q, Direct: true, Channel: "D1"}, "Taken for U11")
		say(Event{Text: q, Direct: true, Channel: "D2", Person: "bob"}, "Which age division")
		say(Event{Text: "this channel is U11", Direct: true, Channel: "D1", Person: "boss"}, "direct conversation")
		say(Event{Text: Me + " my team is U9"}, "write that to me directly")
		say(Event{Text: "olvida mi división", Direct: true, Channel: "D1"}, "Ya no tiene")
		say(Event{Text: "what's a legal stick, " + q, Direct: true, Channel: "D1"}, "")
	})
}

func TestDefaultInPendingConversationIsAnAnswer(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Text: "attack, 39-inch stick?", Direct: true})
		r.do(Event{Text: "my team is U11", Direct: true})
		if a := r.last(); a.Verdict != answer.Legal {
			t.Errorf("%s", textOf(a))
		}
	})
}

func TestDirectTalkGoesOnOnlyWhereItReadsLikeIt(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Text: "U11 attack, 45-inch stick?", Direct: true})
		follow := r.do(Event{Text: "and 41?", Direct: true})
		if a := r.last(); a.Verdict != answer.Legal {
			t.Errorf("%s", textOf(a))
		}
		r.do(Event{Text: "and 50?", Direct: true, Thread: follow.Message}) // the answer's own thread
		if a := r.last(); a.Verdict != answer.Legal || !strings.Contains(a.Headline, "50") {
			t.Errorf("%s", textOf(a))
		}
		r.do(Event{Text: "can we body check?", Direct: true})
		if a := r.last(); a.Verdict != answer.Need {
			t.Errorf("a new question kept the division: %s", textOf(a))
		}
	})
}

func TestControls(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		asked := r.ask("U11 attack, 45-inch stick? It is Thaddeus's, call 555-123-4567")
		var section string
		for _, c := range r.last().Controls {
			if strings.HasPrefix(c.ID, sectionPrefix) {
				section = c.ID
			}
		}
		r.do(Event{Kind: Pressed, Control: controlDetail, Of: asked.Key(), Back: "trigger"})
		r.do(Event{Kind: Pressed, Control: section, Of: asked.Key()})
		r.want(1, "views are beside the conversation")
		if len(r.chat.views) != 2 {
			t.Fatalf("%d views", len(r.chat.views))
		}
		whole := fmt.Sprint(r.chat.views[0].Blocks)
		for _, want := range []string{"youth layer", "replaces high school", "Source:", "Officials decide"} {
			if !strings.Contains(whole, want) {
				t.Errorf("the whole answer lacks %q: %s", want, whole)
			}
		}
		if v := r.chat.views[0]; v.Event.Back != "trigger" || v.Kind != Modal {
			t.Errorf("%+v", v)
		}
		if b := r.chat.views[1].Blocks; len(b) != 1 || !b[0].Markdown || len(b[0].Text) < 50 {
			t.Errorf("the section: %+v", b)
		}
		for range 2 { // pressing twice is one complaint
			r.do(Event{Kind: Pressed, Control: controlMissed, Of: asked.Key()})
		}
		if a := r.last(); !a.Private || a.Where.Person != "ann" || !strings.Contains(a.Headline, "noted") {
			t.Errorf("%+v", a)
		}
		open, err := r.bot.OpenQuestions(t.Context(), time.Time{})
		if err != nil || len(open) != 1 || open[0].Why != WhyMissed || open[0].Topic != "crosse-length" || open[0].Division != "U11" {
			t.Fatalf("open: %+v, %v", open, err)
		}
		for _, private := range []string{"Thaddeus", "555", "ann"} {
			if strings.Contains(open[0].Text+open[0].Person+open[0].Source, private) {
				t.Errorf("an open question holds %q: %+v", private, open[0])
			}
		}
		time.Sleep(13 * time.Hour)
		r.do(Event{Kind: Pressed, Control: controlDetail, Of: asked.Key()})
		if a := r.last(); !a.Private || !strings.Contains(a.Headline, "no longer remember") {
			t.Errorf("%+v", a)
		}
	})
}

func TestHelpIsMadeOfTheChecks(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		topics := testDesk(t).Topics()
		r.ask("help")
		if a := r.last(); a.Headline != allWords["en"].helpHead || len(a.Lines) > 4 || !strings.Contains(textOf(a), topics[0].Examples[0]) {
			t.Errorf("%s", textOf(a))
		}
		r.ask("ayuda")
		if a := r.last(); a.Lang != "es" || !strings.Contains(textOf(a), topics[0].ExamplesES[0]) {
			t.Errorf("%s", textOf(a))
		}
		for _, topic := range topics {
			r.ask("help " + strings.ReplaceAll(topic.ID, "-", " "))
			if a := r.last(); !strings.Contains(textOf(a), topic.Examples[0]) || 1+len(a.Lines) > 5 {
				t.Errorf("help %s: %s", topic.ID, textOf(a))
			}
		}
		r.do(Event{Kind: Home, Lang: "es"})
		v := r.chat.views[0]
		if v.Kind != HomePage || v.Lang != "es" || len(v.Blocks) != len(topics)+3 {
			t.Fatalf("%d blocks in %s", len(v.Blocks), v.Lang)
		}
		if all := fmt.Sprint(v.Blocks); !strings.Contains(all, "2027") || !strings.Contains(all, "boss") || !strings.Contains(all, testDesk(t).Book().Revision) {
			t.Errorf("home: %s", all)
		}
	})
}

func TestCommandIsPrivate(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Kind: Command, Text: "attack, 39-inch stick?", Back: "address"})
		a := r.last()
		if !a.Private || a.Where.Person != "ann" || a.Event.Back != "address" {
			t.Fatalf("%+v", a)
		}
		r.do(Event{Kind: Pressed, Control: a.Choices[1].ID, Of: a.Key, Reply: Ref{Channel: "C1", Message: "bot-1"}})
		if p := r.chat.posts[0]; len(p.history) != 1 || !p.reply.Private || p.reply.Verdict != answer.Legal {
			t.Errorf("%+v", p.reply)
		}
	})
}

func TestRate(t *testing.T) {
	inBubble(t, func(o *Options) { o.Rate = Rate{Questions: 2, Per: time.Minute} }, func(t *testing.T, r *rig) {
		for range 5 {
			r.ask("can U11s body check?")
		}
		r.want(3, "two answers and one word about it")
		r.do(Event{Text: Me + " can U11s body check?", Person: "bob"})
		r.want(4, "somebody else")
		time.Sleep(time.Minute)
		r.ask("can U11s body check?")
		r.want(5, "a minute later")
	})
}

func TestPanicAndDeadlineEndInASorry(t *testing.T) {
	secret := "zebra"
	change := func(o *Options) {
		d := o.Desk()
		o.Deadline, o.Workers = time.Second, 2
		o.Desk = func() Desk {
			return oddDesk{d, func(ctx context.Context, req answers.Request) error {
				switch {
				case strings.Contains(req.Text, "panic"):
					panic(req.Text)
				case strings.Contains(req.Text, "slow"):
					<-ctx.Done()
					return ctx.Err()
				}
				return nil
			}}
		}
	}
	inBubble(t, change, func(t *testing.T, r *rig) {
		r.ask("panic " + secret)
		if a := r.last(); a.Headline != allWords["en"].sorry || a.Verdict != "" {
			t.Errorf("%+v", a)
		}
		r.ask("slow " + secret)
		r.ask("can U11s body check?")
		r.want(2, "a slow question stops nobody")
		time.Sleep(time.Second)
		synctest.Wait()
		r.want(3, "the slow one gets its sorry")
		if a := r.last(); a.Headline != allWords["en"].sorry {
			t.Errorf("%s", textOf(a))
		}
		if log := r.log.String(); strings.Contains(log, secret) || !strings.Contains(log, "pipeline.go") {
			t.Errorf("the log has the question's text, or no stack: %s", log)
		}
	})
}

func TestRateLimitParksOnlyItsConversation(t *testing.T) {
	inBubble(t, func(o *Options) { o.Workers = 1 }, func(t *testing.T, r *rig) {
		limited := true
		r.chat.before = func(n int, a *Reply) (Again, error) {
			if limited && a.Where.Channel == "C1" {
				return Again{Retry: true, After: 30 * time.Second}, errors.New("429")
			}
			return Again{}, nil
		}
		first := r.ask("U11 attack, 45-inch stick?")
		r.do(Event{Text: Me + " and 41?", Thread: first.Message})
		r.do(Event{Text: Me + " can U11s body check?", Channel: "C2"})
		r.want(1, "the other channel, with one worker")
		time.Sleep(29 * time.Second)
		synctest.Wait()
		r.want(1, "before the time is over")
		r.chat.set(func() { limited = false })
		time.Sleep(time.Second)
		synctest.Wait()
		r.want(3, "after it")
		if a := r.last(); a.Verdict != answer.Legal || !strings.Contains(r.chat.posts[1].reply.Headline, "45") {
			t.Errorf("the order was lost: %v", r.chat.standing())
		}
	})
}

func TestRefusedForGood(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.chat.before = func(int, *Reply) (Again, error) { return Again{}, errors.New("channel_not_found") }
		e := r.ask("can U11s body check?")
		if state, _ := r.store.State(t.Context(), e.Key()); state != Failed || r.chat.sends != 1 {
			t.Errorf("state %d after %d attempts", state, r.chat.sends)
		}
	})
}

func TestForgetMe(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Text: "my team is U11", Direct: true})
		r.do(Event{Text: "tell me about quantum gravity", Direct: true})
		r.do(Event{Text: "forget me", Direct: true})
		if a := r.last(); a.Headline != allWords["en"].forgot {
			t.Errorf("%s", textOf(a))
		}
		open, _ := r.bot.OpenQuestions(t.Context(), time.Time{})
		if n, err := r.bot.Forget(t.Context(), "ann"); err != nil || n != 0 || len(open) != 0 {
			t.Errorf("left: %d, %v, %+v", n, err, open)
		}
	})
}

func TestPeopleAreHashed(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.do(Event{Text: Me + " attack, 39-inch stick?", Person: "U0VERYOWN"})
		r.do(Event{Text: "my team is U11", Person: "U0VERYOWN", Direct: true, Channel: "D1"})
		s := r.store.(*SQLite)
		for _, table := range []string{"events", "answered", "turns", "bindings", "missed"} {
			rows, err := s.read.Query("SELECT * FROM " + table)
			if err != nil {
				t.Fatal(err)
			}
			cols, _ := rows.Columns()
			for rows.Next() {
				vals := make([]any, len(cols))
				for i := range vals {
					vals[i] = new(any)
				}
				if err := rows.Scan(vals...); err != nil {
					t.Fatal(err)
				}
				for i := range vals {
					if strings.Contains(fmt.Sprintf("%s", *vals[i].(*any)), "U0VERYOWN") {
						t.Errorf("%s.%s names a person", table, cols[i])
					}
				}
			}
			if err := errors.Join(rows.Err(), rows.Close()); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func TestNeedWithoutAnEndBecomesAnOpenQuestion(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.ask("attack, 39-inch stick for Thaddeus?")
		done := r.ask("attack, 38-inch stick?")
		r.do(Event{Kind: Pressed, Control: choicePrefix + "U11", Of: done.Key()})
		time.Sleep(13 * time.Hour)
		if err := r.bot.Sweep(t.Context()); err != nil {
			t.Fatal(err)
		}
		open, err := r.bot.OpenQuestions(t.Context(), time.Time{})
		if err != nil || len(open) != 1 || open[0].Why != WhyNeed || !strings.Contains(open[0].Text, "39-inch") || strings.Contains(open[0].Text, "Thaddeus") {
			t.Errorf("open: %+v, %v", open, err)
		}
	})
}

func TestQuestionsWithoutAnAnswerAreKept(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		e := r.ask("tell me about quantum gravity")
		open, err := r.bot.OpenQuestions(t.Context(), time.Time{})
		if err != nil || len(open) != 1 || open[0].Why != WhyNone {
			t.Fatalf("open: %+v, %v", open, err)
		}
		r.do(Event{Kind: Edited, Message: e.Message, Text: Me + " can U11s body check?"})
		if open, _ = r.bot.OpenQuestions(t.Context(), time.Time{}); len(open) != 0 {
			t.Errorf("an edit found the answer, and it is still open: %+v", open)
		}
	})
}

func TestWorkingIsShownOnce(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		e := r.ask("can U11s body check?")
		r.handle(e)
		r.do(Event{Text: "who brings the goals?"})
		if len(r.chat.worked) != 1 || r.chat.worked[0].Thread != e.Message {
			t.Errorf("%+v", r.chat.worked)
		}
	})
}
