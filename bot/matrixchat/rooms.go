package matrixchat

import (
	"context"
	"fmt"
	"slices"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// room is what has to be known of a room to tell whom its talk is for.
type room struct {
	members map[id.UserID]string // who is there or invited, by the name they go by
	named   bool
	power   *event.PowerLevelsEventContent
}

// alone says that there is one person and the bot.
func (r *room) alone() bool { return len(r.members) == 2 }

// room is what is known of a room; the homeserver is asked once, and what changes
// comes with the batches.
func (a *Adapter) room(ctx context.Context, cli *mautrix.Client, at id.RoomID) (*room, error) {
	a.mu.Lock()
	r := a.rooms[at]
	a.mu.Unlock()
	if r != nil {
		return r, nil
	}
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	state, err := cli.State(ctx, at)
	if err != nil {
		return nil, fmt.Errorf("read a room's state: %w", err)
	}
	r = &room{members: map[id.UserID]string{}}
	for _, byKey := range state {
		for _, ev := range byKey {
			r.apply(ev)
		}
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	a.rooms[at] = r
	a.countAdmins(at, r)
	return r, nil
}

// apply takes in one state event, whose content is parsed.
func (r *room) apply(ev *event.Event) {
	switch c := ev.Content.Parsed.(type) {
	case *event.MemberEventContent:
		who := id.UserID(ev.GetStateKey())
		switch c.Membership {
		case event.MembershipJoin, event.MembershipInvite:
			r.members[who] = c.Displayname
		default:
			delete(r.members, who)
		}
	case *event.RoomNameEventContent:
		r.named = c.Name != ""
	case *event.CanonicalAliasEventContent:
		r.named = r.named || c.Alias != ""
	case *event.PowerLevelsEventContent:
		if r.power != nil && c.CreateEvent == nil { // who made a room has power in it, in newer rooms
			c.CreateEvent = r.power.CreateEvent
		}
		r.power = c
	}
}

// note takes in a state event of a batch. A room that is not known yet is asked
// for when it is needed.
func (a *Adapter) note(ctx context.Context, ev *event.Event) {
	if a.vault != nil {
		a.vault.state(ctx, ev)
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	old := a.rooms[ev.RoomID]
	if old == nil {
		return
	}
	if c, ok := ev.Content.Parsed.(*event.MemberEventContent); ok && id.UserID(ev.GetStateKey()) == a.me && c.Membership != event.MembershipJoin {
		delete(a.rooms, ev.RoomID) // we are out; who is there when we come back is another matter
		return
	}
	r := &room{members: make(map[id.UserID]string, len(old.members)), named: old.named, power: old.power}
	for who, name := range old.members {
		r.members[who] = name
	}
	r.apply(ev)
	a.rooms[ev.RoomID] = r
	a.countAdmins(ev.RoomID, r)
}

// countAdmins notes who has power in the admin room. The lock is held.
func (a *Adapter) countAdmins(at id.RoomID, r *room) {
	if a.o.AdminRoom == "" || string(at) != a.o.AdminRoom {
		return
	}
	var admins []string
	if r.power != nil {
		for who := range r.members {
			if who != a.me && r.power.GetUserLevel(who) >= a.o.AdminPower {
				admins = append(admins, string(who))
			}
		}
	}
	slices.Sort(admins)
	a.admins = admins
}

// isDirect says whether a room is one person's with the bot: nobody else is
// there, and it was made for that or has no name of its own.
func (a *Adapter) isDirect(at id.RoomID, r *room) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return r.alone() && (a.direct[at] || !r.named)
}

func (a *Adapter) setDirect(c event.DirectChatsEventContent) {
	a.mu.Lock()
	defer a.mu.Unlock()
	clear(a.direct)
	for _, rooms := range c {
		for _, at := range rooms {
			a.direct[at] = true
		}
	}
}

// noteDirect keeps with the account that a room is for one person and the bot, as
// clients do; after joining, nothing else tells.
func (a *Adapter) noteDirect(ctx context.Context, cli *mautrix.Client, at id.RoomID, who id.UserID) {
	a.mu.Lock()
	a.direct[at] = true
	a.mu.Unlock()
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	all := event.DirectChatsEventContent{}
	if err := cli.GetAccountData(ctx, event.AccountDataDirectChats.Type, &all); err != nil && !gone(err) {
		a.log.Warn("the direct rooms could not be read", "error", err)
		return
	}
	if slices.Contains(all[who], at) {
		return
	}
	all[who] = append(all[who], at)
	if err := cli.SetAccountData(ctx, event.AccountDataDirectChats.Type, all); err != nil {
		a.log.Warn("a direct room could not be kept as one", "error", err)
	}
}

// invited takes an invitation of somebody who may invite, and turns all others
// down. An error means that it has to be tried again.
func (a *Adapter) invited(ctx context.Context, cli *mautrix.Client, at id.RoomID, in *mautrix.SyncInvitedRoom) error {
	ctx, cancel := context.WithTimeout(ctx, 2*request) // a room of another server takes a while
	defer cancel()
	var who id.UserID
	direct := false
	for _, ev := range in.BestState() {
		if ev.Type.Type == event.StateMember.Type && id.UserID(ev.GetStateKey()) == a.me {
			who = ev.Sender
			direct, _ = ev.Content.Raw["is_direct"].(bool)
		}
	}
	if !a.allowed(who) {
		a.log.Warn("an invitation was turned down: neither the person nor the server is in matrix.allow", "server", who.Homeserver())
		if _, err := cli.LeaveRoom(ctx, at); err != nil && a.again(err).Retry {
			return err
		}
		return nil
	}
	_, err := cli.JoinRoomByID(ctx, at)
	switch {
	case err != nil && a.again(err).Retry:
		return fmt.Errorf("join a room: %w", err)
	case err != nil:
		a.log.Error("a room could not be joined", "room", at, "error", err)
		return nil
	}
	a.log.Info("joined a room", "room", at, "direct", direct)
	if direct {
		a.noteDirect(ctx, cli, at, who)
	}
	return nil
}
