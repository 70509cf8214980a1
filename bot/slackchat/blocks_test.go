package slackchat

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/bot"
	"sidewall/bot/slackchat/fakeslack"
	"sidewall/config"
)

var update = flag.Bool("update", false, "write what the golden files should hold")

// golden is where the payloads stand; .ci/types holds them against Slack's own types.
const golden = "../../testdata/slack"

var shippedDesk = sync.OnceValues(func() (*answers.Desk, error) {
	b, err := book.Load(context.Background(), config.ShippedBook())
	if err != nil {
		return nil, err
	}
	return answers.New(b)
})

var gameDay, _ = measure.ParseDate("2027-04-10")

func testDesk(t testing.TB) *answers.Desk {
	t.Helper()
	d, err := shippedDesk()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// recorder is an adapter that keeps what it is given.
type recorder struct {
	replies chan *bot.Reply
	views   chan *bot.View
}

func (r recorder) Platform() string { return Platform }
func (r recorder) Send(_ context.Context, p *bot.Reply) (bot.Ref, bot.Again, error) {
	r.replies <- p
	return bot.Ref{Channel: p.Where.Channel, Message: "9.000009"}, bot.Again{}, nil
}
func (r recorder) Update(_ context.Context, _ bot.Ref, p *bot.Reply) (bot.Again, error) {
	r.replies <- p
	return bot.Again{}, nil
}
func (r recorder) Remove(context.Context, bot.Ref) (bot.Again, error) { return bot.Again{}, nil }
func (r recorder) Find(context.Context, bot.Where, string) (bot.Ref, bool, bot.Again, error) {
	return bot.Ref{}, false, bot.Again{}, nil
}
func (r recorder) Show(_ context.Context, v *bot.View) (bot.Again, error) {
	r.views <- v
	return bot.Again{}, nil
}

// TestGolden holds what real answers come to in blocks against the golden files.
func TestGolden(t *testing.T) {
	d := testDesk(t)
	rec := recorder{make(chan *bot.Reply, 8), make(chan *bot.View, 8)}
	store, err := bot.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "state.db"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	b, err := bot.New(bot.Options{Desk: func() bot.Desk { return d }, Store: store, Adapters: []bot.Adapter{rec}, Date: gameDay,
		Admins: func() []string { return []string{"U0ADMIN", "slack:U1ADMIN"} }})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	defer func() {
		cancel()
		if err := <-ran; err != nil {
			t.Error(err)
		}
	}()
	n := 0
	// what waits for a reply or view that does not come, ends
	reply := func() *bot.Reply {
		t.Helper()
		select {
		case r := <-rec.replies:
			return r
		case <-time.After(10 * time.Second):
			t.Fatal("no reply came")
			return nil
		}
	}
	view := func() *bot.View {
		t.Helper()
		select {
		case v := <-rec.views:
			return v
		case <-time.After(10 * time.Second):
			t.Fatal("no view came")
			return nil
		}
	}
	ask := func(text string) *bot.Reply {
		t.Helper()
		n++
		ts := fmt.Sprintf("1700000000.%06d", n)
		e := bot.Event{Kind: bot.Message, ID: "Ev" + ts, Platform: Platform, Workspace: "T1", Channel: "C1", Message: ts, Person: "U1", Text: text, Direct: true}
		if err := b.Handle(t.Context(), e); err != nil {
			t.Fatal(err)
		}
		r := reply()
		known(t, store, r.Key)
		return r
	}
	press := func(r *bot.Reply, control string) {
		t.Helper()
		n++
		e := bot.Event{Kind: bot.Pressed, ID: fmt.Sprint("13.", n), Platform: Platform, Workspace: "T1", Channel: "C1", Thread: r.Where.Thread, Person: "U1",
			Control: control, Of: r.Key}
		if err := b.Handle(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	checkGolden(t, "help.blocks", blocksOf(ask("help")))
	legal := ask("U11 attack, 45-inch stick?")
	checkGolden(t, "not-legal.blocks", blocksOf(legal))
	press(legal, "detail")
	checkGolden(t, "detail.modal", modal(view()))
	if i := slices.IndexFunc(legal.Controls, func(c bot.Control) bool { return strings.HasPrefix(c.ID, "section:") }); i >= 0 {
		press(legal, legal.Controls[i].ID)
		checkGolden(t, "section.modal", modal(view()))
	} else {
		t.Error("the answer offers no section")
	}
	need := ask("how long are the quarters?")
	checkGolden(t, "need.blocks", blocksOf(need))
	press(need, "choice:U13")
	checkGolden(t, "chosen.blocks", blocksOf(reply()))
	press(need, "missed")
	checkGolden(t, "noted.blocks", blocksOf(reply()))
	checkGolden(t, "parts.blocks", blocksOf(ask("U13: how long are the quarters, and can they body check?")))
	checkGolden(t, "none.blocks", blocksOf(ask("qwxyz vbnmk plugh?")))
	checkGolden(t, "spanish.blocks", blocksOf(ask("¿cuánto duran los cuartos en U13?")))
	help := ask("help")
	press(help, "topics")
	checkGolden(t, "topics.modal", modal(view()))
	if err := b.Handle(t.Context(), bot.Event{Kind: bot.Home, ID: "EvHome", Platform: Platform, Workspace: "T1", Channel: "D1", Person: "U1"}); err != nil {
		t.Fatal(err)
	}
	checkGolden(t, "home.home", homePage(view()))
}

// known waits until the bot has noted where an answer stands; a person needs
// longer than that to press anything.
func known(t *testing.T, s bot.Store, key string) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; runtime.Gosched() {
		if state, err := s.State(t.Context(), key); err != nil {
			t.Fatal(err)
		} else if state == bot.Replied {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%s is not answered", key)
		}
	}
}

// form is a payload without its words: those are the desk's, and tested there.
func form(t *testing.T, raw []byte) string {
	t.Helper()
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	var wordless func(v any)
	wordless = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, x := range v {
				wordless(x)
			}
		case map[string]any:
			if _, ok := v["text"].(string); ok {
				v["text"] = "…"
			}
			for _, x := range v {
				wordless(x)
			}
		}
	}
	wordless(v)
	out, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// checkGolden holds the form of a payload against its golden file, and asks the
// fake whether Slack would take it.
func checkGolden(t *testing.T, name string, v any) {
	t.Helper()
	raw, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	check := fakeslack.CheckView
	if strings.HasSuffix(name, ".blocks") {
		check = fakeslack.CheckBlocks
	}
	if wrong := check(raw); len(wrong) > 0 {
		t.Errorf("%s would be refused: %s", name, strings.Join(wrong, "; "))
	}
	raw = append(raw, '\n')
	file := filepath.Join(golden, name+".json")
	if *update {
		if err := os.MkdirAll(golden, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, raw, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if form(t, raw) != form(t, want) {
		t.Errorf("%s differs (go test ./bot/slackchat -run TestGolden -update writes it):\n%s", file, raw)
	}
}

// anyText draws what may hurt: long, empty, marks, controls, entities, other scripts.
func anyText(most int) *rapid.Generator[string] {
	piece := rapid.OneOf(
		rapid.String(),
		rapid.SampledFrom([]string{"", " ", "\n", "word ", "<!channel>", "<@U1>", "&amp;", "&&&&", "*b*", "`c`", "\x00\x07", "45\"", "½", "👩‍👩‍👦", "\xff", "https://example.org/a|b", "\u202e"}),
	)
	return rapid.Custom(func(t *rapid.T) string {
		s := strings.Join(rapid.SliceOfN(piece, 0, 12).Draw(t, "pieces"), "")
		return strings.Repeat(s, rapid.SampledFrom([]int{1, 1, 1, 7, most}).Draw(t, "times"))
	})
}

func anyControls() *rapid.Generator[[]bot.Control] {
	return rapid.Custom(func(t *rapid.T) []bot.Control {
		one := rapid.Custom(func(t *rapid.T) bot.Control {
			return bot.Control{ID: rapid.OneOf(rapid.SampledFrom([]string{"choice:U11", "detail"}), anyText(300)).Draw(t, "id"), Label: anyText(40).Draw(t, "label")}
		})
		return rapid.SliceOfN(one, 0, rapid.SampledFrom([]int{2, 10, 60}).Draw(t, "most")).Draw(t, "controls")
	})
}

// TestEveryReplyIsTaken draws replies far beyond what the bot makes.
func TestEveryReplyIsTaken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := &bot.Reply{Key: anyText(3).Draw(t, "key"), Headline: anyText(400).Draw(t, "headline"), Caution: anyText(400).Draw(t, "caution")}
		for _, s := range rapid.SliceOfN(anyText(400), 0, 40).Draw(t, "lines") {
			r.Lines = append(r.Lines, bot.Line{Text: s})
		}
		r.Choices, r.Controls = anyControls().Draw(t, "choices"), anyControls().Draw(t, "controls")
		raw, err := json.Marshal(blocksOf(r))
		if err != nil {
			t.Fatal(err)
		}
		if wrong := fakeslack.CheckBlocks(raw); len(wrong) > 0 {
			t.Fatalf("would be refused: %s\n%s", strings.Join(wrong, "; "), raw)
		}
		if s := fallback(r); s == "" || size(s) > maxFallback {
			t.Fatalf("the fallback has %d characters", size(s))
		}
		noPing(t, raw)
	})
}

