package matrixchat

import (
	"context"
	"slices"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// echoBot is the least that a bot on the same library can do: it sends back what
// it is sent.
func echoBot(b *testing.B, cli *mautrix.Client) {
	b.Helper()
	syncer := cli.Syncer.(*mautrix.DefaultSyncer)
	syncer.OnEventType(event.EventMessage, func(ctx context.Context, ev *event.Event) {
		if ev.Sender == cli.UserID {
			return
		}
		c := &event.MessageEventContent{MsgType: event.MsgNotice, Body: body(ev)}
		c.SetThread(ev)
		if _, err := cli.SendMessageEvent(ctx, ev.RoomID, event.EventMessage, c); err != nil {
			b.Error(err)
		}
	})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); _ = cli.SyncWithContext(ctx) }()
	b.Cleanup(func() { cancel(); <-done })
}

// answerTime is how long it takes from a person's message to the bot's, as the
// person sees it.
func answerTime(b *testing.B, p *person, at id.RoomID, who id.UserID) time.Duration {
	begin := time.Now()
	q := p.ask(at, who, legal)
	p.reply(q, who)
	return time.Since(begin)
}

// BenchmarkAnswer measures the bot and a bare echo bot in turns, on one real
// homeserver. The ratio is to stay at or below 1.5.
func BenchmarkAnswer(b *testing.B) {
	h := startHomeserver(b)
	ann := h.person("ann").listen()
	me, echo := h.account("bot").UserID, h.account("echo")
	startBot(b, b.TempDir(), h.options(me), nil)
	ours := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Bot", Invite: []id.UserID{me}})
	bare := ann.createRoom(&mautrix.ReqCreateRoom{Name: "Echo", Invite: []id.UserID{echo.UserID}})
	if _, err := echo.JoinRoomByID(b.Context(), bare); err != nil {
		b.Fatal(err)
	}
	ann.joined(ours, me)
	ann.joined(bare, echo.UserID)
	echoBot(b, echo)
	for range 5 { // connections, caches
		answerTime(b, ann, bare, echo.UserID)
		answerTime(b, ann, ours, me)
	}
	var bot, base []time.Duration
	for b.Loop() {
		ann.mu.Lock()
		ann.seen = ann.seen[:0]
		ann.mu.Unlock()
		base = append(base, answerTime(b, ann, bare, echo.UserID))
		bot = append(bot, answerTime(b, ann, ours, me))
	}
	ratio := median(bot).Seconds() / median(base).Seconds()
	b.ReportMetric(float64(median(bot).Microseconds())/1000, "bot-ms")
	b.ReportMetric(float64(median(base).Microseconds())/1000, "echo-ms")
	b.ReportMetric(ratio, "ratio")
	b.ReportMetric(0, "ns/op")
	if len(bot) >= 50 && ratio > 1.5 {
		b.Errorf("the bot takes %.2f times as long as the bare one", ratio)
	}
}

func median(d []time.Duration) time.Duration {
	d = slices.Clone(d)
	slices.Sort(d)
	return d[len(d)/2]
}
