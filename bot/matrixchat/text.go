package matrixchat

import (
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"maunium.net/go/mautrix/event"

	"sidewall/bot"
)

// someID is a person's id as it stands in a text.
var someID = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`@[a-zA-Z0-9._=/+-]+:[a-zA-Z0-9.-]*[a-zA-Z0-9](?::\d+)?`)
})

// text is a message's plain text, and whether it speaks to the bot: by an
// intentional mention, by the name that the bot goes by, or by the prefix.
func (a *Adapter) text(r *room, c *event.MessageEventContent) (text string, mentioned bool) {
	c.RemoveReplyFallback()
	text = event.TrimReplyFallbackText(c.Body)
	if c.Format == event.FormatHTML && hasPill(c.FormattedBody) {
		text = htmlText(c.FormattedBody, func(shown, who string) string {
			switch {
			case who == string(a.me):
				return bot.Me
			case strings.HasPrefix(who, "@"):
				return bot.Somebody
			}
			return shown
		})
	}
	intended := c.Mentions.Has(a.me)
	// A client that replies to us mentions us too, and then the words may be anything.
	named := intended && c.RelatesTo.GetNonFallbackReplyTo() == ""
	if rest, ok := cutPrefix(text, a.o.Prefix); ok {
		text, mentioned = bot.Me+" "+rest, true
	}
	text = a.marked(text, a.names(r), named)
	if c.Mentions != nil && c.Mentions.Room {
		text = strings.ReplaceAll(text, "@room", bot.Somebody)
	}
	return text, mentioned || intended || strings.Contains(text, bot.Me)
}

func hasPill(html string) bool {
	return strings.Contains(html, "matrix.to/#/") || strings.Contains(html, "matrix:u/")
}

// names are what the bot is called in a room, the longest first.
func (a *Adapter) names(r *room) []string {
	var out []string
	for _, n := range []string{r.members[a.me], a.me.Localpart()} {
		if n = strings.TrimSpace(n); n != "" && !slices.ContainsFunc(out, func(o string) bool { return strings.EqualFold(o, n) }) {
			out = append(out, n)
		}
	}
	slices.SortFunc(out, func(a, b string) int { return len(b) - len(a) })
	return out
}

// marked puts the marks in place of ids and names. The bot's name may be a word of
// the game: without an intentional mention it counts only where it is spoken to,
// as "name: …" or "@name …".
func (a *Adapter) marked(text string, names []string, named bool) string {
	text = someID().ReplaceAllStringFunc(text, func(who string) string {
		if strings.EqualFold(who, string(a.me)) {
			return bot.Me
		}
		return bot.Somebody
	})
	for _, n := range names {
		if strings.Contains(text, bot.Me) {
			return text
		}
		if i := indexWord(text, "@"+n, true); i >= 0 {
			return text[:i] + bot.Me + text[i+1+len(n):]
		}
		lead := len(text) - len(strings.TrimLeft(text, " \t\n"))
		if indexWord(text, n, true) == lead {
			rest := text[lead+len(n):]
			if named || strings.HasPrefix(rest, ":") || strings.HasPrefix(rest, ",") {
				return bot.Me + rest
			}
		}
		if i := indexWord(text, n, false); named && i >= 0 {
			return text[:i] + bot.Me + text[i+len(n):]
		}
	}
	return text
}

// indexWord finds a word that is not part of another one.
func indexWord(text, word string, anyCase bool) int {
	for from := 0; from+len(word) <= len(text); {
		i := strings.Index(text[from:], word)
		if anyCase {
			i = indexFold(text[from:], word)
		}
		if i < 0 {
			return -1
		}
		i += from
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		after, _ := utf8.DecodeRuneInString(text[i+len(word):])
		if !wordRune(before) && !wordRune(after) {
			return i
		}
		_, size := utf8.DecodeRuneInString(text[i:])
		from = i + size
	}
	return -1
}

// indexFold is strings.Index without regard to case, for words whose cases are of
// one length.
func indexFold(text, word string) int {
	for i := range text {
		if i+len(word) > len(text) {
			return -1
		}
		if strings.EqualFold(text[i:i+len(word)], word) {
			return i
		}
	}
	return -1
}

func wordRune(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_')
}

// cutPrefix cuts the word that speaks to the bot.
func cutPrefix(text, prefix string) (string, bool) {
	text = strings.TrimLeft(text, " \t\n")
	if prefix == "" || len(text) < len(prefix) || !strings.EqualFold(text[:len(prefix)], prefix) {
		return "", false
	}
	rest := text[len(prefix):]
	last, _ := utf8.DecodeLastRuneInString(prefix)
	if first, _ := utf8.DecodeRuneInString(rest); rest != "" && wordRune(last) && wordRune(first) {
		return "", false // the beginning of a longer word
	}
	return strings.TrimLeft(rest, " :,\t\n"), true
}
