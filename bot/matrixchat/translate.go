package matrixchat

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// back is what the adapter needs of an event to answer it where it belongs.
type back struct {
	Plain bool       `json:"plain,omitempty"` // a reply beside the threads
	Root  id.EventID `json:"root,omitempty"`  // of the thread, where the conversation goes by another name
}

func (b back) String() string {
	if b == (back{}) {
		return ""
	}
	raw, err := json.Marshal(b)
	if err != nil { // of two plain fields
		return ""
	}
	return string(raw)
}

func backOf(e *bot.Event) back {
	var b back
	if e.Back != "" {
		_ = json.Unmarshal([]byte(e.Back), &b) // our own words; empty is the answer in a thread
	}
	return b
}

// translate makes a neutral event of a decrypted one whose content is parsed; ok
// is false where there is nothing to tell the bot.
func (a *Adapter) translate(ctx context.Context, cli *mautrix.Client, ev *event.Event) (e bot.Event, ok bool, err error) {
	e = bot.Event{
		Kind: bot.Message, ID: string(ev.ID), Platform: Platform, Channel: string(ev.RoomID), Message: string(ev.ID),
		Person: string(ev.Sender), At: time.UnixMilli(ev.Timestamp), Self: ev.Sender == a.me,
	}
	switch c := ev.Content.Parsed.(type) {
	case *event.MessageEventContent:
		if e.Self {
			return e, true, nil // its words are the bot's own
		}
		if of := c.RelatesTo.GetReplaceID(); of != "" {
			ok, err = a.edit(ctx, cli, ev, c, of, &e)
			return e, ok, err
		}
		ok, err = a.message(ctx, cli, ev, c, &e)
		return e, ok, err
	case *event.ReactionEventContent:
		if e.Self {
			return e, true, nil
		}
		ok, err = a.reaction(ctx, cli, ev, c, &e)
		return e, ok, err
	case *event.RedactionEventContent:
		of := c.Redacts
		if of == "" {
			of = ev.Redacts
		}
		e.Kind, e.Message = bot.Deleted, string(of)
		return e, of != "", nil
	}
	return e, false, nil
}

func (a *Adapter) message(ctx context.Context, cli *mautrix.Client, ev *event.Event, c *event.MessageEventContent, e *bot.Event) (bool, error) {
	switch c.MsgType {
	case event.MsgText:
	case event.MsgNotice:
		e.Robot = true
		return true, nil
	default: // pictures, emotes, places; a message that was taken away has no type
		return false, nil
	}
	r, err := a.room(ctx, cli, ev.RoomID)
	if err != nil {
		if gone(err) {
			return false, nil
		}
		return false, err
	}
	e.Text, e.Mentioned = a.text(r, c)
	e.People = a.mentioned(c)
	e.Direct = a.isDirect(ev.RoomID, r)
	if !e.Direct && r.alone() { // nobody else could be meant
		e.Mentioned = true
	}
	b := back{Plain: e.Direct}
	if root := c.RelatesTo.GetThreadParent(); root != "" {
		e.Thread, b.Plain = string(root), false
		if e.Direct { // there a thread may begin at a plain reply of ours
			k, err := a.know(ctx, cli, ev.RoomID, root)
			if err != nil {
				return false, err
			}
			if k.ours && k.question != "" {
				e.Thread, b.Root = string(k.question), root
			}
		}
	} else if to := c.RelatesTo.GetReplyTo(); to != "" {
		if err := a.goesOn(ctx, cli, ev, to, r.alone() || c.Mentions.Has(a.me), e, &b); err != nil {
			return false, err
		}
	}
	e.Back = b.String()
	return true, nil
}

// goesOn sees whether a message replies to one of ours, outside any thread: then
// it belongs to that conversation, and is for us. The homeserver is asked only
// where something says that it may be.
func (a *Adapter) goesOn(ctx context.Context, cli *mautrix.Client, ev *event.Event, to id.EventID, likely bool, e *bot.Event, b *back) error {
	a.mu.Lock()
	k, ok := a.ours.get(to)
	a.mu.Unlock()
	if !ok && likely {
		var err error
		if k, err = a.know(ctx, cli, ev.RoomID, to); err != nil {
			return err
		}
	}
	if !k.ours {
		return nil
	}
	e.Mentioned, b.Plain = true, true
	if e.Thread = string(k.root); k.root == "" {
		e.Thread = string(k.question)
	}
	return nil
}

// edit is a message's new text. A stranger may send one for somebody else's
// message; homeservers let that through, and clients are to ignore it.
func (a *Adapter) edit(ctx context.Context, cli *mautrix.Client, ev *event.Event, c *event.MessageEventContent, of id.EventID, e *bot.Event) (bool, error) {
	if c.NewContent == nil || c.NewContent.MsgType != event.MsgText {
		return false, nil
	}
	first, err := fetch(ctx, cli, ev.RoomID, of)
	switch {
	case err != nil && a.again(err).Retry:
		return false, err
	case err != nil || first.Sender != ev.Sender:
		return false, nil
	}
	r, err := a.room(ctx, cli, ev.RoomID)
	if err != nil {
		if gone(err) {
			return false, nil
		}
		return false, err
	}
	e.Kind, e.Message = bot.Edited, string(of)
	e.Text, e.Mentioned = a.text(r, c.NewContent)
	e.Direct = a.isDirect(ev.RoomID, r)
	rel := relation(first)
	e.Thread = string(rel.GetThreadParent())
	e.Back = back{Plain: e.Direct && e.Thread == ""}.String()
	return true, nil
}

