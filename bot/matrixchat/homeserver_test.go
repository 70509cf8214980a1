package matrixchat

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/bot"
	"sidewall/config"
)

// These tests speak to a real homeserver, a dendrite that they start on loopback.
// .ci/matrix installs it; DENDRITE_BIN names another one.

const (
	testPatience = time.Minute // of a test that waits for the homeserver
	server       = "localhost"
	password     = "a-password-for-tests"
)

func TestMain(m *testing.M) {
	if childMain() {
		return
	}
	goleak.VerifyTestMain(m)
}

// dendriteBin finds the homeserver, or skips the test; where NEED_DENDRITE
// is set a missing one is a failure.
func dendriteBin(t testing.TB) string {
	t.Helper()
	cache := os.Getenv("XDG_CACHE_HOME")
	if home, err := os.UserHomeDir(); err == nil && cache == "" {
		cache = filepath.Join(home, ".cache")
	}
	found, _ := exec.LookPath("dendrite")
	for _, bin := range []string{os.Getenv("DENDRITE_BIN"), found, filepath.Join(cache, "sidewall-dendrite", "dendrite")} {
		if bin == "" {
			continue
		}
		if _, err := os.Stat(bin); err == nil {
			return bin
		}
	}
	const what = "dendrite is not installed; .ci/matrix installs it, or DENDRITE_BIN names it"
	if os.Getenv("NEED_DENDRITE") != "" {
		t.Fatal(what)
	}
	t.Skip(what)
	return ""
}

// homeserver is a dendrite of a test.
type homeserver struct {
	t    testing.TB
	bin  string
	dir  string
	addr string
	url  string

	mu   sync.Mutex
	cmd  *exec.Cmd
	log  bytes.Buffer
	done chan struct{}
}

