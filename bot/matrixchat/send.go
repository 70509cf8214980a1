package matrixchat

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// transaction names a request by what it is for, so that a repeated one is the
// same to the homeserver.
func transaction(parts ...string) string {
	h := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return "sidewall-" + base64.RawURLEncoding.EncodeToString(h[:18])
}

func (a *Adapter) ready() (*mautrix.Client, error) {
	if cli := a.client.Load(); cli != nil {
		return cli, nil
	}
	return nil, errNotReady
}

// Send satisfies bot.Adapter. Nothing is private in a room: what is for one
// person only stands in the thread where they asked.
func (a *Adapter) Send(ctx context.Context, r *bot.Reply) (bot.Ref, bot.Again, error) {
	cli, err := a.ready()
	if err != nil {
		return bot.Ref{}, a.again(err), err
	}
	at := id.RoomID(r.Where.Channel)
	rel, err := a.place(ctx, cli, &r.Event, r.Where)
	if err != nil {
		return bot.Ref{}, a.again(err), err
	}
	c := render(r)
	c.RelatesTo = rel
	resp, err := cli.SendMessageEvent(ctx, at, event.EventMessage, c, mautrix.ReqSendEvent{TransactionID: transaction("reply", r.Key)})
	if err != nil {
		return bot.Ref{}, a.again(err), fmt.Errorf("post a reply: %w", err)
	}
	a.posted(resp.EventID, rel, c.Meta)
	a.stands(ctx, cli, at, r.Key, resp.EventID)
	a.answered(at)
	if n := len(r.Choices); n > 0 {
		a.later(func(ctx context.Context, cli *mautrix.Client) { a.offer(ctx, cli, at, resp.EventID, r.Event.ID, 1, n) })
	}
	return bot.Ref{Channel: r.Where.Channel, Message: string(resp.EventID)}, bot.Again{}, nil
}

func (a *Adapter) posted(at id.EventID, rel *event.RelatesTo, m *meta) {
	k := known{ours: true, root: rel.GetThreadParent(), controls: m.Controls}
	if k.root == "" {
		k.question = rel.GetReplyTo()
	}
	a.remember(at, k)
}

// place is where an answer to an event belongs: in its thread, or beside the
// message that it answers.
func (a *Adapter) place(ctx context.Context, cli *mautrix.Client, e *bot.Event, w bot.Where) (*event.RelatesTo, error) {
	rel := &event.RelatesTo{}
	if e.Kind == bot.Pressed {
		of := id.EventID(e.Reply.Message)
		k, err := a.know(ctx, cli, id.RoomID(e.Channel), of)
		if err != nil {
			return nil, err
		}
		if k.root != "" {
			return rel.SetThread(k.root, of), nil
		}
		return rel.SetReplyTo(of), nil
	}
	b := backOf(e)
	root := b.Root
	if root == "" {
		root = id.EventID(w.Thread)
	}
	if b.Plain || root == "" {
		return rel.SetReplyTo(id.EventID(e.Message)), nil
	}
	return rel.SetThread(root, id.EventID(e.Message)), nil
}

// Update satisfies bot.Adapter.
func (a *Adapter) Update(ctx context.Context, at bot.Ref, r *bot.Reply) (bot.Again, error) {
	cli, err := a.ready()
	if err != nil {
		return a.again(err), err
	}
	room, of := id.RoomID(at.Channel), id.EventID(at.Message)
	c := render(r)
	_, err = cli.SendMessageEvent(ctx, room, event.EventMessage, c.replacing(of), mautrix.ReqSendEvent{TransactionID: transaction("update", string(of), r.Event.ID)})
	if err != nil {
		return a.again(err), fmt.Errorf("replace a reply: %w", err)
	}
	a.mu.Lock()
	if k, ok := a.ours.get(of); ok && k.ours {
		k.controls = c.Meta.Controls
		a.ours.put(of, k)
	}
	a.mu.Unlock()
	a.answered(room)
	n := len(r.Choices)
	a.later(func(ctx context.Context, cli *mautrix.Client) { a.offerAnew(ctx, cli, room, of, r.Event.ID, n) })
	return bot.Again{}, nil
}

