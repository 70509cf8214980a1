package main

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/pem"
	"flag"
	"fmt"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot/slackchat/fakeslack"
)

var soakFor = flag.Duration("soakfor", 0, "run the steady test for so long; without it a minute with -soak, and five seconds otherwise")

// What a process that has warmed up may still grow by.
const (
	moreGoroutines = 12      // connections come and go
	moreFiles      = 8       // likewise
	moreMemory     = 8 << 20 // of the runtime's heap that is in use
	slowerP99      = 3.0     // times the early p99 …
	slackP99       = .025    // … or this much more, in seconds: other work on the machine is seen too
)

// sample is what a process says of itself at one moment.
type sample struct {
	goroutines, files, heap, resident float64
	took                              map[float64]float64 // events by the upper bound of their bucket
}

func (p *served) sample(t testing.TB) sample {
	n := p.numbers(t)
	out := sample{goroutines: n["go_goroutines"], files: n["process_open_fds"], heap: n["go_memstats_heap_inuse_bytes"],
		resident: n["process_resident_memory_bytes"], took: map[float64]float64{}}
	for k, v := range n {
		if !strings.HasPrefix(k, "sidewall_event_duration_seconds_bucket{") {
			continue
		}
		_, le, _ := strings.Cut(k, `le="`)
		le, _, _ = strings.Cut(le, `"`)
		bound := math.Inf(1)
		if le != "+Inf" {
			if _, err := fmt.Sscan(le, &bound); err != nil {
				t.Fatalf("the bucket %s: %v", k, err)
			}
		}
		out.took[bound] += v
	}
	return out
}

// quantile is how long all but a part of the events between two samples took.
func quantile(q float64, from, to sample) float64 {
	var bounds []float64
	for b := range to.took {
		bounds = append(bounds, b)
	}
	slices.Sort(bounds)
	if len(bounds) == 0 {
		return 0
	}
	count := func(b float64) float64 { return to.took[b] - from.took[b] }
	all := count(bounds[len(bounds)-1])
	if all == 0 {
		return 0
	}
	rank := q * all
	low, below := 0.0, 0.0
	for _, b := range bounds {
		if n := count(b); n >= rank && n > below {
			if math.IsInf(b, 1) {
				return low
			}
			return low + (b-low)*(rank-below)/(n-below)
		}
		low, below = b, count(b)
	}
	return low
}

func TestQuantile(t *testing.T) {
	inf := math.Inf(1)
	from := sample{took: map[float64]float64{1: 10, 2: 10, inf: 10}}
	to := sample{took: map[float64]float64{1: 60, 2: 110, inf: 110}}
	for q, want := range map[float64]float64{.25: .5, .5: 1, .75: 1.5, 1: 2} {
		if got := quantile(q, from, to); math.Abs(got-want) > 1e-9 {
			t.Errorf("quantile %v is %v, want %v", q, got, want)
		}
	}
	if got := quantile(.99, from, from); got != 0 {
		t.Errorf("of no events it is %v", got)
	}
	if got := quantile(.99, sample{}, sample{took: map[float64]float64{1: 0, inf: 5}}); got != 1 {
		t.Errorf("beyond the buckets it is %v, want the last bound", got)
	}
}

