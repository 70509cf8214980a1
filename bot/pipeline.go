package bot

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"time"

	"sidewall/answers"
)

// job is an event on its way through the stages.
type job struct {
	ev           Event
	key          string
	conversation string
	ord          int64
	at           time.Time // when it was accepted
	recovered    bool      // an earlier bot may have answered it: look before posting
	skip         bool      // it was finished by somebody else

	person    string // hashed
	text      string // what was written, without the bot's name
	overheard bool   // written in one of our threads, to nobody: answered only where it is a question of ours
	answered  *Answered
	turns     []Turn
	wish      wish

	next     int // the stage that comes next
	attempts int // of that stage
	panics   int
	reply    *Reply
	given    Given // the answer in it
	view     *View
	do       action
	stands   Ref  // where the reply stands that is changed
	keeps    bool // the reply to a pressed control is one to come back to
	done     Done
}

// action is what the send stage has to do.
type action int

const (
	doNothing action = iota
	doSend
	doUpdate
	doRemove
	doShow
)

// step is what a stage says: go on, stop here, or come back later. It is a
// value, so that only the pipeline knows how events wait.
type step struct {
	kind  stepKind
	after time.Duration
	why   string // of a stop, for the log
}

type stepKind int

const (
	goOn stepKind = iota
	stopHere
	comeBack
)

func stop(why string) step           { return step{kind: stopHere, why: why} }
func later(after time.Duration) step { return step{kind: comeBack, after: after} }

// stage is one step of the pipeline. An error is the bot's own failure, or the
// end of ctx.
type stage struct {
	name string
	run  func(b *Bot, ctx context.Context, j *job) (step, error)
}

// sendStage is the last of the stages.
const sendStage = 5

// The stages that workers run. Ignore and seen come before them, in Handle: an
// event must be in the store before its platform is told that it was received.
var stages = [sendStage + 1]stage{
	{"gather", (*Bot).gather},
	{"understand", (*Bot).understand},
	{"permit", (*Bot).permit},
	{"rate", (*Bot).rate},
	{"answer", (*Bot).answer},
	{"send", (*Bot).send},
}

// Handle takes an event in. When it gives nil the event may be acknowledged: it
// needs no answer, or it is kept and will be answered. It returns before the
// answer is worked out.
func (b *Bot) Handle(ctx context.Context, ev Event) error {
	if b.closed.Load() {
		return ErrClosed
	}
	if b.adapters[ev.Platform] == nil {
		return fmt.Errorf("handle an event: there is no adapter for %q", ev.Platform)
	}
	j := &job{ev: ev, key: ev.Key(), at: b.clock.Now()}
	why, err := b.ignore(ctx, j)
	if err != nil {
		return fmt.Errorf("handle an event: %w", err)
	}
	if why != "" {
		b.log.Debug("silent", j.id(), "why", why)
		return nil
	}
	err = b.accept(ctx, j)
	b.o.Observer.Taken(ev.Platform, err)
	return err
}

// work runs a job's stages until one of them makes it wait. It is the one place
// where a panic ends: the person gets a plain sorry, and the next event is not
// touched.
func (b *Bot) work(j *job) (again time.Duration, done bool) {
	for j.next < len(stages) {
		s, err := b.guard(j)
		if err != nil {
			if b.ctx.Err() != nil { // shutting down: the next bot takes it up
				return time.Hour, false
			}
			s = b.failed(j, err)
		}
		switch s.kind {
		case goOn:
			j.next, j.attempts = j.next+1, 0
		case comeBack:
			j.attempts++
			return s.after, false
		case stopHere:
			b.log.Debug("silent", j.id(), "why", s.why)
			j.next, j.do, j.attempts = len(stages), doNothing, 0
		}
	}
	if j.skip {
		return 0, true
	}
	if j.done.State == Unseen {
		j.done.State = Silent
	}
	j.done.Key, j.done.At = j.key, b.clock.Now()
	if err := b.finish(j); err != nil {
		if b.ctx.Err() == nil {
			b.log.Error("what became of an event could not be kept", j.id(), "error", err)
		}
		j.attempts++
		return b.pause(j), false
	}
	b.finished(j)
	return 0, true
}

// finish has its own deadline: an answer that was posted at the last moment must
// be known as posted.
func (b *Bot) finish(j *job) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(b.ctx), b.o.Deadline)
	defer cancel()
	began := b.clock.Now()
	err := b.store.Finish(ctx, &j.done)
	b.o.Observer.Stage(StageFinish, b.clock.Now().Sub(began), err)
	return err
}

