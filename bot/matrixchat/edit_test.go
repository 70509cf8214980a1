package matrixchat

import (
	"slices"
	"strings"
	"testing"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
)

// A draft's controls have signs of their own, and what stands in it calls nobody.
func TestADraftInMatrix(t *testing.T) {
	c := render(&bot.Reply{Headline: "Not published yet", Lang: "en", Lines: []bot.Line{{Text: "+ @room <b>look</b> [here](https://example.org/)"}},
		Controls: []bot.Control{{ID: "publish:3fa2b1", Label: "Publish"}, {ID: "cancel:3fa2b1", Label: "Cancel"}, {ID: "draft:3fa2b1", Label: "Show all of it"}}})
	for sign, id := range map[string]string{"✅": "publish:3fa2b1", "❌": "cancel:3fa2b1", "🔎": "draft:3fa2b1"} {
		if c.Meta.Controls[sign] != id || !isControlSign(plainSign(sign)) {
			t.Errorf("%s stands for %q", sign, c.Meta.Controls[sign])
		}
	}
	if c.Mentions == nil || c.Mentions.Room || len(c.Mentions.UserIDs) > 0 {
		t.Errorf("it calls %+v", c.Mentions)
	}
	if strings.Contains(c.FormattedBody, "<b>look") || strings.Contains(c.FormattedBody, "href") {
		t.Errorf("the book's text is obeyed: %s", c.FormattedBody)
	}
	for kind, sign := range controlSigns {
		if plainSign(sign) != sign {
			t.Errorf("the sign for %s cannot come back", kind)
		}
	}
}

func TestMentioned(t *testing.T) {
	a := &Adapter{me: "@sidewall:club.example"}
	for body, want := range map[string][]string{
		"@sidewall:club.example add admin @ana:club.example": {"@ana:club.example"},
		"add admin Ana": {"@ana:club.example"},
		"no one":        nil,
	} {
		c := &event.MessageEventContent{Body: body, Mentions: &event.Mentions{}}
		if strings.HasSuffix(body, "Ana") {
			c.Mentions.UserIDs = []id.UserID{"@sidewall:club.example", "@ana:club.example"}
		}
		if got := a.mentioned(c); !slices.Equal(got, want) {
			t.Errorf("%q: %v", body, got)
		}
	}
}
