package slackchat

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"net"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"sidewall/bot"
	"sidewall/bot/slackchat/fakeslack"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// logs is a log that several goroutines write and a test reads.
type logs struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logs) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logs) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// rig is a bot on a fake Slack.
type rig struct {
	t     testing.TB
	slack *fakeslack.Server
	ctx   context.Context
	log   *logs
	said  []string // by people: none of it may be logged
	stop  func()
	store bot.Store
	addr  string   // in http mode
	wants []string // errors that Slack is meant to give
}

const (
	botToken = "xoxb-7-secret"
	appToken = "xapp-7-secret"
	signing  = "00112233445566778899aabbccddeeff"
)

type change struct {
	fake    fakeslack.Options
	adapter func(o *Options)
	bot     func(o *bot.Options)
	handle  func(next Handler) Handler // stands before the bot
}

var modes = []struct {
	name string
	http bool
}{{"socket", false}, {"http", true}}

func newRig(t testing.TB, http bool, c change) *rig {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	r := &rig{t: t, ctx: ctx, log: &logs{}}
	c.fake.BotToken, c.fake.AppToken, c.fake.SigningSecret = botToken, appToken, signing
	r.slack = fakeslack.New(c.fake)
	t.Cleanup(r.slack.Close)
	r.slack.AddChannel("C1", fakeslack.Public, "U1", "U2", "U0BOT")
	r.slack.AddChannel("C2", fakeslack.Private, "U1", "U0BOT")
	r.slack.AddChannel("C9", fakeslack.Public, "U1") // the bot is not in it
	r.slack.AddChannel("D1", fakeslack.IM, "U1")

	r.start(http, c)
	t.Cleanup(func() {
		r.stop()
		r.check()
	})
	return r
}

// start runs a bot until stop.
func (r *rig) start(http bool, c change) {
	t := r.t
	t.Helper()
	log := slog.New(slog.NewTextHandler(r.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	addr := make(chan net.Addr, 1)
	o := Options{BotToken: botToken, AppToken: appToken, SigningSecret: signing, HTTP: http, Listen: "127.0.0.1:0", APIURL: r.slack.API(), Log: log,
		Listens: func(a net.Addr) { addr <- a }, Prompts: func() []string { return []string{"U11 attack, 45-inch stick?", "how long are the quarters?"} },
		Pause: func(n int) time.Duration { return time.Duration(min(n+1, 20)) * 5 * time.Millisecond }}
	if c.adapter != nil {
		c.adapter(&o)
	}
	var b *bot.Bot
	o.Submit = func(ctx context.Context, f bot.Filled) (bot.Outcome, error) { return b.Submit(ctx, f) }
	a, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	store, err := bot.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "state.db"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	r.store = store
	d := testDesk(t)
	bo := bot.Options{Desk: func() bot.Desk { return d }, Store: store, Adapters: []bot.Adapter{a}, Log: log, Date: gameDay,
		Admins: func() []string { return []string{"slack:U1"} }}
	if c.bot != nil {
		c.bot(&bo)
	}
	if b, err = bot.New(bo); err != nil {
		t.Fatal(err)
	}
	var handle Handler = b.Handle
	if c.handle != nil {
		handle = c.handle(handle)
	}
	ctx, cancel := context.WithCancel(context.Background())
	open, closeChat := context.WithCancel(context.Background())
	ran, chatted := make(chan error, 1), make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	go func() { chatted <- a.Run(open, handle) }()
	r.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ran; err != nil {
			t.Errorf("the bot: %v", err)
		}
		closeChat()
		if err := <-chatted; err != nil {
			t.Errorf("the adapter: %v", err)
		}
		if err := store.Close(); err != nil {
			t.Error(err)
		}
	})
	if http {
		select {
		case at := <-addr:
			r.addr = "http://" + at.String()
		case <-r.ctx.Done():
			t.Fatal("nothing listens")
		}
		if err := r.slack.EventsTo(r.ctx, r.addr); err != nil {
			t.Fatal(err)
		}
		return
	}
	r.wait("a connection", func() bool { return r.slack.Connections() > 0 })
}

func (r *rig) wait(what string, cond func() bool) {
	r.t.Helper()
	if err := r.slack.WaitFor(r.ctx, cond); err != nil {
		log := r.log.String()
		r.t.Fatalf("waiting for %s: %v\nthe end of the log:\n%s", what, err, log[max(0, len(log)-2000):])
	}
}

// settled waits until Slack has an acknowledgement for everything.
func (r *rig) settled() {
	r.t.Helper()
	r.wait("acknowledgements", func() bool { return len(r.slack.Unacked()) == 0 })
}

func (r *rig) post(channel, text string, o fakeslack.PostOptions) string {
	r.t.Helper()
	r.said = append(r.said, text)
	return r.slack.Post(channel, "U1", text, o)
}

// reply waits for the n-th reply to a message.
func (r *rig) reply(channel, ts string, n int) fakeslack.Message {
	r.t.Helper()
	r.wait("a reply", func() bool { return len(r.slack.Replies(channel, ts)) >= n })
	m := r.slack.Replies(channel, ts)[n-1]
	r.noted(m)
	return m
}

// noted waits until the bot itself knows that it has answered.
func (r *rig) noted(m fakeslack.Message) {
	r.t.Helper()
	if m.Metadata == nil {
		r.t.Fatalf("a reply without metadata: %+v", m)
	}
	if t, ok := r.t.(*testing.T); ok {
		known(t, r.store, m.Metadata.Payload["key"].(string))
	}
}

// control is the id of the button whose control begins with a text.
func (r *rig) control(as []fakeslack.Action, begins string) string {
	r.t.Helper()
	for _, a := range as {
		if strings.Contains(a.Value, `"c":"`+begins) {
			return a.ActionID
		}
	}
	r.t.Fatalf("there is no button %s in %+v", begins, as)
	return ""
}

func (r *rig) press(m fakeslack.Message, begins string) {
	r.t.Helper()
	if _, err := r.slack.Press("U1", m.Channel, m.TS, r.control(m.Actions(), begins), ""); err != nil {
		r.t.Fatal(err)
	}
}

// check wants that Slack had to refuse nothing, nothing was late, and the log
// tells no words and no tokens.
func (r *rig) check() {
	r.t.Helper()
	for _, x := range r.slack.Refused() {
		if slices.Contains(r.wants, x.Err) {
			continue
		}
		r.t.Errorf("slack refused %s: %s %v", x.What, x.Err, x.Details)
	}
	if late := r.slack.SlowAcks(); len(late) > 0 {
		r.t.Errorf("%d acknowledgements were late", len(late))
	}
	if failed := r.slack.Failed(); len(failed) > 0 {
		r.t.Errorf("%d commands or presses failed: %+v", len(failed), failed[0])
	}
	if p := r.slack.Pings(); len(p) > 0 {
		r.t.Errorf("somebody was notified: %+v", p[0])
	}
	log := r.log.String()
	for _, secret := range append([]string{botToken, appToken, signing, "/hook/", "/link/"}, r.said...) {
		if strings.Contains(log, strings.TrimSpace(strings.ReplaceAll(secret, "<@U0BOT>", ""))) {
			r.t.Errorf("the log gives away %q", secret)
		}
	}
}

// keyOf is the reply's key in a button's value.
func keyOf(t testing.TB, value string) string {
	t.Helper()
	var v pressed
	if err := json.Unmarshal([]byte(value), &v); err != nil {
		t.Fatal(err)
	}
	return v.Key
}
