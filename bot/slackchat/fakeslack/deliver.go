package fakeslack

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Kinds of an envelope.
const (
	kindEvent    = "events_api"
	kindCommand  = "slash_commands"
	kindInteract = "interactive"
)

// delivery is an event, command or interaction on its way.
type delivery struct {
	Delivery
	payload json.RawMessage // what the envelope or the request's body holds
	accepts bool            // an acknowledgement may bring an answer
	channel string          // where a command was used
	user    string
	view    string // the modal that was submitted

	failures int // attempts that ran out of time
	on       *conn
	sent     time.Time // of the last attempt over HTTP
	timer    *time.Timer
}

// envelope is one attempt over a WebSocket.
type envelope struct {
	of   *delivery
	sent time.Time
}

func (d *delivery) halt() {
	if d.timer != nil {
		d.timer.Stop()
	}
}

// event delivers an inner event.
func (s *Server) event(inner obj) string {
	id := s.nextID("Ev")
	t, _ := inner["type"].(string)
	if _, ok := inner["event_ts"]; !ok {
		inner["event_ts"] = s.stamp()
	}
	s.begin(&delivery{Delivery: Delivery{ID: id, Kind: kindEvent, Type: t}, payload: raw(obj{
		"token": "unused", "team_id": s.o.Team, "context_team_id": s.o.Team, "context_enterprise_id": nil, "api_app_id": s.o.AppID,
		"event": inner, "type": "event_callback", "event_id": id, "event_time": s.o.Now().Unix(),
		"authorizations": []obj{{
			"enterprise_id": nil, "team_id": s.o.Team, "user_id": s.o.BotUser, "is_bot": true, "is_enterprise_install": false,
		}},
		"is_ext_shared_channel": false, "event_context": "4-" + strings.ToLower(id),
	})})
	return id
}

func (s *Server) begin(d *delivery) {
	s.deliveries = append(s.deliveries, d)
	s.send(d)
}

// send makes one attempt.
func (s *Server) send(d *delivery) {
	d.halt()
	if s.closed || d.Acked || d.GivenUp {
		return
	}
	if s.events != "" {
		s.post(d)
		return
	}
	c := s.pick()
	if c == nil {
		if d.Kind == kindEvent {
			s.waiting = append(s.waiting, d)
		} else { // a person gets an error at once
			d.GivenUp, d.Problem = true, "no_connection"
		}
		return
	}
	s.serial++
	id := fmt.Sprintf("%08x-0000-4000-8000-%012x", s.serial, s.serial)
	s.envelopes[id] = envelope{d, time.Now()}
	env := obj{"envelope_id": id, "type": d.Kind, "accepts_response_payload": d.accepts, "payload": d.payload}
	if d.Kind == kindEvent {
		env["retry_attempt"], env["retry_reason"] = d.Attempts, ""
		if d.Attempts > 0 {
			env["retry_reason"] = "timeout"
		}
	}
	d.Attempts++
	d.on = c
	attempt := d.Attempts
	d.timer = time.AfterFunc(s.o.Ack, func() { s.late(d, attempt) })
	c.write(raw(env))
}

// late is called when an acknowledgement did not come in time.
func (s *Server) late(d *delivery, attempt int) {
	defer s.lock()()
	if d.Attempts == attempt {
		s.fail(d, "timeout")
	}
}

// fail notes that an attempt failed, and plans the next one.
func (s *Server) fail(d *delivery, why string) {
	if d.Acked || d.GivenUp || s.closed {
		return
	}
	d.halt()
	d.Problem, d.on = why, nil
	d.failures++
	if d.Kind != kindEvent || d.failures > len(s.o.Retries) {
		d.GivenUp = true
		return
	}
	attempt := d.Attempts
	d.timer = time.AfterFunc(s.o.Retries[d.failures-1], func() {
		defer s.lock()()
		if d.Attempts == attempt {
			s.send(d)
		}
	})
}

// acked notes the acknowledgement of what was sent at a time, with what it brought.
func (s *Server) acked(d *delivery, sent time.Time, answer json.RawMessage) {
	if d.Acked {
		return
	}
	d.halt()
	d.Took = time.Since(sent)
	if d.GivenUp && d.Kind != kindEvent {
		return // the person has seen an error
	}
	d.Acked, d.on = true, nil
	d.Answer = answer
	if len(answer) == 0 || string(answer) == "null" {
		answer = nil
	}
	switch {
	case d.Kind == kindCommand && answer != nil:
		s.commandAnswer(d, answer)
	case d.Type == "view_submission":
		s.submitAnswer(d, answer)
	}
}

// Redeliver sends an event again although it was acknowledged, as Slack does when
// an acknowledgement got lost. It says whether there is such an event.
func (s *Server) Redeliver(id string) bool {
	defer s.lock()()
	for _, d := range s.deliveries {
		if d.ID == id && d.Kind == kindEvent {
			d.Acked, d.GivenUp, d.failures = false, false, 0
			s.send(d)
			return true
		}
	}
	return false
}

