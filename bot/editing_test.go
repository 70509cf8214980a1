package bot

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/config"
)

// testEditor keeps a book in a folder, as the program does; what lint would say
// and which answers would change it makes up from the proposal.
type testEditor struct {
	*book.Publisher
	serves atomic.Pointer[answers.Desk]
	begun  string
	// crash fails the next publication after it stands, as a kill would.
	crash  atomic.Bool
	before func()        // called before a publication
	slow   chan struct{} // previews wait for it to be closed
}

func (e *testEditor) Preview(_ context.Context, pr *book.Proposal) (*Preview, error) {
	if e.slow != nil {
		<-e.slow
	}
	p := &Preview{}
	if strings.Contains(pr.Diff(), "99 in") {
		p.Contradictions = []string{"summaries/sticks-by-age.md:9: the summary says 99 in, the sheet says 37–42 in"}
	}
	if len(pr.Changes()) > 0 {
		p.Answers = []AnswerChange{{"U11 attack, 47-inch stick?", "U11", "Legal", "Not legal"}}
	}
	return p, nil
}

func (e *testEditor) Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	if e.before != nil {
		f := e.before
		e.before = nil
		f()
	}
	r, err := e.Publisher.Publish(ctx, pr, n)
	if r == nil {
		return nil, err
	}
	if e.crash.Swap(false) {
		return nil, errors.New("the machine stops")
	}
	d, err := answers.New(pr.To)
	if err != nil {
		return r, err
	}
	e.serves.Store(d)
	return r, nil
}

func (e *testEditor) Begin(context.Context) (string, error) {
	e.begun = "the-book"
	return e.begun, nil
}

// shippedEditor is what there is while the book in the program serves.
type shippedEditor struct{ testEditor }

func (*shippedEditor) Propose(context.Context, ...book.Change) (*book.Proposal, error) {
	return nil, ErrNoOwnBook
}
func (*shippedEditor) ProposeUndo(context.Context, int) (*book.Proposal, error) {
	return nil, ErrNoOwnBook
}
func (*shippedEditor) History(context.Context, int) ([]*book.Record, error) { return nil, ErrNoOwnBook }

