package slackchat

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

// Platform is the name of this adapter's events.
const Platform = "slack"

// Handler takes an event in; nil means that it may be acknowledged. It is
// (*bot.Bot).Handle.
type Handler = func(ctx context.Context, ev bot.Event) error

// Options are what an adapter is made of.
type Options struct {
	BotToken      string // xoxb-…
	AppToken      string // xapp-…, for Socket Mode
	SigningSecret string // for HTTP; where it is set and AppToken is not, the adapter serves HTTP
	HTTP          bool   // Events API over HTTP instead of Socket Mode
	Listen        string // host:port, for HTTP
	APIURL        string // another Web API base address; "" is Slack's own

	// Prompts are questions to begin with, offered where somebody opens the
	// assistant pane; nil offers none.
	Prompts func() []string

	// Submit takes in a form that was sent; it is (*bot.Bot).Submit. nil: there are none.
	Submit func(ctx context.Context, f bot.Filled) (bot.Outcome, error)

	Log     *slog.Logger                              // never told a text, a person or a token
	Listens func(addr net.Addr)                       // told where HTTP is served
	Opened  func()                                    // told of each connection that is opened
	Through func(http.RoundTripper) http.RoundTripper // put around every call of the Web API; nil for nothing
	Ping    time.Duration                             // how long a socket may be silent; 30 s
	Pause   func(n int) time.Duration                 // before the n-th attempt (from 0) to connect again; grows to half a minute
	Timeout time.Duration                             // of one call of the Web API; 10 s
	InHand  time.Duration                             // how long taking an event in may last; 2.5 s, so that Slack hears of it within 3
	Settled time.Duration                             // how long a connection has to last to count as a good one; 10 s
	Sockets int                                       // how many connections are held; 2
}

// Errors of Run that only a person can put right.
var ErrRefused = errors.New("slack refuses the token")

// Adapter carries replies to Slack; it is a bot.Adapter.
type Adapter struct {
	o    Options
	log  *slog.Logger
	api  *slack.Client
	http *http.Client

	me     atomic.Pointer[identity]
	asking sync.Mutex
	aside  sync.WaitGroup // what is done beside the events
}

// identity is who the bot is in its workspace.
type identity struct{ user, bot, team string }

// New makes an adapter. It does not connect: Run does.
func New(o Options) (*Adapter, error) {
	switch {
	case o.BotToken == "":
		return nil, errors.New("make the slack adapter: there is no bot token")
	case o.HTTP && o.SigningSecret == "":
		return nil, errors.New("make the slack adapter: there is no signing secret")
	case !o.HTTP && o.AppToken == "":
		return nil, errors.New("make the slack adapter: there is no app-level token")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	def(&o.Ping, 30*time.Second)
	def(&o.Timeout, 10*time.Second)
	def(&o.InHand, 2500*time.Millisecond)
	def(&o.Settled, 10*time.Second)
	if o.Sockets <= 0 {
		o.Sockets = 2
	}
	if o.Pause == nil {
		o.Pause = pause
	}
	if o.Opened == nil {
		o.Opened = func() {}
	}
	if o.Through == nil {
		o.Through = func(t http.RoundTripper) http.RoundTripper { return t }
	}
	a := &Adapter{o: o, log: o.Log, http: &http.Client{Timeout: o.Timeout, Transport: o.Through(transport())}}
	a.api = a.client(a.http)
	return a, nil
}

// client is a client of the Web API whose calls go through c.
func (a *Adapter) client(c interface {
	Do(*http.Request) (*http.Response, error)
}) *slack.Client {
	opts := []slack.Option{slack.OptionHTTPClient(c), slack.OptionAppLevelToken(a.o.AppToken)}
	if a.o.APIURL != "" {
		opts = append(opts, slack.OptionAPIURL(strings.TrimRight(a.o.APIURL, "/")+"/"))
	}
	return slack.New(a.o.BotToken, opts...)
}

func def(v *time.Duration, d time.Duration) {
	if *v <= 0 {
		*v = d
	}
}

// transport keeps enough connections for the bot's workers; the default of two
// would open a new one for most replies of a busy minute.
func transport() *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.MaxIdleConnsPerHost = 16
	return t
}

