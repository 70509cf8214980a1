package fakeslack

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/slack-go/slack"
)

// long is a JSON string of n letters.
func long(n int) string { return `"` + strings.Repeat("x", n) + `"` }

// many is n comma-separated pieces; %d in the piece is its number.
func many(n int, piece string) string {
	var out []string
	for i := range n {
		out = append(out, strings.ReplaceAll(piece, "%d", fmt.Sprint(i)))
	}
	return strings.Join(out, ",")
}

const (
	divider = `{"type":"divider"}`
	section = `{"type":"section","text":{"type":"mrkdwn","text":"*Legal*"}}`
)

func md(text string) string    { return `{"type":"mrkdwn","text":` + text + `}` }
func pt(text string) string    { return `{"type":"plain_text","text":` + text + `}` }
func sec(props string) string  { return `{"type":"section",` + props + `}` }
func acts(elems string) string { return `{"type":"actions","elements":[` + elems + `]}` }
func btn(props string) string  { return `{"type":"button","text":` + pt(`"U11"`) + props + `}` }
func opt(i string) string      { return `{"text":` + pt(`"U11"`) + `,"value":"` + i + `"}` }

func TestCheckBlocks(t *testing.T) {
	tests := []struct {
		name, blocks string
		wrong        string // part of the first complaint; "" for none
	}{
		{"none", ``, ""},
		{"a section", section, ""},
		{"50 blocks", many(50, divider), ""},
		{"51 blocks", many(51, divider), "no more than 50 items allowed [json-pointer:/blocks]"},
		{"no object", `"x"`, "must provide an object [json-pointer:/blocks/0]"},
		{"no type", `{"text":"x"}`, "missing required field: type"},
		{"an unknown block", `{"type":"banner"}`, "unsupported type: banner [json-pointer:/blocks/0/type]"},
		{"an unknown property", `{"type":"divider","colour":"red"}`, "invalid additional property: colour"},

		{"section text at its limit", sec(`"text":` + md(long(3000))), ""},
		{"section text too long", sec(`"text":` + md(long(3001))), "must be less than 3001 characters [json-pointer:/blocks/0/text/text]"},
		{"a sign outside the BMP counts twice", sec(`"text":` + md(`"`+strings.Repeat("🥍", 1501)+`"`)), "must be less than 3001"},
		{"accents count once", sec(`"text":` + md(`"`+strings.Repeat("é", 3000)+`"`)), ""},
		{"an empty text", sec(`"text":` + md(`""`)), "must be more than 0 characters"},
		{"a text that is a string", sec(`"text":"x"`), "must provide an object"},
		{"a text of no known type", sec(`"text":{"type":"markdown","text":"x"}`), "unsupported type: markdown"},
		{"emoji on mrkdwn", sec(`"text":{"type":"mrkdwn","text":"x","emoji":true}`), "invalid additional property: emoji"},
		{"verbatim on plain_text", sec(`"text":{"type":"plain_text","text":"x","verbatim":true}`), "invalid additional property: verbatim"},
		{"a section of nothing", `{"type":"section"}`, "must define either `text` or `fields`"},
		{"10 fields", sec(`"fields":[` + many(10, md(`"x"`)) + `]`), ""},
		{"11 fields", sec(`"fields":[` + many(11, md(`"x"`)) + `]`), "no more than 10 items"},
		{"no field", sec(`"fields":[]`), "no less than 1 items"},
		{"a field too long", sec(`"fields":[` + md(long(2001)) + `]`), "less than 2001 characters [json-pointer:/blocks/0/fields/0/text]"},
		{"an accessory", sec(`"text":` + md(`"x"`) + `,"accessory":` + btn("")), ""},
		{"a text input as accessory", sec(`"text":` + md(`"x"`) + `,"accessory":{"type":"plain_text_input"}`), "unsupported type: plain_text_input"},

		{"a header", `{"type":"header","text":` + pt(long(150)) + `}`, ""},
		{"a header too long", `{"type":"header","text":` + pt(long(151)) + `}`, "less than 151"},
		{"a header in mrkdwn", `{"type":"header","text":` + md(`"x"`) + `}`, "unsupported type: mrkdwn"},
		{"a header without text", `{"type":"header"}`, "missing required field: text"},

		{"10 in a context", `{"type":"context","elements":[` + many(10, md(`"x"`)) + `]}`, ""},
		{"11 in a context", `{"type":"context","elements":[` + many(11, md(`"x"`)) + `]}`, "no more than 10 items"},
		{"a button in a context", `{"type":"context","elements":[` + btn("") + `]}`, "unsupported type: button"},
		{"an image in a context", `{"type":"context","elements":[{"type":"image","image_url":"https://example.org/a.png","alt_text":"a"}]}`, ""},
		{"an image without words", `{"type":"image","image_url":"https://example.org/a.png"}`, "missing required field: alt_text"},
		{"an image of nothing", `{"type":"image","alt_text":"a"}`, "must define either `image_url` or `slack_file`"},
		{"alt text too long", `{"type":"image","image_url":"https://example.org/a.png","alt_text":` + long(2001) + `}`, "less than 2001"},

		{"25 buttons", acts(many(25, btn(`,"action_id":"a%d"`))), ""},
		{"26 buttons", acts(many(26, btn(`,"action_id":"a%d"`))), "no more than 25 items"},
		{"no button", acts(""), "no less than 1 items"},
		{"an action id twice in a block", acts(many(2, btn(`,"action_id":"a"`))), "`action_id` \"a\" already exists"},
		{"an action id twice in two blocks", acts(btn(`,"action_id":"a"`)) + "," + acts(btn(`,"action_id":"a"`)), ""},
		{"an action id too long", acts(btn(`,"action_id":` + long(256))), "less than 256"},
		{"an empty action id", acts(btn(`,"action_id":""`)), "more than 0"},
		{"a value at its limit", acts(btn(`,"value":` + long(2000))), ""},
		{"a value too long", acts(btn(`,"value":` + long(2001))), "less than 2001"},
		{"a label at its limit", acts(`{"type":"button","text":` + pt(long(75)) + `}`), ""},
		{"a label too long", acts(`{"type":"button","text":` + pt(long(76)) + `}`), "less than 76 characters [json-pointer:/blocks/0/elements/0/text/text]"},
		{"a label in mrkdwn", acts(`{"type":"button","text":` + md(`"x"`) + `}`), "unsupported type: mrkdwn"},
		{"a label that is a string", acts(`{"type":"button","text":"x"}`), "must provide an object"},
		{"primary", acts(btn(`,"style":"primary"`)), ""},
		{"the default style by name", acts(btn(`,"style":"default"`)), "failed to match one of the allowed values"},
		{"a link", acts(btn(`,"url":"https://example.org/x"`)), ""},
		{"a link without a scheme", acts(btn(`,"url":"example.org"`)), "invalid url"},
		{"a link too long", acts(btn(`,"url":"https://example.org/` + strings.Repeat("x", 3000) + `"`)), "less than 3001"},
		{"an unknown element", acts(`{"type":"knob"}`), "unsupported type: knob"},
		{"an unknown property of a button", acts(btn(`,"colour":"red"`)), "invalid additional property: colour"},
		{"a confirmation", acts(btn(`,"confirm":{"title":` + pt(`"Sure?"`) + `,"text":` + md(`"x"`) + `,"confirm":` + pt(`"Yes"`) + `,"deny":` + pt(`"No"`) + `}`)), ""},
		{"a confirmation title too long", acts(btn(`,"confirm":{"title":` + pt(long(101)) + `,"text":` + md(`"x"`) + `}`)), "less than 101"},

		{"a menu", acts(`{"type":"static_select","placeholder":` + pt(`"Division"`) + `,"options":[` + opt("u11") + `]}`), ""},
		{"100 options", acts(`{"type":"static_select","options":[` + many(100, opt("%d")) + `]}`), ""},
		{"101 options", acts(`{"type":"static_select","options":[` + many(101, opt("%d")) + `]}`), "no more than 100 items"},
		{"no options", acts(`{"type":"static_select"}`), "must define either `options` or `option_groups`"},
		{"an option too long", acts(`{"type":"static_select","options":[{"text":` + pt(long(76)) + `,"value":"x"}]}`), "less than 76"},
		{"an option without value", acts(`{"type":"static_select","options":[{"text":` + pt(`"x"`) + `}]}`), "missing required field: value"},
		{"a placeholder too long", acts(`{"type":"static_select","placeholder":` + pt(long(151)) + `,"options":[` + opt("u11") + `]}`), "less than 151"},
		{"chosen and not there", acts(`{"type":"static_select","options":[` + opt("a") + `],"initial_option":` + opt("b") + `}`), "initial option is not among the options"},
		{"6 in an overflow", acts(`{"type":"overflow","options":[` + many(6, opt("%d")) + `]}`), "no more than 5 items"},

		{"a block id twice", `{"type":"divider","block_id":"a"},{"type":"divider","block_id":"a"}`, "`block_id` \"a\" already exists"},
		{"a block id too long", `{"type":"divider","block_id":` + long(256) + `}`, "less than 256"},

		{"markdown at its limit", `{"type":"markdown","text":` + long(12000) + `}`, ""},
		{"markdown too long", `{"type":"markdown","text":` + long(12001) + `}`, "less than 12001"},
		{"markdown too long in all", many(2, `{"type":"markdown","text":`+long(6001)+`}`), "less than 12001 characters in all"},
		{"a table", `{"type":"table","rows":[[{"type":"raw_text","text":"U11"}]]}`, ""},
		{"two tables", many(2, `{"type":"table","rows":[[{"type":"raw_text","text":"U11"}]]}`), "only one table allowed"},
		{"21 cells", `{"type":"table","rows":[[` + many(21, `{"type":"raw_text","text":"x"}`) + `]]}`, "no more than 20 items"},
		{"rich text", `{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"text","text":"x","style":{"bold":true}}]}]}`, ""},
		{"rich text of a wrong kind", `{"type":"rich_text","elements":[{"type":"rich_text_table"}]}`, "unsupported type: rich_text_table"},
		{"feedback", `{"type":"context_actions","elements":[{"type":"feedback_buttons","positive_button":{"text":` + pt(`"Yes"`) + `,"value":"y"},"negative_button":{"text":` + pt(`"No"`) + `,"value":"n"}}]}`, ""},
		{"an input label too long", `{"type":"input","label":` + pt(long(2001)) + `,"element":{"type":"plain_text_input"}}`, "less than 2001"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			complaint(t, CheckBlocks(json.RawMessage("["+tt.blocks+"]")), tt.wrong)
		})
	}
}