// TestSteady asks at an even pace, over Slack and where DENDRITE_BIN names a
// homeserver over Matrix too, and holds the early numbers of the process against
// the late ones: nothing grows, nothing gets slower. TestSoak is for what goes
// wrong; here little does, so that growth can be told from recovery.
func TestSteady(t *testing.T) {
	length := 5 * time.Second
	switch {
	case testing.Short():
		t.Skip("starts processes")
	case *soakFor > 0:
		length = *soakFor
	case *soak:
		length = time.Minute
	}
	s := serveFake(t, fakeslack.Options{})
	const channels = 20
	for c := range channels {
		s.AddChannel(fmt.Sprintf("D%d", c), fakeslack.IM, fmt.Sprintf("U%d", c))
	}
	env := []string{"SIDEWALL_METRICS_LISTEN=127.0.0.1:0"}
	var m *matrixTalk
	if bin := os.Getenv("DENDRITE_BIN"); bin != "" {
		m = newMatrixTalk(t, bin)
		env = append(env, "SIDEWALL_MATRIX_HOMESERVER="+m.url, "SIDEWALL_MATRIX_USER=@sidewall:localhost", "SIDEWALL_MATRIX_PASSWORD="+matrixPassword, "SIDEWALL_MATRIX_ALLOW=localhost")
	}
	log := &safeBuffer{}
	p := startServe(t, s, t.TempDir(), log, env...)
	defer func() {
		if t.Failed() {
			l := log.String()
			t.Logf("the end of the log:\n%s", l[max(0, len(l)-3000):])
		}
	}()
	waitFor(t, s, 20*time.Second, "both connections", func() bool { return s.Connections() == 2 })
	if m != nil {
		m.invite(t)
	}

	texts := []string{"can U11s body check?", "U11 attack, 45-inch stick?", "how long are U13 quarters?", "who brings the snacks", "five poles on the field at U13?"}
	type question struct{ channel, ts string }
	var asked []question
	const perSecond, windows = 20, 10
	tick := time.NewTicker(time.Second / perSecond)
	defer tick.Stop()
	perWindow := max(1, int(length.Seconds()*perSecond)/windows)
	samples := []sample{}
	for i := range windows * perWindow {
		if i%perWindow == 0 {
			samples = append(samples, p.sample(t))
		}
		<-tick.C
		c := i % channels
		q := question{channel: fmt.Sprintf("D%d", c)}
		q.ts = s.Post(q.channel, fmt.Sprintf("U%d", c), texts[i%len(texts)], fakeslack.PostOptions{})
		asked = append(asked, q)
		if m != nil && i%10 == 5 {
			m.ask(t, texts[i%len(texts)])
		}
		if i%(10*perWindow/3+1) == 7 {
			s.DropConnections() // a connection that is opened anew must not leave the old one's rests behind
		}
	}
	waitFor(t, s, 30*time.Second, "all answers", func() bool {
		return !slices.ContainsFunc(asked, func(q question) bool { return len(s.Replies(q.channel, q.ts)) == 0 }) && len(s.Unacked()) == 0
	})
	if m != nil {
		m.answered(t)
	}
	eventually(t, 10*time.Second, "nothing in hand", func() bool { return p.numbers(t).sum("sidewall_events_in_hand") == 0 })
	samples = append(samples, p.sample(t))

	// The first windows are for warming up: connections, caches, the index.
	early, late := samples[2:5], samples[len(samples)-3:]
	least := func(of []sample, what func(s sample) float64) float64 {
		out := math.Inf(1)
		for _, s := range of {
			out = min(out, what(s))
		}
		return out
	}
	for _, g := range []struct {
		name string
		of   func(s sample) float64
		more float64
	}{
		{"goroutines", func(s sample) float64 { return s.goroutines }, moreGoroutines},
		{"open files", func(s sample) float64 { return s.files }, moreFiles},
		{"heap", func(s sample) float64 { return s.heap }, moreMemory},
	} {
		a, b := least(early, g.of), least(late, g.of)
		t.Logf("%s: %.0f early, %.0f late", g.name, a, b)
		if a == 0 {
			t.Errorf("the process does not tell its %s", g.name)
		}
		if b > a+g.more {
			t.Errorf("%s grew from %.0f to %.0f", g.name, a, b)
		}
	}
	// In a shorter run a hundredth of a window is less than one event.
	p99a, p99b := quantile(.99, samples[2], samples[5]), quantile(.99, samples[len(samples)-4], samples[len(samples)-1])
	t.Logf("resident: %.1f MB early, %.1f MB late; p99 of an event: %.1f ms early, %.1f ms late; %d questions",
		least(early, func(s sample) float64 { return s.resident })/(1<<20), least(late, func(s sample) float64 { return s.resident })/(1<<20), 1e3*p99a, 1e3*p99b, len(asked))
	if tells := length >= time.Minute; tells && p99b > max(slowerP99*p99a, p99a+slackP99) {
		t.Errorf("p99 went from %.1f ms to %.1f ms", 1e3*p99a, 1e3*p99b)
	}
	if code := p.end(t); code != 0 {
		t.Errorf("exit code %d", code)
	}
	for _, q := range asked {
		if n := len(s.Replies(q.channel, q.ts)); n != 1 {
			t.Errorf("%s/%s was answered %d times", q.channel, q.ts, n)
		}
	}
}

const matrixPassword = "a-password-for-tests"

// matrixTalk is somebody who asks over a homeserver.
type matrixTalk struct {
	url  string
	cli  *mautrix.Client
	room id.RoomID

	mu      sync.Mutex
	asked   []id.EventID
	replies map[id.EventID]int
	bot     bool // it is in the room
}

const matrixConfig = `version: 2
global:
  server_name: localhost
  private_key: matrix_key.pem
  disable_federation: true
  trusted_third_party_id_servers: []
  presence: {enable_inbound: false, enable_outbound: false}
  jetstream: {storage_path: ./jetstream, in_memory: true}
  report_stats: {enabled: false}
client_api: {registration_disabled: false, guests_disabled: true, rate_limiting: {enabled: false}}
federation_api: {database: {connection_string: "file:federation.db"}, key_perspectives: []}
key_server: {database: {connection_string: "file:key.db"}}
media_api: {database: {connection_string: "file:media.db"}, base_path: ./media}
relay_api: {database: {connection_string: "file:relay.db"}}
room_server: {database: {connection_string: "file:room.db"}, default_room_version: "10"}
sync_api: {database: {connection_string: "file:sync.db"}, search: {enabled: false}}
user_api: {bcrypt_cost: 4, account_database: {connection_string: "file:user.db"}, device_database: {connection_string: "file:device.db"}}
mscs: {mscs: [], database: {connection_string: "file:msc.db"}}
logging: [{type: std, level: error}]
`