// small is the shipped book with few summaries, which loads fast.
func smallBook(t testing.TB) string {
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
		switch name {
		case "summaries/sticks-by-age.md", "summaries/crease.md", "summaries/rain-outs.md":
			continue
		}
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func newTestEditor(t testing.TB, now func() time.Time) *testEditor {
	t.Helper()
	dir := smallBook(t)
	p, err := book.NewPublisher(dir, book.WithNow(now))
	if err != nil {
		t.Fatal(err)
	}
	e := &testEditor{Publisher: p}
	e.load(t)
	return e
}

func (e *testEditor) load(t testing.TB) {
	t.Helper()
	b, err := book.LoadDir(context.Background(), e.Dir())
	if err != nil {
		t.Fatal(err)
	}
	d, err := answers.New(b)
	if err != nil {
		t.Fatal(err)
	}
	e.serves.Store(d)
}

// editRig is a rig whose book can be changed.
type editRig struct {
	*rig
	editor *testEditor
}

func editing(t *testing.T, change func(o *Options), f func(t *testing.T, r *editRig)) {
	t.Helper()
	testDesk(t)
	synctest.Test(t, func(t *testing.T) {
		e := newTestEditor(t, time.Now)
		r := newRig(t, func(o *Options) {
			o.Editor, o.Desk = e, func() Desk { return e.serves.Load() }
			o.Admins = func() []string { return []string{"boss", "fake:deputy"} }
			if change != nil {
				change(o)
			}
		})
		defer r.close()
		f(t, &editRig{r, e})
	})
}

// say writes to the bot alone.
func (r *editRig) say(who, text string) *Reply {
	r.t.Helper()
	n := r.posted()
	r.do(Event{Text: text, Person: who, Direct: true, Channel: "D-" + who[:1]})
	r.want(n+1, text)
	return r.last()
}

// press presses a control of a reply, and gives what stands in its place or what
// was posted.
func (r *editRig) press(who string, on *Reply, begins string) *Reply {
	r.t.Helper()
	for _, c := range on.Controls {
		if strings.HasPrefix(c.ID, begins) {
			n := r.posted()
			r.do(Event{Kind: Pressed, Person: who, Channel: on.Where.Channel, Direct: on.Event.Direct, Control: c.ID, Of: on.Key})
			if r.posted() > n {
				return r.last()
			}
			for _, p := range r.chat.posts {
				if p.reply.Key == on.Key {
					return p.reply
				}
			}
			r.t.Fatalf("nothing came of %s", c.ID)
		}
	}
	r.t.Fatalf("there is no control %s in %+v", begins, on.Controls)
	return nil
}

func (r *editRig) wantText(a *Reply, parts ...string) {
	r.t.Helper()
	text := textOf(a)
	for _, p := range parts {
		if !strings.Contains(text, p) {
			r.t.Errorf("there is no %q in:\n%s", p, text)
		}
	}
}

func (r *editRig) published(n int) []*book.Record {
	r.t.Helper()
	rs, err := r.editor.History(r.t.Context(), 0)
	if err != nil {
		r.t.Fatal(err)
	}
	if len(rs) != n {
		r.t.Fatalf("%d publications, want %d", len(rs), n)
	}
	return rs
}

func TestAnAdminFixesASummary(t *testing.T) {
	for lang, said := range map[string][2]string{
		"en": {"in rain outs replace «coach» with «head coach»", "publish: it was unclear"},
		"es": {"en rain-outs reemplaza “coach” por “head coach”", "publica porque it was unclear"},
	} {
		editing(t, nil, func(t *testing.T, r *editRig) {
			s := summary(r.bot.o.Desk().Book(), "rain-outs")
			old := regexp.MustCompile(`[a-z]+ [a-z]+ [a-z]+ [a-z]+`).FindString(s.Body)
			a := r.say("boss", strings.Replace(said[0], "coach", old, 1))
			r.wantText(a, "rain-outs", "− ", "+ ", "head coach")
			if a.Lang != lang {
				t.Errorf("it speaks %s", a.Lang)
			}
			r.published(0)
			r.wantText(r.say("boss", said[1]), "1")
			rs := r.published(1)
			if rs[0].By != "fake:boss" || rs[0].Why != "it was unclear" {
				t.Errorf("%+v", rs[0])
			}
			if now := summary(r.bot.o.Desk().Book(), "rain-outs").Body; !strings.Contains(now, "head coach") {
				t.Errorf("it serves %q", now)
			}
		})
	}
}

func TestAnAdminChangesAValue(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		a := r.say("boss", "U11 long crosse is 48 to 54 from 2027-03-01, league decision of 12 January")
		r.wantText(a, "Value: ", "U11 (field players)", "Now: 47–54 in", "New: 48–54 in, from 2027-03-01", "league decision of 12 January", "U11 attack, 47-inch stick?", "Legal → Not legal")
		b := r.press("boss", a, "publish:")
		r.wantText(b, "Published as revision 1")
		if len(r.chat.posts) != 1 {
			t.Errorf("%d posts: the draft should change in its place", len(r.chat.posts))
		}
		r.wantText(r.say("boss", "history"), "1 · ", "fake:boss", "league decision")
		u := r.say("boss", "undo")
		r.wantText(u, "undo of revision 1", "48–54")
		r.wantText(r.press("boss", u, "publish:"), "revision 2")
		if rs := r.published(2); rs[0].Undoes != 1 {
			t.Errorf("%+v", rs[0])
		}
	})
}

