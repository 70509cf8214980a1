package slackchat

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/bot"
	"sidewall/bot/slackchat/fakeslack"
	"sidewall/config"
)

// folderEditor keeps a book in a folder; what lint would say it makes up.
type folderEditor struct {
	*book.Publisher
	serves atomic.Pointer[answers.Desk]
	found  []string
}

func (e *folderEditor) Preview(context.Context, *book.Proposal) (*bot.Preview, error) {
	return &bot.Preview{Contradictions: e.found}, nil
}

func (e *folderEditor) Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error) {
	r, err := e.Publisher.Publish(ctx, pr, n)
	if r == nil {
		return nil, err
	}
	return r, e.serve(pr.To)
}

func (e *folderEditor) serve(b *book.Book) error {
	d, err := answers.New(b)
	if err == nil {
		e.serves.Store(d)
	}
	return err
}

func (e *folderEditor) Begin(context.Context) (string, error) { return "", nil }

// editRig is a rig whose book can be changed, over both ways in.
func editRig(t *testing.T, http bool) (*rig, *folderEditor) {
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
		if name != "summaries/rain-outs.md" && name != "summaries/crease.md" {
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
	r := newRig(t, http, change{bot: func(o *bot.Options) {
		o.Editor, o.Desk = e, func() bot.Desk { return e.serves.Load() }
		o.Admins = func() []string { return []string{"slack:U1"} }
	}})
	return r, e
}

// fields are a modal's texts as they stand, with some of them changed.
func fields(change map[string]string) map[string]map[string]any {
	out := map[string]map[string]any{}
	for id, text := range change {
		out[id] = map[string]any{"text": map[string]any{"type": "plain_text_input", "value": text}}
	}
	return out
}

// opened waits for the n-th modal.
func (r *rig) opened(n int) fakeslack.View {
	r.t.Helper()
	r.wait("a modal", func() bool { return len(r.slack.Views()) >= n })
	return r.slack.Views()[n-1]
}

// submitted sends a modal and waits until Slack has the bot's answer to it.
func (r *rig) submitted(v fakeslack.View, change map[string]string) fakeslack.Delivery {
	r.t.Helper()
	id, err := r.slack.SubmitView("U1", v.ID, fields(change))
	if err != nil {
		r.t.Fatal(err)
	}
	var d fakeslack.Delivery
	r.wait("the answer to a form", func() bool {
		for _, x := range r.slack.Deliveries() {
			if x.ID == id && x.Acked {
				d = x
				return true
			}
		}
		return false
	})
	return d
}

func TestASummaryIsEditedInAModal(t *testing.T) {
	for _, m := range modes {
		t.Run(m.name, func(t *testing.T) {
			r, e := editRig(t, m.http)
			e.found = []string{"summaries/crease.md:12: the summary says 10 ft, the sheet says 9 ft"}
			r.said = append(r.said, "edit crease")
			r.slack.Command("U1", "C1", "/sidewall", "edit crease")
			v := r.opened(1)
			if v.Type != "modal" || v.CallbackID != "summary" || !strings.Contains(string(v.Raw), "radius is 9 ft") {
				t.Fatalf("the form is %s", v.Raw)
			}
			d := r.submitted(v, map[string]string{"s0": "bad \uFFFD words"})
			if !strings.Contains(string(d.Answer), `"errors"`) || !strings.Contains(string(d.Answer), "no readable text") {
				t.Errorf("bad text got %s", d.Answer)
			}
			words := "## What it is\n\nThe radius is 10 ft. <!channel> [click](https://example.org/x) @here"
			r.submitted(v, map[string]string{"s0": words, "add": "## More\n\n" + strings.Repeat("It is so. ", 290)})
			v = r.slack.Views()[0]
			if v.CallbackID != "publish" || !strings.Contains(v.Plain(), "the sheet says 9 ft") || strings.Contains(v.Plain(), "<!channel>") {
				t.Fatalf("the difference is %s", v.Plain())
			}
			if strings.Index(v.Plain(), "the sheet says 9 ft") > strings.Index(v.Plain(), "10 ft. ") {
				t.Error("the contradiction does not stand first")
			}
			rs, err := e.History(t.Context(), 0)
			if err != nil || len(rs) != 0 {
				t.Fatalf("%d publications, %v", len(rs), err)
			}
			r.submitted(v, map[string]string{"why": "it was wrong"})
			r.wait("the word that it is published", func() bool {
				as := r.slack.Ephemeral("C1", "U1")
				return len(as) > 0 && strings.Contains(as[len(as)-1].Plain(), "Published as revision 1")
			})
			r.settled()
			rs, err = e.History(t.Context(), 0)
			if err != nil || len(rs) != 1 || rs[0].By != "slack:U1" || rs[0].Why != "it was wrong" || !strings.Contains(*rs[0].Files[0].After, "10 ft. <!channel>") {
				t.Fatalf("%+v, %v", rs, err)
			}
			// What was opened before somebody changed it is not written over it.
			r.slack.Command("U1", "C1", "/sidewall", "edit crease")
			v = r.opened(2)
			b, err := e.Propose(t.Context(), book.SummaryText{ID: "crease", Text: "By somebody else."})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := e.Publish(t.Context(), b, book.Note{By: "slack:U2"}); err != nil {
				t.Fatal(err)
			}
			if d := r.submitted(v, map[string]string{"s0": words}); !strings.Contains(string(d.Answer), "since you opened it") {
				t.Errorf("a stale form got %s", d.Answer)
			}
		})
	}
}

func TestANewSummaryAndAValueInModals(t *testing.T) {
	r, e := editRig(t, false)
	ts := r.post("D1", "new summary", fakeslack.PostOptions{})
	r.press(r.reply("D1", ts, 1), "new:")
	v := r.opened(1)
	for field, in := range map[string]map[string]string{
		"title": {"title": "Crease", "text": "words"},
		"text":  {"title": "Rain gear", "text": " "},
	} {
		if d := r.submitted(v, in); !strings.Contains(string(d.Answer), `"errors":{"`+field) {
			t.Errorf("%s got %s", field, d.Answer)
		}
	}
	r.submitted(v, map[string]string{"title": "Rain gear", "text": "## What\n\nA jacket.", "asked": "Is a jacket ok?\n\nWhat about rain?"})
	r.submitted(r.slack.Views()[0], nil)
	r.wait("a publication", func() bool { return len(r.slack.Replies("D1", ts)) == 2 })
	r.settled()
	s := e.serves.Load().Book().Summaries
	if len(s) != 3 || s[2].ID != "rain-outs" || s[1].ID != "rain-gear" || len(s[1].Questions) != 2 {
		t.Errorf("%+v", s)
	}

	ts = r.post("D1", "set a value", fakeslack.PostOptions{})
	r.press(r.reply("D1", ts, 1), "value:")
	v = r.opened(2)
	for in, want := range map[string]string{
		"U11 long crosse is 54 to 47 from 2027-03-01, league decision": "swapped",
		"U11 long crosse is 47 to 54":                                  "since when",
	} {
		r.said = append(r.said, in)
		if d := r.submitted(v, map[string]string{"saying": in}); !strings.Contains(strings.ToLower(string(d.Answer)), want) {
			t.Errorf("%s got %s", in, d.Answer)
		}
	}
	r.submitted(v, map[string]string{"saying": "U11 long crosse is 48 to 54 from 2027-03-01, league decision of 12 January"})
	if v = r.slack.Views()[1]; !strings.Contains(v.Plain(), "Now: 47–54 in") || !strings.Contains(v.Plain(), "New: 48–54 in") {
		t.Errorf("the change is %s", v.Plain())
	}
}

// A difference that is larger than an acknowledgement may be is cut, and can be
// published all the same.
func TestALargeDifferenceInAModal(t *testing.T) {
	r, e := editRig(t, false)
	var text strings.Builder
	const sections = 12
	for i := range sections {
		fmt.Fprintf(&text, "## Part %d\n\nWords.\n\n", i)
	}
	pr, err := e.Propose(t.Context(), book.SummaryText{ID: "crease", Text: text.String()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Publish(t.Context(), pr, book.Note{By: "slack:U2"}); err != nil {
		t.Fatal(err)
	}
	r.slack.Command("U1", "C1", "/sidewall", "edit crease")
	v := r.opened(1)
	in := map[string]string{}
	for i := range sections {
		in[fmt.Sprintf("s%d", i)] = fmt.Sprintf("## Part %d\n\n%s", i, strings.Repeat("It is <so> & “so”. ", 150))
	}
	d := r.submitted(v, in)
	if len(d.Answer) < 10000 || !strings.Contains(string(d.Answer), `"update"`) {
		t.Errorf("the answer has %d bytes: %.200s", len(d.Answer), d.Answer)
	}
	if v = r.slack.Views()[0]; v.CallbackID != "publish" || !strings.Contains(v.Plain(), "…") {
		t.Errorf("%.500s", v.Plain())
	}
}

func TestSummariesAreListedWithTheirForms(t *testing.T) {
	r, _ := editRig(t, false)
	ts := r.post("D1", "list summaries", fakeslack.PostOptions{})
	m := r.reply("D1", ts, 1)
	if !strings.Contains(m.Plain(), "rain-outs — ") {
		t.Errorf("%s", m.Plain())
	}
	r.press(m, "edit:crease")
	if v := r.opened(1); v.CallbackID != "summary" || v.Title != "Edit a summary" {
		t.Errorf("%s: %s", v.Title, v.Raw)
	}
}

// A message opens no modal: Slack wants a press for that, and gets one button for it.
func TestAMessageOffersTheForm(t *testing.T) {
	r, _ := editRig(t, false)
	ts := r.post("D1", "edit crease", fakeslack.PostOptions{})
	m := r.reply("D1", ts, 1)
	n := 0
	for _, a := range m.Actions() {
		if strings.Contains(a.Value, `"c":"edit:`) {
			n++
		}
	}
	if n != 1 {
		t.Errorf("%d buttons for one form", n)
	}
	r.press(m, "edit:")
	if v := r.opened(1); v.CallbackID != "summary" {
		t.Errorf("%s", v.Raw)
	}
}

func TestADraftIsPublishedByItsButton(t *testing.T) {
	r, e := editRig(t, false)
	ts := r.post("D1", "change rain outs: ## All\n\nAsk <!here> or <@U2> &lt;!channel&gt;.", fakeslack.PostOptions{})
	m := r.reply("D1", ts, 1)
	r.press(m, "draft:")
	r.opened(1)
	r.press(m, "publish:")
	r.wait("the publication", func() bool { return strings.Contains(r.slack.Replies("D1", ts)[0].Plain(), "Published as revision 1") })
	r.settled()
	if n := len(r.slack.Replies("D1", ts)); n != 1 {
		t.Errorf("%d replies", n)
	}
	rs, err := e.History(t.Context(), 0)
	if err != nil || len(rs) != 1 || strings.Contains(*rs[0].Files[0].After, "U2") {
		t.Errorf("%+v, %v", rs, err)
	}
	// And shown: nobody is called (the rig looks).
	ts = r.post("D1", "show rain outs", fakeslack.PostOptions{})
	r.press(r.reply("D1", ts, 1), "page:")
	if v := r.opened(2); !strings.Contains(v.Plain(), "channel") {
		t.Errorf("%s", v.Plain())
	}
}

func TestAFormThatSomebodyElseSends(t *testing.T) {
	r, _ := editRig(t, false)
	r.slack.Command("U2", "C1", "/sidewall", "edit the summary crease")
	r.wait("a refusal", func() bool { return len(r.slack.Ephemeral("C1", "U2")) == 1 })
	if s := r.slack.Ephemeral("C1", "U2")[0].Plain(); !strings.Contains(s, "Only the club's admins") {
		t.Errorf("%s", s)
	}
	ts := r.post("D1", "add admin <@U2>", fakeslack.PostOptions{})
	r.reply("D1", ts, 1)
	r.slack.Command("U2", "C1", "/sidewall", "edit crease")
	v := r.opened(1)
	ts = r.post("D1", "remove admin <@U2>", fakeslack.PostOptions{})
	r.reply("D1", ts, 1)
	if _, err := r.slack.SubmitView("U2", v.ID, fields(map[string]string{"s0": "## A\n\nwords"})); err != nil {
		t.Fatal(err)
	}
	r.settled()
	if v := r.slack.Views()[0]; !strings.Contains(v.Plain(), "Only the club's admins") {
		t.Errorf("%s", v.Plain())
	}
}
