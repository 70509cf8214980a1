package fakeslack

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/slack-go/slack"
)

// Each method refuses what Slack refuses, by Slack's names.
func TestRefusals(t *testing.T) {
	s := start(t, Options{})
	s.AddChannel("C3", Public, "U1", s.o.BotUser)
	s.Archive("C3")
	bot, app := s.o.BotToken, s.o.AppToken
	mine := form(t, s, "chat.postMessage", bot, "channel", "C1", "text", "mine")["ts"].(string)
	theirs := s.Post("C1", "U1", "theirs", PostOptions{})
	reply := s.Post("C1", "U1", "reply", PostOptions{Thread: theirs})
	gone := s.Post("C1", "U1", "gone", PostOptions{})
	s.Delete("C1", gone)
	modal := `{"type":"modal","title":{"type":"plain_text","text":"x"},"blocks":[]}`
	home := `{"type":"home","blocks":[]}`
	prompts := `[{"title":"Sticks","message":"How long?"}]`

	tests := []struct {
		name, method, token string
		args                []string
		want                string // "" for ok
	}{
		{"no token", "auth.test", "", nil, "not_authed"},
		{"an unknown token", "auth.test", "xoxb-other", nil, "invalid_auth"},
		{"who am I", "auth.test", bot, nil, ""},
		{"a socket with the bot's token", "apps.connections.open", bot, nil, "not_allowed_token_type"},
		{"a post with the app's token", "chat.postMessage", app, []string{"channel", "C1", "text", "x"}, "not_allowed_token_type"},
		{"no such method", "chat.shout", bot, nil, "unknown_method"},

		{"a post to nowhere", "chat.postMessage", bot, []string{"text", "x"}, "invalid_arguments"},
		{"no such channel", "chat.postMessage", bot, []string{"channel", "C9", "text", "x"}, "channel_not_found"},
		{"not a member", "chat.postMessage", bot, []string{"channel", "C2", "text", "x"}, "not_in_channel"},
		{"not a member of a private one", "chat.postMessage", bot, []string{"channel", "G2", "text", "x"}, "channel_not_found"},
		{"archived", "chat.postMessage", bot, []string{"channel", "C3", "text", "x"}, "is_archived"},
		{"no text", "chat.postMessage", bot, []string{"channel", "C1"}, "no_text"},
		{"only spaces", "chat.postMessage", bot, []string{"channel", "C1", "text", " \n"}, "no_text"},
		{"text at its limit", "chat.postMessage", bot, []string{"channel", "C1", "text", strings.Repeat("x", 40000)}, ""},
		{"text too long", "chat.postMessage", bot, []string{"channel", "C1", "text", strings.Repeat("x", 40001)}, "msg_too_long"},
		{"blocks that are no list", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "blocks", `{"blocks":[]}`}, "invalid_blocks_format"},
		{"blocks that are wrong", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "blocks", `[{"type":"banner"}]`}, "invalid_blocks"},
		{"too much in all", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "blocks", "[" + many(5, sec(`"text":`+md(long(2500)))) + "]"}, "msg_blocks_too_long"},
		{"a reply to a reply", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "thread_ts", reply}, "cannot_reply_to_message"},
		{"a reply", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "thread_ts", theirs}, ""},
		{"to a person", "chat.postMessage", bot, []string{"channel", "U1", "text", "x"}, ""},
		{"metadata that is no JSON", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "metadata", "x"}, "invalid_metadata_format"},
		{"metadata without payload", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "metadata", `{"event_type":"a"}`}, "invalid_metadata_schema"},
		{"metadata with a text as payload", "chat.postMessage", bot, []string{"channel", "C1", "text", "x", "metadata", `{"event_type":"a","event_payload":"b"}`}, "invalid_metadata_schema"},

		{"a whisper", "chat.postEphemeral", bot, []string{"channel", "C1", "user", "U1", "text", "x"}, ""},
		{"a whisper to nobody", "chat.postEphemeral", bot, []string{"channel", "C1", "text", "x"}, "invalid_arguments"},
		{"a whisper to somebody elsewhere", "chat.postEphemeral", bot, []string{"channel", "C1", "user", "U9", "text", "x"}, "user_not_in_channel"},
		{"a whisper where the bot is not", "chat.postEphemeral", bot, []string{"channel", "C2", "user", "U1", "text", "x"}, "not_in_channel"},

		{"a change of somebody else's", "chat.update", bot, []string{"channel", "C1", "ts", theirs, "text", "x"}, "cant_update_message"},
		{"a change of nothing", "chat.update", bot, []string{"channel", "C1", "ts", gone, "text", "x"}, "message_not_found"},
		{"a change to nothing", "chat.update", bot, []string{"channel", "C1", "ts", mine}, "no_text"},
		{"a change", "chat.update", bot, []string{"channel", "C1", "ts", mine, "text", "x"}, ""},
		{"a change of metadata alone", "chat.update", bot, []string{"channel", "C1", "ts", mine, "metadata", `{"event_type":"a","event_payload":{}}`}, ""},
		{"taking away somebody else's", "chat.delete", bot, []string{"channel", "C1", "ts", theirs}, "cant_delete_message"},
		{"taking away nothing", "chat.delete", bot, []string{"channel", "C1", "ts", "1.2"}, "message_not_found"},

		{"a thread that is not there", "conversations.replies", bot, []string{"channel", "C1", "ts", "1.2"}, "thread_not_found"},
		{"a thread where the bot is not", "conversations.replies", bot, []string{"channel", "C2", "ts", "1.2"}, "not_in_channel"},
		{"a cursor that is none", "conversations.replies", bot, []string{"channel", "C1", "ts", theirs, "cursor", "x"}, "invalid_cursor"},
		{"a limit that is none", "conversations.replies", bot, []string{"channel", "C1", "ts", theirs, "limit", "5000"}, "invalid_limit"},
		{"a history", "conversations.history", bot, []string{"channel", "C1"}, ""},
		{"a channel", "conversations.info", bot, []string{"channel", "C2"}, ""},
		{"a private channel of others", "conversations.info", bot, []string{"channel", "G2"}, "channel_not_found"},
		{"a person", "users.info", bot, []string{"user", "U1"}, ""},
		{"nobody", "users.info", bot, []string{"user", "U9"}, "user_not_found"},

		{"a page for nobody", "views.publish", bot, []string{"user_id", "U9", "view", home}, "invalid_arguments"},
		{"a modal as page", "views.publish", bot, []string{"user_id", "U1", "view", modal}, "invalid_arguments"},
		{"a page", "views.publish", bot, []string{"user_id", "U1", "view", home}, ""},
		{"a page over a newer one", "views.publish", bot, []string{"user_id", "U1", "view", home, "hash", "1"}, "hash_conflict"},
		{"no trigger", "views.open", bot, []string{"view", modal}, "invalid_arguments"},
		{"a view that is none", "views.open", bot, []string{"trigger_id", "1", "view", "x"}, "invalid_arguments"},
		{"a modal too large", "views.open", bot, []string{"trigger_id", "1", "view", modal + strings.Repeat(" ", 250001)}, "view_too_large"},
		{"no such view", "views.update", bot, []string{"view_id", "V9", "view", modal}, "not_found"},
		{"pushing from nowhere", "views.push", bot, []string{"trigger_id", "1", "view", modal}, "invalid_trigger_id"},

		{"a reaction", "reactions.add", bot, []string{"channel", "C1", "timestamp", theirs, "name", "lacrosse"}, ""},
		{"the same again", "reactions.add", bot, []string{"channel", "C1", "timestamp", theirs, "name", "lacrosse"}, "already_reacted"},
		{"to nothing", "reactions.add", bot, []string{"channel", "C1", "timestamp", "1.2", "name", "lacrosse"}, "message_not_found"},
		{"with colons", "reactions.add", bot, []string{"channel", "C1", "timestamp", theirs, "name", ":eyes:"}, "invalid_name"},

		{"a status nowhere", "assistant.threads.setStatus", bot, []string{"channel_id", "D1", "thread_ts", "1.2", "status", "x"}, "invalid_thread_ts"},
		{"no status", "assistant.threads.setStatus", bot, []string{"channel_id", "D1", "thread_ts", "1.2"}, "invalid_arguments"},
		{"five prompts", "assistant.threads.setSuggestedPrompts", bot, []string{"channel_id", "D1", "thread_ts", "1.2", "prompts", "[" + many(5, prompts[1:len(prompts)-1]) + "]"}, "invalid_arguments"},
		{"prompts in a channel", "assistant.threads.setSuggestedPrompts", bot, []string{"channel_id", "C1", "thread_ts", theirs, "prompts", prompts}, "invalid_channel_type"},
	}
	want := 0
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := form(t, s, tt.method, tt.token, tt.args...)
			if err, _ := got["error"].(string); err != tt.want || got["ok"] != (tt.want == "") {
				t.Errorf("got %v, want %q", got, tt.want)
			}
		})
		if tt.want != "" {
			want++
		}
	}
	if r := s.Refused(); len(r) != want {
		t.Errorf("%d refusals are kept, want %d", len(r), want)
	}
	if all := s.Calls(""); len(all) != s.Count("") || s.Count("auth.test") != len(s.Calls("auth.test")) || s.Count("auth.test") == 0 {
		t.Errorf("%d calls, counted %d", len(all), s.Count(""))
	}
	for _, c := range s.Calls("") {
		if _, ok := c.Args["token"]; ok {
			t.Errorf("a token is kept with a call of %s", c.Method)
		}
	}
}

