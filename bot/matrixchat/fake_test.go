package matrixchat

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// What a real homeserver does only now and then, a scripted one does when told.

// values are a store for small values.
type values map[string][]byte

func (v values) Value(_ context.Context, name string) ([]byte, error) { return v[name], nil }
func (v values) Answered(_ context.Context, key string) (*bot.Answered, error) {
	at, ok := v["answered "+key]
	if !ok {
		return nil, bot.ErrUnknown
	}
	return &bot.Answered{Key: key, Ref: bot.Ref{Message: string(at)}}, nil
}
func (v values) SetValue(_ context.Context, name string, b []byte) error { v[name] = b; return nil }

// script is a homeserver that plays what it is given.
type script struct {
	t  testing.TB
	mu sync.Mutex
	// batches are given one for each sync; when there are none left a sync waits for
	// what comes through more.
	batches []string
	more    chan string
	since   []string // of the syncs that came
	// answer may answer a request before anything else does.
	answer func(w http.ResponseWriter, r *http.Request, body string) bool
	calls  []string
	pages  map[string]string // of /messages, by "from"
	state  string
	logins int
}

func (s *script) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	raw, _ := io.ReadAll(r.Body)
	p := strings.TrimPrefix(r.URL.Path, "/_matrix/client/")
	s.mu.Lock()
	s.calls = append(s.calls, r.Method+" "+p)
	answer := s.answer
	s.mu.Unlock()
	if answer != nil && answer(w, r, string(raw)) {
		return
	}
	switch {
	case p == "v3/account/whoami":
		fmt.Fprintf(w, `{"user_id":%q,"device_id":"D"}`, myself)
	case p == "v3/login":
		s.mu.Lock()
		s.logins++
		n := s.logins
		s.mu.Unlock()
		fmt.Fprintf(w, `{"user_id":%q,"device_id":"D1","access_token":"token-%d"}`, myself, n)
	case strings.HasSuffix(p, "/account_data/m.direct"):
		fail(w, http.StatusNotFound, "M_NOT_FOUND", "")
	case p == "v3/sync":
		s.mu.Lock()
		s.since = append(s.since, r.URL.Query().Get("since"))
		var b string
		if len(s.batches) > 0 {
			b, s.batches = s.batches[0], s.batches[1:]
		}
		s.mu.Unlock()
		if b == "" {
			select {
			case b = <-s.more:
			case <-r.Context().Done():
				return
			}
		}
		if b == "502" {
			w.WriteHeader(http.StatusBadGateway)
			return
		}
		if strings.HasPrefix(b, "M_") {
			fail(w, http.StatusUnauthorized, b, "")
			return
		}
		fmt.Fprint(w, b)
	case p == "v3/joined_rooms":
		fmt.Fprint(w, `{"joined_rooms":["!r:x"]}`)
	case strings.HasSuffix(p, "/state"):
		fmt.Fprint(w, s.state)
	case strings.HasSuffix(p, "/messages"):
		fmt.Fprint(w, cmp.Or(s.pages[r.URL.Query().Get("from")], `{}`))
	case strings.Contains(p, "/event/") && s.pages["event"+path.Base(p)] != "":
		fmt.Fprint(w, s.pages["event"+path.Base(p)])
	case strings.Contains(p, "/context/"):
		fmt.Fprint(w, cmp.Or(s.pages["beside"+path.Base(p)], `{}`))
	case strings.Contains(p, "/send/"):
		fmt.Fprintf(w, `{"event_id":"$%s"}`, path.Base(p))
	default:
		fmt.Fprint(w, `{}`)
	}
}

func fail(w http.ResponseWriter, code int, errcode, more string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	fmt.Fprintf(w, `{"errcode":%q,"error":"no"%s}`, errcode, more)
}

func (s *script) set(f func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f()
}

func (s *script) called(prefix string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, c := range s.calls {
		if strings.HasPrefix(c, prefix) {
			n++
		}
	}
	return n
}

const twoPeople = `[
 {"type":"m.room.member","state_key":"@rulesbot:club.example","sender":"@rulesbot:club.example","event_id":"$1","content":{"membership":"join","displayname":"Sidewall"}},
 {"type":"m.room.member","state_key":"@ann:club.example","sender":"@ann:club.example","event_id":"$2","content":{"membership":"join"}}]`

