package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// jumpyClock is a wall clock that somebody sets while the bot runs.
type jumpyClock struct{ off atomic.Int64 }

func (c *jumpyClock) set(by time.Duration) { c.off.Add(int64(by)) }
func (c *jumpyClock) Now() time.Time       { return time.Now().Round(0).Add(time.Duration(c.off.Load())) }
func (*jumpyClock) AfterFunc(d time.Duration, f func()) func() bool {
	return time.AfterFunc(d, f).Stop
}

// TestClockJumps sets the clock at each moment at which it could hurt: nothing is
// lost, nothing is answered twice, nobody is kept out.
func TestClockJumps(t *testing.T) {
	const year = 365 * 24 * time.Hour
	moments := []struct {
		name   string
		change func(o *Options)
		do     func(t *testing.T, r *rig, jump func())
	}{
		{name: "while an answer waits", do: func(t *testing.T, r *rig, jump func()) {
			r.chat.before = func(n int, _ *Reply) (Again, error) {
				if n == 1 {
					return Again{Retry: true, After: time.Second}, errors.New("429")
				}
				return Again{}, nil
			}
			r.ask("can U11s body check?")
			jump()
			time.Sleep(2 * time.Second)
			synctest.Wait()
			r.want(1, "after the jump")
		}},
		{name: "before the first attempt fails", do: func(t *testing.T, r *rig, jump func()) {
			r.chat.before = func(n int, _ *Reply) (Again, error) {
				if n == 1 {
					jump()
					return Again{Retry: true}, errors.New("down")
				}
				return Again{}, nil
			}
			r.ask("can U11s body check?")
			time.Sleep(10 * time.Second)
			synctest.Wait()
			r.want(1, "after the jump")
		}},
		{name: "between an answer and its second delivery", do: func(t *testing.T, r *rig, jump func()) {
			r.bot.sweep()
			e := r.ask("can U11s body check?")
			time.Sleep(sweepEvery - time.Minute)
			jump()
			time.Sleep(2 * time.Minute) // a sweep comes by
			synctest.Wait()
			r.handle(e)
			r.want(1, "delivered twice")
		}},
		{name: "across a restart", do: func(t *testing.T, r *rig, jump func()) {
			r.chat.before = func(int, *Reply) (Again, error) { return Again{Retry: true, After: time.Hour}, errors.New("down") }
			e := r.ask("can U11s body check?")
			r.close()
			jump()
			r.chat.set(func() { r.chat.before = nil })
			r.open()
			synctest.Wait()
			r.handle(e)
			r.want(1, "by the next bot")
		}},
		{name: "in a conversation", do: func(t *testing.T, r *rig, jump func()) {
			first := r.ask("can U11s body check?")
			jump()
			r.do(Event{Text: Me + " and at U15?", Thread: first.Message})
			r.want(2, "it goes on")
		}},
		{name: "of somebody who asks too much", change: func(o *Options) { o.Rate = Rate{Questions: 2, Per: time.Minute} }, do: func(t *testing.T, r *rig, jump func()) {
			for range 4 {
				r.ask("can U11s body check?")
			}
			r.want(3, "two answers and a word about the rate")
			jump()
			time.Sleep(2 * time.Minute)
			r.ask("can U13s body check?")
			r.want(4, "the next minute")
		}},
	}
	for _, m := range moments {
		for _, by := range []time.Duration{year, -year, 3 * time.Hour, -3 * time.Hour} {
			t.Run(fmt.Sprintf("%s, by %v", m.name, by), func(t *testing.T) {
				clock := &jumpyClock{}
				inBubble(t, func(o *Options) {
					o.Clock = clock
					if m.change != nil {
						m.change(o)
					}
				}, func(t *testing.T, r *rig) {
					m.do(t, r, func() { clock.set(by) })
				})
			})
		}
	}
}

