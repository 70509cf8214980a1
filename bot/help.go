package bot

import (
	"fmt"
	"strings"

	"sidewall/answers"
	"sidewall/answers/measure"
)

const (
	controlTopics = "topics"
	helpExamples  = 3 // with the headline and how to go on, five lines
)

// help says what can be asked. It is made of the checks themselves, so that it
// cannot promise what is not there.
func (b *Bot) help(j *job) {
	l := b.speak(j)
	w := wordsOf(l)
	topics := b.o.Desk().Topics()
	r := b.newReply(j, l)
	r.Controls = []Control{{controlTopics, w.topics}}
	if i := topicNamed(topics, j.wish.rest); j.wish.rest != "" && i >= 0 {
		line, examples := inLang(&topics[i], l)
		r.Headline = fmt.Sprintf(w.helpTopic, upperFirst(strings.TrimRight(line, ".")))
		for _, e := range first(examples, mostLines-1) {
			r.Lines = append(r.Lines, Line{Text: e})
		}
		b.reply(j, r)
		return
	}
	r.Headline = w.helpHead
	for i := range helpExamples { // spread over the list: gear, contact, the table
		if len(topics) == 0 {
			break
		}
		if _, examples := inLang(&topics[i*len(topics)/helpExamples], l); len(examples) > 0 {
			r.Lines = append(r.Lines, Line{Text: examples[0]})
		}
	}
	r.Lines = append(r.Lines, Line{Text: w.helpHow})
	b.reply(j, r)
}

// topicBlocks are all topics, each with one example.
func (b *Bot) topicBlocks(lang string) []Block {
	topics := b.o.Desk().Topics()
	out := make([]Block, 0, len(topics))
	for i := range topics {
		line, examples := inLang(&topics[i], lang)
		out = append(out, Block{Heading: upperFirst(line), Text: strings.Join(first(examples, 1), "\n")})
	}
	return out
}

// home is the bot's own page: what it knows about, the season, the book, the admins.
func (b *Bot) home(j *job) {
	l := b.speak(j)
	w := wordsOf(l)
	bk := b.o.Desk().Book()
	reviewed := bk.Season.From
	for _, s := range bk.Summaries {
		reviewed = max(reviewed, s.Reviewed)
	}
	about := Block{Heading: bk.Club, Text: fmt.Sprintf(w.homeSeason, bk.Season.Name, bk.Season.From, bk.Season.To) + "\n" +
		fmt.Sprintf(w.homeBook, bk.Revision, dateOrDash(reviewed))}
	admins := Block{Heading: w.homeAdmins}
	if b.o.Admins != nil {
		for _, a := range b.o.Admins() {
			if platform, id, ok := strings.Cut(a, ":"); ok && b.adapters[platform] != nil {
				if platform == j.ev.Platform {
					admins.People = append(admins.People, id)
				}
				continue
			}
			admins.People = append(admins.People, a)
		}
	}
	if len(admins.People) == 0 {
		admins.Text = w.homeNoAdmins
	}
	head := Block{Heading: w.topicsTitle}
	blocks := append([]Block{about, admins, head}, b.topicBlocks(l)...)
	b.show(j, HomePage, func(w *words) string { return w.homeTitle }, blocks)
}

func dateOrDash(d measure.Date) string {
	if d == 0 {
		return "–"
	}
	return d.String()
}

func inLang(t *answers.Topic, lang string) (line string, examples []string) {
	line, examples = t.Help, t.Examples
	if lang == "es" {
		if t.HelpES != "" {
			line = t.HelpES
		}
		if len(t.ExamplesES) > 0 {
			examples = t.ExamplesES
		}
	}
	return line, examples
}

func first(s []string, n int) []string { return s[:min(n, len(s))] }

func upperFirst(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}
