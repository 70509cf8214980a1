package matrixchat

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// The environment of a bot that runs as a process of its own, to be killed.
const (
	childDir  = "SIDEWALL_TEST_MATRIX_DIR"
	childHome = "SIDEWALL_TEST_MATRIX_HOMESERVER"
	childUser = "SIDEWALL_TEST_MATRIX_USER"
)

// childMain is the bot where the environment asks for one.
func childMain() bool {
	dir := os.Getenv(childDir)
	if dir == "" {
		return false
	}
	if err := child(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return true
}

func child(dir string) error {
	d, err := shippedDesk()
	if err != nil {
		return err
	}
	ctx := context.Background() // it ends by being killed
	s, err := bot.OpenSQLite(ctx, filepath.Join(dir, "state.db"), time.Now())
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: testLevel}))
	a, err := New(Options{Homeserver: os.Getenv(childHome), User: os.Getenv(childUser), Password: password, Allow: []string{server}, Values: s, Log: log})
	if err != nil {
		return err
	}
	b, err := bot.New(bot.Options{Desk: func() bot.Desk { return d }, Store: s, Adapters: []bot.Adapter{a}, Date: gameDay, Log: log})
	if err != nil {
		return err
	}
	ran := make(chan error, 2)
	go func() { ran <- b.Run(ctx) }()
	go func() { ran <- a.Run(ctx, b.Handle) }()
	return errors.Join(<-ran, s.Close())
}

// mortal is a bot in a process of its own.
type mortal struct {
	t    testing.TB
	dir  string
	home string
	user id.UserID
	cmd  *exec.Cmd
}

func (m *mortal) start() {
	m.t.Helper()
	out, err := os.OpenFile(filepath.Join(m.dir, "bot.log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		m.t.Fatal(err)
	}
	defer out.Close()
	m.cmd = exec.Command(os.Args[0])
	m.cmd.Env = append(os.Environ(), childDir+"="+m.dir, childHome+"="+m.home, childUser+"="+string(m.user))
	m.cmd.Stdout, m.cmd.Stderr = out, out
	if err := m.cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
}

// kill ends the bot without a chance to tidy up.
func (m *mortal) kill() {
	if m.cmd == nil {
		return
	}
	_ = m.cmd.Process.Kill()
	_ = m.cmd.Wait() // it was killed
	m.cmd = nil
}
