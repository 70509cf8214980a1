package matrixchat

import (
	"encoding/json"
	"strings"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

const (
	legal   = "can U11s body check?"
	unclear = "50 inch stick for attack?"
)

// TestConversation is an evening of a club on a real homeserver: two people, the
// bot, a team room, and rooms for one person and the bot.
func TestConversation(t *testing.T) {
	h := startHomeserver(t)
	ann, ben := h.person("ann").listen(), h.person("ben").listen()
	me := h.account("bot").UserID
	dir := t.TempDir()
	before := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Coaches", Invite: []id.UserID{me}})
	early := ann.ask(before, me, legal)
	admins := func(o *bot.Options) {
		o.Admins = func() []string { return []string{Platform + ":" + string(ann.cli.UserID)} }
	}
	opts := h.options(me)
	opts.Prefix = "!rules"
	b := startBot(t, dir, opts, admins)
	ann.joined(before, me)
	team := ann.createRoom(&mautrix.ReqCreateRoom{Name: "U11", Preset: "public_chat", Invite: []id.UserID{me, ben.cli.UserID}})
	ann.joined(team, me)
	if _, err := ben.cli.JoinRoomByID(t.Context(), team); err != nil {
		t.Fatal(err)
	}
	ben.joined(team, ben.cli.UserID)

	t.Run("mention", func(t *testing.T) {
		q := ben.ask(team, me, legal)
		r := ben.reply(q, me)
		c := r.Content.AsMessage()
		if c.MsgType != event.MsgNotice || c.RelatesTo.GetThreadParent() != q || !c.RelatesTo.IsFallingBack {
			t.Errorf("the reply is no notice in the question's thread: %s", r.Content.VeryRaw)
		}
		if !strings.HasPrefix(c.Body, "Not legal") || !strings.HasPrefix(c.FormattedBody, "<b>Not legal") {
			t.Errorf("the reply reads\n%s\n%s", c.Body, c.FormattedBody)
		}
		if c.Mentions == nil || len(c.Mentions.UserIDs) > 0 {
			t.Errorf("the reply mentions people: %s", r.Content.VeryRaw)
		}
	})
	t.Run("name and prefix", func(t *testing.T) {
		for _, text := range []string{"bot: " + legal, "!rules " + legal, string(me) + " " + legal} {
			q := ben.say(team, &event.MessageEventContent{Body: text, Mentions: &event.Mentions{}})
			if got := body(ben.reply(q, me)); !strings.HasPrefix(got, "Not legal") {
				t.Errorf("%q is answered with %q", text, got)
			}
		}
	})
	t.Run("silence", func(t *testing.T) {
		notice := mention(me, legal)
		notice.MsgType = event.MsgNotice
		quiet := []id.EventID{
			ben.say(team, &event.MessageEventContent{Body: legal}),
			ben.say(team, notice),
			ben.say(team, &event.MessageEventContent{Body: "I asked the robot yesterday, it knows"}),
			early,
		}
		ben.reply(ben.ask(team, me, legal), me) // what came before is done by now
		for _, p := range []*person{ann, ben} {
			p.mu.Lock()
			for _, ev := range p.seen {
				if c, ok := ev.Content.Parsed.(*event.MessageEventContent); ok && ev.Sender == me {
					for _, q := range quiet {
						if c.RelatesTo.GetReplyTo() == q {
							t.Errorf("%s was answered: %s", q, c.Body)
						}
					}
				}
			}
			p.mu.Unlock()
		}
	})
	t.Run("thread", func(t *testing.T) {
		q := ben.ask(team, me, "U11 attack, 45-inch stick?")
		ben.reply(q, me)
		more := ben.say(team, inThread(&event.MessageEventContent{Body: "and at U15?"}, q))
		r := ben.reply(more, me)
		if c := r.Content.AsMessage(); c.RelatesTo.GetThreadParent() != q || !strings.Contains(c.Body, "U15") {
			t.Errorf("the follow-up is answered with %s", r.Content.VeryRaw)
		}
	})
	t.Run("rich reply", func(t *testing.T) {
		q := ben.ask(team, me, "U11 attack, 45-inch stick?")
		r := ben.reply(q, me)
		c := &event.MessageEventContent{Body: "and at U15?", Mentions: &event.Mentions{UserIDs: []id.UserID{me}}, RelatesTo: (&event.RelatesTo{}).SetReplyTo(r.ID)}
		next := ben.reply(ben.say(team, c), me)
		if c := next.Content.AsMessage(); c.RelatesTo.GetThreadParent() != "" || !strings.Contains(c.Body, "U15") {
			t.Errorf("the follow-up is answered with %s", next.Content.VeryRaw)
		}
	})
	t.Run("choice by number", func(t *testing.T) {
		q := ben.ask(team, me, unclear)
		r := ben.reply(q, me)
		n := choiceNumber(t, body(r), "U11")
		said := ben.say(team, inThread(&event.MessageEventContent{Body: string(rune('0' + n))}, q))
		if got := body(ben.reply(said, me)); !strings.Contains(got, "U11") {
			t.Errorf("the number is answered with %q", got)
		}
	})
	t.Run("choice by reaction", func(t *testing.T) {
		q := ben.ask(team, me, unclear)
		r := ben.reply(q, me)
		n := choiceNumber(t, body(r), "U11")
		ben.find("the bot's own number", func(ev *event.Event) bool {
			c, ok := ev.Content.Parsed.(*event.ReactionEventContent)
			return ok && ev.Sender == me && c.RelatesTo.EventID == r.ID && c.RelatesTo.Key == keycapOf(n)
		})
		ben.react(team, r.ID, keycapOf(n))
		ben.replacing(r.ID, "U11")
		// The numbers that are no longer open go.
		ben.find("a number being taken away", func(ev *event.Event) bool {
			return ev.Type.Type == event.EventRedaction.Type && ev.Sender == me
		})
		ben.react(team, r.ID, "🔎")
		view := ben.reply(r.ID, me)
		if c := view.Content.AsMessage(); c.RelatesTo.GetThreadParent() != q || !strings.Contains(c.Body, "Rules it rests on") {
			t.Errorf("the detail reads %s", view.Content.VeryRaw)
		}
	})
	t.Run("edit and redaction", func(t *testing.T) {
		q := ben.ask(team, me, legal)
		r := ben.reply(q, me)
		edited := mention(me, "can U15s body check?")
		edited.SetEdit(q)
		foreign := mention(me, "can HS body check?")
		foreign.SetEdit(q)
		ann.say(team, foreign) // not hers
		ben.say(team, edited)
		ben.replacing(r.ID, "U15")
		if _, err := ben.cli.RedactEvent(t.Context(), team, q); err != nil {
			t.Fatal(err)
		}
		ben.find("the redaction of the reply", func(ev *event.Event) bool {
			return ev.Type.Type == event.EventRedaction.Type && ev.Sender == me && ev.Redacts == r.ID
		})
		if strings.Contains(ben.said(), "high school players") {
			t.Error("somebody else's edit was answered")
		}
	})
	t.Run("bound room", func(t *testing.T) {
		refused := ben.reply(ben.ask(team, me, "this room is U11"), me)
		if got := body(refused); !strings.Contains(got, "admins") {
			t.Errorf("whoever is no admin gets %q", got)
		}
		if got := body(ann.reply(ann.ask(team, me, "this room is U11"), me)); !strings.Contains(got, "U11") {
			t.Errorf("the admin gets %q", got)
		}
		if got := body(ben.reply(ben.ask(team, me, unclear), me)); !strings.Contains(got, "U11") || !strings.HasPrefix(got, "Legal") {
			t.Errorf("the question in a bound room gets %q", got)
		}
	})
	t.Run("direct", func(t *testing.T) {
		dm := ben.createRoom(&mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{me}})
		ben.joined(dm, me)
		q := ben.say(dm, &event.MessageEventContent{Body: unclear})
		r := ben.reply(q, me)
		if c := r.Content.AsMessage(); c.RelatesTo.GetThreadParent() != "" {
			t.Errorf("the reply hides in a thread: %s", r.Content.VeryRaw)
		}
		n := choiceNumber(t, body(r), "U11")
		next := ben.say(dm, &event.MessageEventContent{Body: string(rune('0' + n))})
		if got := body(ben.reply(next, me)); !strings.Contains(got, "U11") {
			t.Errorf("the number is answered with %q", got)
		}
		// A thread that begins at the bot's reply goes on with its conversation.
		inside := ben.reply(ben.say(dm, inThread(&event.MessageEventContent{Body: "and at U15?"}, r.ID)), me)
		if c := inside.Content.AsMessage(); c.RelatesTo.GetThreadParent() != r.ID || !strings.Contains(c.Body, "U15") {
			t.Errorf("in the thread it answers %s", inside.Content.VeryRaw)
		}
		var all event.DirectChatsEventContent
		if err := b.adapter.client.Load().GetAccountData(t.Context(), "m.direct", &all); err != nil || len(all[ben.cli.UserID]) != 1 {
			t.Errorf("m.direct is %v, %v", all, err)
		}
	})
	t.Run("typing and receipts", func(t *testing.T) {
		q := ben.ask(team, me, legal)
		ben.find("a receipt", func(ev *event.Event) bool {
			c, ok := ev.Content.Parsed.(*event.ReceiptEventContent)
			if !ok {
				return false
			}
			for at := range *c {
				if _, ok := (*c)[at][event.ReceiptTypeRead][me]; ok {
					return true
				}
			}
			return false
		})
		ben.reply(q, me)
		ben.find("a typing notice", func(ev *event.Event) bool {
			c, ok := ev.Content.Parsed.(*event.TypingEventContent)
			return ok && len(c.UserIDs) == 1 && c.UserIDs[0] == me
		})
	})
	t.Run("restart", func(t *testing.T) {
		b.stop()
		q := ben.ask(team, me, legal)
		for range 130 { // more than a batch holds
			ben.say(team, &event.MessageEventContent{Body: "see you at the field"})
		}
		b = startBot(t, dir, opts, admins)
		ben.reply(q, me)
		devices, err := b.adapter.client.Load().GetDevicesInfo(t.Context())
		if err != nil || len(devices.Devices) != 2 { // the one that registered, and the bot's
			t.Errorf("the account has devices %v, %v", devices, err)
		}
		ben.mu.Lock()
		defer ben.mu.Unlock()
		of := map[id.EventID]int{}
		for _, ev := range ben.seen {
			if c, ok := ev.Content.Parsed.(*event.MessageEventContent); ok && ev.Sender == me && c.RelatesTo.GetReplaceID() == "" {
				of[c.RelatesTo.GetReplyTo()]++
			}
		}
		for q, n := range of {
			if n > 1 {
				t.Errorf("%s was answered %d times", q, n)
			}
		}
	})
}