// newMatrixTalk starts a homeserver with two accounts: the bot's and a coach's.
func newMatrixTalk(t *testing.T, bin string) *matrixTalk {
	t.Helper()
	dir, addr := t.TempDir(), closedPort(t)
	_, private, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	var key bytes.Buffer
	if err := pem.Encode(&key, &pem.Block{Type: "MATRIX PRIVATE KEY", Headers: map[string]string{"Key-ID": "ed25519:tests"}, Bytes: private.Seed()}); err != nil {
		t.Fatal(err)
	}
	for name, raw := range map[string][]byte{"dendrite.yaml": []byte(matrixConfig), "matrix_key.pem": key.Bytes()} {
		if err := os.WriteFile(filepath.Join(dir, name), raw, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	log := &safeBuffer{}
	cmd := exec.Command(bin, "-config", "dendrite.yaml", "-http-bind-address", addr, "-really-enable-open-registration")
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, log, log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if t.Failed() {
			t.Logf("the homeserver says\n%s", log)
		}
	})
	m := &matrixTalk{url: "http://" + addr, replies: map[id.EventID]int{}}
	eventually(t, time.Minute, "the homeserver", func() bool {
		resp, err := http.Get(m.url + "/_matrix/client/versions")
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
	for _, name := range []string{"sidewall", "coach"} {
		cli, err := mautrix.NewClient(m.url, "", "")
		if err != nil {
			t.Fatal(err)
		}
		who, err := cli.RegisterDummy(t.Context(), &mautrix.ReqRegister[any]{Username: name, Password: matrixPassword})
		if err != nil {
			t.Fatalf("register %s: %v", name, err)
		}
		cli.UserID, cli.AccessToken = who.UserID, who.AccessToken
		m.cli = cli // the coach's in the end
	}
	return m
}

// invite makes a room with the bot, and reads in it until the test ends.
func (m *matrixTalk) invite(t *testing.T) {
	t.Helper()
	room, err := m.cli.CreateRoom(t.Context(), &mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{"@sidewall:localhost"}})
	if err != nil {
		t.Fatal(err)
	}
	m.room = room.RoomID
	ctx, cancel := context.WithCancel(context.Background())
	var reading sync.WaitGroup
	reading.Go(func() {
		since := ""
		for ctx.Err() == nil {
			b, err := m.cli.FullSyncRequest(ctx, mautrix.ReqSync{Timeout: 2000, Since: since})
			if err != nil {
				continue // it ends with ctx, or says so by what does not come
			}
			since = b.NextBatch
			if joined := b.Rooms.Join[m.room]; joined != nil {
				m.read(append(joined.State.Events, joined.Timeline.Events...))
			}
		}
	})
	t.Cleanup(func() { cancel(); reading.Wait(); m.cli.Client.CloseIdleConnections() })
	eventually(t, time.Minute, "the bot to join", func() bool { m.mu.Lock(); defer m.mu.Unlock(); return m.bot })
}

func (m *matrixTalk) read(evs []*event.Event) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, ev := range evs {
		if ev.Sender != "@sidewall:localhost" {
			continue
		}
		_ = ev.Content.ParseRaw(ev.Type) // what cannot be read is no reply
		switch ev.Type.Type {
		case event.StateMember.Type:
			m.bot = m.bot || ev.Content.AsMember().Membership == event.MembershipJoin
		case event.EventMessage.Type:
			if rel := ev.Content.AsMessage().RelatesTo; rel != nil && rel.GetReplaceID() == "" {
				m.replies[rel.GetReplyTo()]++
			}
		}
	}
}

func (m *matrixTalk) ask(t *testing.T, text string) {
	t.Helper()
	sent, err := m.cli.SendMessageEvent(t.Context(), m.room, event.EventMessage, &event.MessageEventContent{MsgType: event.MsgText, Body: text})
	if err != nil {
		t.Fatal(err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.asked = append(m.asked, sent.EventID)
}

func (m *matrixTalk) answered(t *testing.T) {
	t.Helper()
	eventually(t, time.Minute, "all answers over Matrix", func() bool {
		m.mu.Lock()
		defer m.mu.Unlock()
		return !slices.ContainsFunc(m.asked, func(e id.EventID) bool { return m.replies[e] == 0 })
	})
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, e := range m.asked {
		if n := m.replies[e]; n != 1 {
			t.Errorf("%s was answered %d times over Matrix", e, n)
		}
	}
	t.Logf("%d questions over Matrix", len(m.asked))
}