// joinBatch is a batch with events in one room.
func joinBatch(next string, limited bool, events ...string) string {
	return fmt.Sprintf(`{"next_batch":%q,"rooms":{"join":{"!r:x":{"timeline":{"limited":%v,"prev_batch":"p1","events":[%s]}}}}}`,
		next, limited, strings.Join(events, ","))
}

func message(ev, text string) string {
	return fmt.Sprintf(`{"type":"m.room.message","sender":"@ann:club.example","event_id":%q,"origin_server_ts":1800000000000,"content":{"msgtype":"m.text","body":%q}}`, ev, text)
}

// scripted runs an adapter on a script.
func scripted(t *testing.T, s *script, change func(o *Options), handle func(ctx context.Context, e bot.Event) error) (*Adapter, <-chan error) {
	t.Helper()
	s.t = t
	srv := httptest.NewServer(s)
	o := Options{Homeserver: srv.URL, User: string(myself), Token: "x", Values: values{}, Allow: []string{"club.example"}, Clock: &quick{},
		Log: slog.New(slog.NewTextHandler(logTo{t}, &slog.HandlerOptions{Level: slog.LevelWarn}))}
	if change != nil {
		change(&o)
	}
	a, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ran := make(chan error, 1)
	done := make(chan struct{})
	go func() { defer close(done); ran <- a.Run(ctx, handle) }()
	t.Cleanup(func() { cancel(); <-done; srv.CloseClientConnections(); srv.Close() })
	return a, ran
}

// quick is a clock on which waiting takes no time; it counts what was waited for.
type quick struct {
	mu     sync.Mutex
	now    time.Time
	waited []time.Duration
}

func (q *quick) Now() time.Time {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.now
}

func (q *quick) AfterFunc(d time.Duration, f func()) func() bool {
	q.mu.Lock()
	q.waited = append(q.waited, d)
	q.now = q.now.Add(d)
	q.mu.Unlock()
	return time.AfterFunc(0, f).Stop
}

func receive[T any](t *testing.T, what string, c <-chan T) T {
	t.Helper()
	select {
	case v := <-c:
		return v
	case <-time.After(testPatience):
		t.Fatalf("%s did not come", what)
		panic("unreachable")
	}
}

// TestTokenWaitsForTheBot wants the sync token kept only when the bot has every
// event of a batch, and an event that was refused given again.
func TestTokenWaitsForTheBot(t *testing.T) {
	s := &script{state: twoPeople, batches: []string{`{"next_batch":"s1"}`, joinBatch("s2", false, message("$a", "one"), message("$b", "two"))}}
	vals := values{}
	got := make(chan string, 10)
	refused := false
	scripted(t, s, func(o *Options) { o.Values = vals }, func(_ context.Context, e bot.Event) error {
		if e.Message == "$b" && !refused {
			refused = true
			if raw := string(vals[Platform+"/"+string(myself)+"/since"]); !strings.Contains(raw, `"s1"`) {
				t.Errorf("while an event is not taken the token is %s", raw)
			}
			return bot.ErrBusy
		}
		got <- e.Message
		return nil
	})
	for _, want := range []string{"$a", "$b"} {
		if m := receive(t, want, got); m != want {
			t.Errorf("got %s, want %s", m, want)
		}
	}
	until(t, "the next sync", func() bool { s.mu.Lock(); defer s.mu.Unlock(); return len(s.since) == 3 })
	s.set(func() {
		if want := []string{"", "s1", "s2"}; !slices.Equal(s.since, want) {
			t.Errorf("synced since %q, want %q", s.since, want)
		}
	})
}

// TestGap wants what a limited timeline left out read, in order, and nothing from
// before the bot came or from long before.
func TestGap(t *testing.T) {
	old := strings.Replace(message("$old", "old"), "1800000000000", "1700000000000", 1)
	s := &script{state: twoPeople,
		batches: []string{`{"next_batch":"s1"}`, joinBatch("s2", false, message("$a", "one")), joinBatch("s3", true, message("$e", "five"))},
		pages: map[string]string{
			"p1":       fmt.Sprintf(`{"chunk":[%s,%s],"start":"p1","end":"p2"}`, message("$d", "four"), message("$c", "three")),
			"p2":       fmt.Sprintf(`{"chunk":[%s,%s],"start":"p2","end":"p3"}`, message("$b", "two"), old),
			"beside$c": fmt.Sprintf(`{"events_before":[%s,%s]}`, message("$beside", "two and a half"), message("$b", "two")), // the second page leaves it out
		}}
	got := make(chan string, 10)
	scripted(t, s, nil, func(_ context.Context, e bot.Event) error { got <- e.Message; return nil })
	for _, want := range []string{"$a", "$b", "$beside", "$c", "$d", "$e"} {
		if m := receive(t, want, got); m != want {
			t.Errorf("got %s, want %s", m, want)
		}
	}
}

