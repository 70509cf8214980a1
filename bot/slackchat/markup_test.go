package slackchat

import (
	"strings"
	"testing"

	"sidewall/bot"
)

func TestPlainText(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "U11 attack, 45-inch stick?", "U11 attack, 45-inch stick?"},
		{"the bot", "<@UBOT> how long are the quarters", bot.Me + " how long are the quarters"},
		{"the bot with a name", "<@UBOT|sidewall>: help", bot.Me + ": help"},
		{"somebody", "is <@U123ABC> right?", "is " + bot.Somebody + " right?"},
		{"a group", "<!subteam^S12|@coaches> look", bot.Somebody + " look"},
		{"everybody", "<!here> game off", "@here game off"},
		{"a date", "on <!date^1392734382^{date}|Feb 18>", "on Feb 18"},
		{"a channel", "see <#C1|u11-coaches>", "see #u11-coaches"},
		{"a channel without a name", "see <#C1>", "see #channel"},
		{"a link", "<https://example.org/a|the rules> say so", "the rules say so"},
		{"a bare link", "<https://example.org/a?x=1&amp;y=2>", "https://example.org/a?x=1&y=2"},
		{"a mail address", "<mailto:a@example.org|a@example.org>", "a@example.org"},
		{"entities once", "4 &lt; 5 &amp;&amp; 6 &gt; 5, &amp;lt;", "4 < 5 && 6 > 5, &lt;"},
		{"no link but less than", "3 < 4 and 5 > 4", "3 < 4 and 5 > 4"},
		{"inches and feet", `45" or 3'9"`, `45" or 3'9"`},
		{"smart quotes and primes", "45” or 3′9″ isn’t", "45” or 3′9″ isn’t"},
		{"fractions", "45½ and 45 1/2", "45½ and 45 1/2"},
		{"bold", "*45 inch* stick", "45 inch stick"},
		{"italic and struck", "_is_ it ~not~ legal?", "is it not legal?"},
		{"code", "`45 in`", "45 in"},
		{"times is no bold", "3*4*5", "3*4*5"},
		{"about is no strike", "~45 in or ~ 46", "~45 in or ~ 46"},
		{"a name with underscores", "my_own_stick", "my_own_stick"},
		{"emoji", "thanks :+1: :lacrosse:", "thanks    "},
		{"emoji with a shade", "ok :wave::skin-tone-3:", "ok  "},
		{"a clock is no emoji", "slash at 3:20:45 or 12:00:", "slash at 3:20:45 or 12:00:"},
		{"nothing", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := plainText(tt.in, "UBOT"); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func FuzzPlainText(f *testing.F) {
	for _, s := range []string{"<@UBOT> *45\"* <#C1|x> &amp;lt; :+1:", "<<@U1>>", "<!here|", "```a```", "_*~x~*_", "<|>", "<@>"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := plainText(s, "UBOT")
		if strings.ContainsAny(s, "<&*_~`:") {
			return // markup may go
		}
		if got != s {
			t.Errorf("%q became %q", s, got)
		}
	})
}

func TestEscape(t *testing.T) {
	tests := []struct{ in, want string }{
		{"a < b & c > d", "a &lt; b &amp; c &gt; d"},
		{"<!channel> <@U1>", "&lt;!channel&gt; &lt;@U1&gt;"},
		{"2 * 3 * 4", "2 ∗ 3 ∗ 4"},
		{"_x_ and a_b", "＿x＿ and a_b"},
		{"~45~", "∼45~"},
		{"`x`", "'x'"},
		{"short 37–42 in · long", "short 37–42 in · long"},
		{"bad \xff byte*", "bad  byte∗"},
	}
	for _, tt := range tests {
		if got := escape(tt.in); got != tt.want {
			t.Errorf("escape(%q) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

func TestCutEscaped(t *testing.T) {
	for _, s := range []string{strings.Repeat("&", 500), strings.Repeat("<b> ", 200), strings.Repeat("word ", 300), strings.Repeat("é", 400), "short"} {
		for _, n := range []int{2, 5, 6, 20, 100, 1000} {
			got := cutEscaped(s, n)
			if k := size(got); k > n {
				t.Errorf("%d characters of %.10q…, at most %d are wanted", k, s, n)
			}
			if i := strings.LastIndexByte(got, '&'); i >= 0 && !strings.Contains(got[i:], ";") {
				t.Errorf("an entity of %.10q… is cut: %q", s, got)
			}
		}
	}
	if got := cutEscaped("one two three four", 12); got != "one two…" {
		t.Errorf("cut at %q", got)
	}
}

func TestDivided(t *testing.T) {
	long := strings.Repeat("&amp;", 50) + " <https://example.org/a-long-way> " + strings.Repeat("ab ", 50)
	parts := divided(long, 40)
	for _, p := range parts {
		if size(p) > 40 {
			t.Errorf("%q is too long", p)
		}
		if strings.Count(p, "<") != strings.Count(p, ">") {
			t.Errorf("a link is cut: %q", p)
		}
		if i := strings.LastIndexByte(p, '&'); i >= 0 && !strings.Contains(p[i:], ";") {
			t.Errorf("an entity is cut: %q", p)
		}
	}
	if got := strings.ReplaceAll(strings.Join(parts, ""), " ", ""); got != strings.ReplaceAll(long, " ", "") {
		t.Errorf("something is lost: %q", got)
	}
}
