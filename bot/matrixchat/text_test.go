package matrixchat

import (
	"strings"
	"testing"
	"unicode/utf8"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

const myself id.UserID = "@rulesbot:club.example"

func textAdapter(t testing.TB) *Adapter {
	t.Helper()
	a, err := New(Options{Homeserver: "https://club.example", User: string(myself), Token: "x", Values: values{}, Prefix: "!rules"})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestText(t *testing.T) {
	const (
		mine  = `<a href="https://matrix.to/#/@rulesbot:club.example">Sidewall</a>`
		other = `<a href="https://matrix.to/#/@ann:club.example">Ann</a>`
	)
	me := &event.Mentions{UserIDs: []id.UserID{myself}}
	none := &event.Mentions{}
	reply := (&event.RelatesTo{}).SetReplyTo("$x")
	tests := []struct {
		name, body, html string
		mentions         *event.Mentions
		rel              *event.RelatesTo
		text             string
		mentioned        bool
	}{
		{"plain", "is 45 in legal?", "", none, nil, "is 45 in legal?", false},
		{"old client", "is 45 in legal?", "", nil, nil, "is 45 in legal?", false},
		{"pill", "Sidewall: is 45 in legal?", mine + ": is 45 in legal?", me, nil, bot.Me + ": is 45 in legal?", true},
		{"pill at the end", "is 45 in legal Sidewall", "is 45 in legal " + mine, me, nil, "is 45 in legal " + bot.Me, true},
		{"pill of somebody else", "Ann: look", other + ": look", &event.Mentions{UserIDs: []id.UserID{"@ann:club.example"}}, nil, bot.Somebody + ": look", false},
		{"both", "Sidewall ask Ann", mine + " ask " + other, me, nil, bot.Me + " ask " + bot.Somebody, true},
		{"the game's word", "how wide is the sidewall of a head?", "", none, nil, "how wide is the sidewall of a head?", false},
		{"the game's word first", "Sidewall height for U11?", "", none, nil, "Sidewall height for U11?", false},
		{"name with colon", "sidewall: is 45 in legal?", "", none, nil, bot.Me + ": is 45 in legal?", true},
		{"name with comma", "Sidewall, is 45 in legal?", "", nil, nil, bot.Me + ", is 45 in legal?", true},
		{"name with at", "is 45 in legal @sidewall?", "", none, nil, "is 45 in legal " + bot.Me + "?", true},
		{"localpart", "@rulesbot is 45 in legal?", "", none, nil, bot.Me + " is 45 in legal?", true},
		{"part of a longer name", "@sidewalls is it legal?", "", none, nil, "@sidewalls is it legal?", false},
		{"id", "@rulesbot:club.example is 45 in legal?", "", none, nil, bot.Me + " is 45 in legal?", true},
		{"somebody's id", "ask @ann:club.example about it", "", none, nil, "ask " + bot.Somebody + " about it", false},
		{"intended without a pill", "Sidewall is 45 in legal?", "", me, nil, bot.Me + " is 45 in legal?", true},
		{"intended in mid-sentence", "I asked Sidewall yesterday", "", me, nil, "I asked " + bot.Me + " yesterday", true},
		{"intended beside the text", "is 45 in legal?", "", me, nil, "is 45 in legal?", true},
		{"a reply mentions by itself", "Sidewall height for U11?", "", me, reply, "Sidewall height for U11?", true},
		{"reply fallback", "> <@ann:club.example> what?\n\nand at U13?", "<mx-reply><blockquote>what?</blockquote></mx-reply>and at U13?", none, reply, "and at U13?", false},
		{"prefix", "!rules 45 in for U11?", "", none, nil, bot.Me + " 45 in for U11?", true},
		{"prefix with a colon", " !RULES: 45 in", "", none, nil, bot.Me + " 45 in", true},
		{"longer than the prefix", "!rulesbook is where?", "", none, nil, "!rulesbook is where?", false},
		{"room", "@room practice is off", "", &event.Mentions{Room: true}, nil, bot.Somebody + " practice is off", false},
		{"html lines", "Sidewall: a\nb", mine + ": a<br>b", me, nil, bot.Me + ": a\nb", true},
		{"formatted without pills", "**45** in?", "<strong>45</strong> in?", none, nil, "**45** in?", false},
	}
	a := textAdapter(t)
	r := &room{members: map[id.UserID]string{myself: "Sidewall", "@ann:club.example": "Ann"}}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := &event.MessageEventContent{MsgType: event.MsgText, Body: tt.body, Mentions: tt.mentions, RelatesTo: tt.rel}
			if tt.html != "" {
				c.Format, c.FormattedBody = event.FormatHTML, tt.html
			}
			text, mentioned := a.text(r, c)
			if text != tt.text || mentioned != tt.mentioned {
				t.Errorf("got %q, %v; want %q, %v", text, mentioned, tt.text, tt.mentioned)
			}
		})
	}
}

