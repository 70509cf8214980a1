package fakeslack

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
	"github.com/slack-go/slack/socketmode"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// clock is a clock that stands until it is moved.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func newClock() *clock { return &clock{t: time.Unix(1_700_000_000, 0)} }

func (c *clock) now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.t }

func (c *clock) move(d time.Duration) { c.mu.Lock(); defer c.mu.Unlock(); c.t = c.t.Add(d) }

// start starts a fake with a channel of the bot, and one that it is not in.
func start(t *testing.T, o Options) *Server {
	t.Helper()
	s := New(o)
	t.Cleanup(s.Close)
	s.AddChannel("C1", Public, "U1", "U2", s.o.BotUser)
	s.AddChannel("C2", Public, "U1")
	s.AddChannel("G2", Private, "U1")
	s.AddChannel("D1", IM, "U1")
	return s
}

func deadline(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	t.Cleanup(cancel)
	return ctx
}

func wait(t *testing.T, s *Server, what string, cond func() bool) {
	t.Helper()
	if err := s.WaitFor(deadline(t), cond); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
}

func client(t *testing.T, s *Server) *slack.Client {
	hc := &http.Client{Transport: &http.Transport{}}
	t.Cleanup(hc.CloseIdleConnections)
	return slack.New(s.o.BotToken, slack.OptionAPIURL(s.API()), slack.OptionAppLevelToken(s.o.AppToken), slack.OptionHTTPClient(hc))
}

// socket is a plain WebSocket client that acknowledges only when it is told.
type socket struct {
	t   *testing.T
	ws  *websocket.Conn
	got chan frame
}

type frame struct {
	Type     string          `json:"type"`
	Reason   string          `json:"reason"`
	Num      int             `json:"num_connections"`
	Envelope string          `json:"envelope_id"`
	Accepts  bool            `json:"accepts_response_payload"`
	Attempt  int             `json:"retry_attempt"`
	Why      string          `json:"retry_reason"`
	Payload  json.RawMessage `json:"payload"`
}

func (f frame) event(t *testing.T) (id string, inner map[string]any) {
	t.Helper()
	var p struct {
		ID    string         `json:"event_id"`
		Event map[string]any `json:"event"`
	}
	if err := json.Unmarshal(f.Payload, &p); err != nil {
		t.Fatal(err)
	}
	return p.ID, p.Event
}

func connect(t *testing.T, s *Server) *socket {
	t.Helper()
	_, u, err := client(t, s).StartSocketModeContext(deadline(t))
	if err != nil {
		t.Fatal(err)
	}
	ws, _, err := websocket.DefaultDialer.DialContext(deadline(t), u, nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &socket{t: t, ws: ws, got: make(chan frame, 100)}
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer close(c.got)
		for {
			var f frame
			if ws.ReadJSON(&f) != nil {
				return
			}
			c.got <- f
		}
	}()
	t.Cleanup(func() { _ = ws.Close(); <-done })
	if f := c.next(); f.Type != "hello" || f.Num == 0 {
		t.Fatalf("the first frame is %+v, want hello", f)
	}
	return c
}

func (c *socket) next() frame {
	c.t.Helper()
	select {
	case f, ok := <-c.got:
		if !ok {
			c.t.Fatal("the connection is closed")
		}
		return f
	case <-deadline(c.t).Done():
		c.t.Fatal("nothing came")
	}
	return frame{}
}

func (c *socket) ack(f frame, payload any) {
	c.t.Helper()
	m := map[string]any{"envelope_id": f.Envelope}
	if payload != nil {
		m["payload"] = payload
	}
	if err := c.ws.WriteJSON(m); err != nil {
		c.t.Fatal(err)
	}
}

// form calls a method with form fields.
func form(t *testing.T, s *Server, method, token string, kv ...string) map[string]any {
	t.Helper()
	v := url.Values{"token": {token}}
	for i := 0; i < len(kv); i += 2 {
		v.Set(kv[i], kv[i+1])
	}
	return send(t, s.API()+method, "application/x-www-form-urlencoded", "", v.Encode())
}

