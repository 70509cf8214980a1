package slackchat

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/slack-go/slack/socketmode"

	"sidewall/bot"
	"sidewall/bot/slackchat/fakeslack"
)

func TestNewWants(t *testing.T) {
	for _, o := range []Options{{}, {AppToken: "xapp-1"}, {BotToken: "xoxb-1"}, {BotToken: "xoxb-1", HTTP: true, AppToken: "xapp-1"}} {
		if _, err := New(o); err == nil {
			t.Errorf("%+v makes an adapter", o)
		}
	}
}

func TestRefusedTokens(t *testing.T) {
	s := fakeslack.New(fakeslack.Options{BotToken: botToken, AppToken: appToken})
	defer s.Close()
	for _, o := range []Options{
		{BotToken: "xoxb-wrong", AppToken: appToken},
		{BotToken: botToken, AppToken: "xapp-wrong"},
		{BotToken: "xoxb-wrong", SigningSecret: signing, HTTP: true, Listen: "127.0.0.1:0"},
	} {
		o.APIURL = s.API()
		a, err := New(o)
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		err = a.Run(ctx, func(context.Context, bot.Event) error { return nil })
		cancel()
		if !errors.Is(err, ErrRefused) {
			t.Errorf("Run gives %v", err)
		}
		if err != nil && strings.Contains(err.Error(), "wrong") {
			t.Errorf("the error gives the token away: %v", err)
		}
	}
}

// switchFault fails calls while it is set.
type switchFault struct {
	mu sync.Mutex
	f  func(method, channel string) fakeslack.Fault
}

func (s *switchFault) set(f func(method, channel string) fakeslack.Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.f = f
}

func (s *switchFault) fault(method, channel string) fakeslack.Fault {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.f == nil {
		return fakeslack.Fault{}
	}
	return s.f(method, channel)
}

// first makes only the first n calls of a method fail.
func first(method string, n int32, f fakeslack.Fault) func(string, string) fakeslack.Fault {
	var count atomic.Int32
	return func(m, _ string) fakeslack.Fault {
		if m == method && count.Add(1) <= n {
			return f
		}
		return fakeslack.Fault{}
	}
}

// TestOnceInSpiteOfFaults breaks calls before and after they had their effect.
func TestOnceInSpiteOfFaults(t *testing.T) {
	for _, f := range []fakeslack.Fault{{Status: 503}, {Status: 500, Done: true}, {Break: true}, {Break: true, Done: true}} {
		t.Run(fmt.Sprintf("%+v", f), func(t *testing.T) {
			var sw switchFault
			r := newRig(t, false, change{fake: fakeslack.Options{Fault: sw.fault}})
			sw.set(first("chat.postMessage", 1, f))
			ts := r.post("C1", me+"can U11s body check?", fakeslack.PostOptions{})
			r.reply("C1", ts, 1)
			r.settled()
			if n := len(r.slack.Replies("C1", ts)); n != 1 {
				t.Errorf("%d replies", n)
			}
		})
	}
}

func TestSlackIsNotThereAtTheStart(t *testing.T) {
	var sw switchFault
	sw.set(first("auth.test", 2, fakeslack.Fault{Status: 503}))
	newRig(t, false, change{fake: fakeslack.Options{Fault: sw.fault}})
	sw.set(first("apps.connections.open", 3, fakeslack.Fault{Break: true}))
	r := newRig(t, false, change{fake: fakeslack.Options{Fault: sw.fault}})
	r.reply("C1", r.post("C1", me+"can U11s body check?", fakeslack.PostOptions{}), 1)
}

