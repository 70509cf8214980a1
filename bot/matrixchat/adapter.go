package matrixchat

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// Platform is the name of this adapter's events.
const Platform = "matrix"

// Values keeps small values by name, and knows what was answered; bot.Store is one.
type Values interface {
	Value(ctx context.Context, name string) ([]byte, error)
	SetValue(ctx context.Context, name string, value []byte) error
	Answered(ctx context.Context, key string) (*bot.Answered, error)
}

// Clock is the time, and a call at a later time.
type Clock interface {
	Now() time.Time
	AfterFunc(d time.Duration, f func()) (stop func() bool)
}

// Options are what an adapter is made of. Homeserver, User, Values and one of
// Password and Token have to be given.
type Options struct {
	Homeserver string
	User       string // @name:server
	Password   string
	Token      string // an access token, instead of a password
	Values     Values

	Allow  []string // servers and people whose invitations are taken; nobody else's are
	Prefix string   // a word that speaks to the bot where it stands first, such as "!rules"
	Lang   string   // of what the adapter itself says in a room; "" is both

	AdminRoom  string // people with AdminPower in this room are admins; "" is no room
	AdminPower int    // 50 where it is 0

	Encryption bool   // read and write encrypted rooms; needs a build with -tags goolm
	KeyFile    string // where the keys for that are kept

	Log   *slog.Logger // never told anybody's words
	Clock Clock
	HTTP  *http.Client // nil makes one
}

// Adapter is a bot.Adapter for one Matrix account.
type Adapter struct {
	o   Options
	me  id.UserID
	log *slog.Logger

	token  atomic.Pointer[string]
	client atomic.Pointer[mautrix.Client] // nil until the first login
	vault  vault                          // nil where encryption is off; set before client
	down   atomic.Int64                   // when the homeserver was last not to be reached, in ns

	mu      sync.Mutex
	rooms   map[id.RoomID]*room
	direct  map[id.RoomID]bool         // rooms that were made to speak to the bot alone
	ours    *memory[id.EventID, known] // what is known of replies
	replies *memory[string, reply]     // where they stand, by the key of what they answer
	busy    map[id.RoomID]time.Time    // rooms that wait for a reply, since when
	typing  map[id.RoomID]bool         // rooms that show us typing
	unread  map[id.RoomID]id.EventID   // rooms whose receipt is planned, and for which message
	admins  []string

	aside chan func(ctx context.Context, cli *mautrix.Client)
	sync  syncState // of the loop alone
}

var (
	_ bot.Adapter  = (*Adapter)(nil)
	_ bot.Worker   = (*Adapter)(nil)
	_ bot.Numberer = (*Adapter)(nil)
)

// ErrNoEncryption says that the program was built without what encrypted rooms need.
var ErrNoEncryption = errors.New("this program was built without encryption; build it with -tags goolm, or turn matrix.encryption off")

// New makes an adapter. It does not speak to the homeserver before Run.
func New(o Options) (*Adapter, error) {
	me := id.UserID(o.User)
	if _, _, err := me.Parse(); err != nil {
		return nil, fmt.Errorf("the Matrix user %q: %w", o.User, err)
	}
	switch {
	case o.Homeserver == "":
		return nil, errors.New("make the Matrix adapter: no homeserver is given")
	case o.Values == nil:
		return nil, errors.New("make the Matrix adapter: there is no place to keep the sync token")
	case o.Password == "" && o.Token == "":
		return nil, errors.New("make the Matrix adapter: neither a password nor an access token is given")
	case o.Encryption && !canEncrypt:
		return nil, ErrNoEncryption
	case o.Encryption && o.KeyFile == "":
		return nil, errors.New("make the Matrix adapter: encryption has no file for its keys")
	}
	if _, err := mautrix.ParseAndNormalizeBaseURL(o.Homeserver); err != nil {
		return nil, fmt.Errorf("the homeserver %q: %w", o.Homeserver, err)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Clock == nil {
		o.Clock = realClock{}
	}
	if o.AdminPower == 0 {
		o.AdminPower = 50
	}
	a := &Adapter{o: o, me: me, log: o.Log.With("platform", Platform),
		rooms: map[id.RoomID]*room{}, direct: map[id.RoomID]bool{}, ours: newMemory[id.EventID, known](rememberReplies),
		replies: newMemory[string, reply](rememberReplies), busy: map[id.RoomID]time.Time{}, typing: map[id.RoomID]bool{}, unread: map[id.RoomID]id.EventID{},
		aside: make(chan func(context.Context, *mautrix.Client), asideRoom)}
	a.token.Store(&o.Token)
	return a, nil
}

// Platform satisfies bot.Adapter.
func (a *Adapter) Platform() string { return Platform }

// NumbersChoices satisfies bot.Numberer.
func (a *Adapter) NumbersChoices() bool { return true }

// Admins are the people with power in the admin room, by their ids.
func (a *Adapter) Admins() []string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.admins
}

// valueName is under which name the adapter keeps something. The account is part
// of it: another account begins anew.
func (a *Adapter) valueName(what string) string { return Platform + "/" + a.o.User + "/" + what }

// allowed says whether an invitation of somebody is taken.
func (a *Adapter) allowed(who id.UserID) bool {
	_, home, err := who.Parse()
	if err != nil {
		return false
	}
	for _, w := range a.o.Allow {
		if strings.HasPrefix(w, "@") && w == string(who) || strings.EqualFold(w, home) {
			return true
		}
	}
	return false
}

type realClock struct{}

func (realClock) Now() time.Time { return time.Now() }
func (realClock) AfterFunc(d time.Duration, f func()) func() bool {
	return time.AfterFunc(d, f).Stop
}

// wait returns after d, or with ctx's error.
func (a *Adapter) wait(ctx context.Context, d time.Duration) error {
	done := make(chan struct{})
	stop := a.o.Clock.AfterFunc(d, func() { close(done) })
	defer stop()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
