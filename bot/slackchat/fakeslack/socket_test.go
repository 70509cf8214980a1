package fakeslack

import (
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
)

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
