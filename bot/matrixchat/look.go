package matrixchat

import (
	"context"
	"fmt"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"

	"sidewall/bot"
)

// A homeserver that dies may have taken in a message that it gives to nobody before
// it has come up again and settled, or leaves it out of every batch. So after it was
// away, after the bot was, and where a batch left something out, the newest talk of
// each room is looked at once more: what the bot was not given is given to it.

const (
	rememberTaken = 8192
	lookRooms     = 500 // that are looked at
)

// look is what has to be looked at again.
type look struct {
	after  time.Time // when to look: what the homeserver still had in its hands is written down by then
	since  int64     // the time of the newest event before the trouble
	anew   bool      // the bot was away: what an earlier run took is not known here
	missed int
}

// lookLater plans to look again.
func (a *Adapter) lookLater(anew bool) {
	if a.sync.at.Since == "" {
		return // nothing from before is answered
	}
	now := a.o.Clock.Now()
	l := &look{after: now.Add(settles), since: a.sync.at.Time, anew: anew}
	if old := a.sync.look; old != nil {
		l.since, l.anew = min(l.since, old.since), l.anew || old.anew
	}
	a.sync.look = l
}

// untilLook is how long the next poll may take.
func (a *Adapter) untilLook() time.Duration {
	if a.sync.look == nil {
		return longPoll
	}
	return min(max(a.sync.look.after.Sub(a.o.Clock.Now()), 0), longPoll)
}

// lookAgain looks when it is time to.
func (a *Adapter) lookAgain(ctx context.Context, cli *mautrix.Client) error {
	l := a.sync.look
	if l == nil || a.o.Clock.Now().Before(l.after) {
		return nil
	}
	ask, cancel := context.WithTimeout(ctx, request)
	rooms, err := cli.JoinedRooms(ask)
	cancel()
	if err != nil {
		return fmt.Errorf("read which rooms there are: %w", err)
	}
	for _, at := range rooms.JoinedRooms[:min(len(rooms.JoinedRooms), lookRooms)] {
		events, err := a.before(ctx, cli, at, "", "", l.since)
		if err != nil {
			return err
		}
		for _, ev := range events {
			if err := a.giveMissed(ctx, cli, l, ev); err != nil {
				return err
			}
		}
	}
	if l.missed > 0 {
		a.log.Info("messages were found that no batch had brought yet", "count", l.missed)
	}
	a.sync.look = nil
	return nil
}

// giveMissed gives the bot an event that no batch brought.
func (a *Adapter) giveMissed(ctx context.Context, cli *mautrix.Client, l *look, ev *event.Event) error {
	if ev.Sender == a.me {
		a.seenOwn(ctx, cli, ev)
		return nil
	}
	if _, ok := a.sync.taken.get(ev.ID); ok || ev.StateKey != nil {
		return nil
	}
	if !l.anew && ev.Timestamp > a.sync.resumed {
		l.missed++
		return a.event(ctx, cli, ev)
	}
	// Most of it was taken by an earlier run. The bot knows what it answered, but
	// talk in a thread reads differently now that its answers stand there.
	if ev.Type.Type == event.EventEncrypted.Type {
		if a.vault == nil {
			return nil
		}
		open, err := a.vault.open(ctx, ev)
		if err != nil {
			return ctx.Err() // what cannot be read now was told when it came
		}
		ev = open
	}
	e, ok, err := a.translate(ctx, cli, ev)
	if err != nil || !ok || e.Kind != bot.Message || !e.Direct && !e.Mentioned {
		return err
	}
	return a.deliver(ctx, e)
}
