package bot

import (
	"context"
	"fmt"
	"strings"
	"time"
)

// Open questions as an admin sees them: those that ask alike together, without
// names, each with a control that begins a summary from it.

const (
	openDays   = 30 // on demand
	weekDays   = 7  // each week
	openShown  = 8
	openAsked  = 10 // wordings that go into a draft
	reportHour = 8  // on Monday, where the club plays
)

func (b *Bot) openQuestions(ctx context.Context, j *job, lang string) (*Told, error) {
	w := editWordsOf(lang)
	days := openDays
	if j.ev.Kind == Due {
		days = weekDays
	}
	missed, err := b.store.Missed(ctx, b.clock.Now().AddDate(0, 0, -days))
	if err != nil {
		return nil, err
	}
	if len(missed) == 0 {
		return told(lang, w.openNone, days), nil
	}
	groups := GroupMissed(missed)
	t := told(lang, w.open, len(missed), days)
	for i := range groups {
		g := &groups[i]
		if i == openShown {
			t.line(w.more, len(groups)-i)
			break
		}
		t.line(w.openLine, g.Count, cutTo(g.Text, shortLine), whys(g, w))
		t.Controls = append(t.Controls, Control{"ask:" + hashOf(g.Text), fmt.Sprintf(w.openDraft, i+1)})
	}
	t.line("%s", w.openHow)
	return t, nil
}

// whys says why a question stays open, and what it is about.
func whys(g *Asked, w *editWords) string {
	var out []string
	for _, y := range []struct{ why, text string }{{WhyNone, w.whyNone}, {WhyNeed, w.whyNeed}, {WhyMissed, w.whyMissed}} {
		if g.Whys[y.why] > 0 {
			out = append(out, y.text)
		}
	}
	return strings.Join(append(out, g.Divisions...), ", ")
}

// draftAnswer begins a summary from an open question, by the hash of its words or
// its number in the list.
func (b *Bot) draftAnswer(ctx context.Context, lang, id string, number int) (*Told, error) {
	w := editWordsOf(lang)
	missed, err := b.store.Missed(ctx, b.clock.Now().AddDate(0, 0, -openDays))
	if err != nil {
		return nil, err
	}
	groups := GroupMissed(missed)
	for i := range groups {
		g := &groups[i]
		all := append([]string{g.Text}, g.Others...)
		for _, text := range all {
			if hashOf(text) != id && number != i+1 {
				continue
			}
			asked := first(all, openAsked)
			t := told(lang, w.newHow)
			for _, q := range first(asked, 3) {
				t.line("“%s”", q)
			}
			t.form = newForm(strings.TrimRight(upperFirst(g.Text), "?!. "), asked, w)
			t.opens = "ask:" + hashOf(g.Text)
			return t, nil
		}
	}
	return told(lang, w.openGone), nil
}

// weekly has the open questions of the week told in the admins' channel, on Monday
// morning or when the bot next runs. The week is in the event's id: it is told once.
func (b *Bot) weekly(ctx context.Context) error {
	now := b.clock.Now().In(b.o.Zone)
	if _, channel := b.adminChannel(); channel == "" {
		return nil
	}
	year, week := now.Add(-reportHour * time.Hour).ISOWeek()
	missed, err := b.store.Missed(ctx, now.AddDate(0, 0, -weekDays))
	if err != nil || len(missed) == 0 {
		return err
	}
	return b.due(ctx, fmt.Sprintf("%s%d-%02d", dueQuestions, year, week), "")
}
