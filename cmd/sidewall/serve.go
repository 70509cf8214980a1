package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/bot"
	"sidewall/config"
)

// chat is a platform that serve carries the bot to. Run takes events until ctx
// ends; an error of it is one that trying again does not mend.
type chat interface {
	bot.Adapter
	Run(ctx context.Context, handle func(context.Context, bot.Event) error) error
}

// platform is how a chat comes from the settings.
type platform struct {
	name    string
	begun   func(s *config.Settings) bool     // something of it is set
	missing func(s *config.Settings) []string // the keys that have to be set yet
	open    func(ctx context.Context, s *config.Settings, p parts) (chat, error)
	examine examination // for the doctor, once nothing is missing
}

// parts are what a chat may use of what serve has.
type parts struct {
	log   *slog.Logger
	store bot.Store
	desk  func() bot.Desk
	meter *meter
	// submit takes in a form that was sent.
	submit func(ctx context.Context, f bot.Filled) (bot.Outcome, error)
}

// platforms are the chats that there are.
func platforms() []platform { return []platform{slackPlatform(), matrixPlatform()} }

func serveCommand(a *app) *cobra.Command {
	var verbose bool
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer in chat until it is stopped",
		Long: "Serve answers in the chats whose tokens are set (`sidewall help settings`), and remembers what it has in hand\n" +
			"in the state file. A signal ends it: it finishes what is in hand, and the next start answers the rest.\n" +
			"A Slack app is made from the manifest in config/slack-manifest.yaml; README says how.",
		Example: "  SIDEWALL_SLACK_BOT_TOKEN=xoxb-… SIDEWALL_SLACK_APP_TOKEN=xapp-… sidewall serve\n" +
			"  sidewall serve --config /etc/sidewall/sidewall.yaml",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, err := config.Load(config.Options{File: a.configFile, Flags: cmd.Flags(), Secrets: true})
			if err != nil {
				return usageError{err}
			}
			level := slog.LevelInfo
			if verbose {
				level = slog.LevelDebug
			}
			log := newLog(cmd.ErrOrStderr(), s.Log.Format, level)
			if os.Getenv("GOGC") == "" {
				debug.SetGCPercent(servedGC)
			}
			return serve(cmd.Context(), s, log)
		},
	}
	fl := cmd.Flags()
	fl.BoolVar(&verbose, "debug", false, "log why nothing was answered, too")
	fl.String("date", "", "the day the rules must hold on, as 2027-04-10 (default today)")
	fl.String("lang", "", "the language of the answers, en or es (default: the question's)")
	fl.String("state-path", "", "the file in which the bot remembers")
	return cmd
}

// newLog writes the log's lines in the form of the settings.
func newLog(w io.Writer, format string, level slog.Level) *slog.Logger {
	o := &slog.HandlerOptions{Level: level}
	if format == config.JSONLog {
		return slog.New(slog.NewJSONHandler(w, o))
	}
	return slog.New(slog.NewTextHandler(w, o))
}

// servedGC is for a process that stays: memory is what a small machine has least
// of. The environment's GOGC and GOMEMLIMIT go before it.
const servedGC = 100

// serve runs the bot until ctx ends.
func serve(ctx context.Context, s *config.Settings, log *slog.Logger) error {
	wanted, err := chosen(s)
	if err != nil {
		return err
	}
	l, err := openLive(ctx, s, log)
	if err != nil {
		return err
	}
	defer l.close()
	editor, err := newChatEditor(s, l)
	if err != nil {
		return err
	}
	bound, on, err := bindings(l.edition.Load().Desk, s)
	if err != nil {
		return usageError{err}
	}
	store, release, err := openState(ctx, s.State.Path)
	if err != nil {
		return err
	}
	defer release()

	m := newMeter()
	var b *bot.Bot // made of the chats, which it gets the forms of
	p := parts{log: log, store: store, desk: l.desk, meter: m,
		submit: func(ctx context.Context, f bot.Filled) (bot.Outcome, error) { return b.Submit(ctx, f) }}
	o := bot.Options{
		Desk: p.desk, Store: store, Log: log, Observer: m, Lang: s.Lang, Date: on, Channels: bound,
		Threads: s.Threads, Retention: s.Retention, Rate: bot.Rate(s.Rate),
		Editor: editor, Confirm: s.BookConfirm, AdminChannel: s.AdminChannel, Zone: s.Timezone,
	}
	chats := make([]chat, len(wanted))
	o.Admins = func() []string { return withPower(s.Admins, chats) }
	for i, w := range wanted {
		if chats[i], err = w.open(ctx, s, p); err != nil {
			return fmt.Errorf("set up %s: %w", w.name, err)
		}
		m.addChat(chats[i].Platform())
		o.Adapters = append(o.Adapters, chats[i])
	}
	if b, err = bot.New(o); err != nil {
		return err
	}
	m.look(&looked{desk: p.desk, missed: store.Missed, inHand: b.InHand, now: time.Now, log: log})
	if s.Metrics.Listen != "" {
		end, err := serveHealth(s.Metrics.Listen, healthHandler(m, log), log)
		if err != nil {
			return err
		}
		defer end()
	}
	defer context.AfterFunc(ctx, m.health.stops)()
	// A first question that has to be searched shall not wait for the index.
	var beside sync.WaitGroup
	defer beside.Wait()
	l.told = func(_ *book.Book, wrong error) {
		if wrong == nil {
			m.health.folder("")
			return
		}
		m.health.folder(bot.BookErrors(wrong))
		if err := b.BookBroken(ctx, wrong); err != nil {
			log.Error("the admins could not be told that the book does not load", "error", err)
		}
	}
	watched, unwatch := context.WithCancel(ctx)
	defer unwatch()
	beside.Go(func() { l.watch(watched) })
	beside.Go(func() {
		e := l.take()
		defer e.release()
		if _, err := e.search.open(ctx); err != nil {
			log.Error("the summaries cannot be searched", "error", err)
			m.health.searches("the summaries cannot be searched")
			return
		}
		m.health.searches("")
	})
	return converse(ctx, b, chats, log)
}

