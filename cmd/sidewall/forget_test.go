package main

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sidewall/bot"
	"sidewall/bot/slackchat/fakeslack"
)

// TestForget has a person ask, and takes away what is kept of them while the bot runs.
func TestForget(t *testing.T) {
	s := serveFake(t, fakeslack.Options{})
	s.AddChannel("D1", fakeslack.IM, "U0ANN")
	s.AddChannel("D2", fakeslack.IM, "U0BEN")
	dir := t.TempDir()
	p := startServe(t, s, dir, &safeBuffer{})
	waitFor(t, s, 20*time.Second, "a connection", func() bool { return s.Connections() > 0 })
	state := filepath.Join(dir, "state.db")
	for channel, user := range map[string]string{"D1": "U0ANN", "D2": "U0BEN"} {
		ts := s.Post(channel, user, "my division is U13", fakeslack.PostOptions{})
		ask := s.Post(channel, user, "qwxyz vbnmk plugh?", fakeslack.PostOptions{})
		waitFor(t, s, 20*time.Second, "answers", func() bool { return len(s.Replies(channel, ts)) == 1 && len(s.Replies(channel, ask)) == 1 })
	}
	forget := func(who string) string {
		t.Helper()
		var out, errs strings.Builder
		if code := execute(t.Context(), []string{"forget", who, "--state-path", state}, strings.NewReader(""), &out, &errs); code != 0 {
			t.Fatalf("exit code %d: %s", code, errs.String())
		}
		return out.String()
	}
	if out := forget("slack:U0ANN"); strings.HasPrefix(out, "0 ") {
		t.Errorf("it says %q", out)
	}
	if out := forget("U0ANN"); out != "0 records deleted.\n" {
		t.Errorf("a second time it says %q", out)
	}
	if code := p.end(t); code != 0 {
		t.Errorf("exit code %d", code)
	}
	store, err := bot.OpenSQLite(context.Background(), state, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	left, err := store.Missed(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != 1 {
		t.Errorf("%d open questions are left, want the other person's alone", len(left))
	}
}