func TestWhatIsWrongIsTold(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		for text, want := range map[string]string{
			"U11 long crosse is 54 to 47 from 2027-03-01, league decision": "bounds are swapped",
			"U11 long crosse is 47 to 54 from 2027-02-30, league decision": "no day 2027-02-30",
			"U17 long crosse is 47 to 54 from 2027-03-01, league decision": `no division "U17"`,
			"U11 long crosse is 47 to 54 from 2027-03-01":                  "who decided",
			"set U11 flux capacitor to 3 from 2027-03-01":                  "what",
			"change sticks by age: " + strings.Repeat("long ", 5<<20/5):    "too long",
			"change sticks by age: all \uFFFD\uFFFD bad":                   "no readable text",
			"change sticks by age:   ":                                     "no text",
			"change summary stick by ages: new words":                      "Did you mean sticks-by-age",
			"in sticks by age replace «no such words» with «x»":            "does not say",
			"new summary Crease: words":                                    "has a summary crease already",
			"new summary ###: words":                                       "letters or digits",
			"undo":                                                         "cannot be undone",
			"publish":                                                      "no change that waits",
			"publish abcdef":                                               "no change abcdef",
			"new summary":                                                  "a title, a colon and the text",
			"history":                                                      "Nothing was published",
			"list summaries about zebras":                                  "No summary is about zebras",
			"in sticks by age replace «a» with «b»":                        "times",
		} {
			if got := textOf(r.say("boss", text)); !strings.Contains(strings.ToLower(got), strings.ToLower(want)) {
				t.Errorf("%.60q: no %q in %q", text, want, got)
			}
		}
		r.published(0)
	})
}

func TestOnlyAdminsMay(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		for _, text := range []string{"list summaries", "change sticks by age: the secret words", "in crease replace «the» with «a»", "new summary Rain: words", "delete summary crease",
			"U11 long crosse is 48 to 54 from 2027-03-01, league decision of 12 January", "publish", "undo", "open questions", "add admin @somebody", "remove admin boss"} {
			if a := r.say("zoltan", text); !strings.Contains(a.Headline, "Only the club's admins") {
				t.Errorf("%q: %s", text, textOf(a))
			}
		}
		if n := strings.Count(r.log.String(), "level=WARN msg=refused"); n != 11 {
			t.Errorf("%d refusals are logged", n)
		}
		if strings.Contains(r.log.String(), "secret words") || strings.Contains(r.log.String(), "zoltan") {
			t.Error("the log tells words or people")
		}
		// The same words may be questions.
		for _, text := range []string{"change of possession: who gets the ball?", "show me the sticks for U11", "history", "U11 stick is 45 inches since 2026?", "show crease"} {
			if a := r.say("ann", text); strings.Contains(a.Headline, "Only the club's admins") {
				t.Errorf("%q is refused", text)
			}
		}
		r.published(0)
	})
}

func TestARevokedAdminsDraftIsDropped(t *testing.T) {
	admins := []string{"boss", "deputy"}
	editing(t, func(o *Options) { o.Admins = func() []string { return admins } }, func(t *testing.T, r *editRig) {
		a := r.say("deputy", "change rain outs: ## All\n\nNew words.")
		admins = []string{"boss"}
		if b := r.press("deputy", a, "publish:"); !strings.Contains(b.Headline, "Only the club's admins") {
			t.Errorf("%s", textOf(b))
		}
		r.wantText(r.press("boss", a, "publish:"), "no admin any more")
		r.published(0)

		// Named in chat, and dropped there again.
		r.say("boss", "add admin fake:carol")
		c := r.say("carol", "change rain outs: ## All\n\nOther words.")
		r.wantText(c, "Not published yet")
		r.close()
		r.open()
		r.wantText(r.say("carol", "my changes"), "1 of your changes")
		r.wantText(r.say("boss", "remove admin boss"), "by the settings")
		r.wantText(r.say("boss", "remove admin carol"), "keep the book no more")
		r.wantText(r.press("boss", c, "publish:"), "no change")
		if d := r.say("carol", "undo"); !strings.Contains(d.Headline, "Only the club's admins") {
			t.Errorf("%s", textOf(d))
		}
		r.published(0)
		if raw, _ := r.store.Value(t.Context(), namedAdminsName); strings.Contains(string(raw), "carol") {
			t.Error("the store names an admin")
		}
	})
}

