package fakeslack

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"time"
)

// Server is a running fake. Its methods may be called from several goroutines.
type Server struct {
	// URL is the address; the Web API's base is URL + "/api/".
	URL string

	o    Options
	http *httptest.Server
	done context.Context
	stop context.CancelFunc
	wg   sync.WaitGroup

	mu         sync.Mutex
	changed    chan struct{} // closed and made anew at each change
	serial     int
	last       int64 // of the last ts, in microseconds
	users      map[string]*user
	channels   map[string]*channel
	views      []*view
	homes      map[string]*view
	triggers   map[string]*trigger
	hooks      map[string]*hook
	assistants map[string]*assistant // by channel and thread
	calls      []Call
	counts     map[string]int // of calls by method
	refused    []Refusal
	deliveries []*delivery
	waiting    []*delivery // for a connection
	envelopes  map[string]envelope
	conns      []*conn
	turn       int
	ever       int
	tickets    map[string]time.Time
	events     string // the address in HTTP mode
	client     *http.Client
	buckets    map[string]*bucket
	closed     bool
}

type user struct{ id, name, locale string }

type channel struct {
	id, kind, name string
	members        []string
	archived       bool
	messages       []*message            // in order of ts
	byTS           map[string]*message   // without those that only one person sees
	threads        map[string][]*message // replies by the ts of the first message
	reactions      map[string][]string
}

type message struct {
	Message
	tombstone bool
	edited    string // ts of the edit
	attached  bool   // a link was unfurled
}

type view struct {
	View
	body     obj // the view object, complete
	external string
}

type trigger struct {
	until time.Time
	used  bool
	user  string
	view  string // the modal that it was made in
}

// hook is a response address.
type hook struct {
	user, channel, ts string // ts of the message that a button was in
	ephemeral         bool
	left              int
	until             time.Time
}

type assistant struct {
	status, title string
	prompts       []map[string]any
}

type bucket struct {
	tokens float64
	at     time.Time
}

// New starts a fake.
func New(o Options) *Server {
	def := func(p *string, v string) {
		if *p == "" {
			*p = v
		}
	}
	def(&o.BotToken, "xoxb-1-fake")
	def(&o.AppToken, "xapp-1-fake")
	def(&o.SigningSecret, "0123456789abcdef0123456789abcdef")
	def(&o.BotUser, "U0BOT")
	def(&o.BotID, "B0BOT")
	def(&o.BotName, "sidewall")
	def(&o.AppID, "A0APP")
	def(&o.Team, "T0CLUB")
	if o.Ack == 0 {
		o.Ack = 3 * time.Second
	}
	if o.Ping == 0 {
		o.Ping = 5 * time.Second
	}
	if o.Retries == nil {
		o.Retries = []time.Duration{0, time.Minute, 5 * time.Minute}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Server{
		o: o, changed: make(chan struct{}), users: map[string]*user{}, channels: map[string]*channel{}, homes: map[string]*view{},
		triggers: map[string]*trigger{}, hooks: map[string]*hook{}, assistants: map[string]*assistant{},
		envelopes: map[string]envelope{}, tickets: map[string]time.Time{}, buckets: map[string]*bucket{},
		counts: map[string]int{},
	}
	s.done, s.stop = context.WithCancel(context.Background())
	s.client = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 16}}
	s.users[o.BotUser] = &user{id: o.BotUser, name: o.BotName, locale: "en-US"}
	mux := http.NewServeMux()
	mux.HandleFunc("/api/", s.serveAPI)
	mux.HandleFunc("/link/", s.serveSocket)
	mux.HandleFunc("/hook/", s.serveHook)
	s.http = httptest.NewServer(mux)
	s.URL = s.http.URL
	return s
}

// Close stops it.
func (s *Server) Close() {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return
	}
	s.closed = true
	s.stop()
	for _, d := range s.deliveries {
		d.halt()
	}
	for _, c := range s.conns {
		c.kill()
	}
	s.mu.Unlock()
	s.http.CloseClientConnections()
	s.http.Close()
	s.wg.Wait()
	s.client.CloseIdleConnections()
}

// API is the Web API's base address, with a slash at the end.
func (s *Server) API() string { return s.URL + "/api/" }

// lock takes the state; the function that it gives releases it and tells who waits.
func (s *Server) lock() (unlock func()) {
	s.mu.Lock()
	return func() {
		close(s.changed)
		s.changed = make(chan struct{})
		s.mu.Unlock()
	}
}