func send(t *testing.T, url, kind, bearer, body string) map[string]any {
	t.Helper()
	r, err := http.NewRequestWithContext(deadline(t), http.MethodPost, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", kind)
	if bearer != "" {
		r.Header.Set("Authorization", "Bearer "+bearer)
	}
	hc := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	w, err := hc.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = w.Body.Close() }()
	b, err := io.ReadAll(w.Body)
	if err != nil {
		t.Fatal(err)
	}
	m := map[string]any{}
	if string(b) == "ok" {
		return map[string]any{"ok": true}
	}
	if err := json.Unmarshal(b, &m); err != nil {
		t.Fatalf("%v in %q", err, b)
	}
	return m
}

func TestSign(t *testing.T) {
	// The worked example of Slack's page on verifying requests.
	const (
		secret = "8f742231b10e8888abcd99yyyzzz85a5"
		body   = "token=xyzz0WbapA4vBCDEFasx0q6G&team_id=T1DC2JH3J&team_domain=testteamnow&channel_id=G8PSS9T3V&channel_name=foobar" +
			"&user_id=U2CERLKJA&user_name=roadrunner&command=%2Fwebhook-collect&text=&response_url=https%3A%2F%2Fhooks.slack.com" +
			"%2Fcommands%2FT1DC2JH3J%2F397700885554%2F96rGlfmibIGlgcZRskXaIFfN&trigger_id=398738663015.47445629121.803a0bc887a14d10d2c447fce8b6703c"
		want = "v0=a2114d57b48eac39b9ad189dd8316235a7b4a8d21a10bd27519666489c69b503"
	)
	if got := Sign(secret, time.Unix(1531420618, 0), []byte(body)); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// What a library that was not written with this fake thinks of its signatures.
func TestSignedForALibrary(t *testing.T) {
	s := start(t, Options{})
	for name, tt := range map[string]struct {
		at     time.Duration
		secret string
		good   bool
	}{
		"now": {0, s.o.SigningSecret, true}, "six minutes ago": {-6 * time.Minute, s.o.SigningSecret, false},
		"in six minutes": {6 * time.Minute, s.o.SigningSecret, false}, "another secret": {0, "other", false},
	} {
		r, err := s.Signed("http://127.0.0.1/slack/events", "application/json", []byte(`{}`), time.Now().Add(tt.at))
		if err != nil {
			t.Fatal(err)
		}
		v, err := slack.NewSecretsVerifier(r.Header, tt.secret)
		if err == nil {
			_, _ = v.Write([]byte(`{}`))
			err = v.Ensure()
		}
		if (err == nil) != tt.good {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A conversation with a client library: both events of a mention, the answer in
// the thread, its metadata, its change, its button, a modal.
func TestConversation(t *testing.T) {
	s := start(t, Options{})
	api := client(t, s)
	sm := socketmode.New(api)
	ctx, stop := context.WithCancel(deadline(t))
	done := make(chan error, 1)
	go func() { done <- sm.RunContext(ctx) }()
	defer func() { stop(); <-done }()

	ts := s.Post("C1", "U1", "<@U0BOT> is 45 in legal at U11?", PostOptions{})
	seen := map[string]string{} // type of the inner event -> event id
	pressed := make(chan slack.InteractionCallback, 1)
	go func() {
		for {
			var ev socketmode.Event
			select {
			case ev = <-sm.Events:
			case <-ctx.Done():
				return
			}
			if ev.Request != nil && ev.Type != socketmode.EventTypeHello {
				_ = sm.Ack(*ev.Request)
			}
			if cb, ok := ev.Data.(slack.InteractionCallback); ok {
				pressed <- cb
			}
		}
	}()
	wait(t, s, "the acknowledgements", func() bool { return len(s.Deliveries()) == 2 && len(s.Unacked()) == 0 })
	for _, d := range s.Deliveries() {
		seen[d.Type] = d.ID
		if d.Attempts != 1 || d.Took <= 0 {
			t.Errorf("%+v", d)
		}
	}
	if len(seen) != 2 || seen["message"] == "" || seen["app_mention"] == "" || seen["message"] == seen["app_mention"] {
		t.Fatalf("delivered %v", seen)
	}

	text := slack.NewTextBlockObject(slack.MarkdownType, "*Not legal*", false, false)
	button := slack.NewButtonBlockElement("more", "k1", slack.NewTextBlockObject(slack.PlainTextType, "More", false, false))
	_, at, err := api.PostMessageContext(ctx, "C1",
		slack.MsgOptionTS(ts), slack.MsgOptionText("Not legal", false),
		slack.MsgOptionBlocks(slack.NewSectionBlock(text, nil, nil), slack.NewActionBlock("", button)),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "sidewall_answer", EventPayload: map[string]any{"key": "k1"}}))
	if err != nil {
		t.Fatal(err)
	}
	for _, all := range []bool{true, false} {
		l, more, _, err := api.GetConversationRepliesContext(ctx, &slack.GetConversationRepliesParameters{ChannelID: "C1", Timestamp: ts, IncludeAllMetadata: all})
		if err != nil || more || len(l) != 2 || l[1].Timestamp != at || l[0].ReplyCount != 1 || l[1].BotID != s.o.BotID {
			t.Fatalf("replies %+v, %v, %v", l, more, err)
		}
		if (l[1].Metadata.EventPayload["key"] == "k1") != all {
			t.Errorf("include_all_metadata %v: %+v", all, l[1].Metadata)
		}
	}
	if r := s.Replies("C1", ts); len(r) != 1 || r[0].Plain() != "*Not legal*" || len(r[0].Actions()) != 1 || r[0].Actions()[0].Label != "More" {
		t.Fatalf("%+v", r)
	}

	if _, err := s.Press("U1", "C1", at, "none", ""); err == nil {
		t.Error("a button that is not there was pressed")
	}
	if _, err := s.Press("U1", "C1", at, "more", ""); err != nil {
		t.Fatal(err)
	}
	cb := <-pressed
	if cb.Container.MessageTs != at || cb.Container.ThreadTs != ts || cb.ActionCallback.BlockActions[0].Value != "k1" || cb.Message.Timestamp != at {
		t.Errorf("%+v", cb)
	}
	v, err := api.OpenViewContext(ctx, cb.TriggerID, slack.ModalViewRequest{
		Type: slack.VTModal, Title: slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false),
		Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewSectionBlock(text, nil, nil)}},
	})
	if err != nil || v.ID == "" || len(s.Views()) != 1 || s.Views()[0].User != "U1" || s.Views()[0].Plain() != "*Not legal*" {
		t.Fatalf("%+v, %v", s.Views(), err)
	}
	if _, err := api.OpenViewContext(ctx, cb.TriggerID, slack.ModalViewRequest{
		Type: slack.VTModal, Title: slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false),
	}); err == nil {
		t.Error("a trigger id was used twice")
	}

	if _, _, _, err := api.UpdateMessageContext(ctx, "C1", at, slack.MsgOptionText("Legal", false), slack.MsgOptionBlocks()); err != nil {
		t.Fatal(err)
	}
	if _, _, err := api.DeleteMessageContext(ctx, "C1", at); err != nil {
		t.Fatal(err)
	}
	if r := s.Replies("C1", ts); len(r) != 0 {
		t.Errorf("%+v", r)
	}
	if r := s.Refused(); len(r) != 1 || r[0].Err == "" { // the trigger id
		t.Errorf("refused %+v", r)
	}
}