func TestAMentionedPersonBecomesAnAdmin(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		r.do(Event{Text: Me + " add admin " + Somebody, Person: "boss", People: []string{"carol"}})
		r.wantText(r.last(), "keep the book too")
		r.wantText(r.say("carol", "list summaries"), "3 summaries", "sticks-by-age")
		if _, err := r.bot.Forget(t.Context(), "carol"); err != nil {
			t.Fatal(err)
		}
		if a := r.say("carol", "list summaries"); !strings.Contains(a.Headline, "Only the club's admins") {
			t.Errorf("a forgotten admin is one still: %s", textOf(a))
		}
	})
}

func TestTwoAdminsPublishAtOnce(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		one := r.say("boss", "change rain outs: ## All\n\nFirst words.")
		two := r.say("deputy", "change rain outs: ## All\n\nSecond words.")
		other := r.say("deputy", "change crease: ## All\n\nThe crease is round.")
		r.wantText(r.press("boss", one, "publish:"), "revision 1")
		told := r.press("deputy", two, "publish:")
		r.wantText(told, "fake:boss has published revision 1 meanwhile", "Second words", "First words")
		r.wantText(r.press("deputy", other, "publish:"), "meanwhile", "The crease is round")
		r.published(1)
		r.wantText(r.press("deputy", other, "publish:"), "revision 2")
		r.wantText(r.press("deputy", two, "publish:"), "meanwhile")
		r.wantText(r.press("deputy", two, "publish:"), "revision 3")
		rs := r.published(3)
		if b := *rs[0].Files[0].Before; !strings.Contains(b, "First words") {
			t.Errorf("what was published first is lost: %s", b)
		}
		// At the very last moment.
		third := r.say("boss", "change rain outs: ## All\n\nThird words.")
		r.editor.before = func() {
			if err := os.WriteFile(filepath.Join(r.editor.Dir(), "summaries", "crease.md"), []byte("---\nid: crease\ntitle: Crease\nowner: x\nreviewed: 2026-01-01\n---\n\nBy hand.\n"), 0o600); err != nil {
				t.Error(err)
			}
		}
		r.wantText(r.press("boss", third, "publish:"), "Not published", "edited the book's folder")
		r.published(3)
	})
}

func TestPublishingSurvivesACrash(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		a := r.say("boss", "change rain outs: ## All\n\nNew words.")
		r.editor.crash.Store(true)
		r.press("boss", a, "publish:") // it stands, and nobody knows
		r.published(1)
		r.close()
		r.open()
		r.editor.load(t)
		r.wantText(r.press("boss", a, "publish:"), "Published as revision 1")
		r.published(1)
		r.wantText(r.press("boss", a, "publish:"), "published already")
	})
}

func TestASecondAdminHasToAgree(t *testing.T) {
	editing(t, func(o *Options) { o.Confirm, o.AdminChannel = 2, "fake:C-admins" }, func(t *testing.T, r *editRig) {
		a := r.say("boss", "change rain outs: ## All\n\nNew words.")
		r.press("boss", a, "publish:")
		r.published(0)
		said := r.last()
		if said.Where.Channel != "C-admins" || said.Private {
			t.Fatalf("the admins' channel was told nothing: %+v", said)
		}
		r.wantText(said, "New words", "1 of 2")
		r.press("boss", said, "publish:") // the same one twice is one
		r.published(0)
		if _, err := r.bot.Forget(t.Context(), "boss"); err != nil { // and is an admin by the settings still
			t.Fatal(err)
		}
		if raw, err := r.store.Value(t.Context(), draftsName); err != nil || strings.Contains(string(raw), "boss") {
			t.Errorf("a forgotten admin stands in %s, %v", raw, err)
		}
		a = r.say("boss", "change rain outs: ## All\n\nNewer words.")
		r.press("boss", a, "publish:")
		said = r.last()
		r.wantText(r.press("deputy", said, "publish:"), "revision 1")
		if rs := r.published(1); rs[0].By != "fake:boss, fake:deputy" {
			t.Errorf("%+v", rs[0].By)
		}
	})
}

