package matrixchat

import (
	"context"
	"fmt"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// A homeserver that dies may have taken in a message and leave it out of every
// batch after it comes up again, or have acknowledged one and not know it any
// more; dendrite does both now and then. So after it was away, and after the bot
// was, the newest talk of each room is looked at once more: what the bot was not
// given is given to it, and replies that are gone are posted again.

const (
	rememberTaken = 8192
	lookRooms     = 500 // that are looked at
	keepSent      = 512
	forgets       = time.Minute // how long before it went a homeserver may forget
)

// acknowledged is a reply that the homeserver took.
type acknowledged struct {
	room    id.RoomID
	id      id.EventID // where it stands now
	first   id.EventID // where it was first, which is what the bot knows
	answers id.EventID
	c       *content
	when    time.Time
}

// keep notes a reply that was acknowledged.
func (a *Adapter) keep(p acknowledged) {
	p.first, p.when = p.id, a.o.Clock.Now()
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.sent) >= keepSent {
		a.sent = append(a.sent[:0], a.sent[keepSent/2:]...)
	}
	a.sent = append(a.sent, p)
}

// now is where a reply stands that the bot knows by where it was first.
func (a *Adapter) now(at bot.Ref) id.EventID {
	a.mu.Lock()
	defer a.mu.Unlock()
	if to := a.moved[id.EventID(at.Message)]; to != "" {
		return to
	}
	return id.EventID(at.Message)
}

// first is where a reply was that stands somewhere now.
func (a *Adapter) first(of id.EventID) id.EventID {
	a.mu.Lock()
	defer a.mu.Unlock()
	for from, to := range a.moved {
		if to == of {
			return from
		}
	}
	return of
}

// look is what has to be looked at again.
type look struct {
	began  time.Time // when the trouble began
	last   time.Time // and when there was still some
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
	l := &look{began: now, last: now, after: now.Add(settles), since: a.sync.at.Time, anew: anew}
	if old := a.sync.look; old != nil {
		l.began, l.since, l.anew = old.began, min(l.since, old.since), l.anew || old.anew
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
		if err := a.postForgotten(ctx, cli, l, at, events); err != nil {
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

// postForgotten posts again what the homeserver acknowledged before it went and
// does not have any more. The question has to be among the events, so that the
// reply would be too; of talk of several pages nothing is sure.
func (a *Adapter) postForgotten(ctx context.Context, cli *mautrix.Client, l *look, at id.RoomID, events []*event.Event) error {
	if len(events) >= pageEvents {
		return nil
	}
	there := make(map[id.EventID]bool, len(events))
	for _, ev := range events {
		there[ev.ID] = true
	}
	var missing []acknowledged
	a.mu.Lock()
	for _, p := range a.sent {
		if p.room == at && there[p.answers] && !there[p.id] && p.when.Before(l.last) && p.when.After(l.began.Add(-forgets)) {
			missing = append(missing, p)
		}
	}
	a.mu.Unlock()
	for _, p := range missing {
		resp, err := cli.SendMessageEvent(ctx, at, event.EventMessage, p.c, mautrix.ReqSendEvent{TransactionID: transaction("again", string(p.id))})
		switch {
		case err != nil && a.again(err).Retry:
			return fmt.Errorf("post a forgotten reply again: %w", err)
		case err != nil:
			a.log.Error("a reply that the homeserver forgot could not be posted again", "room", at, "error", err)
			continue
		}
		a.log.Warn("the homeserver forgot a reply that it had acknowledged; it was posted again", "room", at)
		a.posted(resp.EventID, p.c.RelatesTo, p.c.Meta)
		a.mu.Lock()
		a.moved[p.first] = resp.EventID
		for i := range a.sent {
			if a.sent[i].first == p.first {
				a.sent[i].id = resp.EventID
			}
		}
		a.mu.Unlock()
	}
	return nil
}

// giveMissed gives the bot an event that no batch brought.
func (a *Adapter) giveMissed(ctx context.Context, cli *mautrix.Client, l *look, ev *event.Event) error {
	if _, ok := a.sync.taken.get(ev.ID); ok || ev.StateKey != nil || ev.Sender == a.me {
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