// reaction is a number that picks a choice, or a sign that stands for a control.
func (a *Adapter) reaction(ctx context.Context, cli *mautrix.Client, ev *event.Event, c *event.ReactionEventContent, e *bot.Event) (bool, error) {
	of := c.RelatesTo.GetAnnotationID()
	if of == "" {
		return false, nil
	}
	e.Kind, e.Message = bot.Pressed, ""
	e.Reply = bot.Ref{Channel: e.Channel, Message: string(of)}
	sign := plainSign(c.RelatesTo.Key)
	if n := keycapNumber(sign); n > 0 {
		e.Control = bot.Number(n)
		return true, nil
	}
	if !isControlSign(sign) {
		return false, nil
	}
	k, err := a.know(ctx, cli, ev.RoomID, of)
	if err != nil {
		return false, err
	}
	e.Control = k.controls[sign]
	return k.ours && e.Control != "", nil
}

// know says what a message is to us; the homeserver is asked where it was not
// among the last ones.
func (a *Adapter) know(ctx context.Context, cli *mautrix.Client, at id.RoomID, of id.EventID) (known, error) {
	a.mu.Lock()
	k, ok := a.ours.get(of)
	a.mu.Unlock()
	if ok {
		return k, nil
	}
	ev, err := fetch(ctx, cli, at, of)
	if err == nil {
		k, err = a.readOwn(ctx, cli, ev)
	}
	switch {
	case err != nil && a.again(err).Retry:
		return known{}, err
	case err != nil:
		k = known{} // not for us to see: not ours
	}
	a.remember(of, k)
	return k, nil
}

// readOwn reads from one of our own messages what it answers, and what stands in
// its place by now.
func (a *Adapter) readOwn(ctx context.Context, cli *mautrix.Client, ev *event.Event) (known, error) {
	if ev.Sender != a.me {
		return known{}, nil
	}
	rel := relation(ev)
	k := known{ours: true, root: rel.GetThreadParent()}
	if k.root == "" {
		k.question = rel.GetReplyTo()
	}
	m := a.metaOf(ctx, ev)
	edits, err := relations(ctx, cli, ev.RoomID, ev.ID, event.RelReplace, event.Type{})
	if err != nil && a.again(err).Retry {
		return known{}, err
	}
	newest := int64(0)
	for _, edit := range edits {
		if edit.Sender == a.me && edit.Timestamp >= newest {
			if em := a.metaOf(ctx, edit); em != nil {
				newest, m = edit.Timestamp, em
			}
		}
	}
	if m != nil {
		k.controls = m.Controls
	}
	return k, nil
}

func (a *Adapter) remember(at id.EventID, k known) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.ours.put(at, k)
}

// metaOf is the mark in one of our own messages; nil where there is none.
func (a *Adapter) metaOf(ctx context.Context, ev *event.Event) *meta {
	if ev.Sender != a.me {
		return nil
	}
	if ev.Type.Type == event.EventEncrypted.Type {
		if a.vault == nil {
			return nil
		}
		open, err := a.vault.open(ctx, ev)
		if err != nil {
			return nil
		}
		ev = open
	}
	var c struct {
		Meta *meta `json:"sidewall"`
	}
	if json.Unmarshal(ev.Content.VeryRaw, &c) != nil {
		return nil
	}
	return c.Meta
}

// relation is what an event says of its relation to others; encrypted ones say it
// in the open.
func relation(ev *event.Event) *event.RelatesTo {
	switch c := ev.Content.Parsed.(type) {
	case *event.EncryptedEventContent: // no event.Relatable
		return c.RelatesTo
	case event.Relatable:
		return c.OptionalGetRelatesTo()
	}
	return nil
}

// relations are the newest events that relate to one, newest first.
func relations(ctx context.Context, cli *mautrix.Client, at id.RoomID, of id.EventID, rel event.RelationType, kind event.Type) ([]*event.Event, error) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	resp, err := cli.GetRelations(ctx, at, of, &mautrix.ReqGetRelations{RelationType: rel, EventType: kind, Dir: mautrix.DirectionBackward, Limit: timelineEvents})
	if err != nil {
		return nil, fmt.Errorf("read what relates to a message: %w", err)
	}
	for _, ev := range resp.Chunk {
		prepare(ev, at)
	}
	return resp.Chunk, nil
}

// plainSign is a reaction without its colour and its variant.
func plainSign(s string) string {
	return strings.Map(func(r rune) rune {
		if r == 0xFE0F || r >= 0x1F3FB && r <= 0x1F3FF {
			return -1
		}
		return r
	}, strings.TrimSpace(s))
}

const keycap = "\u20E3"

// keycapNumber is the number that a reaction shows, 0 for none.
func keycapNumber(s string) int {
	if s == "🔟" {
		return 10
	}
	s = strings.TrimSuffix(s, keycap)
	if len(s) == 1 && s[0] >= '1' && s[0] <= '9' {
		return int(s[0] - '0')
	}
	if s == "10" {
		return 10
	}
	return 0
}

// keycapOf is the reaction for a number up to 10.
func keycapOf(n int) string {
	if n == 10 {
		return "🔟"
	}
	return string(rune('0'+n)) + "\uFE0F" + keycap
}