func TestTheShippedBookIsNotChanged(t *testing.T) {
	inBubble(t, func(o *Options) { o.Editor = &shippedEditor{} }, func(t *testing.T, r *rig) {
		e := &editRig{r, nil}
		for _, text := range []string{"change rain outs: new", "undo", "history", "U11 long crosse is 48 to 54 from 2027-03-01, league decision"} {
			a := e.say("boss", text)
			e.wantText(a, "cannot be changed", "sidewall book new")
			if text == "undo" {
				e.wantText(e.press("boss", a, "begin:"), "the-book", "restart")
			}
		}
	})
}

func TestWhatChangedThisYear(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		for text, want := range map[string]string{
			"what changed for U9 this year?":            "What changed for U9 in season 2027",
			"¿qué cambió para los sub 11 este año?":     "U11",
			"what changed this year?":                   "For which division?",
			"what has changed for under 13 this season": "U13",
		} {
			a := r.say("ann", text)
			r.wantText(a, want)
			if !strings.Contains(want, "which") && a.Caution == "" {
				t.Errorf("%q: no caution", text)
			}
			if len(a.Lines) > 3 {
				t.Errorf("%q: %d lines", text, len(a.Lines))
			}
		}
		r.say("ann", "my team is U9")
		a := r.say("ann", "what changed this year?")
		r.wantText(a, "U9")
		if a = r.say("ann", "what changed about the goalie's helmet this year?"); strings.Contains(a.Headline, "season") {
			t.Errorf("a question was taken for a report: %s", textOf(a))
		}
	})
}

func TestOpenQuestions(t *testing.T) {
	editing(t, func(o *Options) { o.AdminChannel = "C-admins" }, func(t *testing.T, r *editRig) {
		r.wantText(r.say("boss", "open questions"), "No open questions")
		if err := r.bot.weekly(t.Context()); err != nil {
			t.Fatal(err)
		}
		for i, q := range []string{"does Wendelin have zebras?", "are zebras ok", "tell me about quantum gravity"} {
			r.say([]string{"ann", "bob", "cyd"}[i], q)
		}
		a := r.say("boss", "open questions")
		r.wantText(a, "3 open questions in 30 days", "2× “", "1× “")
		if strings.Contains(textOf(a), "Wendelin") {
			t.Error("a name is told")
		}
		r.wantText(r.press("boss", a, "ask:"), "new summary", "zebras")
		r.wantText(r.say("boss", "draft 2"), "new summary", "quantum")
		r.wantText(r.say("boss", "draft 9"), "too old")
		n := r.posted()
		for range 3 { // once a week, however often it is looked at
			if err := r.bot.weekly(t.Context()); err != nil {
				t.Fatal(err)
			}
			synctest.Wait()
		}
		r.want(n+1, "the week's report")
		if at := r.last().Where; at.Channel != "C-admins" || at.Thread != "" {
			t.Errorf("it stands in %+v", at)
		}
		time.Sleep(7 * 24 * time.Hour)
		r.say("ann", "are zebras ok")
		n = r.posted()
		if err := r.bot.weekly(t.Context()); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		r.want(n+1, "the next week's report")
		if err := r.bot.BookBroken(t.Context(), errors.New("sheet/foul.yaml:3:1: what is wrong")); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		r.wantText(r.last(), "last good book", "sheet/foul.yaml:3:1")
	})
}