// choiceNumber is the number that a reply offers something under.
func choiceNumber(t testing.TB, text, label string) int {
	t.Helper()
	for line := range strings.Lines(text) {
		if n, l, ok := strings.Cut(strings.TrimSpace(line), ". "); ok && l == label && len(n) == 1 {
			return int(n[0] - '0')
		}
	}
	t.Fatalf("no choice %s in %q", label, text)
	return 0
}

// TestInvitations wants strangers turned down, and an admin to be one by power.
func TestInvitations(t *testing.T) {
	h := startHomeserver(t)
	ann, mal := h.person("ann").listen(), h.person("mal").listen()
	me := h.account("bot").UserID
	board := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Board", Invite: []id.UserID{me, mal.cli.UserID}})
	if _, err := mal.cli.JoinRoomByID(t.Context(), board); err != nil {
		t.Fatal(err)
	}
	o := h.options(me)
	o.Allow, o.AdminRoom = []string{string(ann.cli.UserID), "elsewhere.example"}, string(board)
	b := startBot(t, t.TempDir(), o, nil)
	ann.joined(board, me)
	room := mal.createRoom(&mautrix.ReqCreateRoom{Name: "Trap", Invite: []id.UserID{me}})
	mal.find("the refusal", func(ev *event.Event) bool {
		c, ok := ev.Content.Parsed.(*event.MemberEventContent)
		return ok && ev.RoomID == room && ev.GetStateKey() == string(me) && c.Membership == event.MembershipLeave
	})
	q := ann.ask(board, me, "this room is U13")
	if got := body(ann.reply(q, me)); !strings.Contains(got, "U13") {
		t.Errorf("an admin by power gets %q", got)
	}
	if got := b.adapter.Admins(); len(got) != 1 || got[0] != string(ann.cli.UserID) {
		t.Errorf("admins by power are %v", got)
	}
	refused := mal.ask(board, me, "this room is U9")
	if got := body(mal.reply(refused, me)); !strings.Contains(got, "Only the club's admins") {
		t.Errorf("whoever has no power gets %q", got)
	}
	// Power that is given while the bot runs counts.
	var power event.PowerLevelsEventContent
	if err := ann.cli.StateEvent(t.Context(), board, event.StatePowerLevels, "", &power); err != nil {
		t.Fatal(err)
	}
	power.SetUserLevel(mal.cli.UserID, 50)
	if _, err := ann.cli.SendStateEvent(t.Context(), board, event.StatePowerLevels, "", &power); err != nil {
		t.Fatal(err)
	}
	until(t, "the new admin is known", func() bool { return len(b.adapter.Admins()) == 2 })
}

