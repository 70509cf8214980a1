package slackchat

import (
	"strings"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

// viewBlocks is a view as blocks, most of them.
func viewBlocks(v *bot.View, most int) []slack.Block {
	var out []slack.Block
	if t := oneLine(v.Title); cutTo(t, maxTitle) != t || v.Kind == bot.HomePage && t != "" {
		out = append(out, slack.NewHeaderBlock(plain(cutTo(t, maxHeader)))) // the title bar has no room for it
	}
	for i := range v.Blocks {
		out = append(out, viewBlock(&v.Blocks[i])...)
	}
	if len(out) > most {
		out = append(out[:most-1], slack.NewContextBlock("", mrkdwn("…")))
	}
	if len(out) == 0 {
		out = append(out, section("…"))
	}
	return out
}

// viewBlock is one part: its heading and what fits stand in one section.
func viewBlock(b *bot.Block) []slack.Block {
	var body []string
	if b.Markdown {
		body = mrkdwnOf(b.Text)
	} else {
		for line := range strings.Lines(tidy(b.Text)) {
			if s := escape(oneLine(line)); s != "" {
				body = append(body, s)
			}
		}
	}
	if s := people(b.People); s != "" {
		body = append(body, s)
	}
	sep := "\n"
	if b.Markdown {
		sep = "\n\n"
	}
	head := oneLine(b.Heading)
	if head != "" && len(body) == 0 {
		return []slack.Block{slack.NewHeaderBlock(plain(cutTo(head, maxHeader)))}
	}
	texts := packed(body, sep, maxSection-maxHeader-3)
	if head != "" && len(texts) > 0 {
		texts[0] = "*" + cutEscaped(head, maxHeader) + "*\n" + texts[0]
	}
	out := make([]slack.Block, len(texts))
	for i, t := range texts {
		out[i] = section(t)
	}
	return out
}

// people are shown as Slack shows people, where an id is one of Slack's. In a
// view that notifies nobody.
func people(ids []string) string {
	var out []string
	for _, id := range ids {
		if userID().MatchString(id) {
			out = append(out, "<@"+id+">")
		} else if id = cutEscaped(oneLine(id), maxLabel); id != "" {
			out = append(out, id)
		}
	}
	return strings.Join(out, ", ")
}

func modal(v *bot.View) slack.ModalViewRequest {
	title := cutTo(oneLine(v.Title), maxTitle)
	if title == "" {
		title = "…"
	}
	m := slack.ModalViewRequest{Type: slack.VTModal, Title: plain(title), Blocks: slack.Blocks{BlockSet: viewBlocks(v, maxViewBlocks)}}
	if v.Form != nil {
		withForm(&m, v)
	}
	return m
}

func homePage(v *bot.View) slack.HomeTabViewRequest {
	return slack.HomeTabViewRequest{Type: slack.VTHomeTab, Blocks: slack.Blocks{BlockSet: viewBlocks(v, maxViewBlocks)}}
}

// viewText is a view in words, where there is no room for blocks.
func viewText(v *bot.View) string {
	lines := []string{oneLine(v.Title)}
	for i := range v.Blocks {
		lines = append(lines, oneLine(v.Blocks[i].Heading))
	}
	return cutEscaped(tidy(strings.Join(lines, "\n")), maxFallback)
}