func TestAnEditedMessageProposesAnew(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		r.say("boss", "change rain outs: ## All\n\nFirst words, see https://example.org/.")
		first := r.last()
		asked := first.Event
		r.do(Event{Kind: Edited, Message: asked.Message, Text: asked.Text, Person: "boss", Direct: true, Channel: asked.Channel})
		if h := r.chat.posts[0].history; len(h) != 0 {
			t.Errorf("an unfolded link made %d changes", len(h))
		}
		r.do(Event{Kind: Edited, Message: asked.Message, Text: "change rain outs: ## All\n\nSecond words.", Person: "boss", Direct: true, Channel: asked.Channel})
		p := r.chat.posts[0]
		if len(p.history) != 1 {
			t.Fatalf("%d changes", len(p.history))
		}
		r.wantText(p.reply, "Second words")
		r.wantText(r.press("boss", first, "publish:"), "cancelled already")
		r.wantText(r.say("boss", "my changes"), "1 of your changes")
		r.wantText(r.say("boss", "publish"), "revision 1")
	})
}

func TestAFormIsNotWaitedForForLong(t *testing.T) {
	editing(t, nil, func(t *testing.T, r *editRig) {
		slow := make(chan struct{})
		r.editor.slow = slow
		s := summary(r.bot.o.Desk().Book(), "rain-outs")
		f := summaryForm(s, "", editWordsOf("en"))
		in := Filled{Event: Event{ID: "f1", Platform: "fake", Person: "boss"}, Form: f.ID, Keep: f.Keep, Fields: map[string]string{"s0": "## All\n\nNew words."}}
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
		defer cancel()
		out, err := r.bot.Submit(ctx, in)
		if err != nil || !strings.Contains(out.Wrong["s0"], "my changes") {
			t.Fatalf("%+v, %v", out, err)
		}
		close(slow)
		synctest.Wait()
		r.wantText(r.say("boss", "my changes"), "1 of your changes")
		for name, change := range map[string]func(f *Filled){
			"somebody else":   func(f *Filled) { f.Event.Person = "ann" },
			"a form of none":  func(f *Filled) { f.Keep = "{" },
			"an unknown form": func(f *Filled) { f.Form = "x" },
			"too long":        func(f *Filled) { f.Fields = map[string]string{"s0": strings.Repeat("x", 3001)} },
			"an old one":      func(f *Filled) { f.Keep = kept{Summary: "rain-outs", Hash: "0"}.String() },
		} {
			bad := in
			bad.Event.ID = name
			change(&bad)
			out, err := r.bot.Submit(t.Context(), bad)
			if out.View != nil && out.View.Form != nil {
				t.Errorf("%s: it can be published: %+v, %v", name, out, err)
			}
		}
		out, err = r.bot.Submit(t.Context(), Filled{Event: Event{ID: "f2", Platform: "fake", Person: "boss"}, Form: formPublish, Fields: map[string]string{"why": "it rains"},
			Keep: kept{Draft: draftID(submitted(in).Key()), Channel: "D-b", Direct: true}.String()})
		if err != nil || out.Wrong != nil || out.View != nil {
			t.Fatalf("%+v, %v", out, err)
		}
		synctest.Wait()
		r.wantText(r.last(), "Published as revision 1: it rains")
	})
}

