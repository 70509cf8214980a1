package matrixchat

import (
	"context"
	"errors"
	"math/rand/v2"
	"net"
	"net/http"
	"strconv"
	"time"

	"maunium.net/go/mautrix"

	"sidewall/bot"
)

// errNotReady is what a reply gets while the adapter has not logged in yet.
var errNotReady = errors.New("not logged in to the homeserver yet")

// Bounds of waiting.
const (
	firstPause = 250 * time.Millisecond
	mostPause  = 30 * time.Second
	// settles is how long a homeserver that just came up may still be writing down
	// what it had taken in before it went.
	settles = 3 * time.Second
)

// again says what may be done after a request failed.
func (a *Adapter) again(err error) bot.Again {
	var h mautrix.HTTPError
	var dial *net.OpError
	switch {
	case err == nil:
		return bot.Again{}
	case errors.Is(err, errNotReady):
		return bot.Again{Retry: true, After: time.Second}
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return bot.Again{Retry: true, Unknown: true}
	case errors.Is(err, mautrix.MLimitExceeded):
		return bot.Again{Retry: true, After: retryAfter(err)}
	case errors.Is(err, mautrix.MUnknownToken): // the loop logs in again, or ends
		return bot.Again{Retry: true, After: time.Second}
	case errors.As(err, &dial) && dial.Op == "dial":
		a.wasDown()
		return bot.Again{Retry: true}
	case errors.As(err, &h) && h.Response != nil:
		switch code := h.Response.StatusCode; {
		case code == http.StatusTooManyRequests:
			return bot.Again{Retry: true, After: retryAfter(err)}
		case code >= 500:
			a.wasDown()
			return bot.Again{Retry: true, Unknown: true}
		}
		return bot.Again{}
	}
	var ne net.Error
	if errors.As(err, &h) || errors.As(err, &ne) { // the connection broke while waiting
		a.wasDown()
		return bot.Again{Retry: true, Unknown: true}
	}
	return bot.Again{}
}

// retryAfter is how long the homeserver wants to be left alone.
func retryAfter(err error) time.Duration {
	var e mautrix.RespError
	if errors.As(err, &e) {
		if ms, ok := e.ExtraData["retry_after_ms"].(float64); ok && ms > 0 {
			return min(time.Duration(ms)*time.Millisecond, time.Hour)
		}
	}
	var h mautrix.HTTPError
	if errors.As(err, &h) && h.Response != nil {
		if s, err := strconv.Atoi(h.Response.Header.Get("Retry-After")); err == nil && s > 0 {
			return min(time.Duration(s)*time.Second, time.Hour)
		}
	}
	return 0
}

func (a *Adapter) wasDown() { a.down.Store(a.o.Clock.Now().UnixNano()) }

// settling says whether the homeserver was away a moment ago.
func (a *Adapter) settling() bool {
	at := a.down.Load()
	return at != 0 && a.o.Clock.Now().Sub(time.Unix(0, at)) < settles
}

// pause is how long to wait after the n-th failure in a row: longer each time,
// and not the same for all bots of a homeserver that restarts.
func pause(n int) time.Duration {
	d := min(firstPause<<min(n, 10), mostPause)
	return d/2 + rand.N(d/2+1)
}

// gone says that something is not there, or not for us to see.
func gone(err error) bool {
	return errors.Is(err, mautrix.MNotFound) || errors.Is(err, mautrix.MForbidden)
}