// TestLookAgain wants what a homeserver left out of its batches when it went down
// found, once; after the bot itself was away only what is said to it; and never what
// was said before it came.
func TestLookAgain(t *testing.T) {
	talk := strings.Replace(strings.Replace(message("$talk", "yes"), `"body"`, `"m.relates_to":{"rel_type":"m.thread","event_id":"$a"},"body"`, 1), "@ann", "@ben", 1)
	spoken := strings.Replace(message("$spoken", "45 in?"), `"body"`, `"m.mentions":{"user_ids":["@rulesbot:club.example"]},"body"`, 1)
	three := strings.TrimSuffix(twoPeople, "]") + `,{"type":"m.room.member","state_key":"@ben:club.example","sender":"@ben:club.example","event_id":"$3","content":{"membership":"join"}}]`
	join := `{"type":"m.room.member","state_key":"@rulesbot:club.example","sender":"@rulesbot:club.example","event_id":"$1","origin_server_ts":1800000000000,"content":{"membership":"join"}}`
	early := strings.Replace(spoken, "$spoken", "$early", 1)
	page := map[string]string{"": fmt.Sprintf(`{"chunk":[%s,%s,%s,%s,%s],"start":"x"}`, talk, spoken, message("$a", "one"), join, early)}
	tests := []struct {
		name string
		kept string // of an earlier run
		want []string
	}{
		{"homeserver away", "", []string{"$a", "$spoken", "$talk"}},
		{"bot away", `{"since":"s0","time":1800000000000}`, []string{"$a", "$spoken"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := &script{state: three, pages: page, more: make(chan string), batches: []string{`{"next_batch":"s1"}`, "502", joinBatch("s2", false, message("$a", "one"))}}
			q := &quick{now: time.Unix(1e9, 0)}
			vals := values{}
			if tt.kept != "" {
				vals[Platform+"/"+string(myself)+"/since"] = []byte(tt.kept)
			}
			got := make(chan string, 10)
			scripted(t, s, func(o *Options) { o.Clock, o.Values = q, vals }, func(_ context.Context, e bot.Event) error { got <- e.Message; return nil })
			var all []string
			all = append(all, receive(t, "the first message", got))
			q.mu.Lock()
			q.now = q.now.Add(settles)
			q.mu.Unlock()
			s.more <- `{"next_batch":"s3"}`
			s.more <- `{"next_batch":"s4"}` // by now it looked
			for range len(tt.want) - 1 {
				all = append(all, receive(t, "what was left out", got))
			}
			if slices.Sort(all); !slices.Equal(all, tt.want) || len(got) > 0 {
				t.Errorf("the bot was given %v and %d more, want %v", all, len(got), tt.want)
			}
		})
	}
}

