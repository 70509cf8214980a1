package slackchat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/socketmode"
)

// ack is an envelope to acknowledge, and what with; nil for nothing.
type ack struct {
	envelope string
	answer   any
}

// line is one Socket Mode client and what is known of its connection.
type line struct {
	*socketmode.Client
	hangUp atomic.Value // context.CancelFunc: ends the client's run, so that it begins anew
	good   atomic.Bool  // it was connected once
	acks   chan ack     // what to acknowledge
}

// pacer is what a line's client asks Slack through where to connect. slack-go
// connects anew at once when a connection ends, however short it was, and all in
// step; the pacer lets it wait, longer each time, until one lasts. It stands in
// the client's own way and not among its events: those may be read late, and say
// of a connection that it ended when the next one is long open.
type pacer struct {
	a     *Adapter
	asked time.Time // when it was asked last
	quick int       // how often in a row that was too soon
}

// Do is called by one line's client alone.
func (p *pacer) Do(r *http.Request) (*http.Response, error) {
	if !p.asked.IsZero() && time.Since(p.asked) < p.a.o.Settled {
		if p.quick++; !sleep(r.Context(), p.a.o.Pause(p.quick-1)) {
			return nil, r.Context().Err()
		}
	} else {
		p.quick = 0
	}
	p.asked = time.Now()
	return p.a.http.Do(r)
}

// maxAcks is how many acknowledgements may wait for a line. What is beyond that is
// left out: the connection is gone, and Slack sends those events again.
const maxAcks = 4096

// sendAcks gives a line its acknowledgements. slack-go takes none while it
// connects, and while it connects it may wait for its events to be read: whoever
// reads them must not wait for it in turn.
func (l *line) sendAcks(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case x := <-l.acks:
			if l.AckCtx(ctx, x.envelope, x.answer) != nil && ctx.Err() != nil {
				return
			}
		}
	}
}

// heard is something that a line said.
type heard struct {
	l  *line
	ev socketmode.Event
}

// runSockets holds the connections until ctx ends. One goroutine hands the events
// to the bot, in the order in which they arrived.
func (a *Adapter) runSockets(ctx context.Context, handle Handler) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	all := make(chan heard)
	errs := make(chan error, a.o.Sockets)
	var wg sync.WaitGroup
	for range a.o.Sockets {
		l := &line{Client: socketmode.New(a.client(&pacer{a: a}), socketmode.OptionPingInterval(a.o.Ping)), acks: make(chan ack, maxAcks)}
		wg.Go(func() { l.sendAcks(ctx) })
		wg.Go(func() {
			if err := a.runLine(ctx, l); err != nil {
				errs <- err
				cancel()
			}
		})
		wg.Go(func() {
			for {
				select {
				case <-ctx.Done():
					return
				case ev := <-l.Events:
					select {
					case <-ctx.Done():
						return
					case all <- heard{l, ev}:
					}
				}
			}
		})
	}
	defer wg.Wait()
	for {
		select {
		case <-ctx.Done():
			wg.Wait()
			select {
			case err := <-errs:
				return err
			default:
				return nil
			}
		case h := <-all:
			a.hear(ctx, handle, h)
		}
	}
}

// runLine keeps one client connected. slack-go gives up for good on a refused
// token, and waits up to five minutes between attempts; a bot on game day has to
// be back sooner.
func (a *Adapter) runLine(ctx context.Context, l *line) error {
	for n := 0; ; {
		run, hangUp := context.WithCancel(ctx)
		l.hangUp.Store(hangUp)
		err := l.RunContext(run)
		hangUp()
		switch {
		case ctx.Err() != nil:
			return nil
		case refused(err) && !l.good.Load():
			return fmt.Errorf("%w: the app-level token: %w", ErrRefused, clean(err))
		case !refused(err):
			n = 0
			continue // the pacer lets it wait
		}
		wait := a.o.Pause(n)
		n++
		a.log.Error("slack refuses the app-level token", "after", wait, "error", clean(err))
		if !sleep(ctx, wait) {
			return nil
		}
	}
}

// hear handles what a line says, and acknowledges what the bot took.
func (a *Adapter) hear(ctx context.Context, handle Handler, h heard) {
	l, ev := h.l, h.ev
	switch ev.Type {
	case socketmode.EventTypeConnected:
		l.good.Store(true)
		a.o.Opened()
		a.log.Info("connected to slack")
	case socketmode.EventTypeConnectionError:
		a.connectionError(l, ev)
	case socketmode.EventTypeEventsAPI, socketmode.EventTypeSlashCommand, socketmode.EventTypeInteractive:
		if ev.Request != nil {
			a.receive(ctx, handle, l, payloadKind(ev.Request.Type), ev.Request.EnvelopeID, ev.Request.Payload)
		}
	case socketmode.EventTypeErrorBadMessage:
		// slack-go does not know it; the envelope wants its acknowledgement all the same.
		bad, ok := ev.Data.(*socketmode.ErrorBadMessage)
		if !ok {
			return
		}
		var e struct {
			Type       payloadKind     `json:"type"`
			EnvelopeID string          `json:"envelope_id"`
			Payload    json.RawMessage `json:"payload"`
		}
		if json.Unmarshal(bad.Message, &e) == nil && e.EnvelopeID != "" {
			a.receive(ctx, handle, l, e.Type, e.EnvelopeID, e.Payload)
		}
	case socketmode.EventTypeErrorWriteFailed:
		a.log.Warn("an acknowledgement could not be sent; slack will send the event again")
	}
}

func (a *Adapter) receive(ctx context.Context, handle Handler, l *line, kind payloadKind, envelope string, raw []byte) {
	filled, err := a.take(ctx, handle, kind, raw)
	if err != nil {
		if ctx.Err() == nil {
			a.log.Warn("an event is not taken; slack will send it again", "error", err)
		}
		return
	}
	if filled == nil {
		a.acknowledge(l, ack{envelope: envelope})
		return
	}
	a.aside.Go(func() { // it takes its time, and the events behind it do not wait
		answer, err := a.submit(ctx, filled)
		if err != nil {
			a.log.Warn("a form is not taken; whoever sent it is told", "error", err)
			return
		}
		a.acknowledge(l, ack{envelope, answer})
	})
}

func (a *Adapter) acknowledge(l *line, x ack) {
	select {
	case l.acks <- x:
	default:
		a.log.Warn("too many acknowledgements wait; slack will send the event again")
	}
}

// longWait is from when on slack-go's own waiting is cut short.
const longWait = 10 * time.Second

// connectionError ends slack-go's own waiting where it gets long, unless Slack
// itself said how long.
func (a *Adapter) connectionError(l *line, ev socketmode.Event) {
	e, ok := ev.Data.(*slack.ConnectionErrorEvent)
	if !ok {
		return
	}
	a.log.Warn("slack cannot be reached", "error", clean(e.ErrorObj))
	var limited *slack.RateLimitedError
	if hangUp, ok := l.hangUp.Load().(context.CancelFunc); ok && e.Backoff > longWait && !errors.As(e.ErrorObj, &limited) {
		hangUp()
	}
}
