package fakeslack

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"
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