// Platform satisfies bot.Adapter.
func (a *Adapter) Platform() string { return Platform }

// Run takes events until ctx ends. An error that is ErrRefused is told at the
// start; later a refused token is logged and tried again, since an admin may put
// it right while the bot runs.
func (a *Adapter) Run(ctx context.Context, handle Handler) error {
	defer a.http.CloseIdleConnections()
	defer a.aside.Wait()
	if a.o.HTTP {
		return a.serveHTTP(ctx, handle)
	}
	if err := a.introduce(ctx); err != nil {
		return err
	}
	return a.runSockets(ctx, handle)
}

// introduce learns who the bot is, however long Slack cannot be reached.
func (a *Adapter) introduce(ctx context.Context) error {
	for n := 0; ; n++ {
		_, err := a.identity(ctx)
		switch {
		case err == nil:
			return nil
		case ctx.Err() != nil:
			return nil
		case refused(err):
			return fmt.Errorf("%w: the bot token: %w", ErrRefused, clean(err))
		}
		wait := a.o.Pause(n)
		var limited *slack.RateLimitedError
		if errors.As(err, &limited) {
			wait = max(wait, limited.RetryAfter)
		}
		a.log.Warn("slack cannot be reached yet", "after", wait, "error", clean(err))
		if !sleep(ctx, wait) {
			return nil
		}
	}
}

// identity asks once, and remembers.
func (a *Adapter) identity(ctx context.Context) (*identity, error) {
	if me := a.me.Load(); me != nil {
		return me, nil
	}
	a.asking.Lock()
	defer a.asking.Unlock()
	if me := a.me.Load(); me != nil {
		return me, nil
	}
	r, err := a.api.AuthTestContext(ctx)
	if err != nil {
		return nil, err
	}
	me := &identity{user: r.UserID, bot: r.BotID, team: r.TeamID}
	a.me.Store(me)
	return me, nil
}

// take translates a payload and gives it to the bot. nil means that it may be
// acknowledged; a form that was sent is given back, since it is acknowledged with
// what comes of it.
func (a *Adapter) take(ctx context.Context, handle Handler, kind payloadKind, raw []byte) (*bot.Filled, error) {
	ctx, cancel := context.WithTimeout(ctx, a.o.InHand)
	defer cancel()
	me, err := a.identity(ctx)
	if err != nil {
		return nil, fmt.Errorf("learn who the bot is: %w", clean(err))
	}
	in, err := translate(kind, raw, me)
	if err != nil { // sent again it would be no better
		a.log.Warn("something from slack cannot be read", "kind", kind, "error", err)
		return nil, nil
	}
	if in.pane != nil {
		a.greet(in.pane)
	}
	if in.event == nil {
		return in.filled, nil
	}
	return nil, handle(ctx, *in.event)
}

// greet offers questions in an assistant pane that was opened. It is a courtesy:
// it neither delays the acknowledgement nor is it tried again.
func (a *Adapter) greet(p *pane) {
	if a.o.Prompts == nil {
		return
	}
	a.aside.Go(func() {
		ctx, cancel := context.WithTimeout(context.Background(), a.o.Timeout)
		defer cancel()
		params := slack.AssistantThreadsSetSuggestedPromptsParameters{ChannelID: p.channel, ThreadTS: p.thread}
		for _, q := range a.o.Prompts() {
			if q = strings.TrimSpace(q); q != "" && len(params.Prompts) < 4 { // Slack shows four
				params.AddPrompt(cutTo(q, maxLabel), q)
			}
		}
		if len(params.Prompts) == 0 {
			return
		}
		if err := a.api.SetAssistantThreadsSuggestedPromptsContext(ctx, params); err != nil {
			a.log.Debug("no questions could be offered", "error", clean(err))
		}
	})
}

// pause doubles from a tenth of a second to half a minute, with jitter, so that
// the bots of many clubs do not come back in step after an outage.
func pause(n int) time.Duration {
	d := min(100*time.Millisecond<<min(n, 9), 30*time.Second)
	return d + rand.N(d/2)
}

// sleep waits; false where ctx ended first.
func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
		return true
	}
}

var _ bot.Adapter = (*Adapter)(nil)