// WaitFor waits until cond holds; it asks again whenever something changed here.
func (s *Server) WaitFor(ctx context.Context, cond func() bool) error {
	for {
		s.mu.Lock()
		changed := s.changed
		s.mu.Unlock()
		if cond() {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return fmt.Errorf("waiting for the fake: %w", ctx.Err())
		}
	}
}

// nextID is a new id with a prefix.
func (s *Server) nextID(prefix string) string {
	s.serial++
	return fmt.Sprintf("%s%08X", prefix, 0x0A000000+s.serial)
}

// stamp is a new ts, later than all before.
func (s *Server) stamp() string {
	s.last = max(s.last+100, s.o.Now().UnixMicro())
	return fmt.Sprintf("%d.%06d", s.last/1e6, s.last%1e6)
}

func (s *Server) newTrigger(user, view string) string {
	id := fmt.Sprintf("%d.%s.%s", 100000000+s.serial, s.o.Team, strings.ToLower(s.nextID("f")))
	s.triggers[id] = &trigger{until: s.o.Now().Add(3 * time.Second), user: user, view: view}
	return id
}

func (s *Server) newHook(h hook) string {
	h.left, h.until = 5, s.o.Now().Add(30*time.Minute)
	id := s.nextID("H")
	s.hooks[id] = &h
	return s.URL + "/hook/" + s.o.Team + "/" + id
}

// AddUser adds a person. Post and the rest add who is missing, with the id as name.
func (s *Server) AddUser(id, name string) {
	defer s.lock()()
	s.user(id).name = name
}

// SetLocale sets the locale that users.info tells with include_locale.
func (s *Server) SetLocale(id, locale string) {
	defer s.lock()()
	s.user(id).locale = locale
}

func (s *Server) user(id string) *user {
	u := s.users[id]
	if u == nil {
		u = &user{id: id, name: strings.ToLower(id), locale: "en-US"}
		s.users[id] = u
	}
	return u
}

// AddChannel adds a channel of a kind. The bot is a member where it is among the
// members, and always in an IM, whose person is its first member.
func (s *Server) AddChannel(id, kind string, members ...string) {
	defer s.lock()()
	for _, m := range members {
		s.user(m)
	}
	if kind == IM && !slices.Contains(members, s.o.BotUser) {
		members = append(slices.Clone(members), s.o.BotUser)
	}
	s.channels[id] = newChannel(id, kind, strings.ToLower(id), members)
}

// Archive archives a channel.
func (s *Server) Archive(id string) {
	defer s.lock()()
	s.must(id).archived = true
}

// must is a channel that a test names; that it does not exist is the test's mistake.
func (s *Server) must(id string) *channel {
	c := s.channels[id]
	if c == nil {
		panic("fakeslack: there is no channel " + id)
	}
	return c
}

// im is the IM of a person with the bot; it comes into being when it is needed.
func (s *Server) im(user string) *channel {
	for _, id := range sortedMap(s.channels) {
		if c := s.channels[id]; c.kind == IM && c.members[0] == user {
			return c
		}
	}
	s.user(user)
	c := newChannel("D"+strings.TrimLeft(user, "UW"), IM, "directmessage", []string{user, s.o.BotUser})
	s.channels[c.id] = c
	return c
}

func sortedMap[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (c *channel) has(user string) bool { return slices.Contains(c.members, user) }

func newChannel(id, kind, name string, members []string) *channel {
	return &channel{
		id: id, kind: kind, name: name, members: members, byTS: map[string]*message{}, threads: map[string][]*message{},
		reactions: map[string][]string{},
	}
}

func (c *channel) add(m *message) {
	c.messages = append(c.messages, m)
	if m.Ephemeral == "" {
		c.byTS[m.TS] = m
		if m.Thread != "" {
			c.threads[m.Thread] = append(c.threads[m.Thread], m)
		}
	}
}

func (c *channel) at(ts string) *message { return c.byTS[ts] }

// replies are a thread's messages without the first.
func (c *channel) replies(ts string) []*message { return c.threads[ts] }

func (c *channel) drop(gone *message) {
	is := func(m *message) bool { return m == gone }
	c.messages = slices.DeleteFunc(c.messages, is)
	if gone.Ephemeral == "" {
		delete(c.byTS, gone.TS)
		c.threads[gone.Thread] = slices.DeleteFunc(c.threads[gone.Thread], is)
	}
}

func raw(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic("fakeslack: " + err.Error()) // only what came from JSON gets here
	}
	return b
}