// TestSweepAfterAJump: what is too old goes with the sweep after the next one.
func TestSweepAfterAJump(t *testing.T) {
	clock := &jumpyClock{}
	inBubble(t, func(o *Options) { o.Clock = clock }, func(t *testing.T, r *rig) {
		r.bot.sweep()
		e := r.ask("can U11s body check?")
		clock.set(30 * 24 * time.Hour)
		state := func() State {
			s, err := r.store.State(t.Context(), e.Key())
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		time.Sleep(sweepEvery + time.Minute)
		synctest.Wait()
		if s := state(); s != Replied || !strings.Contains(r.log.String(), "the clock jumped") {
			t.Errorf("after one sweep: %v", s)
		}
		time.Sleep(sweepEvery)
		synctest.Wait()
		if s := state(); s != Unseen {
			t.Errorf("after two sweeps: %v", s)
		}
	})
}

// observed keeps what an observer is told.
type observed struct {
	mu   sync.Mutex
	said []string
	errs int
}

func (o *observed) note(what string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.said = append(o.said, what)
}

func (o *observed) Taken(platform string, err error) {
	if err != nil {
		o.mu.Lock()
		defer o.mu.Unlock()
		o.errs++
	}
}

func (o *observed) Stage(name string, took time.Duration, err error) {
	o.note(name)
	if took < 0 {
		o.note("negative")
	}
}

func (o *observed) Waits(platform string) { o.note("waits") }

func (o *observed) Finished(platform string, became State, g Given, took time.Duration) {
	o.note(fmt.Sprintf("%s %s %v %v", platform, became, g, took))
}

// TestObserver wants each thing told once, and each answer under its names.
func TestObserver(t *testing.T) {
	tests := []struct {
		name string
		do   func(r *rig)
		want string
	}{
		{"an answer", func(r *rig) { r.ask("can U11s body check?") },
			"accept gather understand permit rate answer send finish; fake replied {body-check check not_legal} 0s"},
		{"the bot's own words", func(r *rig) { r.ask("help") },
			"accept gather understand permit rate answer send finish; fake replied {  } 0s"},
		{"not for the bot", func(r *rig) { r.do(Event{Text: "see you at five"}) }, ""},
		{"a second delivery", func(r *rig) { r.handle(r.ask("can U11s body check?")) },
			"accept gather understand permit rate answer send finish; fake replied {body-check check not_legal} 0s; accept"},
		{"a platform that is busy", func(r *rig) {
			r.chat.before = func(n int, _ *Reply) (Again, error) {
				if n == 1 {
					return Again{Retry: true, After: 3 * time.Second}, errors.New("429")
				}
				return Again{}, nil
			}
			r.ask("can U11s body check?")
			time.Sleep(3 * time.Second)
			synctest.Wait()
		}, "accept gather understand permit rate answer waits send send finish; fake replied {body-check check not_legal} 3s"},
		{"a choice", func(r *rig) {
			e := r.ask("can they body check?")
			r.do(Event{Kind: Pressed, Of: e.Key(), Control: choicePrefix + "U11"})
		}, "accept gather understand permit rate answer send finish; fake replied {body-check clarify need} 0s; " +
			"accept gather understand permit rate answer send finish; fake replied {body-check check not_legal} 0s"},
		{"a platform that refuses", func(r *rig) {
			r.chat.before = func(int, *Reply) (Again, error) { return Again{}, errors.New("no such channel") }
			r.ask("can U11s body check?")
		}, "accept gather understand permit rate answer send finish; fake failed {body-check check not_legal} 0s"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := &observed{}
			inBubble(t, func(opt *Options) { opt.Observer = o; opt.Workers = 1 }, func(t *testing.T, r *rig) {
				tt.do(r)
				synctest.Wait()
				if got, want := strings.Join(o.said, " "), strings.ReplaceAll(tt.want, ";", ""); got != want {
					t.Errorf("it is told\n%s\nwant\n%s", got, want)
				}
			})
		})
	}
}

// TestObserverHearsOfWhatIsNotKept and the log names the event by its request id.
func TestObserverHearsOfWhatIsNotKept(t *testing.T) {
	o := &observed{}
	inBubble(t, func(opt *Options) { opt.Observer = o }, func(t *testing.T, r *rig) {
		_ = r.bot.Close(t.Context())
		dying := &dyingStore{Store: r.store}
		r.start(dying)
		dying.dead.Store(true)
		if err := r.bot.Handle(context.Background(), r.event(Event{Text: Me + " can U11s body check?"})); err == nil || o.errs != 1 {
			t.Errorf("%v, told %d times", err, o.errs)
		}
		dying.dead.Store(false)
		r.ask("can U13s body check?")
		for _, want := range []string{"request=", "became=replied", "topic=body-check"} {
			if !strings.Contains(r.log.String(), want) {
				t.Errorf("the log lacks %q:\n%s", want, r.log.String())
			}
		}
		if strings.Contains(r.log.String(), "body check?") || strings.Contains(r.log.String(), "ann") {
			t.Error("the log says who asked, or what")
		}
	})
}