func TestOwnPostsComeBack(t *testing.T) {
	s := start(t, Options{})
	c := connect(t, s)
	if _, _, err := client(t, s).PostMessageContext(deadline(t), "C1", slack.MsgOptionText("hello <@U0BOT>", false)); err != nil {
		t.Fatal(err)
	}
	f := c.next()
	c.ack(f, nil)
	if _, e := f.event(t); e["type"] != "message" || e["bot_id"] != "B0BOT" || e["user"] != "U0BOT" {
		t.Errorf("%v", e)
	}
	wait(t, s, "acknowledged", func() bool { return len(s.Unacked()) == 0 })
	if n := len(s.Deliveries()); n != 1 {
		t.Errorf("%d deliveries; a bot does not mention itself", n)
	}
}

func TestEvents(t *testing.T) {
	s := start(t, Options{})
	c := connect(t, s)
	next := func() map[string]any {
		t.Helper()
		f := c.next()
		c.ack(f, nil)
		_, e := f.event(t)
		raw, err := json.Marshal(map[string]any{"type": "event_callback", "event": e})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := slackevents.ParseEvent(raw, slackevents.OptionNoVerifyToken()); err != nil {
			t.Errorf("a library does not know %v: %v", e, err)
		}
		return e
	}
	is := func(e map[string]any, kv ...string) {
		t.Helper()
		for i := 0; i < len(kv); i += 2 {
			if got, _ := e[kv[i]].(string); got != kv[i+1] {
				t.Errorf("%s is %q, want %q in %v", kv[i], got, kv[i+1], e)
			}
		}
	}
	of := func(e map[string]any, k string) map[string]any { m, _ := e[k].(map[string]any); return m }

	s.Post("C2", "U1", "<@U0BOT> not a member here", PostOptions{})
	ts := s.Post("D1", "U1", "<@U0BOT> goggles?", PostOptions{})
	e := next()
	is(e, "type", "message", "channel", "D1", "channel_type", "im", "ts", ts, "user", "U1", "subtype", "")
	s.Edit("D1", ts, "helmet?")
	e = next()
	is(e, "type", "message", "subtype", "message_changed", "channel_type", "im")
	is(of(e, "message"), "text", "helmet?", "ts", ts, "user", "U1")
	is(of(e, "previous_message"), "text", "<@U0BOT> goggles?")
	if of(of(e, "message"), "edited") == nil {
		t.Errorf("no mark of the edit in %v", e)
	}
	s.Edit("D1", ts, "helmet? gloves?")
	next()
	s.Delete("D1", ts)
	is(next(), "subtype", "message_deleted", "deleted_ts", ts)
	if m := s.Messages("D1"); len(m) != 0 {
		t.Errorf("%+v", m)
	}

	ts = s.Post("C1", "U1", "see https://example.org", PostOptions{})
	is(next(), "type", "message", "channel_type", "channel")
	s.Unfurl("C1", ts)
	e = next()
	is(e, "subtype", "message_changed")
	if of(of(e, "message"), "edited") != nil {
		t.Errorf("an unfurled link is no edit: %v", e)
	}
	s.Edit("C1", ts, "<@U0BOT> see")
	is(next(), "subtype", "message_changed")
	is(next(), "type", "app_mention", "ts", ts)
	re := s.Post("C1", "U2", "why?", PostOptions{Thread: ts, Broadcast: true})
	e = next()
	is(e, "subtype", "thread_broadcast", "thread_ts", ts, "ts", re)
	is(of(e, "root"), "ts", ts)
	s.Delete("C1", ts)
	e = next()
	is(e, "subtype", "message_changed")
	is(of(e, "message"), "subtype", "tombstone", "ts", ts)
	s.Delete("C1", re)
	is(next(), "subtype", "message_deleted", "deleted_ts", re)
	is(next(), "subtype", "message_deleted", "deleted_ts", ts)
	if m := s.Messages("C1"); len(m) != 0 {
		t.Errorf("the tombstone is still there: %+v", m)
	}

	s.Post("C1", "", "build done", PostOptions{BotID: "B9"})
	is(next(), "subtype", "bot_message", "bot_id", "B9", "user", "")
	s.Post("C1", "U1", "look", PostOptions{Subtype: "file_share"})
	if e := next(); e["subtype"] != "file_share" || e["files"] == nil {
		t.Errorf("%v", e)
	}
	s.OpenHome("U1")
	is(next(), "type", "app_home_opened", "user", "U1", "tab", "home", "channel", "D1")
	ch, th := s.AssistantStart("U1")
	e = next()
	is(e, "type", "assistant_thread_started")
	is(of(e, "assistant_thread"), "channel_id", ch, "thread_ts", th, "user_id", "U1")
	s.Post(ch, "U1", "stick?", PostOptions{Thread: th})
	is(next(), "channel_type", "im", "thread_ts", th, "parent_user_id", "U0BOT")

	s.Event(map[string]any{"type": "not_yet_invented"})
	f := c.next()
	if _, e := f.event(t); e["type"] != "not_yet_invented" {
		t.Errorf("%v", e)
	}
}

