package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"sidewall/answers/answer"
)

// dyingStore is a store of a process that dies at a certain moment: from then on
// nothing reaches the file.
type dyingStore struct {
	Store
	dead atomic.Bool
}

var errDead = errors.New("the process is dead")

func (s *dyingStore) Accept(ctx context.Context, p *Pending) (State, error) {
	if s.dead.Load() {
		return Unseen, errDead
	}
	return s.Store.Accept(ctx, p)
}

func (s *dyingStore) Finish(ctx context.Context, d *Done) error {
	if s.dead.Load() {
		return errDead
	}
	return s.Store.Finish(ctx, d)
}

// TestCrash lets the process die at each moment of an event's way, and wants one
// answer from the next one, whether or not the platform sends the event again.
func TestCrash(t *testing.T) {
	moments := map[string]struct {
		arrange  func(r *rig, s *dyingStore)
		accepted bool // Handle gave nil: the platform was told
	}{
		"before it was accepted": {func(_ *rig, s *dyingStore) { s.dead.Store(true) }, false},
		"after it was accepted": {func(r *rig, s *dyingStore) {
			r.chat.before = func(int, *Reply) (Again, error) {
				s.dead.Store(true)
				return Again{Retry: true}, errDead
			}
		}, true},
		"after it was posted": {func(r *rig, s *dyingStore) {
			r.chat.after = func(int, *Reply) (Again, error) { s.dead.Store(true); return Again{}, nil }
		}, true},
		"while waiting for the platform, which posted it": {func(r *rig, s *dyingStore) {
			r.chat.after = func(int, *Reply) (Again, error) {
				s.dead.Store(true)
				return Again{Unknown: true}, errors.New("connection reset")
			}
		}, true},
	}
	for name, m := range moments {
		for _, retry := range []bool{true, false} {
			if !retry && !m.accepted {
				continue // the platform was never told, so it does send it again
			}
			t.Run(fmt.Sprintf("%s, retry %v", name, retry), func(t *testing.T) {
				inBubble(t, nil, func(t *testing.T, r *rig) {
					_ = r.bot.Close(t.Context())
					dying := &dyingStore{Store: r.store}
					r.start(dying)
					m.arrange(r, dying)
					e := r.event(Event{Text: Me + " can U11s body check?"})
					if err := r.bot.Handle(t.Context(), e); (err == nil) != m.accepted {
						t.Fatalf("accepted: %v", err)
					}
					synctest.Wait()
					dying.dead.Store(true)
					r.close()
					r.chat.before, r.chat.after = nil, nil
					r.open()
					synctest.Wait()
					if retry {
						r.handle(e)
					}
					r.want(1, "after the crash")
					if state, err := r.store.State(t.Context(), e.Key()); err != nil || state != Replied {
						t.Errorf("state %d, %v", state, err)
					}
					r.do(Event{Text: "and at U13?", Thread: e.Message})
					r.want(2, "the conversation goes on")
				})
			})
		}
	}
}

// TestCrashInAConversation: what was in hand is answered in order.
func TestCrashInAConversation(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.chat.before = func(int, *Reply) (Again, error) { return Again{Retry: true, After: time.Hour}, errors.New("down") }
		first := r.ask("U11 attack, 45-inch stick?")
		r.do(Event{Text: "and 41?", Thread: first.Message})
		r.do(Event{Text: "and 50?", Thread: first.Message})
		r.do(Event{Kind: Edited, Message: first.Message, Text: Me + " U11 attack, 46-inch stick?"})
		r.want(0, "the platform is down")
		r.close()
		r.chat.set(func() { r.chat.before = nil })
		r.open()
		synctest.Wait()
		r.want(3, "after the restart")
		for i, want := range []string{"46", "41", "50"} {
			if got := r.chat.posts[i].reply.Headline; !strings.Contains(got, want) {
				t.Errorf("answer %d is %q, want %s", i, got, want)
			}
		}
	})
}

func TestRetriesOfEveryKind(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		// one post as a mention and as a message, each of them three times
		a := r.event(Event{Text: Me + " can U11s body check?", Message: "m"})
		b := a
		b.ID = "other"
		for range 3 {
			r.handle(a)
			r.handle(b)
		}
		r.want(1, "one post")
		time.Sleep(6 * 24 * time.Hour)
		synctest.Wait()
		r.handle(b)
		r.want(1, "days later")
		r.close()
		r.open()
		r.handle(a)
		r.want(1, "after a restart")
		if r.chat.finds != 0 {
			t.Errorf("the platform was asked %d times for what is known", r.chat.finds)
		}
		c := r.event(Event{Kind: Command, Text: "can U11s body check?"})
		r.handle(c)
		r.handle(c)
		r.want(2, "a command")
	})
}

func TestDeliveriesAtOnce(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		e := r.event(Event{Text: Me + " can U11s body check?"})
		for range 20 {
			go func() {
				if err := r.bot.Handle(context.Background(), e); err != nil {
					t.Error(err)
				}
			}()
		}
		synctest.Wait()
		r.want(1, "twenty deliveries at once")
	})
}

