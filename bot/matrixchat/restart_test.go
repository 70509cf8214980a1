package matrixchat

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// TestHomeserverKilled kills the homeserver, the bot, and twice both of them, with
// SIGKILL and amid 500 questions, and wants each of them answered exactly once.
//
// People's clients do what clients do: where the connection breaks they send again
// with the same transaction id. A dendrite that was killed does not remember those,
// so that it may have a question twice; then these are two events, and each of them
// is answered. What it acknowledged it keeps, all of it, and so all has to be there;
// though the one message that was on its way from its room server to its sync server
// comes half a minute late, when the queue between them gives it up for lost.
func TestHomeserverKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	const questions, roomCount = 500, 5
	h := startHomeserver(t)
	ann, ben := h.person("ann"), h.person("ben")
	b := &mortal{t: t, dir: quickDir(t), home: h.url, user: h.account("bot").UserID}
	b.start()
	t.Cleanup(func() {
		b.kill()
		if raw, err := os.ReadFile(filepath.Join(b.dir, "bot.log")); t.Failed() && err == nil {
			t.Logf("the bot said at last:\n%s", raw[max(0, len(raw)-10_000):])
		}
	})
	rooms := make([]id.RoomID, roomCount)
	for i := range rooms {
		rooms[i] = ann.createRoom(&mautrix.ReqCreateRoom{Name: fmt.Sprint("Team ", i), Invite: []id.UserID{b.user, ben.cli.UserID}})
		if _, err := ben.cli.JoinRoomByID(t.Context(), rooms[i]); err != nil {
			t.Fatal(err)
		}
	}
	for _, at := range rooms {
		until(t, "the bot is in", func() bool {
			m, err := ann.cli.JoinedMembers(t.Context(), at)
			return err == nil && len(m.Joined) == 3
		})
	}

	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	var sent atomic.Int64
	var writing sync.WaitGroup
	taken := make([]id.EventID, questions) // what the homeserver acknowledged
	for w, p := range []*person{ann, ben, ann, ben} {
		writing.Go(func() {
			for i := w; i < questions; i += 4 {
				ev, err := sayUntilTaken(ctx, p.cli, rooms[i%roomCount], mention(b.user, legal), fmt.Sprint("question-", i))
				if err != nil {
					t.Error(err)
					return
				}
				taken[i] = ev
				sent.Add(1)
			}
		})
	}
	for _, k := range []struct {
		at    int64
		whose func()
	}{
		{100, func() { h.kill(); h.start() }},
		{200, func() { b.kill(); b.start() }},
		{300, func() { h.kill(); b.kill(); b.start(); h.start() }}, // the bot is up first
		{400, func() { b.kill(); h.kill(); h.start(); b.start() }},
	} {
		until(t, "enough was asked", func() bool { return sent.Load() >= k.at || ctx.Err() != nil })
		k.whose()
	}
	up := time.Now()
	writing.Wait()
	if t.Failed() {
		return
	}

	// It is over when all that was acknowledged is there, all is answered once, and the
	// bot has nothing in hand and has looked at the rooms again. A second answer that
	// the homeserver brings to light after all may be seen until the bot sees it too.
	s, err := bot.OpenSQLite(t.Context(), filepath.Join(b.dir, "state.db"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var now tally
	late := 0
	end := time.After(2 * time.Minute)
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		now = count(t, ann, rooms, b.user)
		left, err := s.Unfinished(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		missing := slices.DeleteFunc(slices.Clone(taken), func(ev id.EventID) bool { _, ok := now.answers[ev]; return ok })
		if n := len(missing); n != late {
			t.Logf("%s after the last restart %d questions that were acknowledged are in no room", time.Since(up).Round(time.Second), n)
			late = n
		}
		if len(missing)+len(now.open)+len(now.twice)+len(left) == 0 && time.Since(up) > 2*settles {
			break
		}
		select {
		case <-end:
			t.Fatalf("of %d questions %d are in hand,\nnot answered: %s\nanswered more than once: %s\nacknowledged and in no room: %s", now.asked, len(left), now.open, now.twice, missing)
		case <-tick.C:
		}
	}
	t.Logf("%d questions, %d of them sent twice, %d answers taken away as second ones", now.asked, now.asked-questions, now.removed)
}

// tally is what stands in the rooms.
type tally struct {
	asked   int
	answers map[id.EventID]int // by question
	open    []id.EventID
	twice   []id.EventID
	removed int // answers that were taken away
}

func count(t *testing.T, p *person, rooms []id.RoomID, who id.UserID) tally {
	t.Helper()
	n := tally{answers: map[id.EventID]int{}}
	var replies []id.EventID
	for _, at := range rooms {
		for _, ev := range everything(t, p.cli, at) {
			c, ok := ev.Content.Parsed.(*event.MessageEventContent)
			switch {
			case !ok:
			case ev.Sender == who && c.MsgType == "":
				n.removed++
			case ev.Sender == who:
				replies = append(replies, c.RelatesTo.GetReplyTo())
			default:
				n.answers[ev.ID] = 0
			}
		}
	}
	n.asked = len(n.answers)
	for _, q := range replies {
		if _, ok := n.answers[q]; !ok {
			t.Errorf("a reply to %s, which nobody said", q)
		}
		n.answers[q]++
	}
	for q, times := range n.answers {
		switch times {
		case 0:
			n.open = append(n.open, q)
		case 1:
		default:
			n.twice = append(n.twice, q)
		}
	}
	return n
}

// sayUntilTaken sends until the homeserver has it.
func sayUntilTaken(ctx context.Context, cli *mautrix.Client, at id.RoomID, c *event.MessageEventContent, transaction string) (id.EventID, error) {
	for {
		resp, err := cli.SendMessageEvent(ctx, at, event.EventMessage, c, mautrix.ReqSendEvent{TransactionID: transaction})
		if err == nil {
			return resp.EventID, nil
		}
		select {
		case <-ctx.Done():
			return "", fmt.Errorf("%s: %w", transaction, err)
		case <-time.After(50 * time.Millisecond): // the homeserver is another process
		}
	}
}

// everything is all that stands in a room, back to its beginning. It is read as one
// page, which dendrite gives where a filter asks for it: between two pages it loses
// what was said at the same moment.
func everything(t testing.TB, cli *mautrix.Client, at id.RoomID) []*event.Event {
	t.Helper()
	const all = 5000
	page, err := cli.Messages(t.Context(), at, "", "", mautrix.DirectionBackward, &mautrix.FilterPart{Limit: all}, all)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(page.Chunk); n == 0 || page.Chunk[n-1].Type.Type != event.StateCreate.Type {
		t.Fatalf("a page of %d events does not reach a room's beginning", n)
	}
	for _, ev := range page.Chunk {
		prepare(ev, at)
	}
	return page.Chunk
}