func TestThreadThatIsGone(t *testing.T) {
	s := start(t, Options{})
	gone := s.Post("C1", "U1", "gone", PostOptions{})
	s.Delete("C1", gone)
	got := form(t, s, "chat.postMessage", s.o.BotToken, "channel", "C1", "text", "x", "thread_ts", gone)
	m, _ := got["message"].(map[string]any)
	if got["ok"] != true || m == nil || m["thread_ts"] != nil || got["warning"] != nil {
		t.Errorf("%v", got)
	}
	if l := s.Unthreaded("C1"); len(l) != 1 || s.Calls("chat.postMessage")[0].Warning != "posted_outside_the_thread" {
		t.Errorf("%+v", l)
	}
}

func TestUpdateOfBlocks(t *testing.T) {
	s := start(t, Options{})
	ts := form(t, s, "chat.postMessage", s.o.BotToken, "channel", "C1", "text", "x", "blocks", "["+section+"]")["ts"].(string)
	for _, tt := range []struct {
		args   []string
		blocks int
		edited bool
	}{
		{[]string{"text", "y", "blocks", "[" + section + "," + divider + "]"}, 2, false},
		{[]string{"metadata", `{"event_type":"a","event_payload":{}}`}, 2, false},
		{[]string{"text", "z"}, 0, true},
	} {
		if got := form(t, s, "chat.update", s.o.BotToken, append(tt.args, "channel", "C1", "ts", ts)...); got["ok"] != true {
			t.Fatal(got)
		}
		m := s.Messages("C1")[0]
		var l []any
		_ = json.Unmarshal(m.Blocks, &l)
		if len(l) != tt.blocks || m.Edited != tt.edited {
			t.Errorf("%q: %+v", tt.args, m)
		}
	}
}

