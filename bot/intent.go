package bot

import (
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"sidewall/answers"
)

// intent is what somebody wants of the bot.
type intent int

const (
	wantAnswer intent = iota
	wantHelp
	wantBind
	wantUnbind
	wantBinding // "what is this channel set to?"
	wantDefault
	wantNoDefault
	wantMyDefault
	wantForget
	wantChoice // a choice that completes an answer
	wantDetail
	wantSection
	wantMissed // "this does not answer me"
	wantTopics
	wantHome
	wantRemoval
	wantEdit // of the book: wish.edit says what
)

// wish is an intent with what was said of it.
type wish struct {
	intent             intent
	lang               string // of the words that told it; "" where they tell none
	rest               string // the topic of help, the words of a binding, the choice
	division, position string
	edit               *edit
}

// plain is text as the patterns below read it: lower case, no accents, one blank
// between words, no full stop or exclamation mark at the end.
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '’' || r == '‘':
			return '\''
		case unicode.Is(unicode.Mn, r), r == '¿', r == '¡':
			return -1
		}
		return unicode.ToLower(r)
	}, norm.NFKD.String(s))
	return strings.TrimRight(strings.Join(strings.Fields(s), " "), ".! ")
}

type phrase struct {
	re     pattern
	intent intent
	lang   string
}

// phrases are tried in order against the whole of a message. "this channel is
// U11" with a question mark asks, and is no command; so is anything longer.
var phrases = []phrase{
	{re(`(?:help|topics)\??|what can (?:i|you|we) (?:ask|do)(?: you)?\??|how does this work\??`), wantHelp, "en"},
	{re(`(?:ayuda|temas)\??|que (?:puedo|puedes|se puede) (?:preguntar|preguntarte|hacer)\??|como funciona(?: esto)?\??`), wantHelp, "es"},
	{re(`\?`), wantHelp, ""},
	{re(`help(?: with| on| about)? (.{1,40})`), wantHelp, "en"},
	{re(`ayuda(?: con| sobre| de)? (.{1,40})`), wantHelp, "es"},

	{re(`(?:what|which division) is this (?:channel|room)(?: set to| bound to| for)?\??|what is this (?:channel|room) (?:set|bound) to\??`), wantBinding, "en"},
	{re(`(?:que|cual|que division) es (?:este canal|esta sala)\??|que division tiene (?:este canal|esta sala)\??`), wantBinding, "es"},
	{re(`(?:unbind|release|unset|clear) this (?:channel|room)|this (?:channel|room) is (?:unbound|not set|for (?:everyone|everybody|all|all ages)|no division|any division|nothing)`), wantUnbind, "en"},
	{re(`(?:desvincula|suelta|libera) (?:este canal|esta sala)|(?:este canal|esta sala) (?:no tiene division|es (?:para|de) tod[oa]s)`), wantUnbind, "es"},
	{re(`(?:this (?:channel|room) is|(?:set|bind|make) this (?:channel|room)(?: to| for| as)?)(?: for| the)? ([^?]{1,60})`), wantBind, "en"},
	{re(`(?:(?:este canal|esta sala) es|(?:pon|vincula) (?:este canal|esta sala)(?: a| en| como| para)?)(?: de| para| del| la| el)* ([^?]{1,60})`), wantBind, "es"},

	{re(`(?:forget|clear|remove|delete) my (?:default|division|team)|i have no (?:default|division)`), wantNoDefault, "en"},
	{re(`(?:olvida|borra|quita) mi (?:division|equipo|posicion)|no tengo division`), wantNoDefault, "es"},
	{re(`what is my (?:default|division)(?: set to)?\??`), wantMyDefault, "en"},
	{re(`cual es mi division\??`), wantMyDefault, "es"},
	{re(`(?:set )?my (?:default|division|team|group|default division) (?:is|to|=) ([^?]{1,40})`), wantDefault, "en"},
	{re(`(?:i coach|i am with|i'm with) (?:the )?([^?]{1,40})`), wantDefault, "en"},
	{re(`mi (?:division|equipo|grupo) es (?:el |la |de )*([^?]{1,40})`), wantDefault, "es"},
	{re(`(?:entreno|soy entrenador de) (?:a |al |la |el |los |de )*([^?]{1,40})`), wantDefault, "es"},
	{re(`forget me|delete (?:my data|what you know about me)`), wantForget, "en"},
	{re(`olvidame|borra mis datos`), wantForget, "es"},
}