// TestRateLimit wants that a limited reply is neither lost nor out of order.
func TestRateLimit(t *testing.T) {
	var limited atomic.Int32
	r := newRig(t, false, change{fake: fakeslack.Options{Limit: func(method, _ string) time.Duration {
		if method == "chat.postMessage" && limited.Add(1) <= 1 {
			return time.Second
		}
		return 0
	}}})
	began := time.Now()
	ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
	r.post("C1", "and 41 inches?", fakeslack.PostOptions{Thread: ts})
	r.reply("C1", ts, 2)
	replies := r.slack.Replies("C1", ts)
	if !strings.HasPrefix(replies[0].Text, "Not legal") || !strings.HasPrefix(replies[1].Text, "Legal") {
		t.Errorf("the replies are %q, %q", replies[0].Text, replies[1].Text)
	}
	if d := time.Since(began); d < time.Second {
		t.Errorf("it came after %v, before Slack allowed it", d)
	}
}

// TestNotAckedIsAskedAgain lets the bot refuse an event at first.
func TestNotAckedIsAskedAgain(t *testing.T) {
	for _, mode := range modes {
		t.Run(mode.name, func(t *testing.T) {
			var busy atomic.Int32
			busy.Store(1)
			r := newRig(t, mode.http, change{
				fake: fakeslack.Options{Ack: 300 * time.Millisecond, Retries: []time.Duration{0, 0, 0}},
				handle: func(next Handler) Handler {
					return func(ctx context.Context, e bot.Event) error {
						if e.Kind == bot.Message && busy.Add(-1) >= 0 {
							return bot.ErrBusy
						}
						return next(ctx, e)
					}
				},
			})
			ts := r.post("D1", "can U11s body check?", fakeslack.PostOptions{})
			r.reply("D1", ts, 1)
			r.settled()
			again := 0
			for _, d := range r.slack.Deliveries() {
				again = max(again, d.Attempts)
			}
			if again < 2 {
				t.Errorf("the event was delivered %d times", again)
			}
		})
	}
}

// TestRedelivered delivers everything twice.
func TestRedelivered(t *testing.T) {
	for _, mode := range modes {
		t.Run(mode.name, func(t *testing.T) {
			r := newRig(t, mode.http, change{})
			ts := r.post("C1", me+"can U11s body check?", fakeslack.PostOptions{})
			r.reply("C1", ts, 1)
			r.settled()
			for _, d := range r.slack.Deliveries() {
				if !r.slack.Redeliver(d.ID) {
					t.Fatalf("%s cannot be delivered again", d.ID)
				}
			}
			r.settled()
			r.reply("D1", r.post("D1", "can U15s body check?", fakeslack.PostOptions{}), 1)
			if n := len(r.slack.Calls("chat.postMessage")); n != 2 {
				t.Errorf("%d messages, want 2", n)
			}
		})
	}
}

// TestConnectionsChange drops and refreshes connections while people ask.
func TestConnectionsChange(t *testing.T) {
	r := newRig(t, false, change{
		// A line that was cut is made anew in this time even where the race detector
		// and other tests share the machine; that an acknowledgement takes no three
		// seconds on lines that stand is the other tests' matter.
		fake:    fakeslack.Options{Ack: 12 * time.Second},
		adapter: func(o *Options) { o.Settled = 10 * time.Millisecond },
	})
	ever := 2
	both := func() {
		t.Helper()
		r.wait("both connections", func() bool { return r.slack.Connections() == 2 && r.slack.Connected() >= ever })
		ever += 2
	}
	var asked []string
	for i := range 40 {
		switch i {
		case 10:
			both()
			r.slack.Refresh(200 * time.Millisecond)
		case 20:
			both()
			r.slack.DropConnections()
		case 30:
			both()
			r.slack.Disconnect("warning")
		}
		asked = append(asked, r.post("C1", me+"can U11s body check?", fakeslack.PostOptions{}))
	}
	for _, ts := range asked {
		r.reply("C1", ts, 1)
	}
	r.settled()
	for _, ts := range asked {
		if n := len(r.slack.Replies("C1", ts)); n != 1 {
			t.Errorf("%d replies", n)
		}
	}
	both()
}