func TestConnectionBreaksWhileSending(t *testing.T) {
	for _, posted := range []bool{true, false} {
		t.Run(fmt.Sprintf("posted %v", posted), func(t *testing.T) {
			inBubble(t, nil, func(t *testing.T, r *rig) {
				broken := func(n int, _ *Reply) (Again, error) {
					if n == 1 {
						return Again{Unknown: true}, errors.New("connection reset")
					}
					return Again{}, nil
				}
				if posted {
					r.chat.after = broken
				} else {
					r.chat.before = broken
				}
				r.ask("can U11s body check?")
				time.Sleep(2 * time.Second)
				synctest.Wait()
				r.want(1, "after the break")
				if r.chat.finds != 1 {
					t.Errorf("the platform was asked %d times", r.chat.finds)
				}
			})
		})
	}
}

func TestAdapterPanics(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.chat.before = func(n int, _ *Reply) (Again, error) {
			if n < 3 {
				panic("a bug of the adapter")
			}
			return Again{}, nil
		}
		// the fake's lock is held by the panic's way out, as its defer lets it go
		r.ask("can U11s body check?")
		time.Sleep(10 * time.Second)
		synctest.Wait()
		r.want(1, "after two panics")
		r.chat.set(func() { r.chat.before = func(int, *Reply) (Again, error) { panic("always") } })
		e := r.ask("can U13s body check?")
		time.Sleep(time.Minute)
		synctest.Wait()
		if state, _ := r.store.State(t.Context(), e.Key()); state != Failed {
			t.Errorf("state %d: it is tried for ever", state)
		}
	})
}

func TestGivesUpOnAPlatformThatStaysDown(t *testing.T) {
	inBubble(t, func(o *Options) { o.GiveUp = 10 * time.Minute }, func(t *testing.T, r *rig) {
		r.chat.before = func(int, *Reply) (Again, error) { return Again{Retry: true}, errors.New("down") }
		e := r.ask("can U11s body check?")
		time.Sleep(9 * time.Minute)
		synctest.Wait()
		if state, _ := r.store.State(t.Context(), e.Key()); state != InHand {
			t.Errorf("state %d after nine minutes", state)
		}
		sends := 0
		r.chat.set(func() { sends = r.chat.sends })
		if sends < 8 || sends > 40 {
			t.Errorf("%d attempts in nine minutes", sends)
		}
		time.Sleep(3 * time.Minute)
		synctest.Wait()
		if state, _ := r.store.State(t.Context(), e.Key()); state != Failed {
			t.Errorf("state %d after twelve", state)
		}
	})
}

func TestShutdownFinishesWhatIsInHand(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		down := true
		r.chat.before = func(int, *Reply) (Again, error) {
			if down {
				return Again{Retry: true, After: 5 * time.Second}, errors.New("429")
			}
			return Again{}, nil
		}
		ctx, cancel := context.WithCancel(t.Context())
		ran := make(chan error)
		go func() { ran <- r.bot.Run(ctx) }()
		r.ask("can U11s body check?")
		r.chat.set(func() { down = false })
		cancel()
		synctest.Wait()
		if err := r.bot.Handle(t.Context(), r.event(Event{Text: Me + " x"})); !errors.Is(err, ErrClosed) {
			t.Errorf("taken in while shutting down: %v", err)
		}
		if err := <-ran; err != nil {
			t.Errorf("run: %v", err)
		}
		r.want(1, "before it ended")
	})
}

func TestShutdownLeavesTheRestToTheNext(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		r.chat.before = func(int, *Reply) (Again, error) { return Again{Retry: true, After: time.Hour}, errors.New("down") }
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		r.ask("U11 attack, 45-inch stick?")
		began := time.Now()
		if err := r.bot.Run(ctx); err == nil || !strings.Contains(err.Error(), "1 events wait") {
			t.Errorf("run: %v", err)
		}
		if took := time.Since(began); took != r.bot.o.Drain {
			t.Errorf("it drained for %v", took)
		}
		r.chat.set(func() { r.chat.before = nil })
		r.close()
		r.open()
		synctest.Wait()
		r.want(1, "by the next bot")
		if a := r.last(); a.Verdict != answer.NotLegal {
			t.Errorf("%s", textOf(a))
		}
	})
}

func TestBusy(t *testing.T) {
	inBubble(t, func(o *Options) { o.Queue = 2 }, func(t *testing.T, r *rig) {
		r.chat.before = func(int, *Reply) (Again, error) { return Again{Retry: true, After: time.Minute}, errors.New("429") }
		first := r.ask("can U11s body check?")
		r.ask("can U13s body check?")
		third := r.event(Event{Text: Me + " can U15s body check?"})
		if err := r.bot.Handle(t.Context(), third); !errors.Is(err, ErrBusy) {
			t.Fatalf("%v", err)
		}
		r.handle(first) // a retry of what is in hand is no third event
		r.chat.set(func() { r.chat.before = nil })
		time.Sleep(time.Minute)
		synctest.Wait()
		r.handle(third)
		r.want(3, "when there is room")
	})
}

func TestLostStateAsksThePlatformFirst(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		e := r.ask("can U11s body check?")
		r.close()
		spoil(t, r.path)
		r.open()
		if r.store.Lost() == "" || !strings.Contains(r.log.String(), "set_aside") {
			t.Fatal("nobody was told of the broken file")
		}
		r.handle(e)
		r.want(1, "answered before the file broke")
		r.ask("can U13s body check?")
		r.want(2, "a new question")
	})
}

func TestUnknownPlatform(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, r *rig) {
		if err := r.bot.Handle(t.Context(), Event{Platform: "other"}); err == nil {
			t.Error("an event that nobody can answer was taken in")
		}
	})
}