func TestRedelivery(t *testing.T) {
	s := start(t, Options{Ack: 20 * time.Millisecond, Retries: []time.Duration{0, time.Millisecond, time.Millisecond}})
	c := connect(t, s)
	ts := s.Post("C1", "U1", "one", PostOptions{})
	var first string
	var last frame
	for i := range 4 {
		f := c.next()
		id, e := f.event(t)
		if i == 0 {
			first = id
		}
		why := "timeout"
		if i == 0 {
			why = ""
		}
		if id != first || e["ts"] != ts || f.Attempt != i || f.Why != why || f.Envelope == last.Envelope {
			t.Errorf("delivery %d: %+v", i, f)
		}
		last = f
	}
	wait(t, s, "given up", func() bool { u := s.Unacked(); return len(u) == 1 && u[0].GivenUp && u[0].Attempts == 4 })
	if n := s.Pending(); n != 1 {
		t.Errorf("%d pending", n)
	}
	c.ack(last, nil) // late
	wait(t, s, "slow", func() bool { return len(s.SlowAcks()) == 1 && len(s.Unacked()) == 0 })

	if s.Redeliver("none") || !s.Redeliver(first) {
		t.Error("Redeliver")
	}
	f := c.next()
	if id, _ := f.event(t); id != first || f.Attempt != 4 {
		t.Errorf("%+v", f)
	}
	c.ack(f, nil)
	wait(t, s, "acknowledged", func() bool { return len(s.Unacked()) == 0 })

	id := s.Command("U1", "C1", "/sidewall", "help")
	if f := c.next(); f.Type != "slash_commands" || !f.Accepts {
		t.Errorf("%+v", f)
	}
	wait(t, s, "failed", func() bool { l := s.Failed(); return len(l) == 1 && l[0].ID == id && l[0].Attempts == 1 })
}