func TestBlocksAreCompleted(t *testing.T) {
	s := start(t, Options{})
	got := form(t, s, "chat.postMessage", s.o.BotToken, "channel", "C1", "blocks", "["+acts(btn(`,"value":"v"`))+"]")
	if got["warning"] != "missing_text_in_message" || s.Calls("chat.postMessage")[0].Warning == "" {
		t.Errorf("no warning that nothing is there for notifications: %v", got)
	}
	a := s.Messages("C1")[0].Actions()
	if len(a) != 1 || a[0].ActionID == "" || a[0].BlockID == "" || a[0].Value != "v" {
		t.Errorf("%+v", a)
	}
	got = form(t, s, "chat.postMessage", s.o.BotToken, "channel", "C1", "text", "x", "blocks", "["+acts(`{"type":"button","text":`+pt(long(76))+`}`)+"]")
	msgs, _ := got["response_metadata"].(map[string]any)["messages"].([]any)
	if len(msgs) != 1 || msgs[0] != "[ERROR] must be less than 76 characters [json-pointer:/blocks/0/elements/0/text/text]" {
		t.Errorf("%v", got)
	}
}

func TestBodies(t *testing.T) {
	s := start(t, Options{})
	ts := s.Post("C1", "U1", "x", PostOptions{})
	bot := s.o.BotToken
	tests := []struct{ name, method, kind, bearer, body, want string }{
		{"JSON", "chat.postMessage", "application/json; charset=utf-8", bot, `{"channel":"C1","text":"x","blocks":[` + section + `]}`, ""},
		{"JSON with blocks as a string", "chat.postMessage", "application/json", bot, `{"channel":"C1","text":"x","blocks":"[]"}`, ""},
		{"a token in the JSON", "chat.postMessage", "application/json", "", `{"token":"` + bot + `","channel":"C1","text":"x"}`, "not_authed"},
		{"broken JSON", "chat.postMessage", "application/json", bot, `{`, "invalid_json"},
		{"another charset", "chat.postMessage", "application/json; charset=latin1", bot, `{"channel":"C1","text":"x"}`, "invalid_charset"},
		{"JSON where only forms go", "conversations.replies", "application/json", bot, `{"channel":"C1","ts":"` + ts + `"}`, "invalid_arguments"},
		{"a form with a bearer", "conversations.replies", "application/x-www-form-urlencoded", bot, "channel=C1&ts=" + ts, ""},
		{"XML", "chat.postMessage", "text/xml", bot, "<x/>", "invalid_post_type"},
		{"nothing", "auth.test", "", bot, "", ""},
	}
	for _, tt := range tests {
		got := send(t, s.API()+tt.method, tt.kind, tt.bearer, tt.body)
		if err, _ := got["error"].(string); err != tt.want {
			t.Errorf("%s: %v, want %q", tt.name, got, tt.want)
		}
	}
}