// TestNobodyWaitsForALine acknowledges on a line that does not connect: whoever
// hands events to the bot must go on with those of the other line.
func TestNobodyWaitsForALine(t *testing.T) {
	a, err := New(Options{BotToken: botToken, AppToken: appToken})
	if err != nil {
		t.Fatal(err)
	}
	a.me.Store(testMe)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	l := &line{Client: socketmode.New(a.api), acks: make(chan ack, maxAcks)}
	sent := make(chan struct{})
	go func() { l.sendAcks(ctx); close(sent) }()
	for i := range maxAcks + 500 {
		a.receive(ctx, func(context.Context, bot.Event) error { return nil }, l, events, fmt.Sprint(i), []byte(`{"type":"event_callback","event":{"type":"x"}}`))
	}
	if ctx.Err() != nil {
		t.Error("the acknowledgements waited for the line")
	}
	cancel()
	<-sent
}

// TestBacklogOfBrokenConnections breaks connections while more events of theirs
// wait to be handled than slack-go keeps: whoever handles them must not wait for a
// connection, nor the connection for them.
func TestBacklogOfBrokenConnections(t *testing.T) {
	gate := make(chan struct{})
	r := newRig(t, false, change{
		fake:    fakeslack.Options{Ack: time.Minute},
		adapter: func(o *Options) { o.InHand = 20 * time.Second },
		handle: func(next Handler) Handler {
			return func(ctx context.Context, e bot.Event) error {
				select {
				case <-gate:
				case <-ctx.Done():
				}
				return next(ctx, e)
			}
		},
	})
	r.wait("both connections", func() bool { return r.slack.Connections() == 2 })
	var asked []string
	for range 200 {
		asked = append(asked, r.slack.Post("D1", "U1", "can U11s body check?", fakeslack.PostOptions{}))
	}
	r.slack.DropConnections()
	close(gate)
	next := 0
	r.wait("all replies", func() bool {
		for next < len(asked) && len(r.slack.Replies("D1", asked[next])) > 0 {
			next++
		}
		return next == len(asked)
	})
	r.settled()
	for _, ts := range asked {
		if n := len(r.slack.Replies("D1", ts)); n != 1 {
			t.Errorf("%d replies", n)
		}
	}
}

// TestSilentSocket wants that a connection without pings is not trusted.
func TestSilentSocket(t *testing.T) {
	r := newRig(t, false, change{fake: fakeslack.Options{Ping: time.Hour}, adapter: func(o *Options) { o.Ping = 50 * time.Millisecond }})
	r.wait("new connections", func() bool { return r.slack.Connected() > 3 })
}

// TestFindPages wants that a reply is found far down in a thread, and only ours.
func TestFindPages(t *testing.T) {
	s := fakeslack.New(fakeslack.Options{BotToken: botToken, AppToken: appToken})
	defer s.Close()
	s.AddChannel("C1", fakeslack.Public, "U1", "U0BOT")
	a, err := New(Options{BotToken: botToken, AppToken: appToken, APIURL: s.API()})
	if err != nil {
		t.Fatal(err)
	}
	defer a.http.CloseIdleConnections()
	root := s.Post("C1", "U1", "hello", fakeslack.PostOptions{Mute: true})
	for range 2*findPage + 7 {
		s.Post("C1", "U2", "talk", fakeslack.PostOptions{Thread: root, Mute: true})
	}
	w := bot.Where{Platform: Platform, Channel: "C1", Thread: root}
	ctx := t.Context()
	if _, found, _, err := a.Find(ctx, w, "key-1"); found || err != nil {
		t.Fatalf("found %v, %v", found, err)
	}
	ref, _, err := a.Send(ctx, &bot.Reply{Key: "key-1", Where: w, Headline: "x"})
	if err != nil {
		t.Fatal(err)
	}
	if got, found, _, err := a.Find(ctx, w, "key-1"); got != ref || !found || err != nil {
		t.Errorf("found %+v (%v, %v), want %+v", got, found, err, ref)
	}
	if n := len(s.Calls("conversations.replies")); n < 6 {
		t.Errorf("%d pages were read", n)
	}
	for _, w := range []bot.Where{{Channel: "C1", Thread: "1.000001"}, {Channel: "C1"}} {
		if _, found, _, err := a.Find(ctx, w, "key-1"); found || err != nil {
			t.Errorf("found %v, %v", found, err)
		}
	}
	if again, err := a.Remove(ctx, ref); err != nil {
		t.Error(again, err)
	}
	if again, err := a.Remove(ctx, ref); err != nil {
		t.Error("taking away what is gone:", again, err)
	}
	if _, _, err := a.Send(ctx, &bot.Reply{Key: "key-1", Where: bot.Where{Channel: "C404"}, Headline: "x"}); err == nil {
		t.Error("a reply to a channel that is not there")
	}
}