func TestConnectionsThatBreak(t *testing.T) {
	s := start(t, Options{Ack: time.Minute})
	ts := s.Post("C1", "U1", "nobody listens", PostOptions{})
	s.Command("U1", "C1", "/sidewall", "help")
	if l := s.Failed(); len(l) != 1 || l[0].Problem != "no_connection" {
		t.Errorf("a command without a connection: %+v", l)
	}
	a := connect(t, s) // from here on all but that command is acknowledged
	f := a.next()
	id, e := f.event(t)
	if e["ts"] != ts || f.Attempt != 0 {
		t.Errorf("%+v", f)
	}
	s.DropConnections()
	wait(t, s, "the drop", func() bool { return s.Connections() == 0 })
	b := connect(t, s)
	f = b.next()
	if again, _ := f.event(t); again != id || f.Attempt != 1 {
		t.Errorf("%+v", f)
	}
	b.ack(f, nil)
	wait(t, s, "acknowledged", func() bool { return len(s.Unacked()) == 1 })

	// Both connections are used during a refresh; the old one goes when its client closes it.
	s.Refresh(time.Hour)
	if f := b.next(); f.Type != "disconnect" || f.Reason != "refresh_requested" {
		t.Errorf("%+v", f)
	}
	c := connect(t, s)
	s.Post("C1", "U1", "two", PostOptions{})
	s.Post("C1", "U1", "three", PostOptions{})
	b.ack(b.next(), nil)
	c.ack(c.next(), nil)
	wait(t, s, "both", func() bool { return len(s.Unacked()) == 1 && s.Connections() == 2 })
	_ = b.ws.Close()
	wait(t, s, "one left", func() bool { return s.Connections() == 1 && s.Connected() == 3 })
	s.Refresh(time.Millisecond)
	wait(t, s, "the end of grace", func() bool { return s.Connections() == 0 })
}

