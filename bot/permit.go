package bot

import (
	"context"
	"errors"
	"strings"

	"sidewall/answers/answer"
)

// understand says what an event wants.
func (b *Bot) understand(_ context.Context, j *job) (step, error) {
	switch j.ev.Kind {
	case Home:
		j.wish = wish{intent: wantHome}
	case Deleted:
		j.wish = wish{intent: wantRemoval}
	case Due:
		j.wish = wish{intent: wantEdit, edit: readDue(&j.ev)}
	case Pressed:
		j.wish = understandControl(j.ev.Control)
		if e := readEditControl(j.ev.Control); e != nil {
			j.wish = wish{intent: wantEdit, edit: e}
		}
	default:
		if j.text == "" {
			j.wish = wish{intent: wantHelp}
			break
		}
		if w, ok := b.understandEdit(j); ok {
			j.wish = w
		} else {
			j.wish = understand(b.o.Desk(), j.text)
		}
		if j.overheard && j.wish.intent != wantAnswer {
			return stop("talk in our thread"), nil
		}
		if n := len(j.turns); j.wish.intent == wantDefault && n > 0 && j.turns[n-1].Verdict == answer.Need {
			j.wish = wish{intent: wantAnswer} // it answers what was asked back
		}
	}
	return step{}, nil
}

func understandControl(id string) wish {
	for _, c := range []struct {
		prefix string
		intent intent
	}{{choicePrefix, wantChoice}, {numberPrefix, wantChoice}, {sectionPrefix, wantSection}} {
		if rest, ok := strings.CutPrefix(id, c.prefix); ok {
			return wish{intent: c.intent, rest: rest}
		}
	}
	switch id {
	case controlMissed:
		return wish{intent: wantMissed}
	case controlTopics:
		return wish{intent: wantTopics}
	}
	return wish{intent: wantDetail}
}

// permit refuses what a person may not do, politely, and logs it.
func (b *Bot) permit(_ context.Context, j *job) (step, error) {
	switch j.wish.intent {
	case wantBind, wantUnbind:
		if j.ev.Direct {
			b.say(j, func(w *words) string { return w.notInDirect })
			return b.toSend(j), nil
		}
		if !b.isAdmin(&j.ev) {
			b.log.Warn("refused", "what", "bind a channel", "person", j.person, "key", j.key)
			b.say(j, func(w *words) string { return w.onlyAdmins })
			return b.toSend(j), nil
		}
	case wantEdit:
		if b.refuseEdit(j) {
			b.log.Warn("refused", "what", "change the book", "person", j.person, "key", j.key)
			l := b.speak(j)
			b.say(j, func(*words) string { return editWordsOf(l).onlyAdmins })
			return b.toSend(j), nil
		}
	case wantDefault, wantNoDefault, wantMyDefault, wantForget:
		if !j.ev.Direct && j.ev.Kind != Command {
			b.say(j, func(w *words) string { return w.onlyDirect })
			return b.toSend(j), nil
		}
	}
	return step{}, nil
}

// toSend skips what is between here and the sending.
func (b *Bot) toSend(j *job) step {
	j.next = sendStage - 1
	return step{}
}

// known makes an answer that nobody knows no error.
func known(err error) error {
	if errors.Is(err, ErrUnknown) {
		return nil
	}
	return err
}
