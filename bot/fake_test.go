package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

func TestMain(m *testing.M) {
	if childMain() {
		return
	}
	goleak.VerifyTestMain(m)
}

var shippedDesk = sync.OnceValues(func() (*answers.Desk, error) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		return nil, err
	}
	return answers.New(b)
})

func testDesk(t testing.TB) *answers.Desk {
	t.Helper()
	d, err := shippedDesk()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

var gameDay, _ = measure.ParseDate("2027-04-10")

// fakeChat is a platform: it keeps what stands where, and fails as it is told.
type fakeChat struct {
	mu      sync.Mutex
	posts   []*post
	views   []*View
	removed []Ref
	finds   int
	sends   int
	numbers bool
	worked  []Where
	// before and after are asked around each Send: an error fails it
	before, after func(n int, r *Reply) (Again, error)
	update        func(n int, r *Reply) (Again, error)
}

type post struct {
	ref     Ref
	reply   *Reply
	history []*Reply // what stood there before
	gone    bool
}

func (f *fakeChat) Platform() string     { return "fake" }
func (f *fakeChat) NumbersChoices() bool { return f.numbers }
func (f *fakeChat) Working(w Where) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.worked = append(f.worked, w)
}

func (f *fakeChat) Send(ctx context.Context, r *Reply) (Ref, Again, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.sends++
	n := f.sends
	if f.before != nil {
		if again, err := f.before(n, r); err != nil {
			return Ref{}, again, err
		}
	}
	ref := Ref{Channel: r.Where.Channel, Message: fmt.Sprintf("bot-%d", len(f.posts)+1)}
	f.posts = append(f.posts, &post{ref: ref, reply: r})
	if f.after != nil {
		if again, err := f.after(n, r); err != nil {
			return Ref{}, again, err
		}
	}
	return ref, Again{}, nil
}

// set changes how the platform behaves, while it may be in use.
func (f *fakeChat) set(change func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	change()
}

func (f *fakeChat) at(ref Ref) *post {
	for _, p := range f.posts {
		if p.ref == ref && !p.gone {
			return p
		}
	}
	return nil
}

func (f *fakeChat) Update(ctx context.Context, at Ref, r *Reply) (Again, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	p := f.at(at)
	if p == nil {
		return Again{}, errors.New("no such message")
	}
	if f.update != nil {
		if again, err := f.update(len(p.history)+1, r); err != nil {
			return again, err
		}
	}
	p.history, p.reply = append(p.history, p.reply), r
	return Again{}, nil
}

func (f *fakeChat) Remove(ctx context.Context, at Ref) (Again, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.removed = append(f.removed, at)
	if p := f.at(at); p != nil {
		p.gone = true
	}
	return Again{}, nil
}

func (f *fakeChat) Find(ctx context.Context, w Where, key string) (Ref, bool, Again, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.finds++
	for _, p := range f.posts {
		if p.reply.Key == key && p.reply.Where.Channel == w.Channel && !p.gone {
			return p.ref, true, Again{}, nil
		}
	}
	return Ref{}, false, Again{}, nil
}

func (f *fakeChat) Show(ctx context.Context, v *View) (Again, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.views = append(f.views, v)
	return Again{}, nil
}

// standing is what one sees, each reply as one text.
func (f *fakeChat) standing() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	var out []string
	for _, p := range f.posts {
		if !p.gone {
			out = append(out, textOf(p.reply))
		}
	}
	return out
}

func textOf(r *Reply) string {
	lines := []string{r.Headline}
	for _, l := range r.Lines {
		lines = append(lines, l.Text)
	}
	if r.Caution != "" {
		lines = append(lines, r.Caution)
	}
	return strings.Join(lines, "\n")
}

// rig is a bot with a fake platform and a state file.
type rig struct {
	t     testing.TB
	chat  *fakeChat
	store Store
	bot   *Bot
	path  string
	log   bytes.Buffer
	n     int
	o     Options
}

