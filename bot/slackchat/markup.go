package slackchat

import (
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"sidewall/bot"
)

// Slack writes people, channels, links and groups as <…>, and its own three
// characters as entities. Everything else is as somebody typed it, quotes and
// primes included: 45" must stay an inch.
// They are compiled when the first message needs them: every run of the program,
// most of which never see Slack, would pay for it otherwise.
var (
	angleRE = once(`<([^<>\s][^<>\n]*)>`)
	// A name of an emoji between colons; "3:20:45" is none, for it needs a letter.
	emojiRE = once(`(^|[\s\pP\pS])(?::(?:[a-z][a-z0-9_'+-]*|\+1|-1):)+`)
	marksRE = []func() *regexp.Regexp{mark(`\*`), mark(`_`), mark(`~`), mark("`+")}
	userID  = once(`^[UW][A-Z0-9]{1,30}$`)
)

var (
	unescape = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&")
	escaper  = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
)

func once(re string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(re) })
}

// mark matches a pair of formatting marks around words.
func mark(m string) func() *regexp.Regexp {
	return once(`(^|[\s(\[{"'¿¡])` + m + `([^\s*_~` + "`" + `](?:[^*_~` + "`" + `\n]*[^\s*_~` + "`" + `])?)` + m + `($|[\s)\]}"'.,;:!?])`)
}

// plainText is a message without Slack's markup.
func plainText(text, me string) string {
	text = angleRE().ReplaceAllStringFunc(text, func(s string) string { return angle(s[1:len(s)-1], me) })
	text = emojiRE().ReplaceAllString(text, "$1 ")
	for _, re := range marksRE {
		text = re().ReplaceAllString(text, "$1$2$3")
	}
	return unescape.Replace(text)
}

// angle is what stands for <s>.
func angle(s, me string) string {
	target, label, labelled := strings.Cut(s, "|")
	switch {
	case strings.HasPrefix(target, "@"):
		if target[1:] == me && me != "" {
			return bot.Me
		}
		return bot.Somebody
	case strings.HasPrefix(target, "#"):
		if labelled {
			return "#" + label
		}
		return "#channel" // private to whoever wrote: its name is not told
	case strings.HasPrefix(target, "!subteam"):
		return bot.Somebody
	case strings.HasPrefix(target, "!"):
		if labelled {
			return label
		}
		return "@" + strings.TrimPrefix(target, "!")
	case labelled:
		return label
	}
	return strings.TrimPrefix(target, "mailto:")
}

// escape makes text say in mrkdwn what it says in plain: no mention, link or
// group can come out of it, and no word turns bold by accident.
func escape(text string) string {
	return escaper.Replace(flat(strings.ToValidUTF8(text, "")))
}

// flat replaces formatting marks where Slack would take them for such.
func flat(text string) string {
	if !strings.ContainsAny(text, "*_~`") {
		return text
	}
	var b strings.Builder
	prev := ' '
	for i, r := range text {
		next, _ := utf8.DecodeRuneInString(text[i+utf8.RuneLen(r):])
		switch {
		case r == '*':
			b.WriteRune('∗')
		case r == '`':
			b.WriteRune('\'')
		case r == '~' && !word(prev):
			b.WriteRune('∼')
		case r == '_' && !(word(prev) && word(next)):
			b.WriteRune('＿')
		default:
			b.WriteRune(r)
		}
		prev = r
	}
	return b.String()
}

func word(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }

// size counts as Slack counts: in units of UTF-16.
func size(s string) int {
	n := 0
	for _, r := range s {
		n++
		if r > 0xFFFF {
			n++
		}
	}
	return n
}

// head is the longest beginning of a text that has at most n characters.
func head(s string, n int) string {
	for i, r := range s {
		if n--; r > 0xFFFF {
			n--
		}
		if n < 0 {
			return s[:i]
		}
	}
	return s
}

// cutTo shortens a text to n characters, at a word where one ends late enough.
func cutTo(s string, n int) string {
	if size(s) <= n {
		return s
	}
	s = head(s, n-1)
	if i := strings.LastIndexAny(s, " \n"); i > len(s)/2 {
		s = s[:i]
	}
	return strings.TrimRight(s, " \n,;:") + "…"
}

// cutEscaped escapes a text so that the outcome has at most n characters. An
// entity is never cut in two.
func cutEscaped(text string, n int) string {
	out := escape(text)
	for keep := min(n, size(text)); size(out) > n && keep > 1; {
		keep -= max(1, (size(out)-n)/5)
		out = escape(cutTo(text, max(keep, 1)))
	}
	return out
}

// tidy takes away what no text of Slack may hold or that would show as a box.
func tidy(s string) string { return strings.TrimSpace(printable(s)) }

func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return r
		}
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}
