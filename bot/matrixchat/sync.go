package matrixchat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// syncState is what the loop alone knows.
type syncState struct {
	handle func(context.Context, bot.Event) error
	at     place
	sealed []sealed           // encrypted events that wait for their keys
	failed int                // batches in a row that could not be taken in
	seen   map[id.RoomID]bool // the invitations of a batch that are done with, while it is tried again

	taken *memory[id.EventID, bool] // what the bot has of the last events, in this run
	look  *look                     // what has to be looked at again; nil for nothing
	// resumed is the time of the newest event of an earlier run, in ms.
	resumed int64
}

// place is how far the loop has come: the homeserver's token, and the time of the
// newest event, by the homeservers' clocks.
type place struct {
	Since string `json:"since"`
	Time  int64  `json:"time,omitempty"`  // ms
	Began int64  `json:"began,omitempty"` // the newest event when the account was first used; nothing up to it is answered
}

// Bounds of a batch.
const (
	timelineEvents = 100
	// clocksDiffer is how far a gap's events may be older than the newest known.
	clocksDiffer = 5 * time.Minute
	// patience is how often a batch is tried that cannot be taken in for the
	// homeserver's own reasons; after it, what fails is left out.
	patience = 8
)

// Run logs in and hands events to handle until ctx ends. It waits for a
// homeserver that is away; it gives an error where waiting cannot help.
func (a *Adapter) Run(ctx context.Context, handle func(context.Context, bot.Event) error) (err error) {
	rt, idle := a.transport()
	defer idle()
	a.sync.handle = handle
	if len(a.o.Allow) == 0 {
		a.log.Warn("matrix.allow is empty: no invitation will be taken")
	}
	defer func() {
		if a.vault != nil {
			a.client.Store(nil)
			err = errors.Join(err, a.vault.close())
		}
		if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
			err = nil
		}
	}()
	cli, err := a.start(ctx, rt)
	if err != nil {
		return err
	}
	if err := a.resume(ctx, cli); err != nil {
		return err
	}
	a.client.Store(cli)
	asideCtx, stop := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		a.runAside(asideCtx, cli)
	}()
	defer func() { stop(); <-done }()
	a.log.Info("connected", "user", a.me, "encryption", a.vault != nil, "new", a.sync.at.Since == "")
	err = a.loop(ctx, cli, rt)
	if errors.Is(err, bot.ErrClosed) { // nothing new is taken, and what is in hand still goes out this way
		<-ctx.Done()
		err = nil
	}
	return err
}

// resume reads how far an earlier run came.
func (a *Adapter) resume(ctx context.Context, cli *mautrix.Client) error {
	raw, err := a.o.Values.Value(ctx, a.valueName("since"))
	if err != nil {
		return fmt.Errorf("read the sync token: %w", err)
	}
	a.sync.at, a.sync.taken, a.sync.look, a.sync.failed, a.sync.seen = place{}, newMemory[id.EventID, bool](rememberTaken), nil, 0, map[id.RoomID]bool{}
	if len(raw) > 0 {
		if err := json.Unmarshal(raw, &a.sync.at); err != nil {
			a.log.Warn("the sync token is broken; it begins anew", "error", err)
			a.sync.at = place{}
		}
	}
	a.sync.resumed = a.sync.at.Time
	if a.sync.at.Since != "" {
		a.lookLater(true)
		a.wasDown() // whatever ended the bot may have ended the homeserver too
	}
	return a.resumeSealed(ctx, cli)
}

// filter leaves out of the batches what the bot has no use for.
func filter() string {
	none := &mautrix.FilterPart{NotTypes: []event.Type{{Type: "*"}}}
	f := mautrix.Filter{
		Presence:    none,
		AccountData: &mautrix.FilterPart{Types: []event.Type{event.AccountDataDirectChats}},
		Room: &mautrix.RoomFilter{
			Ephemeral: none, AccountData: none,
			State:    &mautrix.FilterPart{LazyLoadMembers: true},
			Timeline: &mautrix.FilterPart{Limit: timelineEvents, LazyLoadMembers: true},
		},
	}
	raw, err := json.Marshal(f)
	if err != nil { // of constants
		panic(err)
	}
	return string(raw)
}

