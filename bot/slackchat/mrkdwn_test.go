package slackchat

import (
	"regexp"
	"strings"
	"testing"
)

func TestMrkdwn(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"paragraphs", "One line\nand its rest.\n\nAnother.", "One line and its rest.\n\nAnother."},
		{"marks", "**bold** and *leaning* and ~~gone~~ and `code`", "*bold* and _leaning_ and ~gone~ and `code`"},
		{"a heading", "## Field *players*", "*Field players*"},
		{"a list", "- one\n- two\n  - deeper\n- three", "• one\n• two\n    • deeper\n• three"},
		{"a numbered list", "3. three\n4. four", "3. three\n4. four"},
		{"a quote", "> said\n> again", "> said again"},
		{"a table", "| who | short | long |\n|---|---|---|\n| U11 | 37–42 | 47–54 |\n| HS | 40–42 |  |", "• U11 · short: 37–42 · long: 47–54\n• HS · short: 40–42"},
		{"a link shows its target", "[the rules](https://example.org/r?a=1&b=2)", "the rules (<https://example.org/r?a=1&amp;b=2>)"},
		{"a link with a pipe", "[x](https://example.org/a|b)", "x (<https://example.org/a%7Cb>)"},
		{"a bare link", "<https://example.org/>", "<https://example.org/>"},
		{"no script", "[x](javascript:alert(1))", "x"},
		{"an image", "![the wall](https://example.org/w.png)", "the wall (<https://example.org/w.png>)"},
		{"nobody is notified", "<!channel> <!here> @channel <@U123ABC> <!subteam^S1>", "&lt;!channel&gt; &lt;!here&gt; @channel &lt;@U123ABC&gt; &lt;!subteam^S1&gt;"},
		{"a link that would ping", "[x](<!channel>) [y](@here)", "x y"},
		{"html", "a <b>c</b>\n\n<div onclick=x>\nd\n</div>", "a &lt;b&gt;c&lt;/b&gt;\n\n&lt;div onclick=x&gt;\nd\n&lt;/div&gt;"},
		{"stray marks", "3 * 4 and a_b_c ~45 in", "3 ∗ 4 and a_b_c ∼45 in"},
		{"escapes", `\*no\* list &lt;!here&gt; &frac12;`, "∗no∗ list &lt;!here&gt; ½"},
		{"code", "    45 in\n    <x>", "```\n45 in\n&lt;x&gt;\n```"},
		{"nothing", " \n", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := strings.Join(mrkdwnOf(tt.in), "\n\n"); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

// mayStand is all that may stand in angle brackets: a link to the web or to mail.
var mayStand = regexp.MustCompile(`^<(https?|mailto):[^<>|]*>$`)

func FuzzMrkdwn(f *testing.F) {
	for _, s := range []string{"# a\n\n- b\n\n| c |\n|-|\n| d |", "[a](https://x/<!channel>)", "<!here>", "```\n<@U1>\n", "**a *b* c**", "> > > > x", "[![x](y)](https://z)"} {
		f.Add(s)
	}
	angles := regexp.MustCompile(`<[^>]*>?`)
	f.Fuzz(func(t *testing.T, s string) {
		for _, p := range mrkdwnOf(s) {
			for _, a := range angles.FindAllString(p, -1) {
				if !mayStand.MatchString(a) {
					t.Errorf("%q lets %q through", s, a)
				}
			}
			for _, part := range divided(p, 200) {
				if n := size(part); n > 200 {
					t.Errorf("a part has %d characters", n)
				}
			}
		}
	})
}
