package bot

import (
	"crypto/sha256"
	"encoding/hex"
	"log/slog"
	"time"

	"sidewall/answers/answer"
)

// Observer is told what the bot does, in names of the bot's own and in lengths of
// time: never what was asked, nor by whom. It is called from several goroutines
// and must return at once.
type Observer interface {
	// Taken tells of an event that is for the bot; err says why it could not be
	// kept, so that its platform has to send it again.
	Taken(platform string, err error)
	// Stage tells how long a stage took: accept, those of the pipeline, finish.
	// err says that what was to be kept could not be kept.
	Stage(name string, took time.Duration, err error)
	// Waits tells that a platform did not take an answer, which is tried again.
	Waits(platform string)
	// Finished tells what became of an event, and how long after it was accepted.
	Finished(platform string, became State, g Given, took time.Duration)
}

// Given names an answer; it is empty where the bot said something of its own, or
// nothing.
type Given struct{ Topic, Kind, Verdict string }

func given(a *answer.Answer) Given { return Given{a.Topic, a.Kind, a.Verdict} }

// The stages outside the pipeline, which write to the store.
const (
	StageAccept = "accept" // keeping it, before its chat is told that it was received
	StageFinish = "finish" // keeping what became of it
)

// StageNames are the stages that an Observer hears of, in their order.
func StageNames() []string {
	out := []string{StageAccept}
	for _, s := range stages {
		out = append(out, s.name)
	}
	return append(out, StageFinish)
}

// silence is the observer where there is none.
type silence struct{}

func (silence) Taken(string, error)                          {}
func (silence) Stage(string, time.Duration, error)           {}
func (silence) Waits(string)                                 {}
func (silence) Finished(string, State, Given, time.Duration) {}

func (s State) String() string {
	switch s {
	case Unseen:
		return "unseen"
	case InHand:
		return "in hand"
	case Replied:
		return "replied"
	case Silent:
		return "silent"
	case Failed:
		return "failed"
	case Withdrew:
		return "withdrew"
	}
	return "unknown"
}

// id names a job in the log: a short request id, which is the same after a
// restart and on each retry, and the key that it is made of.
func (j *job) id() slog.Attr {
	sum := sha256.Sum256([]byte(j.key))
	return slog.Attr{Value: slog.GroupValue(slog.String("request", hex.EncodeToString(sum[:6])), slog.String("key", j.key))}
}

// finished tells the log and the observer what became of a job.
func (b *Bot) finished(j *job) {
	took := max(0, b.clock.Now().Sub(j.at)) // clocks can go back
	b.o.Observer.Finished(j.ev.Platform, j.done.State, j.given, took)
	if j.done.State == Silent {
		return // why was said
	}
	attrs := []any{j.id(), "chat", j.ev.Platform, "event", j.ev.Kind, "became", j.done.State.String(), "took", took.Round(time.Millisecond)}
	if g := j.given; g != (Given{}) {
		attrs = append(attrs, "topic", g.Topic, "answer", g.Kind, "verdict", g.Verdict)
	}
	b.log.Info("finished", attrs...)
}

// InHand is how many events were accepted and are not finished.
func (b *Bot) InHand() int { return b.lanes.count() }