// loop asks for batch after batch.
func (a *Adapter) loop(ctx context.Context, cli *mautrix.Client, rt http.RoundTripper) error {
	only := filter()
	poll := time.Duration(0) // the first one comes back at once
	for n := 0; ; {
		ask, cancel := context.WithTimeout(ctx, poll+(pollEnds-longPoll))
		batch, err := cli.FullSyncRequest(ask, mautrix.ReqSync{Timeout: int(poll / time.Millisecond), Since: a.sync.at.Since, FilterID: only})
		cancel()
		if err == nil {
			err = a.take(ctx, cli, batch)
		}
		if err == nil {
			err = a.lookAgain(ctx, cli)
		}
		if err == nil {
			n, poll = 0, a.untilLook()
			continue
		}
		var no fatal
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, bot.ErrClosed) || errors.As(err, &no):
			return err
		case errors.Is(err, mautrix.MUnknownToken):
			if a.o.Token != "" {
				return fmt.Errorf("%w: it no longer takes the access token: %w", ErrRefused, err)
			}
			a.log.Warn("the homeserver ended the session; logging in again")
			if err := a.patiently(ctx, "log in", func() error { _, err := a.login(ctx, rt); return err }); err != nil {
				return err
			}
			continue
		}
		d := pause(n)
		if after := a.again(err).After; after > 0 { // the homeserver knows better
			d = after + pause(0)
		}
		n++
		poll = 0
		a.lookLater(false)
		a.log.Warn("the homeserver gives no batch", "failures", n, "after", d, "error", err)
		if err := a.wait(ctx, d); err != nil {
			return err
		}
	}
}

// take takes in a batch, and keeps its token when the bot has all of it.
func (a *Adapter) take(ctx context.Context, cli *mautrix.Client, b *mautrix.RespSync) error {
	first := a.sync.at.Since == ""
	next := a.sync.at
	next.Since = b.NextBatch
	if a.vault != nil {
		a.vault.take(ctx, b, a.sync.at.Since)
	}
	for _, ev := range b.AccountData.Events {
		if ev.Type.Type == event.AccountDataDirectChats.Type {
			ev.Type.Class = event.AccountDataEventType
			if ev.Content.ParseRaw(ev.Type) == nil {
				a.setDirect(*ev.Content.AsDirectChats())
			}
		}
	}
	err := a.takeRooms(ctx, cli, b, first, &next)
	if first {
		next.Began = next.Time
	}
	if err != nil {
		// The homeserver may refuse one thing for good in words that sound like
		// "later": that must not stop all the rest.
		if !a.again(err).Retry || a.sync.failed < patience {
			a.sync.failed++
			return err
		}
		a.log.Error("a batch cannot be taken in; what fails of it is left out", "error", err)
	}
	a.sync.failed = 0
	clear(a.sync.seen)
	if err := a.unseal(ctx, cli); err != nil {
		return err
	}
	if next == a.sync.at {
		return nil
	}
	raw, err := json.Marshal(next)
	if err != nil {
		return fmt.Errorf("keep the sync token: %w", err)
	}
	if err := a.o.Values.SetValue(ctx, a.valueName("since"), raw); err != nil {
		return fmt.Errorf("keep the sync token: %w", err)
	}
	a.sync.at = next
	return nil
}

// takeRooms goes through a batch's rooms. What the homeserver fails at in one
// room is tried again with the whole batch, after the others had their turn.
func (a *Adapter) takeRooms(ctx context.Context, cli *mautrix.Client, b *mautrix.RespSync, first bool, next *place) error {
	var failed error
	for _, at := range slices.Sorted(maps.Keys(b.Rooms.Invite)) {
		if a.sync.seen[at] {
			continue // to join again would count again for a limit
		}
		if err := a.invited(ctx, cli, at, b.Rooms.Invite[at]); err != nil {
			failed = err
			continue
		}
		a.sync.seen[at], a.sync.failed = true, 0
	}
	for _, at := range slices.Sorted(maps.Keys(b.Rooms.Leave)) {
		a.mu.Lock()
		delete(a.rooms, at)
		a.mu.Unlock()
	}
	for _, at := range slices.Sorted(maps.Keys(b.Rooms.Join)) {
		if err := a.takeRoom(ctx, cli, at, b.Rooms.Join[at], first, next); err != nil {
			if ctx.Err() != nil || !a.again(err).Retry {
				return err
			}
			failed = err
		}
	}
	return failed
}

