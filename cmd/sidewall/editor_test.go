package main

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"sidewall/answers/book"
	"sidewall/bot/slackchat/fakeslack"
	"sidewall/config"
)

// TestAnAdminKeepsTheBookWhileItServes runs the program itself: an admin changes
// a value over Slack, and the next question gets the new one; a broken edit in the
// folder is told in the admins' channel, and the last good book goes on.
func TestAnAdminKeepsTheBookWhileItServes(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a process")
	}
	s := serveFake(t, fakeslack.Options{})
	s.AddChannel("C1", fakeslack.Public, "U1", "U2", "U0BOT")
	s.AddChannel("C5", fakeslack.Private, "U1", "U0BOT")
	s.AddChannel("D1", fakeslack.IM, "U1")
	dir := t.TempDir()
	folder := filepath.Join(dir, "our-book")
	if err := book.New(folder, config.ShippedBook()); err != nil {
		t.Fatal(err)
	}
	log := &safeBuffer{}
	p := startServe(t, s, dir, log, "SIDEWALL_BOOK="+folder, "SIDEWALL_ADMINS=U1", "SIDEWALL_ADMIN_CHANNEL=slack:C5", "SIDEWALL_METRICS_LISTEN=127.0.0.1:0")
	waitFor(t, s, 20*time.Second, "a connection", func() bool { return s.Connections() > 0 })
	reply := func(channel, user, text string) fakeslack.Message {
		t.Helper()
		ts := s.Post(channel, user, text, fakeslack.PostOptions{})
		waitFor(t, s, 20*time.Second, "a reply", func() bool { return len(s.Replies(channel, ts)) == 1 })
		return s.Replies(channel, ts)[0]
	}
	const question = "<@U0BOT> U11 defense with a 48-inch stick?"
	if m := reply("C1", "U2", question); !strings.HasPrefix(m.Text, "Legal") {
		t.Fatalf("before: %s", m.Text)
	}
	m := reply("D1", "U1", "U11 long crosse is 50 to 54 from 2027-03-01, league decision of 12 January")
	for _, want := range []string{"Contradicts the sheet: summaries/", "Now: 47–54 in", "New: 50–54 in", "Would be answered differently"} {
		if !strings.Contains(m.Plain(), want) {
			t.Errorf("there is no %q in %s", want, m.Plain())
		}
	}
	for _, a := range m.Actions() {
		if strings.Contains(a.Value, `"publish:`) {
			if _, err := s.Press("U1", "D1", m.TS, a.ActionID, ""); err != nil {
				t.Fatal(err)
			}
		}
	}
	waitFor(t, s, 20*time.Second, "the publication", func() bool { return strings.Contains(s.Replies("D1", m.Thread)[0].Plain(), "Published as revision 1") })
	if m := reply("C1", "U2", question); !strings.HasPrefix(m.Text, "Not legal") {
		t.Errorf("after: %s", m.Text)
	}
	began := time.Now()
	s.Command("U1", "C1", "/sidewall", "edit sticks by age")
	waitFor(t, s, 20*time.Second, "a form", func() bool { return len(s.Views()) == 1 })
	if _, err := s.SubmitView("U1", s.Views()[0].ID, map[string]map[string]any{"s0": {"text": map[string]any{"type": "plain_text_input", "value": "## Field players\n\nA U11 long stick is 40–44 in."}}}); err != nil {
		t.Fatal(err)
	}
	waitFor(t, s, 20*time.Second, "the difference", func() bool { return s.Views()[0].CallbackID == "publish" })
	if v := s.Views()[0]; !strings.Contains(v.Plain(), "50–54") {
		t.Errorf("the contradiction is not told: %s", v.Plain())
	}
	t.Logf("a form and its difference took %v", time.Since(began))
	if failed := s.Failed(); len(failed) > 0 {
		t.Errorf("%d forms were not answered in time", len(failed))
	}

	if err := os.WriteFile(filepath.Join(folder, "summaries", "crease.md"), []byte("---\nid: crease\ncolour: red\n---\n\nwords\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if t.Failed() {
			t.Logf("the log:\n%s", log)
		}
	}()
	waitFor(t, s, 20*time.Second, "word of the broken edit", func() bool {
		for _, m := range s.Messages("C5") {
			if strings.Contains(m.Plain(), "summaries/crease.md:3") {
				return true
			}
		}
		return false
	})
	at := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`).FindString(log.String())
	page, err := http.Get(at + "readyz")
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(page.Body)
	_ = page.Body.Close()
	if err != nil || page.StatusCode != http.StatusOK || !strings.Contains(string(text), "summaries/crease.md:3") {
		t.Errorf("the health page says %d %s, %v", page.StatusCode, text, err)
	}
	if m := reply("C1", "U2", question); !strings.HasPrefix(m.Text, "Not legal") {
		t.Errorf("with a broken folder: %s", m.Text)
	}
	if code := p.end(t); code != 0 {
		t.Errorf("it ended with %d:\n%s", code, log)
	}
	if strings.Contains(log.String(), "48-inch") || strings.Contains(log.String(), "league decision") {
		t.Error("the log tells words")
	}
	for _, r := range s.Refused() {
		t.Errorf("slack refused %s: %s %v", r.What, r.Err, r.Details)
	}
}