const dendriteConfig = `version: 2
global:
  server_name: localhost
  private_key: matrix_key.pem
  database: {connection_string: ""}
  disable_federation: true
  trusted_third_party_id_servers: []
  presence: {enable_inbound: false, enable_outbound: false}
  jetstream: {storage_path: ./jetstream, in_memory: false}
  report_stats: {enabled: false}
client_api:
  registration_disabled: false
  guests_disabled: true
  registration_shared_secret: for-tests-only
  rate_limiting: {enabled: false}
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

func startHomeserver(t testing.TB) *homeserver {
	t.Helper()
	return startHomeserverWith(t, dendriteConfig)
}

func startHomeserverWith(t testing.TB, config string) *homeserver {
	t.Helper()
	h := &homeserver{t: t, bin: dendriteBin(t), dir: quickDir(t)}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h.addr = l.Addr().String()
	h.url = "http://" + h.addr
	l.Close()
	if err := os.WriteFile(filepath.Join(h.dir, "dendrite.yaml"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(h.dir, "matrix_key.pem"), signingKey(t), 0o600); err != nil {
		t.Fatal(err)
	}
	h.start()
	t.Cleanup(func() {
		h.kill()
		http.DefaultClient.CloseIdleConnections()
	})
	return h
}

// quickDir is a folder in memory where the system has one: dendrite syncs every write,
// and no test cuts the power. A killed process leaves memory as it leaves a disk.
func quickDir(t testing.TB) string {
	dir, err := os.MkdirTemp("/dev/shm", "sidewall-test-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// start runs dendrite and waits until it answers.
func (h *homeserver) start() {
	h.t.Helper()
	h.mu.Lock()
	h.cmd = exec.Command(h.bin, "-config", "dendrite.yaml", "-http-bind-address", h.addr, "-really-enable-open-registration")
	h.cmd.Dir, h.cmd.Stdout, h.cmd.Stderr = h.dir, &h.log, &h.log
	cmd := h.cmd
	err := cmd.Start()
	h.mu.Unlock()
	if err != nil {
		h.t.Fatal(err)
	}
	done := make(chan struct{})
	h.done = done
	go func() { _ = cmd.Wait(); close(done) }()
	until(h.t, "dendrite answers", func() bool {
		select {
		case <-done:
			h.t.Fatalf("dendrite ended:\n%s", h.log.String())
		default:
		}
		resp, err := http.Get(h.url + "/_matrix/client/versions")
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
}

// kill ends dendrite without a chance to tidy up.
func (h *homeserver) kill() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.cmd == nil {
		return
	}
	_ = h.cmd.Process.Kill()
	<-h.done
	h.cmd = nil
}

// until polls for what only another process knows.
func until(t testing.TB, what string, f func() bool) {
	t.Helper()
	end := time.After(testPatience)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !f() {
		select {
		case <-end:
			t.Fatalf("it took too long until %s", what)
		case <-tick.C:
		}
	}
}

// account registers somebody and gives their client.
func (h *homeserver) account(name string) *mautrix.Client {
	h.t.Helper()
	cli, err := mautrix.NewClient(h.url, "", "")
	if err != nil {
		h.t.Fatal(err)
	}
	var resp *mautrix.RespRegister
	until(h.t, "the homeserver takes one more account", func() bool {
		resp, err = cli.RegisterDummy(h.t.Context(), &mautrix.ReqRegister[any]{Username: name, Password: password})
		return !errors.Is(err, mautrix.MLimitExceeded)
	})
	if err != nil {
		h.t.Fatalf("register %s: %v", name, err)
	}
	cli.UserID, cli.DeviceID, cli.AccessToken = resp.UserID, resp.DeviceID, resp.AccessToken
	return cli
}

// person is somebody who writes and reads in rooms.
type person struct {
	t   testing.TB
	cli *mautrix.Client

	mu   sync.Mutex
	seen []*event.Event
	news chan struct{} // closed and made anew when something comes
	pre  func(ctx context.Context, b *mautrix.RespSync, since string)
	open func(ctx context.Context, ev *event.Event) (*event.Event, error)
	note func(ctx context.Context, ev *event.Event) // of a state event
}

func (h *homeserver) person(name string) *person {
	p := &person{t: h.t, cli: h.account(name), news: make(chan struct{})}
	return p
}

// listen reads until the test ends; homeservers may come and go meanwhile.
func (p *person) listen() *person {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		since := ""
		for ctx.Err() == nil {
			b, err := p.cli.FullSyncRequest(ctx, mautrix.ReqSync{Timeout: 20000, Since: since})
			if err != nil {
				select {
				case <-ctx.Done():
				case <-time.After(50 * time.Millisecond):
				}
				continue
			}
			p.take(ctx, b, since)
			since = b.NextBatch
		}
	}()
	p.t.Cleanup(func() { cancel(); <-done; p.cli.Client.CloseIdleConnections() })
	return p
}

func (p *person) take(ctx context.Context, b *mautrix.RespSync, since string) {
	if p.pre != nil {
		p.pre(ctx, b, since)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for at, r := range b.Rooms.Join {
		for _, ev := range r.State.Events {
			prepare(ev, at)
			if p.note != nil {
				p.note(ctx, ev)
			}
		}
		for _, ev := range append(r.Timeline.Events, r.Ephemeral.Events...) {
			prepare(ev, at)
			if ev.Type.Type == event.EphemeralEventTyping.Type || ev.Type.Type == event.EphemeralEventReceipt.Type {
				ev.Type.Class = event.EphemeralEventType
				_ = ev.Content.ParseRaw(ev.Type)
			}
			if p.note != nil && ev.StateKey != nil {
				p.note(ctx, ev)
			}
			if p.open != nil && ev.Type.Type == event.EventEncrypted.Type {
				if open, err := p.open(ctx, ev); err == nil {
					open.RoomID = at
					ev = open
				}
			}
			p.seen = append(p.seen, ev)
		}
	}
	close(p.news)
	p.news = make(chan struct{})
}

// find waits for an event.
func (p *person) find(what string, f func(ev *event.Event) bool) *event.Event {
	p.t.Helper()
	end := time.After(testPatience)
	for {
		p.mu.Lock()
		for _, ev := range p.seen {
			if f(ev) {
				p.mu.Unlock()
				return ev
			}
		}
		news := p.news
		p.mu.Unlock()
		select {
		case <-news:
		case <-end:
			p.t.Fatalf("%s did not come; what came:\n%s", what, p.said())
		}
	}
}

func (p *person) said() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out strings.Builder
	for _, ev := range p.seen {
		fmt.Fprintf(&out, "%s %s %s: %s\n", ev.ID, ev.Sender, ev.Type.Type, ev.Content.VeryRaw)
	}
	return out.String()
}

func (p *person) say(at id.RoomID, c *event.MessageEventContent) id.EventID {
	p.t.Helper()
	if c.MsgType == "" {
		c.MsgType = event.MsgText
	}
	resp, err := p.cli.SendMessageEvent(p.t.Context(), at, event.EventMessage, c)
	if err != nil {
		p.t.Fatal(err)
	}
	return resp.EventID
}

// ask asks in a room with an intentional mention.
func (p *person) ask(at id.RoomID, who id.UserID, text string) id.EventID {
	p.t.Helper()
	return p.say(at, mention(who, text))
}

func mention(who id.UserID, text string) *event.MessageEventContent {
	return &event.MessageEventContent{MsgType: event.MsgText, Body: "Bot: " + text, Format: event.FormatHTML,
		FormattedBody: `<a href="https://matrix.to/#/` + string(who) + `">Bot</a>: ` + text, Mentions: &event.Mentions{UserIDs: []id.UserID{who}}}
}

// inThread puts a message into a thread.
func inThread(c *event.MessageEventContent, root id.EventID) *event.MessageEventContent {
	c.RelatesTo = (&event.RelatesTo{}).SetThread(root, root)
	return c
}

// reply waits for the bot's first reply to an event.
func (p *person) reply(to id.EventID, who id.UserID) *event.Event {
	p.t.Helper()
	return p.find("a reply to "+string(to), func(ev *event.Event) bool {
		c, ok := ev.Content.Parsed.(*event.MessageEventContent)
		return ok && ev.Sender == who && c.RelatesTo.GetReplyTo() == to
	})
}

// replacing waits for what takes a message's place.
func (p *person) replacing(of id.EventID, want string) *event.Event {
	p.t.Helper()
	return p.find("an edit of "+string(of)+" with "+want, func(ev *event.Event) bool {
		c, ok := ev.Content.Parsed.(*event.MessageEventContent)
		return ok && c.RelatesTo.GetReplaceID() == of && c.NewContent != nil && strings.Contains(c.NewContent.Body, want)
	})
}

func (p *person) react(at id.RoomID, of id.EventID, sign string) id.EventID {
	p.t.Helper()
	resp, err := p.cli.SendReaction(p.t.Context(), at, of, sign)
	if err != nil {
		p.t.Fatal(err)
	}
	return resp.EventID
}

func (p *person) createRoom(req *mautrix.ReqCreateRoom) id.RoomID {
	p.t.Helper()
	resp, err := p.cli.CreateRoom(p.t.Context(), req)
	if err != nil {
		p.t.Fatal(err)
	}
	return resp.RoomID
}

func (p *person) joined(at id.RoomID, who id.UserID) {
	p.t.Helper()
	p.find(string(who)+" joins", func(ev *event.Event) bool {
		c, ok := ev.Content.Parsed.(*event.MemberEventContent)
		return ok && ev.RoomID == at && ev.GetStateKey() == string(who) && c.Membership == event.MembershipJoin
	})
}

func body(ev *event.Event) string {
	if c, ok := ev.Content.Parsed.(*event.MessageEventContent); ok {
		return c.Body
	}
	return ""
}

var shippedDesk = sync.OnceValues(func() (*answers.Desk, error) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		return nil, err
	}
	return answers.New(b)
})

// testLevel is what tests log of the bot; debug says why it is silent.
const testLevel = slog.LevelWarn

var gameDay, _ = measure.ParseDate("2027-04-10")

// runningBot is a bot on a homeserver, with its state in a folder.
type runningBot struct {
	t       testing.TB
	adapter *Adapter
	bot     *bot.Bot
	store   *bot.SQLite
	cancel  context.CancelFunc
	ran     chan error
	handed  sync.Map // the messages that the adapter gave to the bot
}

// options are those of a bot that is let in by its password.
func (h *homeserver) options(user id.UserID) Options {
	return Options{Homeserver: h.url, User: string(user), Password: password, Allow: []string{server}}
}

func startBot(t testing.TB, dir string, o Options, change func(o *bot.Options)) *runningBot {
	t.Helper()
	d, err := shippedDesk()
	if err != nil {
		t.Fatal(err)
	}
	s, err := bot.OpenSQLite(t.Context(), filepath.Join(dir, "state.db"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.NewTextHandler(logTo{t}, &slog.HandlerOptions{Level: testLevel}))
	}
	o.Values = s
	a, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	bo := bot.Options{Desk: func() bot.Desk { return d }, Store: s, Adapters: []bot.Adapter{a}, Date: gameDay, Log: o.Log, Admins: a.Admins}
	if change != nil {
		change(&bo)
	}
	b, err := bot.New(bo)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	r := &runningBot{t: t, adapter: a, bot: b, store: s, cancel: cancel, ran: make(chan error, 2)}
	go func() { r.ran <- b.Run(ctx) }()
	go func() {
		r.ran <- a.Run(ctx, func(ctx context.Context, e bot.Event) error {
			r.handed.Store(e.Message, true)
			return b.Handle(ctx, e)
		})
	}()
	t.Cleanup(r.stop)
	until(t, "the bot is connected", func() bool {
		v, err := s.Value(context.Background(), a.valueName("since"))
		return err == nil && len(v) > 0 && a.client.Load() != nil
	})
	return r
}

func (r *runningBot) stop() {
	if r.cancel == nil {
		return
	}
	r.cancel()
	r.cancel = nil
	for range 2 {
		if err := <-r.ran; err != nil && !errors.Is(err, bot.ErrClosed) {
			r.t.Logf("the bot ended: %v", err)
		}
	}
	if err := r.store.Close(); err != nil {
		r.t.Error(err)
	}
}

// logTo writes into a test's log while the test runs.
type logTo struct{ t testing.TB }

func (l logTo) Write(p []byte) (int, error) {
	if l.t.Context().Err() == nil {
		l.t.Log(strings.TrimRight(string(p), "\n"))
	}
	return len(p), nil
}
