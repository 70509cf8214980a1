package bot

import (
	"strings"
	"unicode"

	"sidewall/answers/answer"
)

// note keeps a question that the book did not answer, or strikes it out where an
// edit or a choice made it one that it answers.
func (b *Bot) note(j *job, key string, a *answer.Answer, text string) {
	if a.Verdict != answer.NoAnswer {
		j.done.Found = key
		return
	}
	if j.overheard {
		return
	}
	m := b.open(WhyNone, []string{text}, a, "")
	m.Source, m.Person = key, j.person
	j.done.Found = key // an edit's new words go before the old ones
	j.done.Missed = &m
}

// open makes an open question of what was said.
func (b *Bot) open(why string, text []string, a *answer.Answer, division string) Missed {
	m := Missed{Why: why, Text: scrub(b.o.Desk(), strings.Join(text, " / ")), At: b.clock.Now(), Division: division}
	if a != nil {
		m.Lang, m.Topic = a.Lang, a.Topic
		if v, ok := a.Facts.Get("division"); ok {
			m.Division = v.S
		}
	}
	return m
}

// unended is the open question of a conversation that ended with a fact that was
// asked for and never came.
func (b *Bot) unended(t *Turn) Missed {
	m := b.open(WhyNeed, []string{t.Text}, nil, "")
	m.Source, m.Lang, m.Person, m.At = t.Key, t.Lang, t.Person, t.At
	return m
}

// questionWords are a message and the choices that completed its answer.
func (j *job) questionWords(key string) []string {
	var out []string
	for i := range j.turns {
		if j.turns[i].Key == key {
			out = append(out, j.turns[i].Text)
		}
	}
	return out
}

// What is taken out of a text before it is kept.
const (
	cutName    = "[name]"
	cutNumber  = "[number]"
	cutContact = "[contact]"
)

var (
	contactRE = compiled(`(?i)[\pL\d._%+-]+\s?(?:@|\(at\)|\[at\])\s?[\pL\d-]+(?:\.[\pL\d-]+)+|(?:https?://|www\.)\S+|[@#][\pL_][\pL\d_.:-]{2,}`)
	phoneRE   = compiled(`\+?\(?\d(?:[\s().-]{0,2}\d){6,}`)
	jerseyRE  = compiled(`(?i)(#\s?|\b(?:number|no\.|nr\.|num\.?|jersey|player|numero|número|jugador|camiseta)\s+#?)\d{1,3}\b`)
	birthRE   = compiled(`\b\d{1,4}[/.-]\d{1,2}[/.-]\d{1,4}\b`)
	// a word behind one of these is most likely somebody's name
	titleRE = compiled(`(?i)\b(?:named|called|name is|name's|nombre es|se llama|llamado|llamada|mr\.?|mrs\.?|ms\.?|miss|dr\.?|coach|ref|official|teammate|captain|sr\.?|sra\.?|profe|entrenador|entrenadora|capitan|capitán|(?:son|daughter|kid|boy|child|nephew|grandson|brother|player|hijo|hija|niño|nieto|sobrino|hermano))$`)
	wordRE  = compiled(`[\pL\pM][\pL\pM'’-]*`)
)

// scrub takes people out of a question: contact data, jersey numbers, days of
// birth and names. It would rather take out a word too many: what an admin needs
// to see is what was asked, not of whom.
func scrub(d Desk, text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, ""))
	// What is taken out may bring together what stood apart.
	for range 4 {
		before := text
		if text = scrubNames(d, scrubNumbers(strings.Join(strings.Fields(text), " "))); text == before {
			break
		}
	}
	return text
}

func scrubNumbers(text string) string {
	text = contactRE().ReplaceAllString(text, cutContact)
	text = phoneRE().ReplaceAllStringFunc(text, func(s string) string {
		if birthRE().MatchString(s) {
			return cutNumber
		}
		return cutContact
	})
	text = birthRE().ReplaceAllString(text, cutNumber)
	return jerseyRE().ReplaceAllString(text, "${1}"+cutNumber)
}

func scrubNames(d Desk, text string) string {
	var out strings.Builder
	last, named := 0, false // named: the word before was taken for a name
	for _, at := range wordRE().FindAllStringIndex(text, -1) {
		word, before := text[at[0]:at[1]], text[last:at[0]]
		inCut := strings.HasSuffix(text[:at[0]], "[") && strings.HasPrefix(text[at[1]:], "]")
		out.WriteString(before)
		last = at[1]
		if inCut {
			out.WriteString(word)
			named = false
			continue
		}
		beside := strings.TrimSpace(before) == "" && at[0] > 0
		switch {
		case isName(d, word, text[:at[0]], named && beside):
			if !named || !beside {
				out.WriteString(cutName)
			} else { // a second name of the same person
				s := strings.TrimRight(out.String(), " ")
				out.Reset()
				out.WriteString(s)
			}
			named = true
		default:
			out.WriteString(word)
			named = false
		}
	}
	out.WriteString(text[last:])
	return strings.Join(strings.Fields(out.String()), " ")
}

// isName says whether a word is likely a person's name: the desk does not know
// it, and it is written like a name or stands where names stand.
func isName(d Desk, word, before string, afterName bool) bool {
	bare := strings.TrimSuffix(strings.TrimSuffix(word, "'s"), "’s")
	if len([]rune(bare)) < 2 || d.Known(bare) {
		return false
	}
	r := []rune(bare)
	allCaps := strings.ToUpper(bare) == bare
	switch {
	case titleRE().MatchString(strings.TrimRight(before, " ,.:")):
		return true
	case bare != word: // "tommy's stick"
		return !d.Known(word)
	case unicode.IsUpper(r[0]) && (!allCaps || len(r) > 4):
		return true
	case afterName && unicode.IsUpper(r[0]):
		return true
	}
	return false
}
