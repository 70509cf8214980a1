package matrixchat

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/bot"
	"sidewall/config"
)

// folderEditor keeps a book in a folder.
type folderEditor struct {
	*book.Publisher
	serves atomic.Pointer[answers.Desk]
}

func (e *folderEditor) Preview(context.Context, *book.Proposal) (*bot.Preview, error) {
	return &bot.Preview{}, nil
}

func (e *folderEditor) Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	r, err := e.Publisher.Publish(ctx, pr, n)
	if r == nil {
		return nil, err
	}
	return r, e.serve(pr.To)
}

func (e *folderEditor) Begin(context.Context) (string, error) { return "", nil }

func (e *folderEditor) serve(b *book.Book) error {
	d, err := answers.New(b)
	if err == nil {
		e.serves.Store(d)
	}
	return err
}

// newFolderEditor keeps a copy of the shipped book, with one summary so that it
// loads fast.
func newFolderEditor(t *testing.T) *folderEditor {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "book")
	if err := book.New(dir, config.ShippedBook()); err != nil {
		t.Fatal(err)
	}
	all, err := fs.Glob(os.DirFS(dir), "summaries/*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range all {
		if name != "summaries/rain-outs.md" {
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	p, err := book.NewPublisher(dir)
	if err != nil {
		t.Fatal(err)
	}
	b, err := book.LoadDir(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	e := &folderEditor{Publisher: p}
	if err := e.serve(b); err != nil {
		t.Fatal(err)
	}
	return e
}

// TestAdminsKeepTheBook is a value's change by two admins on a real homeserver, one
// of them by the settings and one by the power they have in a room: it is proposed,
// shown, published, and taken back; nobody else may do any of that.
func TestAdminsKeepTheBook(t *testing.T) {
	h := startHomeserver(t)
	ann, ben, mal := h.person("ann").listen(), h.person("ben").listen(), h.person("mal").listen()
	me := h.account("bot").UserID
	board := ben.createRoom(&mautrix.ReqCreateRoom{Name: "Board", Invite: []id.UserID{me, mal.cli.UserID}})
	if _, err := mal.cli.JoinRoomByID(t.Context(), board); err != nil {
		t.Fatal(err)
	}
	e := newFolderEditor(t)
	o := h.options(me)
	o.AdminRoom = string(board)
	startBot(t, t.TempDir(), o, func(o *bot.Options) {
		power := o.Admins
		o.Admins = func() []string { return append(power(), Platform+":"+string(ann.cli.UserID)) }
		o.Editor, o.Desk = e, func() bot.Desk { return e.serves.Load() }
	})
	ben.joined(board, me)
	mal.joined(board, mal.cli.UserID)
	dm := ann.createRoom(&mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{me}})
	ann.joined(dm, me)
	published := func(n int) {
		t.Helper()
		all, err := e.History(t.Context(), 0)
		if err != nil || len(all) != n {
			t.Fatalf("%d publications, %v; want %d", len(all), err, n)
		}
	}
	say := func(text string) *event.Event {
		t.Helper()
		return ann.reply(ann.say(dm, &event.MessageEventContent{Body: text}), me)
	}
	want := func(text string, parts ...string) {
		t.Helper()
		for _, p := range parts {
			if !strings.Contains(text, p) {
				t.Errorf("there is no %q in:\n%s", p, text)
			}
		}
	}
	const (
		value   = "U11 long crosse is 48 to 54 from 2027-03-01, league decision of 12 January"
		asked   = "U11 attack, 47-inch stick?"
		refusal = "Only the club's admins"
	)
	want(body(say(asked)), "Legal")

	// Whoever is no admin.
	want(body(mal.reply(mal.ask(board, me, value), me)), refusal)
	want(body(mal.reply(mal.ask(board, me, "undo"), me)), refusal)

	// One by the settings: words, the draft as text and as HTML, and a tap.
	draft := say(value)
	want(body(draft), "Now: 47–54 in", "New: 48–54 in, from 2027-03-01", "league decision of 12 January", "✅")
	want(draft.Content.AsMessage().FormattedBody, "48–54 in", "✅")
	published(0)
	ann.react(dm, draft.ID, "✅")
	ann.replacing(draft.ID, "Published as revision 1")
	published(1)
	want(body(say(asked)), "Not legal")
	want(body(say("history")), "1 · ", "league decision")

	// One by power: the undo is proposed in the room's thread, where the other may
	// tap as they like, and published by a word.
	q := ben.ask(board, me, "undo")
	undo := ben.reply(q, me)
	want(body(undo), "undo of revision 1", "48–54")
	mal.react(board, undo.ID, "✅")
	want(body(mal.reply(undo.ID, me)), refusal)
	published(1)
	done := ben.reply(ben.say(board, inThread(mention(me, "publish: it was too early"), q)), me)
	want(body(done), "revision 2")
	if c := done.Content.AsMessage(); c.RelatesTo.GetThreadParent() != q {
		t.Errorf("it is told beside the thread: %s", done.Content.VeryRaw)
	}
	all, err := e.History(t.Context(), 0)
	if err != nil || len(all) != 2 || all[0].Undoes != 1 || all[0].Why != "it was too early" || all[0].By != Platform+":"+string(ben.cli.UserID) || all[1].By != Platform+":"+string(ann.cli.UserID) {
		t.Errorf("the history is %+v, %v", all, err)
	}
	want(body(say(asked)), "Legal")
}