// TestLimited wants more invitations taken than a homeserver lets one account take at
// once, and what is asked in those rooms answered. Dendrite limits joining, logging
// in and typing, and no messages.
func TestLimited(t *testing.T) {
	h := startHomeserverWith(t, strings.Replace(dendriteConfig, "rate_limiting: {enabled: false}",
		`rate_limiting: {enabled: true, threshold: 2, cooloff_ms: 300, exempt_user_ids: ["@ann:localhost"]}`, 1))
	ann := h.person("ann").listen()
	me := h.account("bot").UserID
	dir := t.TempDir()
	startBot(t, dir, h.options(me), nil).stop() // so that all of them come in one batch
	rooms := make([]id.RoomID, 5)
	for i := range rooms {
		rooms[i] = ann.createRoom(&mautrix.ReqCreateRoom{Name: "Team", Invite: []id.UserID{me}})
	}
	startBot(t, dir, h.options(me), nil)
	for _, at := range rooms {
		ann.joined(at, me)
	}
	for _, at := range rooms {
		ann.reply(ann.ask(at, me, legal), me)
	}
}

// TestTransaction wants a reply that is posted twice to be one message, where the
// homeserver remembers the first.
func TestTransaction(t *testing.T) {
	h := startHomeserver(t)
	ann := h.person("ann").listen()
	me := h.account("bot").UserID
	b := startBot(t, t.TempDir(), h.options(me), nil)
	room := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Team", Invite: []id.UserID{me}})
	ann.joined(room, me)
	q := ann.ask(room, me, legal)
	first := ann.reply(q, me)
	r := &bot.Reply{Key: strings.Join([]string{Platform, "", string(room), string(q)}, "/"), Headline: "Not legal",
		Event: bot.Event{Kind: bot.Message, ID: string(q), Message: string(q), Channel: string(room)}, Where: bot.Where{Platform: Platform, Channel: string(room), Thread: string(q)}}
	ref, _, err := b.adapter.Send(t.Context(), r)
	if err != nil || ref.Message != string(first.ID) {
		t.Errorf("posted again it is %s, %v; it was %s", ref.Message, err, first.ID)
	}
	if found, ok, _, err := b.adapter.Find(t.Context(), r.Where, r.Key); err != nil || !ok || found != ref {
		t.Errorf("found is %+v, %v, %v; want %+v", found, ok, err, ref)
	}
}