// A thread of several pages: each begins with its first message.
func TestPages(t *testing.T) {
	s := start(t, Options{Page: 2})
	api := client(t, s)
	ts := s.Post("C1", "U1", "first", PostOptions{Mute: true})
	for range 5 {
		s.Post("C1", "U1", "more", PostOptions{Thread: ts, Mute: true})
	}
	seen, cursor, n := map[string]bool{}, "", 0
	for {
		l, more, next, err := api.GetConversationRepliesContext(deadline(t), &slack.GetConversationRepliesParameters{ChannelID: "C1", Timestamp: ts, Cursor: cursor})
		if err != nil || l[0].Timestamp != ts || more != (next != "") {
			t.Fatalf("%+v, %v, %q, %v", l, more, next, err)
		}
		for _, m := range l {
			seen[m.Timestamp] = true
		}
		if n++; next == "" {
			break
		}
		cursor = next
	}
	if len(seen) != 6 || n != 3 {
		t.Errorf("%d messages on %d pages", len(seen), n)
	}
	h, err := api.GetConversationHistoryContext(deadline(t), &slack.GetConversationHistoryParameters{ChannelID: "C1"})
	if err != nil || len(h.Messages) != 1 || h.Messages[0].ReplyCount != 5 {
		t.Errorf("a history holds no replies: %+v, %v", h, err)
	}
}

// app is a client of the HTTP mode that answers as it is told.
type app struct {
	*httptest.Server
	mu     sync.Mutex
	answer func(w http.ResponseWriter, r *http.Request, n int)
	got    []*http.Request
	bodies []string
}

