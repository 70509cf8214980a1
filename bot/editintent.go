package bot

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"sidewall/answers/book"
)

// editKind is what somebody wants of the book.
type editKind int

const (
	editNothing editKind = iota
	editList
	editShow
	editOpen // in a form, where the platform has one
	editText
	editReplace
	editNew
	editDelete
	editValue
	editPublish
	editCancel
	editDraft  // show the whole of a draft
	editDrafts // one's own
	editUndo
	editHistory
	editChanges // what changed this season: for anybody
	editChangesAll
	editQuestions
	editAnswer // draft a summary from an open question
	editAddAdmin
	editDropAdmin
	editAdmins
	editBegin
	editPage
	editPending // a draft that another admin has to see
	editTold    // a word of the program's own to the admins
)

// edit is what was said of a change of the book.
type edit struct {
	kind     editKind
	name     string        // of a summary, a division or a draft, as it was said
	summary  *book.Summary // that the name means; nil where it means none
	text     string
	old      string
	number   int
	why      string
	question bool   // it may as well be a question of the rules: whoever is no admin asks it
	lang     string // of the words
}

// forAll says whether anybody may.
func (e *edit) forAll() bool { return e.kind == editChanges || e.kind == editChangesAll }

const quotedRE = `(?:«\s*(.+?)\s*»|“(.+?)”|"(.+?)"|'(.+?)')`

// editPhrase is a form of words. Its named parts fill an edit.
type editPhrase struct {
	re   func() *regexp.Regexp
	kind editKind
	lang string
	// loose says that people who ask about rules may use the same words.
	loose bool
}

