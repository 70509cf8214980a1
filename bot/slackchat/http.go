package slackchat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"time"

	"github.com/slack-go/slack"
)

// Bounds of what is read from whoever knocks.
const (
	maxBody     = 1 << 20
	readTimeout = 5 * time.Second

	lastRequests = 300 * time.Millisecond // how long requests may take when it ends
)

// serveHTTP serves the Events API until ctx ends.
func (a *Adapter) serveHTTP(ctx context.Context, handle Handler) error {
	var lc net.ListenConfig
	ln, err := lc.Listen(ctx, "tcp", a.o.Listen)
	if err != nil {
		return fmt.Errorf("listen for slack: %w", err)
	}
	srv := &http.Server{
		Handler:           a.Handler(handle),
		ReadHeaderTimeout: readTimeout,
		ReadTimeout:       2 * readTimeout,
		WriteTimeout:      4 * readTimeout,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(a.log.Handler(), slog.LevelDebug),
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(ln) }()
	defer srv.Close()
	// Only now: Slack sends its challenge while the address is being set up.
	if err := a.introduce(ctx); err != nil {
		_ = srv.Close()
		<-served
		return err
	}
	a.log.Info("listening for slack", "address", ln.Addr().String())
	if a.o.Listens != nil {
		a.o.Listens(ln.Addr())
	}
	select {
	case err := <-served:
		return fmt.Errorf("serve slack's requests: %w", err)
	case <-ctx.Done():
	}
	// The bot takes nothing any more, so that whatever comes now is answered at
	// once. A connection that was opened and never used would hold this up.
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), lastRequests)
	defer cancel()
	if err := srv.Shutdown(stop); err != nil {
		_ = srv.Close()
	}
	if err := <-served; !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serve slack's requests: %w", err)
	}
	return nil
}

// Handler serves /slack/events, /slack/commands and /slack/interactions.
func (a *Adapter) Handler(handle Handler) http.Handler {
	mux := http.NewServeMux()
	for path, kind := range map[string]payloadKind{
		"POST /slack/events": events, "POST /slack/commands": commands, "POST /slack/interactions": interactions,
	} {
		mux.HandleFunc(path, func(w http.ResponseWriter, r *http.Request) { a.request(w, r, handle, kind) })
	}
	return mux
}

// request lets in what Slack signed within five minutes. What the bot does not
// take gets a 503, and no word that would keep Slack from sending it again. A
// replay inside the five minutes ends at the bot, which knows the event.
func (a *Adapter) request(w http.ResponseWriter, r *http.Request, handle Handler, kind payloadKind) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	if err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			http.Error(w, "too large", http.StatusRequestEntityTooLarge)
			return
		}
		http.Error(w, "the request broke off", http.StatusBadRequest)
		return
	}
	if !a.signed(r.Header, body) {
		a.log.Warn("a request that slack did not sign was refused", "path", r.URL.Path)
		http.Error(w, "not signed", http.StatusUnauthorized)
		return
	}
	raw, err := payloadOf(kind, body)
	if err != nil {
		http.Error(w, "not readable", http.StatusBadRequest)
		return
	}
	if challenge := challengeOf(kind, raw); challenge != "" {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		_, _ = io.WriteString(w, challenge)
		return
	}
	filled, err := a.take(r.Context(), handle, kind, raw)
	var answer any
	if filled != nil {
		answer, err = a.submit(r.Context(), filled)
	}
	if err != nil {
		a.log.Warn("an event is not taken; slack will send it again", "error", err)
		http.Error(w, "not now", http.StatusServiceUnavailable)
		return
	}
	if answer == nil {
		w.WriteHeader(http.StatusOK)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(answer) // whoever waits for it has gone where this fails
}

func (a *Adapter) signed(h http.Header, body []byte) bool {
	v, err := slack.NewSecretsVerifier(h, a.o.SigningSecret)
	if err != nil { // a header is missing, or the time is too far off
		return false
	}
	if _, err := v.Write(body); err != nil {
		return false
	}
	return v.Ensure() == nil
}

// payloadOf is the payload as Socket Mode would bring it.
func payloadOf(kind payloadKind, body []byte) ([]byte, error) {
	switch kind {
	case commands:
		form, err := url.ParseQuery(string(body))
		if err != nil {
			return nil, err
		}
		flat := map[string]string{}
		for k := range form {
			flat[k] = form.Get(k)
		}
		return json.Marshal(flat)
	case interactions:
		form, err := url.ParseQuery(string(body))
		if err != nil {
			return nil, err
		}
		return []byte(form.Get("payload")), nil
	}
	return body, nil
}

func challengeOf(kind payloadKind, raw []byte) string {
	if kind != events {
		return ""
	}
	var c struct{ Type, Challenge string }
	if json.Unmarshal(raw, &c) != nil || c.Type != "url_verification" {
		return ""
	}
	return c.Challenge
}