func TestEveryViewIsTaken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := &bot.View{Kind: bot.Modal, Title: anyText(40).Draw(t, "title")}
		for range rapid.SampledFrom([]int{0, 1, 3, 8, 130}).Draw(t, "blocks") {
			v.Blocks = append(v.Blocks, bot.Block{Heading: anyText(100).Draw(t, "heading"), Text: anyText(300).Draw(t, "text"),
				Markdown: rapid.Bool().Draw(t, "markdown"), People: rapid.SliceOfN(rapid.SampledFrom([]string{"U0ABC", "@ann:example.org", ""}), 0, 3).Draw(t, "people")})
		}
		views := []any{modal(v)}
		v.Kind = bot.HomePage
		for _, x := range append(views, homePage(v)) {
			raw, err := json.Marshal(x)
			if err != nil {
				t.Fatal(err)
			}
			if wrong := fakeslack.CheckView(raw); len(wrong) > 0 {
				t.Fatalf("would be refused: %s\n%s", strings.Join(wrong, "; "), raw)
			}
		}
		raw, err := json.Marshal(viewBlocks(v, maxMessageBlocks))
		if err != nil {
			t.Fatal(err)
		}
		if wrong := fakeslack.CheckBlocks(raw); len(wrong) > 0 {
			t.Fatalf("as a message would be refused: %s", strings.Join(wrong, "; "))
		}
	})
}