// panicked is a panic as an error. It holds no value of the panic that may be
// somebody's words.
type panicked struct {
	what  string
	stack []byte
}

func (p *panicked) Error() string { return "panic: " + p.what }

// guard runs a job's next stage with a deadline of its own, so that a sorry can
// still be sent when the answer took too long.
func (b *Bot) guard(j *job) (s step, err error) {
	ctx, cancel := context.WithTimeout(b.ctx, b.o.Deadline)
	defer cancel()
	began := b.clock.Now()
	defer func() {
		b.o.Observer.Stage(stages[j.next].name, b.clock.Now().Sub(began), nil)
		if p := recover(); p != nil {
			what := fmt.Sprintf("%T", p)
			if e, ok := p.(runtime.Error); ok {
				what = e.Error()
			}
			err = &panicked{what, debug.Stack()}
		}
	}()
	return stages[j.next].run(b, ctx, j)
}

// failed turns a failure of the bot's own into a plain sorry, or waits where the
// same may go well later.
func (b *Bot) failed(j *job, err error) step {
	var p *panicked
	attrs := []any{j.id(), "stage", stages[j.next].name, "error", err}
	if errors.As(err, &p) {
		j.panics++
		attrs = append(attrs, "stack", string(p.stack))
	}
	b.log.Error("an event failed", attrs...)
	if j.next == sendStage {
		if j.panics > 3 || b.tooOld(j) {
			j.done.State = Failed
			j.done.Turn = nil
			return stop("the platform fails")
		}
		j.recovered = true // it may have been posted
		return later(b.pause(j))
	}
	if j.ev.Kind == Deleted || j.overheard {
		j.done.State = Failed
		return stop("it failed")
	}
	b.say(j, func(w *words) string { return w.sorry })
	j.done.Turn, j.done.Missed, j.given = nil, nil, Given{}
	j.next = sendStage - 1 // the next stage is to send
	return step{}
}

// pause grows with each attempt that failed, and is not the same for all who wait.
func (b *Bot) pause(j *job) time.Duration {
	d := min(500*time.Millisecond<<min(j.attempts, 7), time.Minute)
	var sum uint32
	for i := 0; i < len(j.key); i++ {
		sum = sum*31 + uint32(j.key[i])
	}
	return d + d*time.Duration((sum+uint32(j.attempts)*7919)%256)/512
}

// say makes a plain reply of the bot's own words.
func (b *Bot) say(j *job, text func(w *words) string) {
	l := b.speak(j)
	r := b.newReply(j, l)
	r.Headline = text(wordsOf(l))
	b.reply(j, r)
}

// speak is the language of what the bot says of its own.
func (b *Bot) speak(j *job) string {
	for _, l := range []string{b.o.Lang, j.wish.lang, lastLang(j), j.ev.Lang} {
		if allWords[l] != nil {
			return l
		}
	}
	return "en"
}

func lastLang(j *job) string {
	if j.answered != nil {
		return j.answered.Lang
	}
	if n := len(j.turns); n > 0 {
		return j.turns[n-1].Lang
	}
	return ""
}

// newReply is an empty reply to a job's event.
func (b *Bot) newReply(j *job, lang string) *Reply {
	return &Reply{Key: j.key, EventID: j.ev.ID, Event: j.ev, Where: j.ev.where(), Lang: lang,
		Private: j.ev.Kind == Command, Revision: b.o.Desk().Book().Revision}
}

// reply sends r in answer to a job. An edit's takes the place of what stands; a
// control's is for the one who pressed it.
func (b *Bot) reply(j *job, r *Reply) {
	j.reply, j.do = r, doSend
	switch j.ev.Kind {
	case Edited:
		r.Key = j.ev.messageKey()
		if r.Where.Thread == "" {
			r.Where.Thread = j.ev.Message
		}
		if a := j.answered; a != nil {
			r.Private = a.Private
			b.replace(j, a)
		}
	case Pressed, Home:
		r.Private = true
	}
}

// replace makes the reply take the place of one that stands.
func (b *Bot) replace(j *job, a *Answered) {
	j.do, j.stands = doUpdate, a.Ref
	if a.Private && j.ev.Kind == Pressed && !j.ev.Reply.IsZero() {
		j.stands = j.ev.Reply
	}
}

var _ Desk = (*answers.Desk)(nil)