// TestTwice wants one of two replies to one question taken away where a homeserver
// brings, after it was away, the one that it did not know before: the one that the
// bot does not know, whichever it sees first, and never an edit, nor the reply to a
// question that was answered once more after somebody chose.
func TestTwice(t *testing.T) {
	own := func(ev, more string) string {
		return fmt.Sprintf(`{"type":"m.room.message","sender":%q,"event_id":%q,"origin_server_ts":1800000000000,"content":{"msgtype":"m.notice","body":"Legal","sidewall":{"key":"matrix//!r:x/$q"}%s}}`, myself, ev, more)
	}
	edit := own("$edit", `,"m.relates_to":{"rel_type":"m.replace","event_id":"$x"}`)
	r := &bot.Reply{Key: "matrix//!r:x/$q", Headline: "Legal", Event: bot.Event{Kind: bot.Message, ID: "$q", Message: "$q", Channel: "!r:x"},
		Where: bot.Where{Platform: Platform, Channel: "!r:x", Thread: "$q"}}
	const redact = "PUT v3/rooms/!r:x/redact/"
	tests := []struct {
		name    string
		before  bool   // the bot posts its reply before it sees the other
		kept    string // what an earlier run kept as where the reply stands
		event   string // and what stands there
		removed int
	}{
		{name: "the bot's first", before: true, removed: 1},
		{name: "the other first", removed: 1},
		{name: "an earlier run's", kept: "$known", event: own("$known", ""), removed: 1},
		{name: "answered once more", kept: "$later", event: strings.Replace(own("$later", ""), "/$q", "/$n", 1)},
		{name: "what stands is gone", kept: "$gone"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := &script{state: twoPeople, more: make(chan string), batches: []string{`{"next_batch":"s1"}`}, pages: map[string]string{"event" + tt.kept: tt.event}}
			vals := values{}
			if tt.kept != "" {
				vals["answered "+r.Key] = []byte(tt.kept)
			}
			a, _ := scripted(t, s, func(o *Options) { o.Values = vals }, func(context.Context, bot.Event) error { return nil })
			until(t, "the adapter is ready", func() bool { return a.client.Load() != nil })
			known := tt.kept
			send := func() {
				ref, _, err := a.Send(t.Context(), r)
				if err != nil {
					t.Fatal(err)
				}
				known = ref.Message
			}
			if tt.before {
				send()
			}
			s.more <- joinBatch("s2", false, own("$other", ""), edit)
			s.more <- `{"next_batch":"s3"}` // by now it took the one before
			if !tt.before && tt.kept == "" {
				send()
			}
			if tt.removed > 0 {
				s.more <- joinBatch("s4", false, own(known, ""), edit)
				s.more <- `{"next_batch":"s5"}`
			}
			if s.called(redact) != tt.removed || s.called(redact+"$other/") != tt.removed {
				t.Errorf("of %s and $other it took away: %v", known, s.calls)
			}
		})
	}
}

// TestJoin wants only what comes after the bot's own joining; a new display name
// is no joining.
func TestJoin(t *testing.T) {
	joined := `{"type":"m.room.member","state_key":"@rulesbot:club.example","sender":"@rulesbot:club.example","event_id":"$j","content":{"membership":"join"},"unsigned":{"prev_content":{"membership":"invite"}}}`
	renamed := strings.Replace(strings.Replace(joined, `"invite"`, `"join"`, 1), "$j", "$n", 1)
	s := &script{state: twoPeople, batches: []string{
		joinBatch("s1", false, message("$before-all", "x")),
		joinBatch("s2", false, message("$before", "x"), joined, message("$a", "one")),
		joinBatch("s3", false, message("$b", "two"), renamed, message("$c", "three")),
	}}
	got := make(chan string, 10)
	scripted(t, s, nil, func(_ context.Context, e bot.Event) error { got <- e.Message; return nil })
	for _, want := range []string{"$a", "$b", "$c"} {
		if m := receive(t, want, got); m != want {
			t.Errorf("got %s, want %s", m, want)
		}
	}
}

// TestSessionEnds wants a new login with the same device where there is a
// password, and an end where there is only a token.
func TestSessionEnds(t *testing.T) {
	s := &script{state: twoPeople, batches: []string{`{"next_batch":"s1"}`, "M_UNKNOWN_TOKEN", joinBatch("s2", false, message("$a", "one"))}}
	var sent sync.Map
	s.answer = func(_ http.ResponseWriter, r *http.Request, body string) bool {
		if strings.HasSuffix(r.URL.Path, "/login") && body != "" {
			var in struct {
				Device string `json:"device_id"`
			}
			if err := json.Unmarshal([]byte(body), &in); err == nil {
				sent.Store(in.Device, true)
			}
		}
		if r.URL.Path == "/_matrix/client/v3/sync" && r.URL.Query().Get("since") == "s2" {
			sent.Store(r.Header.Get("Authorization"), true)
		}
		return false
	}
	got := make(chan string, 10)
	scripted(t, s, func(o *Options) { o.Token, o.Password = "", "p" }, func(_ context.Context, e bot.Event) error { got <- e.Message; return nil })
	receive(t, "the message", got)
	until(t, "a sync with the new token", func() bool { _, ok := sent.Load("Bearer token-2"); return ok })
	if _, ok := sent.Load("D1"); !ok {
		t.Error("the second login made a device of its own")
	}

	s = &script{batches: []string{`{"next_batch":"s1"}`, "M_UNKNOWN_TOKEN"}}
	_, ran := scripted(t, s, nil, func(context.Context, bot.Event) error { return nil })
	if err := receive(t, "the end", ran); !errors.Is(err, ErrRefused) {
		t.Errorf("without a password it ends with %v", err)
	}
}

