package bot

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/lang"
	"sidewall/answers/measure"
)

// Desk is what the bot asks; *answers.Desk is one.
type Desk interface {
	Ask(ctx context.Context, req answers.Request, thread *answers.Thread) (*answer.Answer, error)
	Book() *book.Book
	Topics() []answers.Topic
	Named(text string) (division, position string)
	Known(word string) bool
}

// Channel is a channel that the settings bind to a division and position.
type Channel struct{ ID, Division, Position string }

// Rate is how many questions a person may ask in a span of time; zero is no limit.
type Rate struct {
	Questions int
	Per       time.Duration
}

// Options are what a bot is made of. Desk, Store and Adapters have to be given.
type Options struct {
	Desk     func() Desk // the desk of now: it is asked for each question, so that a book can be swapped
	Store    Store
	Adapters []Adapter
	Log      *slog.Logger // never told a question's text, nor who asked it
	Observer Observer     // nil for none
	Clock    Clock

	Admins   func() []string // who may bind channels, by the platform's id, or "slack:U0123"
	Channels []Channel
	Lang     string       // of every answer; "" finds it from the words
	Date     measure.Date // the day the rules must hold on; 0 is today

	Editor       Editor         // changes the book for admins; nil: nobody can
	Confirm      int            // how many admins have to publish a change; 1
	AdminChannel string         // where admins are told things, with the platform before it ("slack:C0123"); "": nowhere
	Zone         *time.Location // where the club plays; nil: the machine's

	Workers  int           // how many are answered side by side; 8
	Queue    int           // how many may wait; 10000
	Deadline time.Duration // for one stage of one event; 15 s
	Drain    time.Duration // how long Run finishes what is in hand when it ends; 20 s
	GiveUp   time.Duration // how long a platform that fails is tried; 2 h
	Rate     Rate

	Threads   time.Duration // how long a conversation's facts are kept; 12 h
	Turns     int           // how many of its last questions count; 8
	Seen      time.Duration // how long finished events are known; 7 days
	Retention time.Duration // how long open questions and the places of answers are kept; 180 days
}

