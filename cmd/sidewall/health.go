package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// health is what is known of the parts that answers depend on. It is learned from
// the work itself: asking costs nothing, and tells of what really happens.
type health struct {
	mu       sync.Mutex
	store    error
	search   string // "" when the summaries can be searched
	stopping bool
	book     string // what is wrong with the book's folder, while the last good book serves
	chats    map[string]*contact
}

// contact is a chat's connection.
type contact struct {
	once   bool // it was connected
	failed int  // requests in a row
}

// unreachable is from how many failed requests in a row on a chat counts as away;
// single ones are a chat's daily life, and tried again.
const unreachable = 3

func newHealth() *health {
	return &health{search: "the summaries are being read", chats: map[string]*contact{}}
}

func (h *health) change(f func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	f()
}

func (h *health) add(chat string)    { h.change(func() { h.chats[chat] = &contact{} }) }
func (h *health) stored(err error)   { h.change(func() { h.store = err }) }
func (h *health) searches(no string) { h.change(func() { h.search = no }) }
func (h *health) stops()             { h.change(func() { h.stopping = true }) }
func (h *health) folder(no string)   { h.change(func() { h.book = no }) }

// ready is what is told where nothing keeps it from answering.
func (h *health) ready() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.book == "" {
		return "ready"
	}
	return "ready, with the last good book: its folder does not load any more\n" + h.book
}

func (h *health) connected(chat string) {
	h.change(func() {
		if c := h.chats[chat]; c != nil {
			c.once, c.failed = true, 0
		}
	})
}

// reached tells of a request, and whether the server was there.
func (h *health) reached(chat string, ok bool) {
	h.change(func() {
		c := h.chats[chat]
		switch {
		case c == nil:
		case ok:
			c.failed = 0
		default:
			c.failed++
		}
	})
}

// problems are the reasons not to be ready, in words for an admin.
func (h *health) problems() []string {
	h.mu.Lock()
	defer h.mu.Unlock()
	var out []string
	if h.stopping {
		out = append(out, "it is stopping")
	}
	if h.store != nil {
		out = append(out, "the state file cannot be written; `sidewall doctor` says why")
	}
	if h.search != "" {
		out = append(out, h.search)
	}
	for _, name := range slices.Sorted(maps.Keys(h.chats)) {
		switch c := h.chats[name]; {
		case !c.once:
			out = append(out, name+" is not connected yet")
		case c.failed >= unreachable:
			out = append(out, name+" cannot be reached")
		}
	}
	return out
}

// healthHandler serves the numbers, /healthz (the process works) and /readyz
// (answers can be given; otherwise why not, a line each). A folder that holds a
// broken book is told there too: the last good one answers.
func healthHandler(m *meter, log *slog.Logger) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", http.TimeoutHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
		if err := m.writeTo(w); err != nil {
			log.Error("the numbers cannot be sent", "error", err)
		}
	}), 2*missedWithin, "the numbers took too long"))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { say(w, http.StatusOK, "ok") })
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, _ *http.Request) {
		if why := m.health.problems(); len(why) > 0 {
			say(w, http.StatusServiceUnavailable, strings.Join(why, "\n"))
			return
		}
		say(w, http.StatusOK, m.health.ready())
	})
	return mux
}

func say(w http.ResponseWriter, code int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	_, _ = fmt.Fprintln(w, text) // whoever asked has gone
}

// serveHealth serves the handler until the function it gives is called. An
// address that cannot be had is told at once.
func serveHealth(addr string, h http.Handler, log *slog.Logger) (end func(), err error) {
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, usageError{fmt.Errorf("metrics.listen: %w; choose another port, or end what uses it", err)}
	}
	log.Info("metrics are served", "at", "http://"+ln.Addr().String()+"/metrics")
	s := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		if err := s.Serve(ln); !errors.Is(err, http.ErrServerClosed) {
			log.Error("metrics are not served any more", "error", err)
		}
	}()
	return func() {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		if s.Shutdown(ctx) != nil {
			_ = s.Close() // a scrape that hangs is not waited for
		}
		<-ended
	}, nil
}