// Event delivers an inner event as it stands, of a type that need not exist.
func (s *Server) Event(inner map[string]any) (id string) {
	defer s.lock()()
	return s.event(inner)
}

// EventsTo switches to HTTP mode: from now on events, commands and interactions
// are posted to address + /slack/events, /slack/commands and /slack/interactions. It
// first sends the challenge that Slack sends when an address is saved, and gives
// an error when that is not answered rightly. What waits is sent then.
func (s *Server) EventsTo(ctx context.Context, address string) error {
	address = strings.TrimSuffix(address, "/")
	u, err := url.Parse(address)
	if err != nil {
		return fmt.Errorf("reading the address for events: %w", err)
	}
	if ip := net.ParseIP(u.Hostname()); u.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return fmt.Errorf("%s is not on this machine", u.Hostname())
	}
	body := raw(obj{"token": "unused", "type": "url_verification", "challenge": "3eZbrw1aBm2rZgRNFdxV2595E9CY3gmdALWMmHkvFXO7tYXAYM8P"})
	r, err := s.Signed(address+"/slack/events", "application/json", body, s.o.Now())
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, s.o.Ack)
	defer cancel()
	w, err := s.client.Do(r.WithContext(ctx))
	if err != nil {
		return fmt.Errorf("sending the challenge: %w", err)
	}
	defer func() { _ = w.Body.Close() }()
	got, err := io.ReadAll(io.LimitReader(w.Body, 1<<16))
	if err != nil {
		return fmt.Errorf("reading the answer to the challenge: %w", err)
	}
	var back struct{ Challenge string }
	answer := strings.TrimSpace(string(got))
	if json.Unmarshal(got, &back) == nil && back.Challenge != "" {
		answer = back.Challenge
	}
	if w.StatusCode != http.StatusOK || !strings.Contains(string(body), `"`+answer+`"`) || len(answer) < 40 {
		return fmt.Errorf("the challenge was answered with status %d and %q", w.StatusCode, answer)
	}
	defer s.lock()()
	s.events = address
	waiting := s.waiting
	s.waiting = nil
	for _, d := range waiting {
		s.send(d)
	}
	return nil
}

// post sends a delivery over HTTP.
func (s *Server) post(d *delivery) {
	path, kind, body := "/slack/events", "application/json", []byte(d.payload)
	switch d.Kind {
	case kindCommand:
		var fields map[string]string
		if err := json.Unmarshal(d.payload, &fields); err != nil {
			panic("fakeslack: a command has a field that is no string")
		}
		form := url.Values{}
		for k, v := range fields {
			form.Set(k, v)
		}
		path, kind, body = "/slack/commands", "application/x-www-form-urlencoded", []byte(form.Encode())
	case kindInteract:
		form := url.Values{"payload": {string(d.payload)}}
		path, kind, body = "/slack/interactions", "application/x-www-form-urlencoded", []byte(form.Encode())
	}
	r, err := s.Signed(s.events+path, kind, body, s.o.Now())
	if err != nil {
		d.GivenUp, d.Problem = true, err.Error()
		return
	}
	if d.Attempts > 0 {
		why := d.Problem
		if why == "" {
			why = "unknown_error"
		}
		r.Header.Set("X-Slack-Retry-Num", strconv.Itoa(d.Attempts))
		r.Header.Set("X-Slack-Retry-Reason", why)
	}
	d.Attempts++
	d.sent = time.Now()
	attempt := d.Attempts
	s.wg.Go(func() { s.exchange(d, r, attempt) })
}

func (s *Server) exchange(d *delivery, r *http.Request, attempt int) {
	ctx, cancel := context.WithTimeout(s.done, s.o.Ack)
	defer cancel()
	w, err := s.client.Do(r.WithContext(ctx))
	var body []byte
	if err == nil {
		body, err = io.ReadAll(io.LimitReader(w.Body, 1<<20))
		_ = w.Body.Close()
	}
	defer s.lock()()
	if d.Attempts != attempt {
		return
	}
	switch {
	case errors.Is(err, context.DeadlineExceeded):
		s.fail(d, "http_timeout")
	case err != nil:
		s.fail(d, "connection_failed")
	case w.StatusCode/100 != 2 || d.Kind != kindEvent && w.StatusCode != http.StatusOK:
		if w.Header.Get("X-Slack-No-Retry") == "1" {
			d.failures = len(s.o.Retries)
		}
		s.fail(d, "http_error")
	default:
		body = []byte(strings.TrimSpace(string(body)))
		if d.Kind == kindCommand && len(body) > 0 && !strings.HasPrefix(w.Header.Get("Content-Type"), "application/json") {
			body = raw(obj{"text": string(body)})
		}
		if d.Kind == kindEvent || len(body) > 0 && !json.Valid(body) {
			body = nil // Slack does not look at it
		}
		s.acked(d, d.sent, body)
	}
}