func TestCheckBlocksThatAreNoList(t *testing.T) {
	complaint(t, CheckBlocks(json.RawMessage(`{"blocks":[]}`)), "must provide an array")
	complaint(t, CheckBlocks(json.RawMessage(`[`)), "not JSON")
}

func complaint(t *testing.T, wrong []string, want string) {
	t.Helper()
	switch {
	case want == "" && len(wrong) > 0:
		t.Errorf("refused: %q", wrong)
	case want != "" && (len(wrong) == 0 || !strings.Contains(wrong[0], want)):
		t.Errorf("got %q, want first a complaint with %q", wrong, want)
	}
}

func TestCheckView(t *testing.T) {
	input := `{"type":"input","block_id":"i","label":` + pt(`"Question"`) + `,"element":{"type":"plain_text_input","action_id":"q"}}`
	modal := func(more, blocks string) string {
		return `{"type":"modal","title":` + pt(`"Sticks"`) + more + `,"blocks":[` + blocks + `]}`
	}
	home := func(more, blocks string) string { return `{"type":"home"` + more + `,"blocks":[` + blocks + `]}` }
	tests := []struct{ name, view, wrong string }{
		{"a modal", modal("", section), ""},
		{"a home page", home("", section), ""},
		{"100 blocks", home("", many(100, divider)), ""},
		{"101 blocks", modal("", many(101, divider)), "no more than 100 items allowed [json-pointer:/view/blocks]"},
		{"no title", `{"type":"modal","blocks":[]}`, "missing required field: title"},
		{"no blocks", `{"type":"home"}`, "missing required field: blocks"},
		{"a title at its limit", `{"type":"modal","title":` + pt(long(24)) + `,"blocks":[]}`, ""},
		{"a title too long", `{"type":"modal","title":` + pt(long(25)) + `,"blocks":[]}`, "less than 25"},
		{"a title in mrkdwn", `{"type":"modal","title":` + md(`"x"`) + `,"blocks":[]}`, "unsupported type: mrkdwn"},
		{"submit too long", modal(`,"submit":`+pt(long(25)), section), "less than 25"},
		{"close too long", modal(`,"close":`+pt(long(25)), section), "less than 25"},
		{"an input and no submit", modal("", input), "`submit` required"},
		{"an input", modal(`,"submit":`+pt(`"Send"`), input), ""},
		{"private metadata at its limit", modal(`,"private_metadata":`+long(3000), section), ""},
		{"private metadata too long", modal(`,"private_metadata":`+long(3001), section), "less than 3001"},
		{"a callback id too long", modal(`,"callback_id":`+long(256), section), "less than 256"},
		{"a home page with a title", home(`,"title":`+pt(`"x"`), section), "invalid additional property: title"},
		{"an unknown type", `{"type":"page","blocks":[]}`, "failed to match one of the allowed values"},
		{"markdown in a modal", modal("", `{"type":"markdown","text":"x"}`), "unsupported type: markdown"},
		{"no object", `[]`, "must provide an object"},
		{"null", `null`, "must provide an object"},
		{"two in focus", modal(`,"submit":`+pt(`"Send"`), many(2, `{"type":"input","label":`+pt(`"x"`)+`,"element":{"type":"plain_text_input","focus_on_load":true}}`)), "only one element may have `focus_on_load`"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { complaint(t, CheckView(json.RawMessage(tt.view)), tt.wrong) })
	}
}

