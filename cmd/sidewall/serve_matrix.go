package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"sidewall/bot"
	"sidewall/bot/matrixchat"
	"sidewall/config"
)

func matrixPlatform() platform {
	return platform{
		name: "Matrix",
		begun: func(s *config.Settings) bool {
			return s.Matrix.Homeserver != "" || s.Matrix.User != "" || !s.Matrix.Password.Empty() || !s.Matrix.AccessToken.Empty()
		},
		missing: func(s *config.Settings) []string { return s.Matrix.Missing() },
		open:    openMatrix,
		examine: examineMatrix,
	}
}

// matrixKeys is the file beside the state file that holds the device's keys.
func matrixKeys(s *config.Settings) string { return s.State.Path + ".matrix-keys" }

func openMatrix(_ context.Context, s *config.Settings, p parts) (chat, error) {
	m := s.Matrix
	a, err := matrixchat.New(matrixchat.Options{
		Homeserver: m.Homeserver, User: m.User, Password: m.Password.Reveal(), Token: m.AccessToken.Reveal(), Values: p.store,
		Allow: m.Allow, Prefix: m.Prefix, Lang: s.Lang, AdminRoom: m.AdminRoom, AdminPower: m.AdminPower,
		Encryption: m.Encryption, KeyFile: matrixKeys(s), Log: p.log,
		HTTP: &http.Client{Transport: p.meter.watchSync(matrixTransport())},
	})
	if errors.Is(err, matrixchat.ErrNoEncryption) {
		return nil, usageError{err}
	}
	if err != nil {
		return nil, err
	}
	return matrixChat{a}, nil
}

// matrixChat makes an account that is not let in something to put right.
type matrixChat struct{ *matrixchat.Adapter }

func (c matrixChat) Run(ctx context.Context, handle func(context.Context, bot.Event) error) error {
	err := c.Adapter.Run(ctx, handle)
	if errors.Is(err, matrixchat.ErrRefused) {
		return usageError{fmt.Errorf("%w; check matrix.user and matrix.password or matrix.access_token", err)}
	}
	return err
}

// withPower are the admins of the settings and those that the chats know.
func withPower(admins []string, chats []chat) []string {
	out := slices.Clone(admins)
	for _, c := range chats {
		if a, ok := c.(interface{ Admins() []string }); ok {
			for _, who := range a.Admins() {
				out = append(out, c.Platform()+":"+who)
			}
		}
	}
	return out
}

var (
	_ bot.Worker   = matrixChat{}
	_ bot.Numberer = matrixChat{}
)

// matrixTransport is for a homeserver that may be slow and a poll that takes long;
// it keeps enough connections for the bot's workers.
func matrixTransport() http.RoundTripper {
	return &http.Transport{
		Proxy:               http.ProxyFromEnvironment,
		DialContext:         (&net.Dialer{Timeout: 10 * time.Second, KeepAlive: 15 * time.Second}).DialContext,
		ForceAttemptHTTP2:   true,
		TLSHandshakeTimeout: 10 * time.Second,
		MaxIdleConnsPerHost: 16,
		IdleConnTimeout:     90 * time.Second,
	}
}

// syncing tells the meter of connections: Matrix has none of its own, so that one
// begins with the first poll that goes well, at the start and after polls that
// did not.
type syncing struct {
	watched
	up atomic.Bool
}

// watchSync puts the meter between Matrix and its homeserver.
func (m *meter) watchSync(next http.RoundTripper) http.RoundTripper {
	return &syncing{watched: watched{m: m, platform: matrixchat.Platform, next: next}}
}

func (s *syncing) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := s.watched.RoundTrip(r)
	if !strings.HasSuffix(r.URL.Path, "/sync") {
		return resp, err
	}
	switch up := err == nil && resp.StatusCode == http.StatusOK; {
	case !up:
		s.up.Store(false)
	case !s.up.Swap(true):
		s.m.connected(matrixchat.Platform)
	}
	return resp, err
}