// TestLateTrigger wants that what no modal can show any more comes privately.
func TestLateTrigger(t *testing.T) {
	var mu sync.Mutex
	skew := time.Duration(0)
	now := func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		return time.Now().Add(skew)
	}
	r := newRig(t, false, change{
		fake: fakeslack.Options{Now: now},
		handle: func(next Handler) Handler {
			return func(ctx context.Context, e bot.Event) error {
				if e.Kind == bot.Pressed {
					mu.Lock()
					skew += 4 * time.Second
					mu.Unlock()
				}
				return next(ctx, e)
			}
		},
	})
	r.wants = []string{"expired_trigger_id"}
	ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
	r.press(r.reply("C1", ts, 1), "detail")
	r.wait("the detail", func() bool { return len(r.slack.Ephemeral("C1", "U1")) == 1 })
	if e := r.slack.Ephemeral("C1", "U1")[0]; !strings.Contains(e.Plain(), "replaces") {
		t.Errorf("the detail is %q", e.Plain())
	}
}

// TestHTTPRefuses is about who is let in.
func TestHTTPRefuses(t *testing.T) {
	var handled atomic.Int32
	r := newRig(t, true, change{handle: func(next Handler) Handler {
		return func(ctx context.Context, e bot.Event) error {
			handled.Add(1)
			return next(ctx, e)
		}
	}})
	body := []byte(`{"type":"event_callback","event_id":"Ev900","event":{"type":"message","channel_type":"im","channel":"D1","user":"U1","text":"can U11s body check?","ts":"1700000000.000100"}}`)
	const kind = "application/json"
	at := func(d time.Duration) *http.Request {
		req, err := r.slack.Signed(r.addr+"/slack/events", kind, body, time.Now().Add(d))
		if err != nil {
			t.Fatal(err)
		}
		return req
	}
	altered := at(0)
	altered.Body = io.NopCloser(bytes.NewReader(bytes.Replace(body, []byte("U11"), []byte("U13"), 1)))
	unsigned := at(0)
	unsigned.Header.Del("X-Slack-Signature")
	forged := at(0)
	forged.Header.Set("X-Slack-Signature", fakeslack.Sign("another secret", time.Now(), body))
	large, err := r.slack.Signed(r.addr+"/slack/events", kind, bytes.Repeat([]byte(" "), maxBody+1), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	get, err := http.NewRequestWithContext(t.Context(), http.MethodGet, r.addr+"/slack/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	elsewhere, err := r.slack.Signed(r.addr+"/", kind, body, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	notJSON, err := r.slack.Signed(r.addr+"/slack/events", kind, []byte("what?"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	do := func(name string, req *http.Request, want int) {
		t.Helper()
		res, err := client.Do(req)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		defer res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("%s: %s, want %d", name, res.Status, want)
		}
		if res.Header.Get("X-Slack-No-Retry") != "" {
			t.Errorf("%s: slack is told not to try again", name)
		}
	}
	do("old", at(-6*time.Minute), http.StatusUnauthorized)
	do("of the future", at(6*time.Minute), http.StatusUnauthorized)
	do("altered", altered, http.StatusUnauthorized)
	do("unsigned", unsigned, http.StatusUnauthorized)
	do("forged", forged, http.StatusUnauthorized)
	do("large", large, http.StatusRequestEntityTooLarge)
	do("not a POST", get, http.StatusMethodNotAllowed)
	do("elsewhere", elsewhere, http.StatusNotFound)
	do("not JSON", notJSON, http.StatusOK)
	if n := handled.Load(); n != 0 {
		t.Fatalf("%d events came to the bot", n)
	}
	do("good", at(0), http.StatusOK)
	do("a little old", at(-4*time.Minute), http.StatusOK)
	do("replayed", at(0), http.StatusOK)
	r.wait("the answer", func() bool { return len(r.slack.Calls("chat.postMessage")) > 0 })
	r.reply("D1", r.post("D1", "can U15s body check?", fakeslack.PostOptions{}), 1)
	if n := len(r.slack.Calls("chat.postMessage")); n != 2 {
		t.Errorf("%d messages, want 2: a replay is no second question", n)
	}
	r.wants = []string{"thread_not_found", "message_not_found"} // that message was never posted
}