func TestDisconnect(t *testing.T) {
	s := start(t, Options{})
	c := connect(t, s)
	s.Disconnect("warning")
	if f := c.next(); f.Reason != "warning" || s.Connections() != 1 {
		t.Errorf("%+v", f)
	}
	s.Disconnect("link_disabled")
	if f := c.next(); f.Reason != "link_disabled" {
		t.Errorf("%+v", f)
	}
	wait(t, s, "closed", func() bool { return s.Connections() == 0 })
}

func TestSocketAddressIsUsedOnce(t *testing.T) {
	s := start(t, Options{})
	_, u, err := client(t, s).StartSocketModeContext(deadline(t))
	if err != nil {
		t.Fatal(err)
	}
	ws, _, err := websocket.DefaultDialer.DialContext(deadline(t), u, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = ws.Close() }()
	if _, w, err := websocket.DefaultDialer.DialContext(deadline(t), u, nil); err == nil || w.StatusCode != http.StatusForbidden {
		t.Errorf("a second time: %v", err)
	}
}

func TestAcks(t *testing.T) {
	s := start(t, Options{Ack: time.Minute})
	c := connect(t, s)
	s.Command("U1", "C1", "/sidewall", "help")
	f := c.next()
	if err := c.ws.WriteMessage(websocket.TextMessage, []byte(`{"x":1}`)); err != nil {
		t.Fatal(err)
	}
	c.ack(frame{Envelope: "other"}, nil)
	c.ack(f, map[string]string{"text": strings.Repeat("x", 21000)})
	c.ack(f, map[string]any{"text": "Ask me", "blocks": []any{map[string]any{"type": "banner"}}})
	wait(t, s, "the acknowledgement", func() bool { return len(s.Unacked()) == 0 })
	var got []string
	for _, r := range s.Refused() {
		got = append(got, r.What+" "+r.Err)
	}
	if want := []string{"ack not_an_acknowledgement", "ack unknown_envelope", "ack payload_too_large", "command invalid_blocks"}; !slices.Equal(got, want) {
		t.Errorf("refused %q, want %q", got, want)
	}
	s.Command("U1", "C2", "/sidewall", "help") // the bot need not be there
	c.ack(c.next(), map[string]any{"text": "Ask me"})
	wait(t, s, "the answer", func() bool { return len(s.Ephemeral("C2", "U1")) == 1 })
	s.Post("C1", "U1", "x", PostOptions{})
	c.ack(c.next(), map[string]any{"text": "x"})
	wait(t, s, "the refusal", func() bool { r := s.Refused(); return r[len(r)-1].Err == "payload_not_accepted" })
}