// noPing wants that nothing in blocks calls anybody.
func noPing(t *rapid.T, raw []byte) {
	for _, s := range []string{`<!`, `<@`, `<#`, "\\u003c!", "\\u003c@", "\\u003c#"} {
		if strings.Contains(string(raw), `"mrkdwn"`) && strings.Contains(mrkdwnIn(raw), s) {
			t.Fatalf("%s is let through: %s", s, raw)
		}
	}
}

// mrkdwnIn are the texts of blocks that are read as mrkdwn.
func mrkdwnIn(raw []byte) string {
	var all []any
	if json.Unmarshal(raw, &all) != nil {
		return ""
	}
	var out strings.Builder
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, x := range v {
				walk(x)
			}
		case map[string]any:
			if s, ok := v["text"].(string); ok && v["type"] == "mrkdwn" {
				out.WriteString(s + "\n")
			}
			for _, x := range v {
				walk(x)
			}
		}
	}
	walk(all)
	return out.String()
}

func TestButtonsComeBack(t *testing.T) {
	r := &bot.Reply{Key: "slack/T1/C1/1.000001", Headline: "x", Choices: []bot.Control{{ID: "choice:U11", Label: "U11"}, {ID: "choice:U11", Label: "again"}},
		Controls: []bot.Control{{ID: "section:sticks/3", Label: strings.Repeat("long ", 40)}, {ID: "", Label: "none"}}}
	raw, err := json.Marshal(blocksOf(r))
	if err != nil {
		t.Fatal(err)
	}
	actions := fakeslack.Message{Blocks: raw}.Actions()
	var got []string
	ids := map[string]bool{}
	for _, a := range actions {
		var v pressed
		if err := json.Unmarshal([]byte(a.Value), &v); err != nil {
			t.Fatal(err)
		}
		if v.Key != r.Key || ids[a.ActionID] {
			t.Errorf("%+v", a)
		}
		ids[a.ActionID] = true
		got = append(got, v.Control)
	}
	if want := []string{"choice:U11", "choice:U11", "section:sticks/3"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