func phraseRE(s string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?is)^(?:` + s + `)$`) })
}

// editPhrases are tried in order against the whole of a message, whose words are
// the book's new words: unlike the other phrases they see it as it was written.
var editPhrases = []editPhrase{
	{phraseRE(`(?:list|show)(?: me)?(?: all| the| our)* summaries(?: (?:about|on|for) (?P<name>[^\n]{1,60}?))?[.!?]?`), editList, "en", false},
	{phraseRE(`(?:lista|listar|muestra|lista de)(?: de| todos| los| nuestros)* res[uú]menes(?: (?:sobre|de|para) (?P<name>[^\n]{1,60}?))?[.!?]?`), editList, "es", false},
	{phraseRE(`in(?: the)?(?: summary)? (?P<name>[^«“"'\n]{1,80}?)[,:]? (?:replace|change) ` + quotedRE + ` (?:with|to|by) ` + quotedRE + `\.?`), editReplace, "en", false},
	{phraseRE(`en(?: el)?(?: resumen)? (?P<name>[^«“"'\n]{1,80}?)[,:]? (?:reemplaza|cambia|sustituye) ` + quotedRE + ` (?:por|con|a) ` + quotedRE + `\.?`), editReplace, "es", false},
	{phraseRE(`(?:change|rewrite)(?: the)?(?P<sure> summary)? (?P<name>[^:\n]{1,80}):\s*(?P<text>.*)`), editText, "en", true},
	{phraseRE(`(?:cambia|reescribe)(?: el)?(?P<sure> resumen)? (?P<name>[^:\n]{1,80}):\s*(?P<text>.*)`), editText, "es", true},
	{phraseRE(`(?:add |write )?(?:a )?new summary(?:(?: about| on)? (?P<name>[^:\n]{1,100}))?(?::\s*(?P<text>.*))?`), editNew, "en", false},
	{phraseRE(`nuevo resumen(?:(?: sobre| de)? (?P<name>[^:\n]{1,100}))?(?::\s*(?P<text>.*))?`), editNew, "es", false},
	{phraseRE(`(?:delete|remove)(?: the)? summary (?P<name>[^\n]{1,80}?)[.!]?`), editDelete, "en", false},
	{phraseRE(`(?:borra|elimina|quita)(?: el)? resumen (?P<name>[^\n]{1,80}?)[.!]?`), editDelete, "es", false},
	{phraseRE(`(?:edit|change)(?: the)?(?P<sure> summary)? (?P<name>[^:\n]{1,80}?)[.!]?`), editOpen, "en", true},
	{phraseRE(`(?:edita|editar|cambia)(?: el)?(?P<sure> resumen)? (?P<name>[^:\n]{1,80}?)[.!]?`), editOpen, "es", true},
	{phraseRE(`(?:show|open|read)(?: me)?(?: the)?(?P<sure> summary)? (?P<name>[^\n]{1,80}?)[.!]?`), editShow, "en", true},
	{phraseRE(`(?:muestra|abre|lee)(?:me)?(?: el)?(?P<sure> resumen)? (?P<name>[^\n]{1,80}?)[.!]?`), editShow, "es", true},

	{phraseRE(`(?:publish|confirm)(?: it| that| this)?(?: change)?(?: #?(?P<name>[0-9a-f]{6}))?(?:(?:[:,]\s*|\s+because )(?P<text>[^\n]{1,200}?))?[.!]?`), editPublish, "en", false},
	{phraseRE(`(?:publica|publicar|publ[ií]calo|confirma)(?: el)?(?: cambio)?(?: #?(?P<name>[0-9a-f]{6}))?(?:(?:[:,]\s*|\s+porque )(?P<text>[^\n]{1,200}?))?[.!]?`), editPublish, "es", false},
	{phraseRE(`(?:cancel|discard)(?: it| that| this| the| my)?(?: change)?(?: #?(?P<name>[0-9a-f]{6}))?[.!]?`), editCancel, "en", true},
	{phraseRE(`(?:cancela|cancelar|canc[eé]lalo|descarta)(?: el| mi)?(?: cambio)?(?: #?(?P<name>[0-9a-f]{6}))?[.!]?`), editCancel, "es", true},
	{phraseRE(`my (?:changes|drafts)[.!?]?`), editDrafts, "en", true},
	{phraseRE(`mis (?:cambios|borradores)[.!?]?`), editDrafts, "es", true},
	{phraseRE(`undo(?: it| that)?(?: revision)?(?: #?(?P<number>\d{1,6}))?[.!]?|undo the last (?:change|publication)[.!]?`), editUndo, "en", false},
	{phraseRE(`(?:deshaz|deshacer|deshazlo)(?: la)?(?: revisi[oó]n)?(?: #?(?P<number>\d{1,6}))?[.!]?|deshaz el [uú]ltimo cambio[.!]?`), editUndo, "es", false},
	{phraseRE(`(?:the )?(?:book'?s? )?history(?: of the book)?[.!?]?|what was published(?: last)?\??`), editHistory, "en", true},
	{phraseRE(`(?:el )?historial(?: del libro)?[.!?]?|¿?qu[eé] se public[oó]\??`), editHistory, "es", true},
	{phraseRE(`(?:what|what's|what has|what is)(?: the)? (?:changed|changes|new)(?: (?:for|at|in|with)(?: the)? (?P<name>[^\n]{1,30}?))?(?: (?:for |in )?(?:this|the) (?:year|season))?\s*\??`), editChanges, "en", true},
	{phraseRE(`¿?(?:qu[eé])(?: ha)? (?:cambi[oó]|cambiado|cambia|hay de nuevo)(?: (?:para|en|con)(?: los| las| la| el)? (?P<name>[^\n]{1,30}?))?(?: (?:en )?(?:este a[nñ]o|esta temporada))?\s*\??`), editChanges, "es", true},
	{phraseRE(`(?:list |show )?(?:the |all )?open questions[.!?]?`), editQuestions, "en", false},
	{phraseRE(`(?:las )?preguntas (?:abiertas|sin respuesta)[.!?]?`), editQuestions, "es", false},
	{phraseRE(`draft(?: question)? #?(?P<number>\d{1,2})\.?`), editAnswer, "en", true},
	{phraseRE(`redacta(?:r)?(?: la)?(?: pregunta)? #?(?P<number>\d{1,2})\.?`), editAnswer, "es", true},
	{phraseRE(`(?:add|name)(?: an)? admin:? (?P<name>\S{1,200}?)\.?`), editAddAdmin, "en", false},
	{phraseRE(`make (?P<name>\S{1,200}) an admin\.?`), editAddAdmin, "en", false},
	{phraseRE(`(?:agrega|a[nñ]ade|nombra)(?: a| un| como)* administrador[a]?:? (?P<name>\S{1,200}?)\.?`), editAddAdmin, "es", false},
	{phraseRE(`(?:remove|drop|revoke)(?: the)? admin:? (?P<name>\S{1,200}?)\.?`), editDropAdmin, "en", false},
	{phraseRE(`(?:quita|revoca)(?: a| al| el| la)* administrador[a]?:? (?P<name>\S{1,200}?)\.?`), editDropAdmin, "es", false},
	{phraseRE(`(?:who are the |list )admins[.?]?`), editAdmins, "en", true},
	{phraseRE(`¿?qui[eé]nes son los administradores\??`), editAdmins, "es", true},
	{phraseRE(`(?:set|change)(?: a| the)? value\.?`), editValue, "en", false},
	{phraseRE(`(?:cambia|pon)(?: un| el)? valor\.?`), editValue, "es", false},
}

// sinceRE tells the start of a sentence that gives a value a day to begin on.
var sinceRE = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(?i)\b(from|since|as of|starting|beginning|desde|a partir de)\s+(?:el\s+)?(?:\d{1,2}\s+(?:de\s+)?)?(?:[[:alpha:]]{3,10}\.?\s+)?(?:\d{1,2},?\s+)?(?:de\s+)?\d{4}\b`)
})

var setRE = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(?i)^(set|value|pon|valor)[:\s]\s*`)
})

// readEdit reads a message as a wish of the book's keeping; nil where it is none.
func readEdit(bk *book.Book, text string) *edit {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil
	}
	for i := range editPhrases {
		p := &editPhrases[i]
		m := p.re().FindStringSubmatch(text)
		if m == nil {
			continue
		}
		if e := p.read(bk, m); e != nil {
			return e
		}
	}
	return readValue(bk, text)
}