func TestHTTPForms(t *testing.T) {
	raw, err := payloadOf(commands, []byte(url.Values{"text": {"45 in?"}, "trigger_id": {"1.2"}}.Encode()))
	if err != nil || !strings.Contains(string(raw), `"text":"45 in?"`) {
		t.Errorf("%s, %v", raw, err)
	}
	raw, err = payloadOf(interactions, []byte(url.Values{"payload": {`{"type":"x"}`}}.Encode()))
	if err != nil || string(raw) != `{"type":"x"}` {
		t.Errorf("%s, %v", raw, err)
	}
	if _, err := payloadOf(commands, []byte("%zz")); err == nil {
		t.Error("a broken form is read")
	}
}

func FuzzHTTP(f *testing.F) {
	a, err := New(Options{BotToken: botToken, SigningSecret: signing, HTTP: true})
	if err != nil {
		f.Fatal(err)
	}
	a.me.Store(testMe)
	h := a.Handler(func(_ context.Context, e bot.Event) error {
		if e.Platform != Platform || e.Key() == "" {
			return fmt.Errorf("an odd event")
		}
		return nil
	})
	f.Add("/slack/events", []byte(`{"type":"url_verification","challenge":"x"}`))
	f.Add("/slack/commands", []byte("text=x&trigger_id=1"))
	f.Add("/slack/interactions", []byte(`payload={"type":"block_actions"}`))
	f.Fuzz(func(t *testing.T, path string, body []byte) {
		if path != "/slack/events" && path != "/slack/commands" && path != "/slack/interactions" {
			return
		}
		for _, signedBody := range []bool{true, false} {
			req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://localhost"+path, bytes.NewReader(body))
			if err != nil {
				return
			}
			now := time.Now()
			req.Header.Set("X-Slack-Request-Timestamp", fmt.Sprint(now.Unix()))
			req.Header.Set("X-Slack-Signature", fakeslack.Sign(signing, now, body))
			if !signedBody {
				req.Header.Set("X-Slack-Signature", fakeslack.Sign("another", now, body))
			}
			w := &status{header: http.Header{}}
			h.ServeHTTP(w, req)
			if ok := w.code == http.StatusUnauthorized; ok == signedBody {
				t.Errorf("signed %v, but the status is %d", signedBody, w.code)
			}
		}
	})
}

type status struct {
	header http.Header
	code   int
}

func (s *status) Header() http.Header { return s.header }
func (s *status) Write(p []byte) (int, error) {
	if s.code == 0 {
		s.code = http.StatusOK
	}
	return len(p), nil
}
func (s *status) WriteHeader(code int) { s.code = code }

func TestPause(t *testing.T) {
	last := time.Duration(0)
	for n := range 20 {
		d := pause(n)
		if d < last/2 || d > 45*time.Second {
			t.Errorf("pause %d is %v after %v", n, d, last)
		}
		last = d
	}
	if last < 30*time.Second {
		t.Errorf("it grows to %v only", last)
	}
}