// TestSealedRoom wants an encrypted room told once, and only once, what to do.
func TestSealedRoom(t *testing.T) {
	h := startHomeserver(t)
	ann := h.person("ann").listen()
	me := h.account("bot").UserID
	dir := t.TempDir()
	b := startBot(t, dir, h.options(me), nil)
	room := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Secret", Invite: []id.UserID{me}, InitialState: []*event.Event{{
		Type: event.StateEncryption, Content: event.Content{Parsed: &event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1}}}}})
	ann.joined(room, me)
	garbled := func() {
		c := json.RawMessage(`{"algorithm":"m.megolm.v1.aes-sha2","ciphertext":"AwgAEnAC","sender_key":"x","session_id":"y","device_id":"z"}`)
		if _, err := ann.cli.SendMessageEvent(t.Context(), room, event.EventEncrypted, c); err != nil {
			t.Fatal(err)
		}
	}
	garbled()
	told := ann.find("the notice", func(ev *event.Event) bool { return ev.Sender == me && body(ev) != "" })
	if !strings.Contains(body(told), "matrix.encryption") {
		t.Errorf("the notice reads %q", body(told))
	}
	garbled()
	b.stop()
	startBot(t, dir, h.options(me), nil)
	garbled()
	dm := ann.createRoom(&mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{me}})
	ann.joined(dm, me)
	ann.reply(ann.say(dm, &event.MessageEventContent{Body: legal}), me) // by now the room's were seen
	if n := strings.Count(ann.said(), allWords["en"].sealed); n != 1 {
		t.Errorf("the room was told %d times", n)
	}
}