func (o *Options) fill() error {
	switch {
	case o.Desk == nil:
		return errors.New("make the bot: no desk is given")
	case o.Store == nil:
		return errors.New("make the bot: no store is given")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Observer == nil {
		o.Observer = silence{}
	}
	if o.Clock == nil {
		o.Clock = realClock{}
	}
	if o.Zone == nil {
		o.Zone = time.Local
	}
	def(&o.Workers, 8)
	def(&o.Queue, 10000)
	def(&o.Turns, 8)
	def(&o.Deadline, 15*time.Second)
	def(&o.Drain, 20*time.Second)
	def(&o.GiveUp, 2*time.Hour)
	def(&o.Threads, 12*time.Hour)
	def(&o.Seen, 7*24*time.Hour)
	def(&o.Retention, 180*24*time.Hour)
	return nil
}

func def[T int | time.Duration](v *T, d T) {
	if *v <= 0 {
		*v = d
	}
}

// Bot is a conversation, whatever carries it. See the package's explanation.
type Bot struct {
	o        Options
	store    Store
	log      *slog.Logger
	clock    Clock
	adapters map[string]Adapter
	people   people
	texts    *lang.Texts
	lanes    *lanes
	rates    *rates
	editing  *Editing                 // nil where there is no editor
	named    atomic.Pointer[[]string] // admins that were named, hashed
	naming   sync.Mutex
	forms    sync.WaitGroup // that are worked on

	ctx    context.Context // of everything in hand; ends when the bot may wait no longer
	cancel context.CancelFunc
	closed atomic.Bool
	close  sync.Once
	closeE error
	sweepM sync.Mutex
	unplan func() bool // stops the next sweep
	swept  time.Time   // when the last sweep was, by the wall clock; under sweepM
}

// Errors of Handle. The event was not received: the platform has to send it again.
var (
	ErrClosed = errors.New("the bot is shutting down")
	ErrBusy   = errors.New("too many events wait")
)

// New makes a bot and takes up what an earlier one left unanswered. Nothing is
// answered before Run.
func New(o Options) (*Bot, error) {
	if err := o.fill(); err != nil {
		return nil, err
	}
	b := &Bot{o: o, store: o.Store, log: o.Log, clock: o.Clock, adapters: map[string]Adapter{}, rates: newRates(o.Rate)}
	for _, a := range o.Adapters {
		if b.adapters[a.Platform()] != nil {
			return nil, fmt.Errorf("make the bot: two adapters for %s", a.Platform())
		}
		b.adapters[a.Platform()] = a
	}
	var err error
	if b.texts, err = lang.Load(); err != nil {
		return nil, fmt.Errorf("make the bot: %w", err)
	}
	b.ctx, b.cancel = context.WithCancel(context.Background())
	if b.people, err = loadPeople(b.ctx, b.store); err != nil {
		b.cancel()
		return nil, fmt.Errorf("make the bot: %w", err)
	}
	b.editing = b.newEditing()
	if err := b.loadAdmins(b.ctx); err != nil {
		b.cancel()
		return nil, fmt.Errorf("make the bot: %w", err)
	}
	b.lanes = newLanes(b.clock, b.work)
	if lost := b.store.Lost(); lost != "" {
		b.log.Error("the state file was broken; a new one was begun", "set_aside", lost)
	}
	if err := b.recover(b.ctx); err != nil {
		b.cancel()
		return nil, fmt.Errorf("make the bot: %w", err)
	}
	return b, nil
}

// recover takes up what an earlier bot accepted and did not finish.
func (b *Bot) recover(ctx context.Context) error {
	left, err := b.store.Unfinished(ctx)
	if err != nil {
		return err
	}
	for i := range left {
		p := &left[i]
		if b.adapters[p.Event.Platform] == nil {
			b.log.Warn("an event waits for a platform that is not set up", "key", p.Key)
			continue
		}
		b.lanes.add(&job{ev: p.Event, key: p.Key, conversation: p.Conversation, ord: p.Ord, at: p.At, person: p.Person, recovered: true})
	}
	if len(left) > 0 {
		b.log.Info("events of an earlier run are taken up", "count", len(left))
	}
	return nil
}

// Run answers until ctx ends; then it takes nothing new and finishes what is in
// hand, for as long as Options.Drain allows.
func (b *Bot) Run(ctx context.Context) error {
	if b.closed.Load() {
		return ErrClosed
	}
	b.lanes.start(b.o.Workers)
	b.sweep()
	select {
	case <-ctx.Done():
	case <-b.ctx.Done():
	}
	drain, cancel := context.WithTimeout(context.WithoutCancel(ctx), b.o.Drain)
	defer cancel()
	return b.Close(drain)
}

// Close takes nothing new, finishes what is in hand for as long as ctx allows,
// and stops. What could not be finished stays in the store and is answered by
// the next bot; the error says how much that is. The store stays open.
func (b *Bot) Close(ctx context.Context) error {
	b.close.Do(func() {
		b.closed.Store(true)
		b.sweepM.Lock()
		if b.unplan != nil {
			b.unplan()
			b.unplan = nil
		}
		b.sweepM.Unlock()
		select {
		case <-b.lanes.idle():
		case <-ctx.Done():
		}
		b.cancel()
		b.forms.Wait()
		b.lanes.stop()
		if n := b.lanes.count(); n > 0 {
			b.closeE = fmt.Errorf("%d events wait for the next start", n)
		}
	})
	return b.closeE
}

// sweepEvery is how often what is too old is deleted.
const sweepEvery = time.Hour

// sweep deletes what is too old, and plans the next sweep.
func (b *Bot) sweep() {
	if b.jumped() {
		b.log.Warn("the clock jumped, or the machine slept; what is too old is deleted with the next sweep", "in", sweepEvery)
	} else if err := b.Sweep(b.ctx); err != nil && b.ctx.Err() == nil {
		b.log.Error("what is too old could not be deleted", "error", err)
	}
	b.sweepM.Lock()
	defer b.sweepM.Unlock()
	if !b.closed.Load() {
		b.unplan = b.clock.AfterFunc(sweepEvery, b.sweep)
	}
}

// jumped says whether the clock went on since the last sweep as it should not.
// What was finished a moment ago would then look old, and would be answered again
// when its platform sends it again; an hour later nobody does that any more.
func (b *Bot) jumped() bool {
	now := b.clock.Now().Round(0) // the wall clock's time alone
	b.sweepM.Lock()
	defer b.sweepM.Unlock()
	last := b.swept
	b.swept = now
	return !last.IsZero() && (now.Before(last) || now.Sub(last) > 2*sweepEvery)
}

// Sweep deletes what is older than it may be. Questions that were asked back and
// never completed become open questions then, and the admins are told of the
// week's open questions when that is due.
func (b *Bot) Sweep(ctx context.Context) error {
	now := b.clock.Now()
	threads := now.Add(-b.o.Threads)
	idle, err := b.store.Idle(ctx, threads)
	if err != nil {
		return err
	}
	for i := range idle {
		if idle[i].Verdict != answer.Need {
			continue
		}
		if err := b.store.Miss(ctx, b.unended(&idle[i])); err != nil {
			return err
		}
	}
	swept := b.store.Sweep(ctx, Before{
		Events: now.Add(-b.o.Seen), Threads: threads,
		Answers: now.Add(-b.o.Retention), Missed: now.Add(-b.o.Retention),
	})
	return errors.Join(swept, b.weekly(ctx))
}