// converse runs the bot and its chats. When ctx ends the bot finishes what it has
// in hand while the chats can still carry its answers; then they end.
func converse(ctx context.Context, b *bot.Bot, chats []chat, log *slog.Logger) error {
	ctx, fail := context.WithCancelCause(ctx)
	defer fail(nil)
	// Whoever sends the signal twice does not want to wait.
	unhook := context.AfterFunc(ctx, func() {
		log.Info("stopping: what is in hand is finished first; a second signal ends it at once")
		signal.Reset(os.Interrupt, syscall.SIGTERM)
	})
	defer unhook()

	open, closeChats := context.WithCancel(context.WithoutCancel(ctx))
	defer closeChats()
	var running sync.WaitGroup
	for _, c := range chats {
		running.Go(func() {
			if err := c.Run(open, b.Handle); err != nil {
				fail(fmt.Errorf("%s: %w", c.Platform(), err))
			}
		})
	}
	err := b.Run(ctx)
	closeChats()
	running.Wait()
	if why := context.Cause(ctx); why != nil && !errors.Is(why, context.Canceled) {
		return refusedToken(why)
	}
	if err != nil {
		log.Warn("stopped", "left", err)
		return nil // it is in the state file, and answered by the next start
	}
	log.Info("stopped")
	return nil
}

// chosen are the platforms that are set up; an error says what to set.
func chosen(s *config.Settings) ([]platform, error) {
	var out []platform
	var half, none []string
	for _, p := range platforms() {
		missing := p.missing(s)
		switch {
		case !p.begun(s):
			none = append(none, toSet(p.name, missing))
		case len(missing) > 0:
			half = append(half, toSet(p.name, missing))
		default:
			out = append(out, p)
		}
	}
	hint := "\nREADME says where they come from; `sidewall help settings` lists every setting"
	switch {
	case len(half) > 0:
		return nil, usageError{errors.New("some tokens are missing:" + strings.Join(half, "") + hint)}
	case len(out) == 0:
		return nil, usageError{errors.New("there is no chat to answer in:" + strings.Join(none, "") + hint)}
	}
	return out, nil
}

func toSet(name string, keys []string) string {
	out := "\n  for " + name + " set"
	for i, k := range keys {
		if i > 0 {
			out += " and"
		}
		out += " " + k
		if env := "SIDEWALL_" + strings.ToUpper(strings.ReplaceAll(k, ".", "_")); !strings.Contains(k, " ") {
			out += " (" + env + ")"
		}
	}
	return out
}

// bindings are the channels and the day of the settings, as the book names them.
func bindings(d *answers.Desk, s *config.Settings) ([]bot.Channel, measure.Date, error) {
	q := &asker{Desk: d}
	out := make([]bot.Channel, len(s.Channels))
	for i, c := range s.Channels {
		r, err := q.request(answers.Request{}, c.Division, c.Position, "")
		if err != nil {
			return nil, 0, fmt.Errorf("channels: %s: %w", c.ID, err)
		}
		out[i] = bot.Channel{ID: c.ID, Division: r.Division, Position: r.Position}
	}
	r, err := q.request(answers.Request{}, "", "", s.Date)
	return out, r.On, err
}

// openState opens the state file for this process alone.
func openState(ctx context.Context, path string) (*bot.SQLite, func(), error) {
	failed := func(err error) error {
		hint := "`sidewall doctor` checks all that it needs"
		if todo, why := stateFolder(path); errors.Is(err, errServed) {
			hint = "end that one first, or give this one a file of its own in state.path"
		} else if why != nil { // SQLite's own words are for programmers
			err, hint = why, todo
		}
		return usageError{fmt.Errorf("open the state file %s: %w\n%s", path, err, hint)}
	}
	release, err := holdState(ctx, path)
	if err != nil {
		return nil, nil, failed(err)
	}
	store, err := bot.OpenSQLite(ctx, path, time.Now())
	if err != nil {
		release()
		return nil, nil, failed(err)
	}
	return store, func() {
		_ = store.Close() // every commit is on the disk already
		release()
	}, nil
}