func TestRefused(t *testing.T) {
	tests := map[string]struct {
		change func(o *Options)
		answer func(w http.ResponseWriter, r *http.Request, body string) bool
	}{
		"wrong password": {func(o *Options) { o.Token, o.Password = "", "p" }, func(w http.ResponseWriter, r *http.Request, _ string) bool {
			fail(w, http.StatusForbidden, "M_FORBIDDEN", "")
			return true
		}},
		"somebody else's token": {nil, func(w http.ResponseWriter, r *http.Request, _ string) bool {
			fmt.Fprint(w, `{"user_id":"@mal:club.example"}`)
			return true
		}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, ran := scripted(t, &script{answer: tt.answer}, tt.change, func(context.Context, bot.Event) error { return nil })
			if err := receive(t, "the end", ran); !errors.Is(err, ErrRefused) {
				t.Errorf("it ends with %v", err)
			}
		})
	}
}

// TestPatience wants a homeserver that is away waited for, longer each time.
func TestPatience(t *testing.T) {
	s := &script{batches: []string{`{"next_batch":"s1"}`}}
	var n atomic.Int32
	s.answer = func(w http.ResponseWriter, r *http.Request, _ string) bool {
		if strings.HasSuffix(r.URL.Path, "/whoami") && n.Add(1) < 6 {
			w.WriteHeader(http.StatusBadGateway)
			return true
		}
		return false
	}
	q := &quick{}
	scripted(t, s, func(o *Options) { o.Clock = q }, func(context.Context, bot.Event) error { return nil })
	until(t, "the first sync", func() bool { return s.called("GET v3/sync") > 0 })
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.waited) < 5 || q.waited[4] < 4*firstPause {
		t.Errorf("it waited %v", q.waited)
	}
}

func TestAgain(t *testing.T) {
	s := &script{batches: []string{`{"next_batch":"s1"}`}}
	a, _ := scripted(t, s, nil, func(context.Context, bot.Event) error { return nil })
	until(t, "the adapter is ready", func() bool { return a.client.Load() != nil })
	r := &bot.Reply{Key: "matrix//!r:x/$q", Headline: "Legal", Event: bot.Event{Kind: bot.Message, Message: "$q", Channel: "!r:x"},
		Where: bot.Where{Platform: Platform, Channel: "!r:x", Thread: "$q"}}
	tests := []struct {
		name   string
		answer func(w http.ResponseWriter)
		want   bot.Again
	}{
		{"limit", func(w http.ResponseWriter) { fail(w, 429, "M_LIMIT_EXCEEDED", `,"retry_after_ms":1500`) }, bot.Again{Retry: true, After: 1500 * time.Millisecond}},
		{"limit in a header", func(w http.ResponseWriter) {
			w.Header().Set("Retry-After", "7")
			fail(w, 429, "M_LIMIT_EXCEEDED", "")
		}, bot.Again{Retry: true, After: 7 * time.Second}},
		{"proxy's limit", func(w http.ResponseWriter) { w.WriteHeader(429) }, bot.Again{Retry: true}},
		{"forbidden", func(w http.ResponseWriter) { fail(w, 403, "M_FORBIDDEN", "") }, bot.Again{}},
		{"too large", func(w http.ResponseWriter) { fail(w, 413, "M_TOO_LARGE", "") }, bot.Again{}},
		{"gateway", func(w http.ResponseWriter) { w.WriteHeader(502) }, bot.Again{Retry: true, Unknown: true}},
		{"session", func(w http.ResponseWriter) { fail(w, 401, "M_UNKNOWN_TOKEN", "") }, bot.Again{Retry: true, After: time.Second}},
		{"broken", func(w http.ResponseWriter) {
			c, _, err := w.(http.Hijacker).Hijack()
			if err != nil {
				t.Error(err)
				return
			}
			c.Close()
		}, bot.Again{Retry: true, Unknown: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s.set(func() {
				s.answer = func(w http.ResponseWriter, r *http.Request, _ string) bool {
					if strings.Contains(r.URL.Path, "/send/") {
						tt.answer(w)
						return true
					}
					return false
				}
			})
			_, again, err := a.Send(t.Context(), r)
			if err == nil || again != tt.want {
				t.Errorf("got %+v, %v; want %+v", again, err, tt.want)
			}
		})
	}
	s.set(func() { s.answer = nil })
	first, _, err1 := a.Send(t.Context(), r)
	second, _, err2 := a.Send(t.Context(), r)
	if err1 != nil || err2 != nil || first != second {
		t.Errorf("the same reply is sent under %v and %v (%v, %v)", first, second, err1, err2)
	}
	// No homeserver at all: certainly not posted.
	b, err := New(Options{Homeserver: "http://127.0.0.1:1", User: string(myself), Token: "x", Values: values{}})
	if err != nil {
		t.Fatal(err)
	}
	if _, again, err := b.Send(t.Context(), r); err == nil || !again.Retry || again.Unknown {
		t.Errorf("before the login: %+v, %v", again, err)
	}
	rt, idle := b.transport()
	defer idle()
	cli, err := b.newClient(rt)
	if err != nil {
		t.Fatal(err)
	}
	b.client.Store(cli)
	if _, again, err := b.Send(t.Context(), r); err == nil || !again.Retry || again.Unknown {
		t.Errorf("without a homeserver: %+v, %v", again, err)
	}
}

