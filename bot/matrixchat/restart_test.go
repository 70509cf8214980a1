package matrixchat

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// TestHomeserverKilled kills the homeserver twice, and the bot once, amid 500
// questions, and wants each of them answered exactly once.
func TestHomeserverKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	const questions, roomCount, mostForgotten = 500, 5, 10
	h := startHomeserver(t)
	ann, ben := h.person("ann"), h.person("ben")
	me := h.account("bot").UserID
	dir := t.TempDir()
	b := startBot(t, dir, h.options(me), nil)
	rooms := make([]id.RoomID, roomCount)
	for i := range rooms {
		rooms[i] = ann.createRoom(&mautrix.ReqCreateRoom{Name: fmt.Sprint("Team ", i), Invite: []id.UserID{me, ben.cli.UserID}})
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
	for w, p := range []*person{ann, ben, ann, ben} {
		writing.Go(func() {
			for i := w; i < questions; i += 4 {
				if err := sayUntilTaken(ctx, p.cli, rooms[i%roomCount], mention(me, legal), fmt.Sprint("question-", i)); err != nil {
					t.Error(err)
					return
				}
				sent.Add(1)
			}
		})
	}
	var up time.Time
	for i, at := range []int64{120, 250, 380} {
		until(t, "enough was asked", func() bool { return sent.Load() >= at || ctx.Err() != nil })
		if i == 1 {
			b.stop()
			b = startBot(t, dir, h.options(me), nil)
			continue
		}
		h.kill()
		h.start()
		up = time.Now()
	}
	writing.Wait()

	asked := map[id.EventID]bool{}
	replies := map[id.EventID]int{}
	count := func() (open, twice int) {
		clear(asked)
		clear(replies)
		for _, at := range rooms {
			for _, ev := range everything(t, ann.cli, at) {
				c, ok := ev.Content.Parsed.(*event.MessageEventContent)
				switch {
				case !ok:
				case ev.Sender == me:
					replies[c.RelatesTo.GetReplyTo()]++
				default:
					asked[ev.ID] = true
				}
			}
		}
		for q := range asked {
			switch replies[q] {
			case 0:
				open++
			case 1:
			default:
				twice++
			}
		}
		return open, twice
	}
	// forgotten says whether the homeserver acknowledged a reply and does not show it
	// any more. A dendrite that is killed does that to a few; most of them the bot
	// finds and posts again, but not those from before its own restart.
	forgotten := func(q id.EventID) bool {
		for _, at := range rooms {
			a, err := b.store.Answered(t.Context(), strings.Join([]string{Platform, "", string(at), string(q)}, "/"))
			if err != nil {
				continue
			}
			_, err = ann.cli.GetEvent(t.Context(), at, id.EventID(a.Ref.Message))
			t.Logf("%s was answered at %s with %s; the homeserver says of that: %v", q, a.At, a.Ref.Message, err)
			return true
		}
		return false
	}
	end := time.After(3 * time.Minute)
	last, since := 0, time.Now() // how many were open, and since when
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		open, _ := count()
		left, err := b.store.Unfinished(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		// Until it has looked again, the bot may still find something to do.
		if open == 0 && len(left) == 0 && time.Since(up) > 2*settles {
			break
		}
		if open != last || len(left) > 0 {
			last, since = open, time.Now()
		}
		if time.Since(since) > 4*settles && time.Since(up) > 4*settles { // nothing moves any more
			lost := 0
			for q := range asked {
				if replies[q] == 0 && forgotten(q) {
					lost++
				}
			}
			if len(left) > 0 || open > lost || lost > mostForgotten {
				t.Fatalf("%d of %d questions are not answered, and %d are in hand; the homeserver forgot %d replies", open, len(asked), len(left), lost)
			}
			break
		}
		select {
		case <-end:
			t.Fatalf("%d of %d questions are not answered, and %d are in hand", open, len(asked), len(left))
		case <-tick.C:
		}
	}
	_, twice := count()
	// A dendrite that is killed may forget questions that it has just acknowledged;
	// many more would mean that it is of no use for this test.
	if len(asked) < questions-mostForgotten {
		t.Errorf("only %d of %d questions stand in the rooms", len(asked), questions)
	}
	if twice > 0 {
		t.Errorf("of %d questions %d were answered more than once", len(asked), twice)
	}
}

// sayUntilTaken sends until the homeserver has it. After a restart it may take one
// message twice; then it is two questions.
func sayUntilTaken(ctx context.Context, cli *mautrix.Client, at id.RoomID, c *event.MessageEventContent, transaction string) error {
	for {
		_, err := cli.SendMessageEvent(ctx, at, event.EventMessage, c, mautrix.ReqSendEvent{TransactionID: transaction})
		if err == nil {
			return nil
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%s: %w", transaction, err)
		case <-time.After(50 * time.Millisecond): // the homeserver is another process
		}
	}
}

// everything is all that stands in a room.
func everything(t testing.TB, cli *mautrix.Client, at id.RoomID) []*event.Event {
	t.Helper()
	var out []*event.Event
	from := ""
	for {
		page, err := cli.Messages(t.Context(), at, from, "", mautrix.DirectionBackward, nil, 2000) // dendrite's pages lose events between them
		if err != nil {
			t.Fatal(err)
		}
		for _, ev := range page.Chunk {
			prepare(ev, at)
			out = append(out, ev)
		}
		if len(page.Chunk) == 0 || page.End == "" || page.End == from {
			return out
		}
		from = page.End
	}
}