// What a client library makes of the same words has to pass.
func TestCheckBlocksOfALibrary(t *testing.T) {
	text := slack.NewTextBlockObject(slack.MarkdownType, "*Not legal*: 45 in", false, false)
	button := slack.NewButtonBlockElement("choose", "u11", slack.NewTextBlockObject(slack.PlainTextType, "U11", true, false))
	button.Style = slack.StylePrimary
	list := []slack.Block{
		slack.NewHeaderBlock(slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false)),
		slack.NewSectionBlock(text, nil, slack.NewAccessory(button)),
		slack.NewContextBlock("", text),
		slack.NewDividerBlock(),
		slack.NewActionBlock("a", button),
		slack.NewMarkdownBlock("", "**x**"),
	}
	b, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	complaint(t, CheckBlocks(b), "")
	b, err = json.Marshal(slack.ModalViewRequest{
		Type: slack.VTModal, Title: slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false),
		Blocks: slack.Blocks{BlockSet: list[:4]}, PrivateMetadata: "x",
	})
	if err != nil {
		t.Fatal(err)
	}
	complaint(t, CheckView(b), "")
	b, err = json.Marshal(slack.HomeTabViewRequest{Type: slack.VTHomeTab, Blocks: slack.Blocks{BlockSet: list[:4]}})
	if err != nil {
		t.Fatal(err)
	}
	complaint(t, CheckView(b), "")
}

func FuzzCheckBlocks(f *testing.F) {
	for _, s := range []string{"[" + section + "]", "[" + acts(btn("")) + "]", `[null]`, `{"type":[]}`, `[{"type":"actions","elements":{}}]`} {
		f.Add([]byte(s))
	}
	s := &Server{}
	f.Fuzz(func(_ *testing.T, b []byte) {
		CheckView(b)
		if CheckBlocks(b) != nil {
			return
		}
		// What passes has to be fit for being completed and shown.
		var l []any
		if json.Unmarshal(b, &l) == nil {
			m := Message{Blocks: raw(s.complete(l))}
			m.Actions()
			m.Plain()
		}
	})
}