func TestReadEdit(t *testing.T) {
	bk := testDesk(t).Book()
	for text, want := range map[string]edit{
		"list summaries":                      {kind: editList},
		"Show me the summaries about sticks.": {kind: editList, name: "sticks"},
		"lista de resúmenes sobre palos":      {kind: editList, name: "palos"},
		"show sticks by age":                  {kind: editShow, name: "sticks by age"},
		"open the summary Rain outs":          {kind: editShow, name: "Rain outs"},
		"edita el resumen crease":             {kind: editOpen, name: "crease"},
		"change crease:\n## A\n\n*b*: c":      {kind: editText, name: "crease", text: "## A\n\n*b*: c"},
		`In crease replace "9 ft" with "10"`:  {kind: editReplace, name: "crease", old: "9 ft", text: "10"},
		"publish #3fa2b1 because it is so":    {kind: editPublish, name: "3fa2b1", why: "it is so"},
		"publícalo":                           {kind: editPublish},
		"cancel it":                           {kind: editCancel},
		"undo revision 12":                    {kind: editUndo, number: 12},
		"new summary Rain gear: text\nmore":   {kind: editNew, name: "Rain gear", text: "text\nmore"},
		"remove admin U0123.":                 {kind: editDropAdmin, name: "U0123"},
		"what's new for U11 this season?":     {kind: editChanges, name: "U11"},
		"¿Qué hay de nuevo para U9?":          {kind: editChanges, name: "U9"},
		"preguntas abiertas":                  {kind: editQuestions},
		"draft 2":                             {kind: editAnswer, number: 2},
		"set U11 x to 3 from 2027":            {kind: editValue, text: "U11 x to 3 from 2027"},

		"change of possession: who gets it?":     {},
		"show me a legal stick":                  {},
		"can we change the goalie":               {},
		"publishing rules":                       {},
		"what is new about helmets":              {},
		"U11 long crosse is 47 to 54 from 2027?": {},
		"my son was born in 2015, is he U11":     {},
		"undoing a mistake":                      {},
		"what are the changes":                   {},
	} {
		got := edit{}
		if e := readEdit(bk, text); e != nil {
			got = *e
		}
		if want.summary = got.summary; got.kind == editShow || got.kind == editText || got.kind == editReplace || got.kind == editOpen {
			if got.summary == nil {
				t.Errorf("%q means no summary", text)
			}
		}
		got.lang, got.question, want.lang = "", false, ""
		if got != want {
			t.Errorf("%q:\n got %+v\nwant %+v", text, got, want)
		}
	}
}

func FuzzReadEdit(f *testing.F) {
	bk := testDesk(f).Book()
	for _, s := range []string{"change crease: x", "in a replace «b» with «c»", "U11 long crosse is 47 to 54 from 2027-03-01, club", "\xff", "publish #"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		e := readEdit(bk, s)
		if e != nil && e.kind == editReplace && e.old == "" {
			t.Errorf("%q replaces nothing", s)
		}
		slug(s)
		findSummary(bk, s)
	})
}

func TestEditWordsAreWholeInBothLanguages(t *testing.T) {
	en, es := reflect.ValueOf(*allEditWords["en"]), reflect.ValueOf(*allEditWords["es"])
	for i := range en.NumField() {
		name, a, b := en.Type().Field(i).Name, en.Field(i).String(), es.Field(i).String()
		if a == "" || b == "" {
			t.Errorf("%s is empty in a language", name)
		}
		verbs := regexp.MustCompile(`%[sd]`)
		if x, y := verbs.FindAllString(a, -1), verbs.FindAllString(b, -1); !reflect.DeepEqual(x, y) {
			t.Errorf("%s has other places in the other language: %q, %q", name, a, b)
		}
	}
}

func TestASummaryIsPutTogetherAgain(t *testing.T) {
	bk := testDesk(t).Book()
	for _, s := range bk.Summaries {
		fields := map[string]string{}
		f := summaryForm(s, "", editWordsOf("en"))
		if f == nil {
			t.Errorf("%s has no form", s.ID)
			continue
		}
		for _, x := range f.Fields {
			fields[x.ID] = strings.ReplaceAll(x.Value, "\n", "\r\n")
		}
		if got := body(s, fields); got != s.Body {
			t.Fatalf("%s:\n got %q\nwant %q", s.ID, got, s.Body)
		}
		fields["add"] = "## More\n\nWords."
		if got := body(s, fields); got != strings.TrimRight(s.Body, "\n")+"\n\n## More\n\nWords.\n" {
			t.Errorf("%s with a section more: %q", s.ID, got)
		}
	}
}

// submitted is the event that a form becomes.
func submitted(f Filled) *Event {
	e := f.Event
	e.Kind = Pressed
	return &e
}

var _ Editor = (*testEditor)(nil)
