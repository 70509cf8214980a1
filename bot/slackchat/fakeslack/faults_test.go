package fakeslack

import (
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
)

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