func (a *Adapter) takeRoom(ctx context.Context, cli *mautrix.Client, at id.RoomID, r *mautrix.SyncJoinedRoom, first bool, next *place) error {
	for _, ev := range r.State.Events {
		prepare(ev, at)
		a.note(ctx, ev)
	}
	events := r.Timeline.Events
	joined := -1
	for i, ev := range events {
		prepare(ev, at)
		if a.isOurJoin(ev) {
			joined = i
		}
		next.Time = max(next.Time, ev.Timestamp)
	}
	stateSaysJoined := slices.ContainsFunc(r.State.Events, a.isOurJoin)
	switch {
	case first: // from before the bot was there
		for _, ev := range events {
			if ev.StateKey != nil {
				a.note(ctx, ev)
			}
		}
		return nil
	case joined >= 0:
		for _, ev := range events[:joined] {
			if ev.StateKey != nil {
				a.note(ctx, ev)
			}
		}
		events = events[joined:]
	case r.Timeline.Limited && !stateSaysJoined:
		missed, err := a.before(ctx, cli, at, r.Timeline.PrevBatch, a.sync.at.Since, a.sync.at.Time)
		if err != nil {
			return err
		}
		events = append(missed, events...)
		a.lookLater(false) // homeservers leave things out at the ends of a gap
	}
	var last *event.Event
	for _, ev := range events {
		if ev.StateKey != nil {
			a.note(ctx, ev)
			continue
		}
		if ev.Sender == a.me {
			a.seenOwn(ctx, cli, ev)
		} else {
			last = ev
		}
		if err := a.event(ctx, cli, ev); err != nil {
			return err
		}
	}
	if last != nil {
		a.read(last.RoomID, last.ID)
	}
	return nil
}

// prepare makes an event as it comes in a batch complete.
func prepare(ev *event.Event, at id.RoomID) {
	ev.RoomID = at
	ev.Type.Class = event.MessageEventType
	if ev.StateKey != nil {
		ev.Type.Class = event.StateEventType
	}
	// What cannot be parsed stays unparsed, and is nothing that we answer.
	_ = ev.Content.ParseRaw(ev.Type)
}

// isOurJoin says that with this event the bot came into the room; a new name or
// picture of the bot looks much alike.
func (a *Adapter) isOurJoin(ev *event.Event) bool {
	if ev.StateKey == nil || ev.Type.Type != event.StateMember.Type || id.UserID(*ev.StateKey) != a.me {
		return false
	}
	if now, _ := ev.Content.Raw["membership"].(string); now != string(event.MembershipJoin) {
		return false
	}
	if ev.Unsigned.PrevContent == nil {
		return true
	}
	before, _ := ev.Unsigned.PrevContent.Raw["membership"].(string)
	return before != string(event.MembershipJoin)
}

// event hands one event to the bot, encrypted ones when they are open.
func (a *Adapter) event(ctx context.Context, cli *mautrix.Client, ev *event.Event) error {
	if ev.Type.Type == event.EventEncrypted.Type {
		if a.vault == nil {
			a.tellSealed(ctx, cli, ev)
			return nil
		}
		open, err := a.vault.open(ctx, ev)
		switch {
		case errors.Is(err, errNoKey):
			a.seal(ctx, ev)
			return nil
		case err != nil:
			if ctx.Err() != nil {
				return ctx.Err()
			}
			a.log.Warn("a message cannot be decrypted", "room", ev.RoomID, "event", ev.ID, "error", err)
			return nil
		}
		ev = open
	}
	e, ok, err := a.translate(ctx, cli, ev)
	if err == nil && ok {
		err = a.deliver(ctx, e)
	}
	if err == nil {
		a.sync.taken.put(ev.ID, true)
	}
	return err
}

// deliver gives an event to the bot until the bot has it.
func (a *Adapter) deliver(ctx context.Context, e bot.Event) error {
	for n := 0; ; n++ {
		err := a.sync.handle(ctx, e)
		switch {
		case err == nil:
			return nil
		case errors.Is(err, bot.ErrClosed):
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		}
		d := pause(n)
		a.log.Warn("the bot does not take an event yet", "event", e.ID, "after", d, "error", err)
		if err := a.wait(ctx, d); err != nil {
			return err
		}
	}
}