func FuzzText(f *testing.F) {
	f.Add("Sidewall: is 45 in legal?", `<a href="https://matrix.to/#/@rulesbot:club.example">Sidewall</a>: is 45 in legal?`, "Sidewall", true)
	f.Add("@rulesbot:club.example ſidewall İ @", "<mx-reply>x</mx-reply><ol><li>1", "İs", false)
	f.Add("> <@a:b> x\n\ny", `<a href="matrix:u/rulesbot:club.example">`, "@", true)
	a := textAdapter(f)
	f.Fuzz(func(t *testing.T, body, html, name string, intended bool) {
		c := &event.MessageEventContent{MsgType: event.MsgText, Body: body, Format: event.FormatHTML, FormattedBody: html, Mentions: &event.Mentions{}}
		if intended {
			c.Mentions.UserIDs = []id.UserID{myself}
		}
		text, mentioned := a.text(&room{members: map[id.UserID]string{myself: name}}, c)
		if intended && !mentioned {
			t.Error("an intentional mention was not seen")
		}
		if utf8.ValidString(body) && utf8.ValidString(html) && utf8.ValidString(name) && !utf8.ValidString(text) {
			t.Errorf("a character was cut: %q", text)
		}
		if strings.Contains(text, string(myself)) && !strings.Contains(html, "matrix") {
			t.Errorf("the bot's id stayed: %q", text)
		}
	})
}

func TestSigns(t *testing.T) {
	for n := 1; n <= 10; n++ {
		if got := keycapNumber(plainSign(keycapOf(n))); got != n {
			t.Errorf("%s is %d", keycapOf(n), got)
		}
	}
	tests := map[string]int{"1": 1, "2⃣": 2, "2️⃣": 2, "10": 10, "0️⃣": 0, "11": 0, "👍": 0, "": 0, "#️⃣": 0, "1 ": 1}
	for s, want := range tests {
		if got := keycapNumber(plainSign(s)); got != want {
			t.Errorf("%q is %d, want %d", s, got, want)
		}
	}
	if !isControlSign(plainSign("👎🏽")) || isControlSign("👍") {
		t.Error("a sign is taken for another")
	}
}

func TestRender(t *testing.T) {
	r := &bot.Reply{
		Key: "matrix//!r:x/$q", EventID: "$q", Lang: "en", Revision: "abc",
		Headline: "Which <division>?", Lines: []bot.Line{{Text: "a & b"}, {Kind: bot.Rule, Text: "Rule:\u202E x"}}, Caution: "Officials decide.",
		Choices:  []bot.Control{{ID: "choice:U9", Label: "U9"}, {ID: "choice:U11", Label: "U11"}},
		Controls: []bot.Control{{ID: "detail", Label: "More detail"}, {ID: "section:sticks/1", Label: "Read more: Sticks"}, {ID: "section:x/2", Label: "Another"}},
	}
	c := render(r)
	const plain = "Which <division>?\na & b\nRule: x\nOfficials decide.\n1. U9\n2. U11\nAnswer with a number, or tap one below.\n" +
		"React with 🔎 More detail · 📖 Read more: Sticks · 🔵 Another"
	const rich = "<b>Which &lt;division&gt;?</b><br>a &amp; b<br>Rule: x<br><i>Officials decide.</i><ol><li>U9</li><li>U11</li></ol>" +
		"Answer with a number, or tap one below.<br>React with 🔎 More detail · 📖 Read more: Sticks · 🔵 Another"
	if c.Body != plain {
		t.Errorf("plain:\n%s\nwant\n%s", c.Body, plain)
	}
	if c.FormattedBody != rich {
		t.Errorf("rich:\n%s\nwant\n%s", c.FormattedBody, rich)
	}
	if c.Meta.Controls["📖"] != "section:sticks/1" || c.Meta.Controls["🔵"] != "section:x/2" || c.Meta.Key != r.Key {
		t.Errorf("the mark is %+v", c.Meta)
	}
	e := c.replacing("$a")
	if e.NewContent != c || e.RelatesTo.GetReplaceID() != "$a" || e.Meta != c.Meta {
		t.Errorf("the edit is %+v", e)
	}
}

func TestRenderView(t *testing.T) {
	long := strings.Repeat("a line of a summary that goes on\n", 2000)
	c := renderView(&bot.View{Key: "k", Title: "T", Lang: "es", Blocks: []bot.Block{
		{Heading: "H", Text: "one\ntwo"},
		{Text: "- **bold** <script>alert(1)</script>\n- two", Markdown: true},
		{People: []string{"@a:x"}},
		{Text: long}, {Text: "never"},
	}})
	if !strings.HasPrefix(c.Body, "T\nH\none\ntwo\n- **bold**") || strings.Contains(c.Body, "never") || !strings.Contains(c.Body, allWords["es"].cut) {
		t.Errorf("the view reads %.200q … %q", c.Body, c.Body[len(c.Body)-100:])
	}
	if strings.Contains(c.FormattedBody, "<script") || !strings.Contains(c.FormattedBody, "<strong>bold</strong>") {
		t.Errorf("the view's rich form is %.400q", c.FormattedBody)
	}
	if n := len(c.Body) + len(c.FormattedBody); n > 60<<10 {
		t.Errorf("the view has %d bytes", n)
	}
}
