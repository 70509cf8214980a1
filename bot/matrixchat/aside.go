package matrixchat

import (
	"context"
	"errors"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// What goes aside is worth little and must not hold up a reply: it is dropped
// where too much waits.
const (
	asideRoom   = 256
	asideEnds   = 5 * time.Second // of one thing
	typingLasts = 15 * time.Second

	receiptAfter = 500 * time.Millisecond
)

func (a *Adapter) later(f func(ctx context.Context, cli *mautrix.Client)) {
	select {
	case a.aside <- f:
	default:
	}
}

func (a *Adapter) runAside(ctx context.Context, cli *mautrix.Client) {
	for {
		select {
		case <-ctx.Done():
			return
		case f := <-a.aside:
			one, cancel := context.WithTimeout(ctx, asideEnds)
			f(one, cli)
			cancel()
		}
	}
}

// Working satisfies bot.Worker.
func (a *Adapter) Working(w bot.Where) {
	at := id.RoomID(w.Channel)
	a.mu.Lock()
	a.busy[at] = a.o.Clock.Now()
	a.mu.Unlock()
	a.later(func(ctx context.Context, cli *mautrix.Client) {
		a.mu.Lock()
		since, busy := a.busy[at]
		show := busy && !a.typing[at] && a.o.Clock.Now().Sub(since) < typingLasts
		if show {
			a.typing[at] = true
		}
		a.mu.Unlock()
		if show { // it is not answered yet
			_, _ = cli.UserTyping(ctx, at, true, typingLasts)
		}
	})
}

// answered ends the typing notice of a room.
func (a *Adapter) answered(at id.RoomID) {
	a.mu.Lock()
	delete(a.busy, at)
	shown := a.typing[at]
	delete(a.typing, at)
	a.mu.Unlock()
	if shown {
		a.later(func(ctx context.Context, cli *mautrix.Client) { _, _ = cli.UserTyping(ctx, at, false, 0) })
	}
}

// read sends the receipt for the last message of a batch in a room, a little later
// and once for all that came meanwhile: the reply goes first.
func (a *Adapter) read(at id.RoomID, ev id.EventID) {
	a.mu.Lock()
	_, planned := a.unread[at]
	a.unread[at] = ev
	a.mu.Unlock()
	if planned {
		return
	}
	a.o.Clock.AfterFunc(receiptAfter, func() {
		a.mu.Lock()
		last := a.unread[at]
		delete(a.unread, at)
		a.mu.Unlock()
		a.later(func(ctx context.Context, cli *mautrix.Client) {
			_ = cli.SendReceipt(ctx, at, last, event.ReceiptTypeRead, struct{}{})
		})
	})
}

// offer puts the numbers from..to below a reply, so that people can tap them.
// why is the event that made it so: the same numbers may come back later.
func (a *Adapter) offer(ctx context.Context, cli *mautrix.Client, at id.RoomID, of id.EventID, why string, from, to int) {
	for n := from; n <= min(to, 10); n++ {
		c := &event.ReactionEventContent{RelatesTo: event.RelatesTo{Type: event.RelAnnotation, EventID: of, Key: keycapOf(n)}}
		_, err := cli.SendMessageEvent(ctx, at, event.EventReaction, c, mautrix.ReqSendEvent{TransactionID: transaction("offer", string(of), why, keycapOf(n))})
		if err != nil {
			if !errors.Is(err, context.Canceled) {
				a.log.Debug("numbers could not be put below a reply", "error", err)
			}
			return // people can still write the number
		}
	}
}

// offerAnew makes the numbers below a reply those that it offers now.
func (a *Adapter) offerAnew(ctx context.Context, cli *mautrix.Client, at id.RoomID, of id.EventID, why string, n int) {
	there, err := relations(ctx, cli, at, of, event.RelAnnotation, event.EventReaction)
	if err != nil {
		return
	}
	last := 0
	for _, ev := range there {
		c, ok := ev.Content.Parsed.(*event.ReactionEventContent)
		if !ok || ev.Sender != a.me {
			continue
		}
		k := keycapNumber(plainSign(c.RelatesTo.Key))
		if k > n {
			_, _ = cli.RedactEvent(ctx, at, ev.ID, mautrix.ReqRedact{TxnID: transaction("remove", string(ev.ID))})
			continue
		}
		last = max(last, k)
	}
	a.offer(ctx, cli, at, of, why, last+1, n)
}

// removeEdits takes away what stood in a reply's place before it was taken away:
// some clients show edits by themselves.
func (a *Adapter) removeEdits(ctx context.Context, cli *mautrix.Client, at id.RoomID, of id.EventID) {
	edits, err := relations(ctx, cli, at, of, event.RelReplace, event.Type{})
	if err != nil {
		return
	}
	for _, ev := range edits {
		if ev.Sender == a.me {
			_, _ = cli.RedactEvent(ctx, at, ev.ID, mautrix.ReqRedact{TxnID: transaction("remove", string(ev.ID))})
		}
	}
}