func newApp(t *testing.T, s *Server) *app {
	a := &app{}
	a.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		v, err := slack.NewSecretsVerifier(r.Header, s.o.SigningSecret)
		if err == nil {
			_, _ = v.Write(b)
			err = v.Ensure()
		}
		if err != nil {
			t.Errorf("the signature: %v", err)
		}
		var c struct{ Type, Challenge string }
		if json.Unmarshal(b, &c) == nil && c.Type == "url_verification" {
			_, _ = io.WriteString(w, c.Challenge)
			return
		}
		a.mu.Lock()
		a.got, a.bodies = append(a.got, r), append(a.bodies, string(b))
		n, f := len(a.got), a.answer
		a.mu.Unlock()
		if f != nil {
			f(w, r, n)
		}
	}))
	t.Cleanup(a.Close)
	return a
}

func (a *app) set(answer func(w http.ResponseWriter, r *http.Request, n int)) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.answer = answer
}

func (a *app) requests() ([]*http.Request, []string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.got, a.bodies
}

func TestHTTP(t *testing.T) {
	s := start(t, Options{Ack: 5 * time.Second, Retries: []time.Duration{0, time.Millisecond, time.Millisecond}})
	a := newApp(t, s)
	s.Post("C1", "U1", "before", PostOptions{})
	if err := s.EventsTo(deadline(t), a.URL+"/"); err != nil {
		t.Fatal(err)
	}
	wait(t, s, "what waited", func() bool { return len(s.Unacked()) == 0 })

	a.set(func(w http.ResponseWriter, _ *http.Request, n int) {
		if n < 4 { // the second and third request
			w.WriteHeader(http.StatusInternalServerError)
		}
	})
	s.Post("C1", "U1", "two", PostOptions{})
	wait(t, s, "the retries", func() bool { return len(s.Unacked()) == 0 })
	l, bodies := a.requests()
	if len(l) != 4 || l[1].URL.Path != "/slack/events" || bodies[1] != bodies[3] {
		t.Fatalf("%d requests: %q", len(l), bodies)
	}
	for i, want := range []string{"", "1 http_error", "2 http_error"} {
		if got := strings.TrimSpace(l[i+1].Header.Get("X-Slack-Retry-Num") + " " + l[i+1].Header.Get("X-Slack-Retry-Reason")); got != want {
			t.Errorf("attempt %d: %q, want %q", i, got, want)
		}
	}

	// Never retried: an event whose answer says so, a command, an interaction.
	a.set(func(w http.ResponseWriter, _ *http.Request, _ int) {
		w.Header().Set("X-Slack-No-Retry", "1")
		w.WriteHeader(http.StatusInternalServerError)
	})
	s.Post("C1", "U1", "three", PostOptions{})
	wait(t, s, "given up", func() bool { u := s.Unacked(); return len(u) == 1 && u[0].GivenUp && u[0].Attempts == 1 })
	s.Command("U1", "C1", "/sidewall", "a & b")
	wait(t, s, "failed", func() bool { return len(s.Failed()) == 1 })

	a.set(func(w http.ResponseWriter, _ *http.Request, _ int) {
		w.Header().Set("Content-Type", "application/json")
		_, _ = io.WriteString(w, `{"text":"Ask me","blocks":[`+acts(btn(`,"action_id":"b"`))+`]}`)
	})
	s.Command("U1", "C1", "/sidewall", "a & b")
	wait(t, s, "the answer", func() bool { return len(s.Ephemeral("C1", "U1")) == 1 })
	l, bodies = a.requests()
	v, err := url.ParseQuery(bodies[len(bodies)-1])
	if err != nil || l[len(l)-1].URL.Path != "/slack/commands" || v.Get("text") != "a & b" || v.Get("response_url") == "" || v.Get("trigger_id") == "" {
		t.Errorf("%v, %v", v, err)
	}
	if _, err := s.Press("U1", "C1", s.Ephemeral("C1", "U1")[0].TS, "b", ""); err != nil {
		t.Fatal(err)
	}
	wait(t, s, "the press", func() bool { return len(s.Unacked()) == 2 })
	l, bodies = a.requests()
	v, err = url.ParseQuery(bodies[len(bodies)-1])
	var cb slack.InteractionCallback
	if err != nil || l[len(l)-1].URL.Path != "/slack/interactions" || json.Unmarshal([]byte(v.Get("payload")), &cb) != nil || cb.Type != slack.InteractionTypeBlockActions {
		t.Errorf("%v, %v", v, err)
	}
}