// read fills an edit from what an expression found; nil where the words belong
// to another one, or to a question.
func (p *editPhrase) read(bk *book.Book, m []string) *edit {
	e := &edit{kind: p.kind, lang: p.lang, question: p.loose}
	sure := false
	var quotes []string
	for i, name := range p.re().SubexpNames() {
		switch {
		case i == 0 || m[i] == "":
		case name == "name":
			e.name = strings.TrimSpace(m[i])
		case name == "text":
			e.text = m[i]
		case name == "number":
			e.number, _ = strconv.Atoi(m[i]) // digits, at most six
		case name == "sure":
			sure = true
		case name == "":
			quotes = append(quotes, m[i])
		}
	}
	switch p.kind {
	case editReplace:
		e.old, e.text = quotes[0], quotes[len(quotes)-1]
		e.summary, _ = findSummary(bk, e.name)
	case editText, editOpen, editShow, editDelete:
		e.summary, _ = findSummary(bk, e.name)
		if e.summary == nil && !sure && p.loose && (strings.Contains(e.name+e.text, "?") || p.kind != editText) {
			return nil // "change of possession: who gets it?", "show me the sticks"
		}
		e.question = p.loose && !sure && p.kind != editText || e.summary == nil && p.loose && !sure
	case editPublish:
		e.name, e.why, e.text = strings.ToLower(e.name), strings.TrimSpace(e.text), ""
	case editCancel:
		e.name = strings.ToLower(e.name)
	case editNew:
		e.name = strings.TrimRight(e.name, " .!")
	}
	return e
}

// readValue reads a sentence that gives a value of the sheet a day to begin on.
// A question mark makes it a question.
func readValue(bk *book.Book, text string) *edit {
	if strings.ContainsAny(text, "?¿") || len(text) > 2000 {
		return nil
	}
	since := sinceRE().FindStringSubmatch(text)
	if since == nil {
		return nil
	}
	e := &edit{kind: editValue, text: text, lang: "en"}
	if w := strings.ToLower(since[1]); w == "desde" || strings.HasPrefix(w, "a partir") {
		e.lang = "es"
	}
	if rest := setRE().ReplaceAllString(text, ""); rest != text {
		e.text = rest
		return e
	}
	_, err := bk.SayValue(text)
	e.question = err != nil // an admin is told what is missing; anybody else asked something
	return e
}

// nameWords are a name as names are compared: words without accents, case or signs.
func nameWords(s string) []string {
	return strings.FieldsFunc(plain(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// findSummary is the summary that a name means: by its id or title, or the only
// one whose title holds all the words. near are others that it may mean.
func findSummary(bk *book.Book, name string) (found *book.Summary, near []*book.Summary) {
	words := nameWords(name)
	if len(words) == 0 {
		return nil, nil
	}
	for _, s := range bk.Summaries {
		if slices.Equal(nameWords(s.ID), words) || slices.Equal(nameWords(s.Title), words) {
			return s, nil
		}
	}
	type scored struct {
		s *book.Summary
		n int
	}
	var like []scored
	for _, s := range bk.Summaries {
		n := 0
		for _, w := range words {
			if len(w) > 2 && slices.ContainsFunc(append(nameWords(s.ID), nameWords(s.Title)...), func(o string) bool { return sameWord(o, w) }) {
				n++
			}
		}
		if n > 0 {
			like = append(like, scored{s, n})
		}
	}
	slices.SortStableFunc(like, func(a, b scored) int { return b.n - a.n })
	for i := range like[:min(len(like), 4)] {
		near = append(near, like[i].s)
	}
	return nil, near
}

// sameWord takes a letter too many, too few or another for a slip.
func sameWord(a, b string) bool {
	if a == b || singular(a) == singular(b) {
		return true
	}
	x, y := []rune(a), []rune(b)
	if len(x) < len(y) {
		x, y = y, x
	}
	if len(y) < 4 || len(x)-len(y) > 1 {
		return false
	}
	i := 0
	for i < len(y) && x[i] == y[i] {
		i++
	}
	j := 0
	for j < len(y)-i && x[len(x)-1-j] == y[len(y)-1-j] {
		j++
	}
	return i+j >= len(y)-(1-(len(x)-len(y)))
}

// editControls are what the controls of the book's keeping begin with.
var editControls = []struct {
	prefix string
	kind   editKind
}{
	{"publish:", editPublish}, {"cancel:", editCancel}, {"draft:", editDraft}, {"undo:", editUndo}, {"edit:", editOpen},
	{"page:", editPage}, {"ask:", editAnswer}, {"changes:", editChangesAll}, {"begin:", editBegin}, {"value:", editValue}, {"new:", editNew},
}

// readEditControl reads a pressed control; nil where it is none of these.
func readEditControl(id string) *edit {
	for _, c := range editControls {
		if rest, ok := strings.CutPrefix(id, c.prefix); ok {
			e := &edit{kind: c.kind, name: rest}
			if c.kind == editUndo {
				e.number, _ = strconv.Atoi(rest) // 0 is the newest
			}
			return e
		}
	}
	return nil
}

// written is a message with its line breaks, without the bot's name.
func written(text string) string {
	text = strings.ReplaceAll(text, Me, "")
	return strings.TrimLeft(text, " \t\r\n,:;-–—")
}
