package main

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/bot"
	"sidewall/bot/slackchat"
	"sidewall/bot/slackchat/fakeslack"
	"sidewall/config"
)

// numbers are what /metrics gives, by name and labels.
type numbers map[string]float64

func readNumbers(t testing.TB, text string) numbers {
	t.Helper()
	out := numbers{}
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		at := strings.LastIndexByte(line, ' ')
		v, err := strconv.ParseFloat(line[at+1:], 64)
		if err != nil {
			t.Fatalf("the line %q: %v", line, err)
		}
		out[line[:at]] = v
	}
	return out
}

// sum adds up the numbers of a name whose labels hold all of some.
func (n numbers) sum(name string, labels ...string) float64 {
	total := 0.0
next:
	for k, v := range n {
		if k != name && !strings.HasPrefix(k, name+"{") {
			continue
		}
		for _, l := range labels {
			if !strings.Contains(k, l) {
				continue next
			}
		}
		total += v
	}
	return total
}

var servedAt = regexp.MustCompile(`metrics are served" at=(http://\S+)/metrics`)

// ask asks the metrics' server of a process that serves.
func (p *served) ask(t testing.TB, path string) (code int, body string) {
	t.Helper()
	at := servedAt.FindAllStringSubmatch(p.log.String(), -1)
	if at == nil {
		t.Fatalf("nothing says where the metrics are:\n%s", p.log)
	}
	resp, err := http.Get(at[len(at)-1][1] + path)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(raw)
}

func (p *served) numbers(t testing.TB) numbers {
	t.Helper()
	code, body := p.ask(t, "/metrics")
	if code != http.StatusOK {
		t.Fatalf("status %d: %s", code, body)
	}
	return readNumbers(t, body)
}

// eventually waits for what a process does beside the events.
func eventually(t testing.TB, d time.Duration, what string, cond func() bool) {
	t.Helper()
	end := time.NewTimer(d)
	defer end.Stop()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !cond() {
		select {
		case <-end.C:
			t.Fatalf("waiting for %s", what)
		case <-tick.C:
		}
	}
}

