//go:build goolm

package matrixchat

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// sealedPerson is somebody with a device that encrypts, as an adapter's own does.
type sealedPerson struct {
	*person
	vault *keyVault
}

func (h *homeserver) sealedPerson(name string) *sealedPerson {
	h.t.Helper()
	p := h.person(name)
	a := &Adapter{o: Options{User: string(p.cli.UserID), KeyFile: filepath.Join(h.t.TempDir(), "keys.db")}}
	v, err := a.openVault(h.t.Context(), p.cli)
	if err != nil {
		h.t.Fatal(err)
	}
	p.pre, p.open, p.note = v.take, v.open, v.state
	h.t.Cleanup(func() {
		if err := v.close(); err != nil {
			h.t.Error(err)
		}
	})
	return &sealedPerson{p.listen(), v.(*keyVault)}
}

// trusts wants somebody's client to take a device of the bot as one that its owner
// signed, and gives the identity that signed it.
func (p *sealedPerson) trusts(who id.UserID, device id.DeviceID, least id.TrustState) id.Ed25519 {
	p.t.Helper()
	m := p.vault.h.Machine()
	all, err := m.FetchKeys(p.t.Context(), []id.UserID{who}, true) // as after the news that they changed
	if err != nil {
		p.t.Fatal(err)
	}
	d := all[who][device]
	if d == nil {
		p.t.Fatalf("there is no device %s", device)
	}
	trust, err := m.ResolveTrustContext(p.t.Context(), d)
	if err != nil || trust < least {
		p.t.Errorf("the trust in the device is %v, %v", trust, err)
	}
	k, err := m.GetCrossSigningPublicKeys(p.t.Context(), who)
	if err != nil || k == nil {
		p.t.Fatalf("the identity is %v, %v", k, err)
	}
	return k.MasterKey
}

var encrypted = []*event.Event{{Type: event.StateEncryption, Content: event.Content{Parsed: &event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1}}}}

// TestEncryptedRoom is a conversation in an encrypted room from end to end, through
// a restart of the bot.
func TestEncryptedRoom(t *testing.T) {
	h := startHomeserver(t)
	ann := h.sealedPerson("ann")
	me := h.account("bot").UserID
	dir := t.TempDir()
	o := h.options(me)
	o.Encryption, o.KeyFile = true, filepath.Join(dir, "keys.db")
	b := startBot(t, dir, o, nil)
	room := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Secret", Preset: "private_chat", Invite: []id.UserID{me}, InitialState: encrypted})
	ann.joined(room, me)

	// everything that is said goes encrypted, in both directions
	wasSealed := func(ev *event.Event) {
		t.Helper()
		if !ev.Mautrix.WasEncrypted {
			t.Errorf("it was not encrypted: %s", ev.Content.VeryRaw)
		}
	}
	q := ann.ask(room, me, unclear)
	r := ann.reply(q, me)
	wasSealed(r)
	ann.react(room, r.ID, keycapOf(choiceNumber(t, body(r), "U11")))
	wasSealed(ann.replacing(r.ID, "U11"))
	ann.react(room, r.ID, "🔎")
	wasSealed(ann.reply(r.ID, me))

	device := b.adapter.client.Load().DeviceID
	identity := ann.trusts(me, device, id.TrustStateCrossSignedTOFU)
	b.stop()
	while := ann.ask(room, me, legal) // nobody is there to read it
	b = startBot(t, dir, o, nil)
	if got := b.adapter.client.Load().DeviceID; got != device {
		t.Errorf("after the restart the device is %s, before it was %s", got, device)
	}
	if got := ann.trusts(me, device, id.TrustStateCrossSignedTOFU); got != identity {
		t.Errorf("after the restart the identity is %s, before it was %s", got, identity)
	}
	answer := ann.reply(while, me)
	wasSealed(answer)
	if !strings.HasPrefix(body(answer), "Not legal") {
		t.Errorf("after the restart it answers %q", body(answer))
	}
	// A control of a reply from before the restart: its mark is read from the room.
	b.adapter.mu.Lock()
	b.adapter.ours = newMemory[id.EventID, known](rememberReplies)
	b.adapter.mu.Unlock()
	more := ann.reply(ann.say(room, inThread(&event.MessageEventContent{Body: "and at U15?"}, while)), me)
	wasSealed(more)
	ann.react(room, answer.ID, "🔎")
	wasSealed(ann.reply(answer.ID, me))
	edited := mention(me, "can U15s body check?")
	edited.SetEdit(while)
	ann.say(room, edited)
	wasSealed(ann.replacing(answer.ID, "U15"))
	if _, err := ann.cli.RedactEvent(t.Context(), room, while); err != nil {
		t.Fatal(err)
	}
	ann.find("the redaction of the reply", func(ev *event.Event) bool {
		return ev.Type.Type == event.EventRedaction.Type && ev.Sender == me && ev.Redacts == answer.ID
	})

	// Without its keys the bot is a new device, and talks on.
	b.stop()
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(o.KeyFile + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
	}
	b = startBot(t, dir, o, nil)
	if got := b.adapter.client.Load().DeviceID; got == device {
		t.Error("the bot without keys took the old device's name")
	}
	// What was said before a sender knows the new device, nobody can read on it.
	asked, last := map[id.EventID]bool{}, time.Time{}
	until(t, "the new device is spoken to", func() bool {
		if time.Since(last) > 2*time.Second {
			asked[ann.ask(room, me, legal)] = true
			last = time.Now()
		}
		ann.mu.Lock()
		defer ann.mu.Unlock()
		return slices.ContainsFunc(ann.seen, func(ev *event.Event) bool {
			c, ok := ev.Content.Parsed.(*event.MessageEventContent)
			return ok && ev.Sender == me && ev.Mautrix.WasEncrypted && asked[c.RelatesTo.GetReplyTo()]
		})
	})
	// The new device is signed too, by an identity that takes the lost one's place;
	// whoever knew that one has to be told.
	if got := ann.trusts(me, b.adapter.client.Load().DeviceID, id.TrustStateCrossSignedUntrusted); got == identity {
		t.Error("without its keys the bot still has the old identity")
	}
	info, err := os.Stat(o.KeyFile)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key file is %v, %v", info, err)
	}
}

// TestForeignIdentity wants an identity that a person set up on the bot's account
// left alone: the bot cannot sign its device with it, and works all the same.
func TestForeignIdentity(t *testing.T) {
	h := startHomeserver(t)
	ann := h.sealedPerson("ann")
	owner := h.sealedPerson("bot")
	me := owner.cli.UserID
	m := owner.vault.h.Machine()
	keys, err := m.GenerateCrossSigningKeys()
	if err != nil {
		t.Fatal(err)
	}
	if err := m.PublishCrossSigningKeys(t.Context(), keys, (&Adapter{me: me, o: Options{Password: password}}).confirm); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	o := h.options(me)
	o.Encryption, o.KeyFile = true, filepath.Join(dir, "keys.db")
	b := startBot(t, dir, o, nil)
	if got := ann.trusts(me, b.adapter.client.Load().DeviceID, id.TrustStateUnset); got != keys.MasterKey.PublicKey() {
		t.Errorf("the identity is %s, the person's was %s", got, keys.MasterKey.PublicKey())
	}
	room := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Secret", Preset: "private_chat", Invite: []id.UserID{me}, InitialState: encrypted})
	ann.joined(room, me)
	if r := ann.reply(ann.ask(room, me, legal), me); !r.Mautrix.WasEncrypted {
		t.Errorf("it was not encrypted: %s", r.Content.VeryRaw)
	}
}