func TestHTTPThatIsSlowOrGone(t *testing.T) {
	s := start(t, Options{Ack: 30 * time.Millisecond, Retries: []time.Duration{0}})
	a := newApp(t, s)
	if err := s.EventsTo(deadline(t), a.URL); err != nil {
		t.Fatal(err)
	}
	a.set(func(_ http.ResponseWriter, r *http.Request, n int) {
		if n == 1 {
			<-r.Context().Done()
		}
	})
	s.Post("C1", "U1", "slow", PostOptions{})
	wait(t, s, "the retry", func() bool { return len(s.Unacked()) == 0 })
	if l, _ := a.requests(); len(l) != 2 || l[1].Header.Get("X-Slack-Retry-Reason") != "http_timeout" {
		t.Errorf("%d requests", len(l))
	}
	a.Close()
	s.Post("C1", "U1", "gone", PostOptions{})
	wait(t, s, "given up", func() bool {
		u := s.Unacked()
		return len(u) == 1 && u[0].GivenUp && u[0].Problem == "connection_failed"
	})
}

func TestChallenge(t *testing.T) {
	s := start(t, Options{})
	for name, answer := range map[string]string{"nothing": "", "another": `{"challenge":"other"}`, "ok": "ok"} {
		w := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, answer) }))
		if err := s.EventsTo(context.Background(), w.URL); err == nil {
			t.Errorf("%s: the address was taken", name)
		}
		w.Close()
	}
	for _, far := range []string{"http://192.0.2.1:1", "https://slack.example.org", "::"} {
		if err := s.EventsTo(context.Background(), far); err == nil || strings.Contains(err.Error(), "challenge") {
			t.Errorf("%s: %v", far, err)
		}
	}
}

func TestSubmission(t *testing.T) {
	s := start(t, Options{Ack: time.Minute})
	c := connect(t, s)
	modal := `{"type":"modal","notify_on_close":true,"title":{"type":"plain_text","text":"x"},"submit":{"type":"plain_text","text":"Send"},"blocks":[` +
		`{"type":"input","block_id":"i","label":{"type":"plain_text","text":"Q"},"element":{"type":"plain_text_input","action_id":"q"}},` + acts(btn(`,"action_id":"b"`)) + `]}`
	s.Command("U1", "C1", "/sidewall", "")
	f := c.next()
	c.ack(f, nil)
	var p map[string]string
	_ = json.Unmarshal(f.Payload, &p)
	if got := form(t, s, "views.open", s.o.BotToken, "trigger_id", p["trigger_id"], "view", modal); got["ok"] != true {
		t.Fatal(got)
	}
	id := s.Views()[0].ID
	submit := func(answer any) frame {
		t.Helper()
		if _, err := s.SubmitView("U1", id, map[string]map[string]any{"i": {"q": map[string]any{"type": "plain_text_input", "value": "stick"}}}); err != nil {
			t.Fatal(err)
		}
		f := c.next()
		c.ack(f, answer)
		wait(t, s, "the submission", func() bool { return len(s.Unacked()) == 0 })
		return f
	}
	f = submit(map[string]any{"response_action": "errors", "errors": map[string]string{"i": "too short"}})
	var cb slack.InteractionCallback
	if err := json.Unmarshal(f.Payload, &cb); err != nil || cb.View.State.Values["i"]["q"].Value != "stick" || !f.Accepts {
		t.Errorf("%+v, %v", cb, err)
	}
	if len(s.Refused()) != 0 || s.Views()[0].Closed {
		t.Errorf("%+v, %+v", s.Refused(), s.Views())
	}
	submit(map[string]any{"response_action": "errors", "errors": map[string]string{"j": "x"}})
	submit(map[string]any{"response_action": "update", "view": map[string]any{"type": "modal"}})
	if r := s.Refused(); len(r) != 2 || r[0].Err != "no_such_input" || r[1].Err != "invalid_view" {
		t.Errorf("%+v", r)
	}
	submit(map[string]any{"response_action": "push", "view": json.RawMessage(modal)})
	if v := s.Views(); len(v) != 2 || v[1].Previous != id || v[1].Root != id {
		t.Errorf("%+v", v)
	}
	// A third one is pushed by a button, a fourth is too many.
	for i, want := range []any{nil, "push_limit_reached"} {
		v := s.Views()
		if _, err := s.PressIn("U1", v[len(v)-1].ID, "b", ""); err != nil {
			t.Fatal(err)
		}
		f := c.next()
		c.ack(f, nil)
		_ = json.Unmarshal(f.Payload, &cb)
		if got := form(t, s, "views.push", s.o.BotToken, "trigger_id", cb.TriggerID, "view", modal); got["error"] != want {
			t.Errorf("push %d: %v", i, got)
		}
	}
	s.CloseView("U1", s.Views()[2].ID)
	f = c.next()
	c.ack(f, nil)
	if !strings.Contains(string(f.Payload), `"view_closed"`) {
		t.Errorf("%s", f.Payload)
	}
	submit(nil)
	if !s.Views()[0].Closed {
		t.Error("a submitted modal stays open")
	}
	if _, err := s.SubmitView("U1", id, nil); err == nil {
		t.Error("a closed modal was submitted")
	}
}