// TestSettling wants a homeserver that was just away not believed when it says that
// a reply is not there.
func TestSettling(t *testing.T) {
	s := &script{batches: []string{`{"next_batch":"s1"}`}, pages: map[string]string{"": `{"chunk":[],"start":"x"}`}}
	q := &quick{now: time.Unix(1e9, 0)}
	a, _ := scripted(t, s, func(o *Options) { o.Clock = q }, func(context.Context, bot.Event) error { return nil })
	until(t, "the adapter is ready", func() bool { return a.client.Load() != nil })
	w := bot.Where{Channel: "!r:x", Thread: "$q"}
	if _, found, again, err := a.Find(t.Context(), w, "matrix//!r:x/$q"); found || err != nil || again.Retry {
		t.Errorf("found %v, %+v, %v", found, again, err)
	}
	a.wasDown()
	if _, found, again, err := a.Find(t.Context(), w, "matrix//!r:x/$q"); found || err == nil || !again.Retry || again.After == 0 {
		t.Errorf("just after it came up: found %v, %+v, %v", found, again, err)
	}
	q.mu.Lock()
	q.now = q.now.Add(settles)
	q.mu.Unlock()
	if _, found, _, err := a.Find(t.Context(), w, "matrix//!r:x/$q"); found || err != nil {
		t.Errorf("a while later: found %v, %v", found, err)
	}
}

func TestOptions(t *testing.T) {
	good := Options{Homeserver: "https://club.example", User: string(myself), Token: "x", Values: values{}}
	tests := map[string]func(o *Options){
		"no user":        func(o *Options) { o.User = "rulesbot" },
		"no values":      func(o *Options) { o.Values = nil },
		"no secret":      func(o *Options) { o.Token = "" },
		"no homeserver":  func(o *Options) { o.Homeserver = "" },
		"no key file":    func(o *Options) { o.Encryption = true },
		"encryption off": nil,
	}
	for name, change := range tests {
		o := good
		if change != nil {
			change(&o)
		}
		if _, err := New(o); (err != nil) != (change != nil) {
			t.Errorf("%s: %v", name, err)
		}
	}
	o := good
	o.Encryption, o.KeyFile = true, "keys.db"
	if _, err := New(o); errors.Is(err, ErrNoEncryption) == canEncrypt {
		t.Errorf("encryption: %v, and the build has it: %v", err, canEncrypt)
	}
}

func TestAllowed(t *testing.T) {
	a := textAdapter(t)
	a.o.Allow = []string{"club.example", "@guest:other.example"}
	tests := map[id.UserID]bool{"@ann:club.example": true, "@ann:CLUB.example": true, "@guest:other.example": true, "@mal:other.example": false,
		"@mal:club.example.evil": false, "@mal:evil": false, "": false, "club.example": false}
	for who, want := range tests {
		if got := a.allowed(who); got != want {
			t.Errorf("%s is allowed: %v", who, got)
		}
	}
}

func TestMemory(t *testing.T) {
	m := newMemory[id.EventID, known](2)
	for i := range 5 {
		m.put(id.EventID(fmt.Sprint(i)), known{ours: true})
		m.put(id.EventID(fmt.Sprint(i)), known{ours: i%2 == 0})
	}
	for i := range 5 {
		k, ok := m.get(id.EventID(fmt.Sprint(i)))
		if ok != (i > 2) || ok && k.ours != (i%2 == 0) {
			t.Errorf("%d: %v, %v", i, k, ok)
		}
	}
	if len(m.of) != 2 {
		t.Errorf("it keeps %d", len(m.of))
	}
}