// Remove satisfies bot.Adapter.
func (a *Adapter) Remove(ctx context.Context, at bot.Ref) (bot.Again, error) {
	cli, err := a.ready()
	if err != nil {
		return a.again(err), err
	}
	room, of := id.RoomID(at.Channel), id.EventID(at.Message)
	_, err = cli.RedactEvent(ctx, room, of, mautrix.ReqRedact{TxnID: transaction("remove", string(of))})
	if err != nil && !errors.Is(err, mautrix.MNotFound) {
		return a.again(err), fmt.Errorf("take a reply away: %w", err)
	}
	a.later(func(ctx context.Context, cli *mautrix.Client) { a.removeEdits(ctx, cli, room, of) })
	return bot.Again{}, nil
}

// findPages is how many pages of a room's newest talk are looked through for a
// reply.
const findPages = 4

// Find satisfies bot.Adapter. The thread is looked through, and then, for replies
// that stand in none, the newest talk back to the question.
func (a *Adapter) Find(ctx context.Context, w bot.Where, key string) (bot.Ref, bool, bot.Again, error) {
	cli, err := a.ready()
	if err != nil {
		return bot.Ref{}, false, a.again(err), err
	}
	ref, found, err := a.find(ctx, cli, w, key)
	if err != nil {
		return bot.Ref{}, false, a.again(err), fmt.Errorf("look for a reply: %w", err)
	}
	if !found && a.settling() {
		return bot.Ref{}, false, bot.Again{Retry: true, After: settles}, errors.New("look for a reply: the homeserver was away a moment ago, and may not have written down all that it took in")
	}
	return ref, found, bot.Again{}, nil
}

func (a *Adapter) find(ctx context.Context, cli *mautrix.Client, w bot.Where, key string) (bot.Ref, bool, error) {
	room := id.RoomID(w.Channel)
	var ref bot.Ref
	found := false
	look := func(ev *event.Event) { // all of it: one may stand there twice
		switch {
		case !a.isReply(ctx, ev, key):
		case !found:
			ref, found = bot.Ref{Channel: w.Channel, Message: string(ev.ID)}, true
			a.posted(ev.ID, relation(ev), a.metaOf(ctx, ev))
			a.stands(ctx, cli, room, key, ev.ID)
		case string(ev.ID) != ref.Message:
			a.removeTwin(ctx, cli, room, ev.ID)
		}
	}
	if w.Thread != "" {
		in, err := relations(ctx, cli, room, id.EventID(w.Thread), event.RelThread, event.Type{})
		if err != nil && !errors.Is(err, mautrix.MNotFound) {
			return bot.Ref{}, false, err
		}
		for _, ev := range in {
			look(ev)
		}
		if found {
			return ref, true, nil
		}
	}
	after := -1 // how many came after the question
	for ev, err := range talk(ctx, cli, room, "", "", findPages) {
		if err != nil {
			return bot.Ref{}, false, err
		}
		look(ev)
		if after >= 0 || strings.HasSuffix(key, "/"+string(ev.ID)) {
			after++
		}
		if after > besideEvents { // concurrent events have no order that is everybody's
			break
		}
	}
	return ref, found, nil
}

// isReply says whether an event is our reply with a key, and not an edit of it.
func (a *Adapter) isReply(ctx context.Context, ev *event.Event, key string) bool {
	if relation(ev).GetReplaceID() != "" {
		return false
	}
	m := a.metaOf(ctx, ev)
	return m != nil && m.Key == key
}

// Show satisfies bot.Adapter: Matrix has neither modals nor pages, so that a view
// is a message where it was asked for.
func (a *Adapter) Show(ctx context.Context, v *bot.View) (bot.Again, error) {
	cli, err := a.ready()
	if err != nil {
		return a.again(err), err
	}
	c := renderView(v)
	if c.RelatesTo, err = a.place(ctx, cli, &v.Event, v.Where); err != nil {
		return a.again(err), err
	}
	room := id.RoomID(v.Where.Channel)
	resp, err := cli.SendMessageEvent(ctx, room, event.EventMessage, c, mautrix.ReqSendEvent{TransactionID: transaction("view", v.Key)})
	if err != nil {
		return a.again(err), fmt.Errorf("post a view: %w", err)
	}
	a.stands(ctx, cli, room, c.Meta.Key, resp.EventID)
	return bot.Again{}, nil
}