// pattern is a regular expression, made when it is first needed: the program has
// many, and most runs of it need none.
type pattern func() *regexp.Regexp

func re(s string) pattern { return compiled(`^(?:` + s + `)$`) }

func compiled(s string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(s) })
}

// understand says what a written message wants. What no phrase claims is a
// question; so is "help with" something that is no topic's name, and a default
// that names no division.
func understand(d Desk, text string) wish {
	p := plain(text)
	if utf8.RuneCountInString(p) > 100 {
		return wish{intent: wantAnswer}
	}
	for _, f := range phrases {
		m := f.re().FindStringSubmatch(p)
		if m == nil {
			continue
		}
		w := wish{intent: f.intent, lang: f.lang}
		if len(m) > 1 {
			w.rest = m[1]
		}
		switch f.intent {
		case wantHelp:
			if w.rest != "" && topicNamed(d.Topics(), w.rest) < 0 {
				return wish{intent: wantAnswer}
			}
		case wantBind:
			w.division, w.position = d.Named(w.rest)
			if w.division == "" || !onlyNames(d, w.rest) {
				w.division, w.position = "", ""
			}
		case wantDefault:
			w.division, w.position = d.Named(w.rest)
			if w.division == "" || !onlyNames(d, w.rest) {
				return wish{intent: wantAnswer}
			}
		}
		return w
	}
	return wish{intent: wantAnswer}
}

// filler are the words that may stand beside a division and a position.
var filler = words2set(`the a an our for of in at and on is team teams group squad channel room players player coach coaches boys kids side division only
	el la los las un una de del en y para equipo grupo canal sala jugadores jugador entrenador ninos division solo`)

func words2set(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(s) {
		out[w] = true
	}
	return out
}

// onlyNames says whether words name a division and a position and nothing else:
// "U11 attack" does, "U11 and the field is wet" does not. It takes a word away
// when what is left of the words still names the same.
func onlyNames(d Desk, text string) bool {
	division, position := d.Named(text)
	left := strings.Fields(text)
	extra := 0
	for i := range left {
		w := strings.Trim(left[i], ",;:()")
		if filler[w] {
			continue
		}
		without := strings.Join(append(append([]string{}, left[:i]...), left[i+1:]...), " ")
		if dv, ps := d.Named(without); dv == division && ps == position {
			extra++
		}
	}
	return extra == 0
}

// topicNamed finds a topic by its id, with blanks or hyphens.
func topicNamed(topics []answers.Topic, name string) int {
	name = strings.ReplaceAll(strings.TrimRight(plain(name), "? "), " ", "-")
	for i, t := range topics {
		if t.ID == name {
			return i
		}
	}
	return -1
}

// number reads "2", "2." or "2)".
func number(text string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimRight(strings.TrimSpace(text), ".)"))
	return n, err == nil && n > 0 && n < 100
}

var thanks = re(`(ok(ay)? |great |perfect |awesome |cool |got it |muchas |mil )*(thanks|thank you|thx|ty|cheers|gracias|perfecto|ok|okay|k|cool|great|got it|perfect|awesome|nice|vale|listo|de acuerdo|entendido|bueno)( (so much|a lot|very much|all|coach|everyone|bot|mil|a todos))?`)

// isThanks says that a message only closes a conversation.
func isThanks(text string) bool {
	return thanks().MatchString(plain(strings.Map(func(r rune) rune {
		if r == ',' || unicode.In(r, unicode.So, unicode.Sk, unicode.Variation_Selector) { // an emoji, its shade, its form
			return ' '
		}
		return r
	}, text)))
}

var followWords = re(`(and|what about|how about|but if|and if|same for|what if|y|que tal|y si|pero si|lo mismo)\b.*`)

// follows says that a message reads like the next one of a conversation.
func follows(text string) bool { return followWords().MatchString(plain(text)) }