func TestAssistant(t *testing.T) {
	s := start(t, Options{})
	api := client(t, s)
	ch, th := s.AssistantStart("U1")
	ctx := deadline(t)
	if err := api.SetAssistantThreadsSuggestedPromptsContext(ctx, slack.AssistantThreadsSetSuggestedPromptsParameters{
		ChannelID: ch, ThreadTS: th, Prompts: []slack.AssistantThreadsPrompt{{Title: "Sticks", Message: "How long?"}},
	}); err != nil {
		t.Fatal(err)
	}
	if err := api.SetAssistantThreadsStatusContext(ctx, slack.AssistantThreadsSetStatusParameters{ChannelID: ch, ThreadTS: th, Status: "looks it up"}); err != nil {
		t.Fatal(err)
	}
	if err := api.SetAssistantThreadsTitleContext(ctx, slack.AssistantThreadsSetTitleParameters{ChannelID: ch, ThreadTS: th, Title: "Sticks"}); err != nil {
		t.Fatal(err)
	}
	if s.Status(ch, th) != "looks it up" || s.Title(ch, th) != "Sticks" || len(s.Prompts(ch, th)) != 1 || s.Prompts(ch, th)[0]["message"] != "How long?" {
		t.Errorf("%q %q %v", s.Status(ch, th), s.Title(ch, th), s.Prompts(ch, th))
	}
	if _, _, err := api.PostMessageContext(ctx, ch, slack.MsgOptionTS(th), slack.MsgOptionText("42 in", false)); err != nil {
		t.Fatal(err)
	}
	if s.Status(ch, th) != "" {
		t.Error("the status outlives the answer")
	}
}

func TestPings(t *testing.T) {
	s := start(t, Options{})
	for _, tt := range []struct {
		args  []string
		pings int
	}{
		{[]string{"text", "@channel &lt;!channel&gt;"}, 0},
		{[]string{"text", "<!channel>"}, 1},
		{[]string{"text", "x", "blocks", "[" + sec(`"text":`+md(`"<@U1>"`)) + "]"}, 2},
		{[]string{"text", "x", "blocks", "[" + sec(`"text":`+pt(`"<@U1>"`)) + "]"}, 2},
	} {
		form(t, s, "chat.postMessage", s.o.BotToken, append(tt.args, "channel", "C1")...)
		if n := len(s.Pings()); n != tt.pings {
			t.Errorf("%q: %d, want %d", tt.args, n, tt.pings)
		}
	}
}