// newRig must be called inside a synctest bubble: there time passes only when
// everybody waits.
func newRig(t testing.TB, change func(o *Options)) *rig {
	t.Helper()
	r := &rig{t: t, chat: &fakeChat{}, path: filepath.Join(t.TempDir(), "state.db")}
	d := testDesk(t)
	r.o = Options{Desk: func() Desk { return d }, Adapters: []Adapter{r.chat}, Date: gameDay, Admins: func() []string { return []string{"boss"} }}
	r.o.Log = slog.New(slog.NewTextHandler(&r.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	if change != nil {
		change(&r.o)
	}
	r.open()
	return r
}

func (r *rig) open() {
	r.t.Helper()
	s, err := OpenSQLite(r.t.Context(), r.path, time.Now())
	if err != nil {
		r.t.Fatal(err)
	}
	r.store = s
	r.start(s)
}

// start makes a bot on a store and lets its workers run.
func (r *rig) start(s Store) {
	r.t.Helper()
	r.o.Store = s
	b, err := New(r.o)
	if err != nil {
		r.t.Fatal(err)
	}
	r.bot = b
	b.lanes.start(b.o.Workers)
}

func (r *rig) close() {
	r.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	cancel() // what waits stays in the store
	_ = r.bot.Close(ctx)
	if err := r.store.Close(); err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) handle(e Event) {
	r.t.Helper()
	if err := r.bot.Handle(r.t.Context(), e); err != nil {
		r.t.Fatal(err)
	}
	synctest.Wait()
}

// event fills in what a test does not care for.
func (r *rig) event(e Event) Event {
	r.n++
	if e.ID == "" {
		e.ID = fmt.Sprintf("ev%d", r.n)
	}
	if e.Kind == "" {
		e.Kind = Message
	}
	if e.Kind == Message && e.Message == "" {
		e.Message = fmt.Sprintf("m%d", r.n)
	}
	e.Platform = "fake"
	if e.Channel == "" {
		e.Channel = "C1"
	}
	if e.Person == "" {
		e.Person = "ann"
	}
	e.Mentioned = e.Mentioned || strings.Contains(e.Text, Me)
	return e
}

func (r *rig) do(e Event) Event {
	r.t.Helper()
	e = r.event(e)
	r.handle(e)
	return e
}

// ask asks in a channel, and gives the event.
func (r *rig) ask(text string) Event { return r.do(Event{Text: Me + " " + text}) }

// last is what was posted last.
func (r *rig) last() *Reply {
	r.t.Helper()
	r.chat.mu.Lock()
	defer r.chat.mu.Unlock()
	if len(r.chat.posts) == 0 {
		r.t.Fatal("nothing was posted")
	}
	return r.chat.posts[len(r.chat.posts)-1].reply
}

func (r *rig) posted() int {
	r.chat.mu.Lock()
	defer r.chat.mu.Unlock()
	return len(r.chat.posts)
}

func (r *rig) want(n int, why string) {
	r.t.Helper()
	if got := r.posted(); got != n {
		r.t.Fatalf("%s: %d replies were posted, want %d:\n%s", why, got, n, strings.Join(r.chat.standing(), "\n--\n"))
	}
}

// inBubble runs a test with a rig where time is the test's own.
func inBubble(t *testing.T, change func(o *Options), f func(t *testing.T, r *rig)) {
	t.Helper()
	testDesk(t) // outside, so that it can be shared
	synctest.Test(t, func(t *testing.T) {
		r := newRig(t, change)
		defer r.close()
		f(t, r)
	})
}

// oddDesk wraps a desk so that some questions go wrong.
type oddDesk struct {
	Desk
	ask func(ctx context.Context, req answers.Request) error
}

func (d oddDesk) Ask(ctx context.Context, req answers.Request, th *answers.Thread) (*answer.Answer, error) {
	if err := d.ask(ctx, req); err != nil {
		return nil, err
	}
	return d.Desk.Ask(ctx, req, th)
}
