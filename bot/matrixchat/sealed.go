package matrixchat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// sealed is an encrypted event whose key is not there yet. Keys travel beside the
// messages and may come later.
type sealed struct {
	Room  id.RoomID  `json:"room"`
	Event id.EventID `json:"event"`
	At    time.Time  `json:"at"`

	ev        *event.Event
	requested bool
}

const (
	askForKey = 5 * time.Second // when the other devices are asked for a key
	noKey     = 10 * time.Minute
	mostKept  = 500 // sealed events
)

func (a *Adapter) seal(ctx context.Context, ev *event.Event) {
	for i := range a.sync.sealed {
		if a.sync.sealed[i].Event == ev.ID {
			return
		}
	}
	if len(a.sync.sealed) >= mostKept {
		a.sync.sealed = a.sync.sealed[1:]
	}
	a.sync.sealed = append(a.sync.sealed, sealed{Room: ev.RoomID, Event: ev.ID, At: a.o.Clock.Now(), ev: ev})
	a.keepSealed(ctx)
}

// unseal tries again what waits for keys; it runs after each batch.
func (a *Adapter) unseal(ctx context.Context, cli *mautrix.Client) error {
	if len(a.sync.sealed) == 0 || a.vault == nil {
		return nil
	}
	now := a.o.Clock.Now()
	var left []sealed
	for i, s := range a.sync.sealed {
		open, err := a.vault.open(ctx, s.ev)
		waited := now.Sub(s.At)
		switch {
		case err == nil:
			e, ok, err := a.translate(ctx, cli, open)
			if err == nil && ok {
				err = a.deliver(ctx, e)
			}
			if err != nil {
				a.sync.sealed = append(left, a.sync.sealed[i:]...)
				return err
			}
			continue
		case !errors.Is(err, errNoKey) || waited > noKey:
			a.log.Warn("a message stays unread: its key did not come", "room", s.Room, "event", s.Event, "error", err)
			continue
		case waited > askForKey && !s.requested:
			a.vault.request(ctx, s.ev)
			s.requested = true
		}
		left = append(left, s)
	}
	changed := len(left) != len(a.sync.sealed)
	a.sync.sealed = left
	if changed {
		a.keepSealed(ctx)
	}
	return nil
}

// keepSealed keeps which events wait: their batch is done, and would not come again.
func (a *Adapter) keepSealed(ctx context.Context) {
	raw, err := json.Marshal(a.sync.sealed)
	if err == nil {
		err = a.o.Values.SetValue(ctx, a.valueName("sealed"), raw)
	}
	if err != nil {
		a.log.Warn("which messages wait for keys could not be kept", "error", err)
	}
}

func (a *Adapter) resumeSealed(ctx context.Context, cli *mautrix.Client) error {
	a.sync.sealed = nil
	raw, err := a.o.Values.Value(ctx, a.valueName("sealed"))
	if err != nil {
		return fmt.Errorf("read which messages wait for keys: %w", err)
	}
	if len(raw) == 0 || a.vault == nil {
		return nil
	}
	var all []sealed
	if err := json.Unmarshal(raw, &all); err != nil {
		a.log.Warn("which messages wait for keys is broken", "error", err)
		return nil
	}
	for _, s := range all {
		if s.ev, err = fetch(ctx, cli, s.Room, s.Event); err != nil {
			a.log.Warn("a message that waits for its key is gone", "room", s.Room, "error", err)
			continue
		}
		a.sync.sealed = append(a.sync.sealed, s)
	}
	return nil
}

// fetch reads one event.
func fetch(ctx context.Context, cli *mautrix.Client, at id.RoomID, ev id.EventID) (*event.Event, error) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	e, err := cli.GetEvent(ctx, at, ev)
	if err != nil {
		return nil, fmt.Errorf("read an event: %w", err)
	}
	prepare(e, at)
	return e, nil
}

// tellSealed tells an encrypted room, once, that the bot cannot read there.
func (a *Adapter) tellSealed(ctx context.Context, cli *mautrix.Client, ev *event.Event) {
	if ev.Sender == a.me {
		return
	}
	name := a.valueName("told/" + string(ev.RoomID))
	told, err := a.o.Values.Value(ctx, name)
	if err != nil || len(told) > 0 {
		return
	}
	text := sealedRoom(a.o.Lang)
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	_, err = cli.SendMessageEvent(ctx, ev.RoomID, event.EventMessage, &content{MsgType: event.MsgNotice, Body: text, Mentions: &event.Mentions{}},
		mautrix.ReqSendEvent{TransactionID: transaction("sealed", string(ev.RoomID)), DontEncrypt: true})
	if err == nil {
		err = a.o.Values.SetValue(ctx, name, []byte("1"))
	}
	if err != nil {
		a.log.Warn("an encrypted room could not be told that it cannot be read", "room", ev.RoomID, "error", err)
	}
}