func TestRateLimits(t *testing.T) {
	k := newClock()
	var hold time.Duration
	s := start(t, Options{Now: k.now, PostRate: true, Limit: func(method, channel string) time.Duration {
		if method == "chat.update" && channel == "C1" {
			return hold
		}
		return 0
	}})
	api := client(t, s)
	post := func() error {
		_, _, err := api.PostMessageContext(deadline(t), "C1", slack.MsgOptionText("x", false))
		return err
	}
	for range 3 {
		if err := post(); err != nil {
			t.Fatal(err)
		}
	}
	var limited *slack.RateLimitedError
	if err := post(); !errors.As(err, &limited) || limited.RetryAfter != time.Second {
		t.Errorf("the fourth at once: %v", err)
	}
	k.move(time.Second)
	if err := post(); err != nil {
		t.Errorf("a second later: %v", err)
	}
	if err := post(); !errors.As(err, &limited) {
		t.Errorf("and one more: %v", err)
	}
	ts := s.Messages("C1")[0].TS
	hold = 1500 * time.Millisecond
	_, _, _, err := api.UpdateMessageContext(deadline(t), "C1", ts, slack.MsgOptionText("y", false))
	if !errors.As(err, &limited) || limited.RetryAfter != 2*time.Second {
		t.Errorf("a limit of its own: %v", err)
	}
	if r := s.Refused(); len(r) != 0 {
		t.Errorf("429s are no refusals: %+v", r)
	}
	if c := s.Calls("chat.postMessage"); len(c) != 6 || c[3].Err != "ratelimited" || c[4].TS == "" {
		t.Errorf("%+v", c)
	}
}

func TestFaults(t *testing.T) {
	var f Fault
	s := start(t, Options{Fault: func(string, string) Fault { return f }})
	api := client(t, s)
	for _, tt := range []struct {
		f     Fault
		posts int
	}{{Fault{Status: 503}, 0}, {Fault{Break: true}, 0}, {Fault{Break: true, Done: true}, 1}, {Fault{Status: 500, Done: true}, 2}} {
		f = tt.f
		if _, _, err := api.PostMessageContext(deadline(t), "C1", slack.MsgOptionText("x", false)); err == nil {
			t.Errorf("%+v: no error", tt.f)
		}
		if n := len(s.Messages("C1")); n != tt.posts {
			t.Errorf("%+v: %d messages", tt.f, n)
		}
	}
}

func TestFaultsOfResponseAddresses(t *testing.T) {
	var f Fault
	var hold time.Duration
	s := start(t, Options{Ack: time.Minute, Fault: func(string, string) Fault { return f }, Limit: func(string, string) time.Duration { return hold }})
	c := connect(t, s)
	s.Command("U1", "C1", "/sidewall", "")
	var p map[string]string
	if err := json.Unmarshal(c.next().Payload, &p); err != nil {
		t.Fatal(err)
	}
	post := func() (status int, after string) {
		t.Helper()
		r, err := http.NewRequestWithContext(deadline(t), http.MethodPost, p["response_url"], strings.NewReader(`{"text":"x"}`))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		hc := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
		w, err := hc.Do(r)
		if err != nil {
			return 0, ""
		}
		_ = w.Body.Close()
		return w.StatusCode, w.Header.Get("Retry-After")
	}
	for _, tt := range []struct {
		f      Fault
		hold   time.Duration
		status int
		after  string
		there  int
	}{
		{Fault{Status: 503}, 0, 503, "", 0},
		{Fault{Break: true}, 0, 0, "", 0},
		{Fault{}, 7 * time.Second, 429, "7", 0},
		{Fault{}, 0, 200, "", 1},
		{Fault{Break: true, Done: true}, 0, 0, "", 2},
	} {
		f, hold = tt.f, tt.hold
		status, after := post()
		if n := len(s.Ephemeral("C1", "U1")); status != tt.status || after != tt.after || n != tt.there {
			t.Errorf("%+v: status %d, after %q, %d messages", tt, status, after, n)
		}
	}
	if r := s.Refused(); len(r) != 0 {
		t.Errorf("%+v", r)
	}
}

