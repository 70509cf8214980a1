package bot

import (
	"context"
	"errors"
)

// send does what the stages before it decided, and notes where the reply stands.
// What the platform refuses for now waits, with its whole conversation behind it.
func (b *Bot) send(ctx context.Context, j *job) (step, error) {
	a := b.adapters[j.ev.Platform]
	var again Again
	var err error
	switch j.do {
	case doNothing:
		return step{}, nil
	case doSend:
		var ref Ref
		if ref, again, err = b.post(ctx, a, j); err == nil {
			b.stands(j, ref)
		}
	case doUpdate:
		if again, err = a.Update(ctx, j.stands, j.reply); err == nil {
			b.stands(j, j.stands)
		}
	case doRemove:
		again, err = a.Remove(ctx, j.stands)
	case doShow:
		again, err = a.Show(ctx, j.view)
	}
	if err == nil {
		j.done.State = Replied
		return step{}, nil
	}
	return b.sendFailed(j, again, err)
}

// post posts a reply, once: where it may stand already the platform is asked.
func (b *Bot) post(ctx context.Context, a Adapter, j *job) (Ref, Again, error) {
	if j.recovered {
		ref, found, again, err := a.Find(ctx, j.reply.Where, j.reply.Key)
		switch {
		case err != nil && (again.Retry || ctx.Err() != nil):
			return Ref{}, again, err
		case err != nil: // it may not be read: better a second answer than none
			b.log.Warn("the platform does not say whether an event is answered", j.id(), "error", err)
		case found:
			return ref, Again{}, nil
		}
		j.recovered = false
	}
	return a.Send(ctx, j.reply)
}

func (b *Bot) sendFailed(j *job, again Again, err error) (step, error) {
	if again.Unknown || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		j.recovered, again.Retry = true, true
	}
	if b.ctx.Err() != nil {
		return step{}, err
	}
	old := b.tooOld(j)
	if again.Retry && !old {
		wait := max(again.After, 0)
		if wait == 0 {
			wait = b.pause(j)
		}
		b.o.Observer.Waits(j.ev.Platform)
		b.log.Warn("the platform does not take an answer yet", j.id(), "attempt", j.attempts+1, "after", wait, "error", err)
		return later(wait), nil
	}
	b.log.Error("the platform refused an answer", j.id(), "old", old, "error", err)
	j.done.State, j.done.Turn, j.done.Answered = Failed, nil, nil
	return step{}, nil
}

// fewTries is how often an answer is tried however old it is: a clock that was put
// ahead, or a bot that was down for long, must not cost one.
const fewTries = 3

// tooOld says whether a platform was tried long enough.
func (b *Bot) tooOld(j *job) bool {
	return j.attempts >= fewTries && b.clock.Now().Sub(j.at) > b.o.GiveUp
}

// stands notes where a reply stands now.
func (b *Bot) stands(j *job, at Ref) {
	r := j.reply
	key := j.key
	if j.done.Turn != nil {
		key = j.done.Turn.Key
	} else if j.ev.Kind == Edited {
		key = j.ev.messageKey()
	}
	if j.ev.Kind == Pressed && j.done.Turn == nil && !j.keeps {
		return // a note to whoever pressed is nothing to come back to
	}
	person, when := j.person, b.clock.Now()
	if a := j.answered; a != nil {
		person, when = a.Person, a.At
	}
	offered := make([]string, len(r.Choices))
	for i, c := range r.Choices {
		offered[i] = c.ID[len(choicePrefix):]
	}
	j.done.Answered = &Answered{Key: key, Conversation: j.conversation, Platform: j.ev.Platform, Ref: at, Private: r.Private,
		Lang: r.Lang, Person: person, Offered: offered, At: when}
}

// show makes a view of blocks.
func (b *Bot) show(j *job, kind ViewKind, title func(w *words) string, blocks []Block) {
	l := b.speak(j)
	j.do = doShow
	j.view = &View{Kind: kind, Key: j.key, Event: j.ev, Where: j.ev.where(), Lang: l, Title: title(wordsOf(l)), Blocks: blocks}
}
