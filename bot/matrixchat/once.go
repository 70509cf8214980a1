package matrixchat

import (
	"context"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// A homeserver that is killed while it takes in a reply may know neither the reply
// nor its transaction id when it is up again, so that the reply is posted once more;
// and still bring the first one later, out of a queue that it had on disk. Dendrite
// gives such a message up to five minutes. Then the one that the bot does not know
// by its id is taken away.

// reply is where a reply is, as far as this run knows.
type reply struct {
	stands id.EventID // what Send gave the bot
	seen   id.EventID // one that came by while nothing was known to stand
}

// stands notes which event is the reply with a key.
func (a *Adapter) stands(ctx context.Context, cli *mautrix.Client, room id.RoomID, key string, at id.EventID) {
	a.mu.Lock()
	r, _ := a.replies.get(key)
	other := r.seen
	a.replies.put(key, reply{stands: at})
	a.mu.Unlock()
	if other != "" && other != at {
		a.removeTwin(ctx, cli, room, other)
	}
}

// seenOwn looks at one of our own messages as it comes by.
func (a *Adapter) seenOwn(ctx context.Context, cli *mautrix.Client, ev *event.Event) {
	rel := relation(ev)
	if rel.GetReplaceID() != "" {
		return
	}
	m := a.metaOf(ctx, ev)
	if m == nil {
		return
	}
	a.mu.Lock()
	r, _ := a.replies.get(m.Key)
	a.mu.Unlock()
	if r.stands == "" {
		r.stands = a.answeredAt(ctx, cli, ev, m.Key)
	}
	a.mu.Lock()
	if now, _ := a.replies.get(m.Key); now.stands != "" { // meanwhile it was sent
		r.stands = now.stands
	}
	if r.stands == "" {
		r.seen = ev.ID
		a.replies.put(m.Key, r)
	}
	a.mu.Unlock()
	if r.stands != "" && r.stands != ev.ID {
		a.removeTwin(ctx, cli, ev.RoomID, ev.ID)
	}
}

// answeredAt is where an earlier run posted the reply with a key that came by; ""
// where it is not known. The bot keeps one place for a question, which is that of a
// later reply where somebody chose by writing a number: that one is no twin.
func (a *Adapter) answeredAt(ctx context.Context, cli *mautrix.Client, ev *event.Event, key string) id.EventID {
	was, err := a.o.Values.Answered(ctx, key)
	if err != nil {
		return ""
	}
	at := id.EventID(was.Ref.Message)
	if at == ev.ID {
		return at
	}
	other, err := fetch(ctx, cli, ev.RoomID, at)
	if err != nil {
		return ""
	}
	if m := a.metaOf(ctx, other); m == nil || m.Key != key {
		return ""
	}
	return at
}

func (a *Adapter) removeTwin(ctx context.Context, cli *mautrix.Client, room id.RoomID, at id.EventID) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	a.log.Warn("the homeserver has a reply twice; one is taken away", "room", room)
	_, err := cli.RedactEvent(ctx, room, at, mautrix.ReqRedact{TxnID: transaction("remove", string(at))})
	if err != nil {
		a.log.Error("a reply that stands twice could not be taken away", "room", room, "error", err)
	}
}