func TestTriggersAndResponseAddresses(t *testing.T) {
	k := newClock()
	s := start(t, Options{Now: k.now, Ack: time.Minute})
	c := connect(t, s)
	command := func() (trigger, address string) {
		s.Command("U1", "C1", "/sidewall", "help me")
		f := c.next()
		c.ack(f, nil)
		var p map[string]string
		if err := json.Unmarshal(f.Payload, &p); err != nil {
			t.Fatal(err)
		}
		if p["text"] != "help me" || p["command"] != "/sidewall" || p["user_id"] != "U1" || p["channel_id"] != "C1" {
			t.Errorf("%v", p)
		}
		return p["trigger_id"], p["response_url"]
	}
	view := `{"type":"modal","title":{"type":"plain_text","text":"Sticks"},"blocks":[]}`
	open := func(trigger string) any {
		return form(t, s, "views.open", s.o.BotToken, "trigger_id", trigger, "view", view)["error"]
	}
	trigger, address := command()
	k.move(3 * time.Second)
	if err := open(trigger); err != nil {
		t.Errorf("in time: %v", err)
	}
	if err := open(trigger); err != "exchanged_trigger_id" {
		t.Errorf("twice: %v", err)
	}
	late, _ := command()
	k.move(3*time.Second + time.Microsecond)
	if err := open(late); err != "expired_trigger_id" {
		t.Errorf("late: %v", err)
	}
	if err := open("1.2.3"); err != "invalid_trigger_id" {
		t.Errorf("made up: %v", err)
	}

	say := func(address, body string) any { return send(t, address, "application/json", "", body)["error"] }
	if err := send(t, address, "application/x-www-form-urlencoded", "", "text=x")["error"]; err != "invalid_payload" {
		t.Errorf("no JSON: %v", err)
	}
	if err := say(address, `{}`); err != "no_text" {
		t.Errorf("empty: %v", err)
	}
	for i := range 5 {
		if err := say(address, `{"text":"private"}`); err != nil {
			t.Errorf("use %d: %v", i, err)
		}
	}
	if err := say(address, `{"text":"x"}`); err != "used_url" {
		t.Errorf("the sixth: %v", err)
	}
	if n := len(s.Ephemeral("C1", "U1")); n != 5 {
		t.Errorf("%d private messages", n)
	}
	_, address = command()
	k.move(30*time.Minute + time.Second)
	if err := say(address, `{"text":"x"}`); err != "expired_url" {
		t.Errorf("after half an hour: %v", err)
	}
	_, address = command()
	if err := say(address, `{"text":"to all","response_type":"in_channel"}`); err != nil || len(s.Messages("C1")) != 1 {
		t.Errorf("to all: %v, %+v", err, s.Messages("C1"))
	}

	// A button of a private message: it is replaced, then taken away.
	f := c.next() // the message to all comes back as an event
	c.ack(f, nil)
	if err := say(address, `{"text":"p","blocks":[{"type":"actions","elements":[{"type":"button","action_id":"b","value":"v","text":{"type":"plain_text","text":"U11"}}]}]}`); err != nil {
		t.Fatal(err)
	}
	l := s.Ephemeral("C1", "U1")
	if _, err := s.Press("U2", "C1", l[len(l)-1].TS, "b", ""); err == nil {
		t.Error("somebody else pressed a private button")
	}
	if _, err := s.Press("U1", "C1", l[len(l)-1].TS, "b", ""); err != nil {
		t.Fatal(err)
	}
	f = c.next()
	c.ack(f, nil)
	var cb slack.InteractionCallback
	if err := json.Unmarshal(f.Payload, &cb); err != nil {
		t.Fatal(err)
	}
	if !cb.Container.IsEphemeral || cb.Message.Timestamp != "" || cb.ResponseURL == "" {
		t.Errorf("%+v", cb)
	}
	if err := say(cb.ResponseURL, `{"replace_original":true,"text":"U11 it is"}`); err != nil {
		t.Error(err)
	}
	if l := s.Ephemeral("C1", "U1"); l[len(l)-1].Plain() != "U11 it is" {
		t.Errorf("%+v", l)
	}
	if err := say(cb.ResponseURL, `{"delete_original":true}`); err != nil || len(s.Ephemeral("C1", "U1")) != len(l)-1 {
		t.Errorf("%v, %+v", err, s.Ephemeral("C1", "U1"))
	}
}