func shippedDesk(t testing.TB) *answers.Desk {
	t.Helper()
	b, err := book.Load(t.Context(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	d, err := answers.New(b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

var labelName = regexp.MustCompile(`[{,]([^={,"]+)="`)

// TestMetricsLint holds the metrics against Prometheus' own rules for names, and
// against ours: labels are few and hold no words of people.
func TestMetricsLint(t *testing.T) {
	m := newMeter()
	d := shippedDesk(t)
	now := time.Date(2027, 4, 10, 10, 0, 0, 0, time.UTC)
	m.addChat(slackchat.Platform)
	m.look(&looked{desk: func() bot.Desk { return d }, inHand: func() int { return 3 }, now: func() time.Time { return now }, log: slog.New(slog.DiscardHandler),
		missed: func(context.Context, time.Time) ([]bot.Missed, error) {
			return []bot.Missed{{Why: bot.WhyNone, Text: "who brings the snacks"}, {Why: bot.WhyNone}, {Why: bot.WhyNeed}}, nil
		}})
	now = now.Add(90 * time.Second)
	m.Taken("slack", errors.New("the disk is full"))
	m.Taken("slack", nil)
	m.Stage(bot.StageAccept, time.Millisecond, nil)
	m.Waits("slack")
	m.Finished("slack", bot.Replied, bot.Given{Topic: "body-check", Kind: "check", Verdict: "not_legal"}, 4*time.Millisecond)
	m.Finished("slack", bot.Replied, bot.Given{}, time.Millisecond)
	m.Finished("slack", bot.Failed, bot.Given{Topic: "body-check", Kind: "check", Verdict: "not_legal"}, time.Hour)
	m.connected("slack")

	w := httptest.NewRecorder()
	healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	found, err := promlint.New(strings.NewReader(w.Body.String())).Lint() // it reads the whole text as Prometheus does
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range found {
		if strings.HasPrefix(p.Metric, "sidewall_") { // the other names are not ours to give
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
	allowed := map[string]bool{labelChat: true, labelStage: true, labelTopic: true, labelKind: true, labelVerdict: true, labelBecame: true,
		labelOutcome: true, "revision": true, "season": true, "version": true, "why": true, "le": true}
	for k := range readNumbers(t, w.Body.String()) {
		if !strings.HasPrefix(k, "sidewall_") {
			continue
		}
		for _, l := range labelName.FindAllStringSubmatch(k, -1) {
			if !allowed[l[1]] {
				t.Errorf("%s has the label %s", k, l[1])
			}
		}
	}

	if strings.Contains(w.Body.String(), "snacks") {
		t.Error("the metrics hold somebody's words")
	}
	n := readNumbers(t, w.Body.String())
	for _, tt := range []struct {
		name   string
		labels []string
		want   float64
	}{
		{"sidewall_answers_total", []string{`topic="body-check"`, `answer="check"`, `verdict="not_legal"`}, 1},
		{"sidewall_answers_total", nil, 1},
		{"sidewall_events_total", []string{`chat="slack"`, `became="replied"`}, 2},
		{"sidewall_events_total", []string{`became="failed"`}, 1},
		{"sidewall_events_not_kept_total", []string{`chat="slack"`}, 1},
		{"sidewall_chat_retries_total", nil, 1},
		{"sidewall_chat_connects_total", nil, 1},
		{"sidewall_stage_duration_seconds_count", []string{`stage="accept"`}, 1},
		{"sidewall_stage_duration_seconds_count", []string{`stage="send"`}, 0},
		{"sidewall_event_duration_seconds_count", nil, 3},
		{"sidewall_open_questions", []string{`why="none"`}, 2},
		{"sidewall_open_questions", []string{`why="need"`}, 1},
		{"sidewall_events_in_hand", nil, 3},
		{"sidewall_book_info", []string{`revision="` + d.Book().Revision + `"`}, 1},
		{"sidewall_book_age_seconds", nil, 90},
		{"sidewall_build_info", nil, 1},
	} {
		if got := n.sum(tt.name, tt.labels...); got != tt.want {
			t.Errorf("%s%v is %v, want %v", tt.name, tt.labels, got, tt.want)
		}
	}
}

// TestMetricsText: a type and a help for each metric, once, before its numbers.
func TestMetricsText(t *testing.T) {
	m := newMeter()
	d := shippedDesk(t)
	m.addChat("slack")
	m.addChat("matrix")
	m.look(&looked{desk: func() bot.Desk { return d }, inHand: func() int { return 0 }, now: time.Now, log: slog.New(slog.DiscardHandler),
		missed: func(context.Context, time.Time) ([]bot.Missed, error) { return nil, nil }})
	m.Finished("slack", bot.Replied, bot.Given{Topic: "a \"b\" \\ {c}", Kind: "check\nno", Verdict: "not\xff"}, -time.Hour)
	w := httptest.NewRecorder()
	healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	text := w.Body.String()
	if got, want := w.Header().Get("Content-Type"), "text/plain; version=0.0.4"; !strings.HasPrefix(got, want) {
		t.Errorf("the type of the text is %q, want %s", got, want)
	}
	for name, kind := range map[string]string{"events_total": "counter", "events_not_kept_total": "counter", "answers_total": "counter",
		"chat_retries_total": "counter", "chat_rate_limits_total": "counter", "chat_connects_total": "counter",
		"stage_duration_seconds": "histogram", "event_duration_seconds": "histogram", "build_info": "gauge", "book_info": "gauge",
		"book_age_seconds": "gauge", "open_questions": "gauge", "events_in_hand": "gauge"} {
		name = "sidewall_" + name
		head := regexp.MustCompile(`(?m)^# HELP ` + name + ` \S.*\.\n# TYPE ` + name + ` ` + kind + `\n` + name + `[_{ ]`)
		if !head.MatchString(text) || strings.Count(text, "# TYPE "+name+" ") != 1 {
			t.Errorf("%s has not one help and one type, %s:\n%s", name, kind, text)
		}
	}
	for _, line := range []string{
		`sidewall_answers_total{topic="a \"b\" \\ {c}",answer="check\nno",verdict="not` + "\uFFFD" + `"} 1`,
		`sidewall_chat_connects_total{chat="matrix"} 0`, `sidewall_chat_retries_total{chat="slack"} 0`, `sidewall_open_questions{why="missed"} 0`,
		`sidewall_stage_duration_seconds_bucket{stage="send",le="5e-05"} 0`, `sidewall_stage_duration_seconds_bucket{stage="send",le="+Inf"} 0`,
		`sidewall_event_duration_seconds_bucket{chat="slack",le="0.001"} 1`, `sidewall_event_duration_seconds_bucket{chat="slack",le="600"} 1`,
		`sidewall_event_duration_seconds_sum{chat="slack"} 0`, `sidewall_event_duration_seconds_count{chat="matrix"} 0`,
	} {
		if !strings.Contains(text, line+"\n") {
			t.Errorf("the line %s is missing:\n%s", line, text)
		}
	}
	if !strings.Contains(text, "# TYPE go_goroutines gauge\ngo_goroutines ") {
		t.Error("the numbers of the process are missing")
	}
	for line := range strings.Lines(text) {
		if f := strings.Fields(line); f[0] == "#" && len(f) < 4 {
			t.Errorf("the line %q says nothing", line)
		}
	}
}

// TestMetricsOutliveAStateFileThatCannotBeRead: one number less, and not none.
func TestMetricsOutliveAStateFileThatCannotBeRead(t *testing.T) {
	m := newMeter()
	d := shippedDesk(t)
	log := &safeBuffer{}
	m.look(&looked{desk: func() bot.Desk { return d }, inHand: func() int { return 0 }, now: time.Now, log: slog.New(slog.NewTextHandler(log, nil)),
		missed: func(context.Context, time.Time) ([]bot.Missed, error) { return nil, errors.New("disk I/O error") }})
	w := httptest.NewRecorder()
	healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if n := readNumbers(t, w.Body.String()); w.Code != http.StatusOK || n.sum("sidewall_book_info") != 1 || n.sum("sidewall_open_questions") != 0 {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
	if !strings.Contains(log.String(), "disk I/O error") {
		t.Errorf("the log says %q", log)
	}
}

func TestWatched(t *testing.T) {
	errDown := errors.New("connection refused")
	tests := []struct {
		name    string
		status  int
		err     error
		hungUp  bool
		outcome string // "" for not counted
	}{
		{name: "well", status: 200, outcome: outcomeOK},
		{name: "limited", status: 429, outcome: outcomeLimited},
		{name: "refused", status: 403, outcome: outcomeRefused},
		{name: "its own trouble", status: 502, outcome: outcomeFailed},
		{name: "broken", err: errDown, outcome: outcomeFailed},
		{name: "we hung up", err: context.Canceled, hungUp: true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := newMeter()
			m.addChat("slack")
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			w := m.watch("slack", roundTrip(func(*http.Request) (*http.Response, error) {
				if tt.hungUp {
					cancel()
				}
				if tt.err != nil {
					return nil, tt.err
				}
				return &http.Response{StatusCode: tt.status, Body: http.NoBody}, nil
			}))
			resp, err := w.RoundTrip(httptest.NewRequestWithContext(ctx, http.MethodGet, "http://chat.example.org/hook/secret", nil))
			if !errors.Is(err, tt.err) || err == nil && resp.StatusCode != tt.status {
				t.Errorf("it changed what came back: %v, %v", resp, err)
			}
			rec := httptest.NewRecorder()
			healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
			n := readNumbers(t, rec.Body.String())
			want := 1.0
			if tt.outcome == "" {
				want = 0
			}
			if got := n.sum("sidewall_chat_requests_total"); got != want {
				t.Errorf("%v requests are counted", got)
			}
			if got := n.sum("sidewall_chat_requests_total", `outcome="`+tt.outcome+`"`); tt.outcome != "" && got != 1 {
				t.Errorf("it is not counted as %s", tt.outcome)
			}
			if got := n.sum("sidewall_chat_rate_limits_total"); (got == 1) != (tt.outcome == outcomeLimited) {
				t.Errorf("%v rate limits", got)
			}
		})
	}
}

type roundTrip func(*http.Request) (*http.Response, error)

func (f roundTrip) RoundTrip(r *http.Request) (*http.Response, error) { return f(r) }

// TestSyncConnects: a Matrix connection begins with the first poll that goes well.
func TestSyncConnects(t *testing.T) {
	m := newMeter()
	m.addChat("matrix")
	status := 200
	rt := m.watchSync(roundTrip(func(*http.Request) (*http.Response, error) {
		return &http.Response{StatusCode: status, Body: http.NoBody}, nil
	}))
	call := func(path string, with int) {
		status = with
		if _, err := rt.RoundTrip(httptest.NewRequest(http.MethodGet, "http://chat.example.org/_matrix/client/v3/"+path, nil)); err != nil {
			t.Fatal(err)
		}
	}
	connects := func() float64 {
		rec := httptest.NewRecorder()
		healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
		if n, ok := readNumbers(t, rec.Body.String())[`sidewall_chat_connects_total{chat="matrix"}`]; ok {
			return n
		}
		return -1
	}
	call("login", 200)
	if n := connects(); n != 0 {
		t.Errorf("%v connections after a login", n)
	}
	call("sync", 200)
	call("sync", 200)
	call("sync", 502)
	call("sync", 502)
	call("rooms/x/send/y", 200)
	if n := connects(); n != 1 {
		t.Errorf("%v connections, want the first one", n)
	}
	call("sync", 200)
	if n := connects(); n != 2 {
		t.Errorf("%v connections, want 2", n)
	}
}

func TestReady(t *testing.T) {
	ready := func(change func(h *health)) string {
		m := newMeter()
		m.addChat("slack")
		m.health.searches("")
		m.health.connected("slack")
		change(m.health)
		rec := httptest.NewRecorder()
		healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/readyz", nil))
		if (rec.Code == http.StatusOK) != (strings.TrimSpace(rec.Body.String()) == "ready") || rec.Code != http.StatusOK && rec.Code != http.StatusServiceUnavailable {
			t.Errorf("status %d with %q", rec.Code, rec.Body)
		}
		return strings.TrimSpace(rec.Body.String())
	}
	tests := []struct {
		name   string
		change func(h *health)
		want   string
	}{
		{"all is well", func(*health) {}, "ready"},
		{"the summaries are not indexed yet", func(h *health) { h.searches("the summaries are being read") }, "the summaries are being read"},
		{"no connection yet", func(h *health) { h.add("matrix") }, "matrix is not connected yet"},
		{"one failed request", func(h *health) { h.reached("slack", false) }, "ready"},
		{"many failed requests", func(h *health) {
			for range unreachable {
				h.reached("slack", false)
			}
		}, "slack cannot be reached"},
		{"it came back", func(h *health) {
			for range unreachable {
				h.reached("slack", false)
			}
			h.reached("slack", true)
		}, "ready"},
		{"the state file cannot be written", func(h *health) { h.stored(errors.New("disk full")) }, "the state file cannot be written; `sidewall doctor` says why"},
		{"it can be written again", func(h *health) { h.stored(errors.New("disk full")); h.stored(nil) }, "ready"},
		{"it stops", func(h *health) { h.stops() }, "it is stopping"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := ready(tt.change); got != tt.want {
				t.Errorf("%q, want %q", got, tt.want)
			}
		})
	}
	m := newMeter() // alive, though nothing is ready
	rec := httptest.NewRecorder()
	healthHandler(m, slog.New(slog.DiscardHandler)).ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/healthz", nil))
	if rec.Code != http.StatusOK {
		t.Errorf("healthz: %d", rec.Code)
	}
}

// TestServeMetrics reads the numbers of a process to which Slack is unkind.
func TestServeMetrics(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a process")
	}
	var limited atomic.Bool
	s := serveFake(t, fakeslack.Options{Limit: func(method, _ string) time.Duration {
		if method == "chat.postMessage" && !limited.Swap(true) {
			return time.Second
		}
		return 0
	}})
	s.AddChannel("D1", fakeslack.IM, "U1")
	p := startServe(t, s, t.TempDir(), &safeBuffer{}, "SIDEWALL_METRICS_LISTEN=127.0.0.1:0")
	waitFor(t, s, 20*time.Second, "both connections", func() bool { return s.Connections() == 2 })
	if code, body := p.ask(t, "/healthz"); code != http.StatusOK {
		t.Errorf("healthz: %d %s", code, body)
	}
	eventually(t, 20*time.Second, "readiness", func() bool { code, _ := p.ask(t, "/readyz"); return code == http.StatusOK })
	ts := s.Post("D1", "U1", "can U11s body check?", fakeslack.PostOptions{})
	waitFor(t, s, 20*time.Second, "an answer", func() bool { return len(s.Replies("D1", ts)) == 1 })
	lost := s.Post("D1", "U1", "what is the capital of Mongolia", fakeslack.PostOptions{})
	waitFor(t, s, 20*time.Second, "an answer", func() bool { return len(s.Replies("D1", lost)) == 1 })
	s.DropConnections()
	waitFor(t, s, 20*time.Second, "new connections", func() bool { return s.Connections() == 2 })
	var n numbers
	eventually(t, 10*time.Second, "the numbers", func() bool {
		n = p.numbers(t)
		return n.sum("sidewall_chat_connects_total") >= 4 && n.sum("sidewall_events_total", `became="replied"`) == 2
	})
	for _, tt := range []struct {
		name   string
		labels []string
	}{
		{"sidewall_answers_total", []string{`topic="body-check"`, `answer="check"`}},
		{"sidewall_answers_total", []string{`answer="none"`}},
		{"sidewall_chat_rate_limits_total", []string{`chat="slack"`}},
		{"sidewall_chat_retries_total", []string{`chat="slack"`}},
		{"sidewall_open_questions", []string{`why="none"`}},
		{"sidewall_book_info", nil},
	} {
		if got := n.sum(tt.name, tt.labels...); got != 1 {
			t.Errorf("%s%v is %v, want 1", tt.name, tt.labels, got)
		}
	}
	for _, name := range bot.StageNames() {
		if n.sum("sidewall_stage_duration_seconds_count", `stage="`+name+`"`) < 2 {
			t.Errorf("the stage %s is not measured", name)
		}
	}
	if _, body := p.ask(t, "/metrics"); strings.Contains(body, "Mongolia") || strings.Contains(body, "U1\"") || strings.Contains(body, "D1") {
		t.Error("the metrics name people, channels or words")
	}
	if code := p.end(t); code != 0 {
		t.Errorf("exit code %d", code)
	}
	for _, want := range []string{"request=", "topic=body-check", "verdict=not_legal", "became=replied"} {
		if !strings.Contains(p.log.String(), want) {
			t.Errorf("the log lacks %s:\n%s", want, p.log)
		}
	}
	if strings.Contains(p.log.String(), "Mongolia") {
		t.Error("the log holds somebody's words")
	}
}

func TestServeMetricsPortTaken(t *testing.T) {
	taken := httptest.NewServer(http.NotFoundHandler())
	defer taken.Close()
	s := serveFake(t, fakeslack.Options{})
	p := startServe(t, s, t.TempDir(), &safeBuffer{}, "SIDEWALL_METRICS_LISTEN="+taken.Listener.Addr().String())
	select {
	case <-p.gone:
	case <-time.After(20 * time.Second):
		t.Fatal("it goes on without its metrics")
	}
	if code := p.cmd.ProcessState.ExitCode(); code != exitUsage || !strings.Contains(p.log.String(), "metrics.listen") {
		t.Errorf("exit code %d:\n%s", code, p.log)
	}
}

// TestServeLogsJSON wants every line of the log readable by a program, and the
// lines of one event joined by its request id.
func TestServeLogsJSON(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a process")
	}
	var limited atomic.Bool
	s := serveFake(t, fakeslack.Options{Limit: func(method, _ string) time.Duration {
		if method == "chat.postMessage" && !limited.Swap(true) {
			return time.Second
		}
		return 0
	}})
	s.AddChannel("D1", fakeslack.IM, "U1")
	p := startServe(t, s, t.TempDir(), &safeBuffer{}, "SIDEWALL_LOG_FORMAT=json")
	waitFor(t, s, 20*time.Second, "both connections", func() bool { return s.Connections() == 2 })
	ts := s.Post("D1", "U1", "can U11s body check?", fakeslack.PostOptions{})
	waitFor(t, s, 20*time.Second, "an answer", func() bool { return len(s.Replies("D1", ts)) == 1 })
	if code := p.end(t); code != 0 {
		t.Errorf("exit code %d", code)
	}
	said := map[string][]string{} // by request
	for line := range strings.Lines(p.log.String()) {
		var l struct{ Level, Msg, Request, Topic string }
		if err := json.Unmarshal([]byte(line), &l); err != nil || l.Level == "" || l.Msg == "" {
			t.Errorf("the line %q: %v", line, err)
		}
		if l.Request != "" {
			said[l.Request] = append(said[l.Request], l.Msg)
		}
	}
	want := []string{"the platform does not take an answer yet", "finished"}
	if len(said) != 1 {
		t.Errorf("%d requests are named, want one: %v", len(said), said)
	}
	for request, msgs := range said {
		if !slices.Equal(msgs, want) {
			t.Errorf("request %s: %q, want %q", request, msgs, want)
		}
	}
}
