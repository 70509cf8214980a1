package main

import (
	"context"
	"errors"
	"fmt"
	"slices"

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
