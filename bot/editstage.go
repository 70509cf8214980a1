package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"sidewall/answers/book"
)

// understandEdit says whether a message is about keeping the book. Words that
// people use who ask about rules are that only where an admin says them.
func (b *Bot) understandEdit(j *job) (wish, bool) {
	text := written(j.ev.Text)
	bk := b.o.Desk().Book()
	e := readEdit(bk, text)
	if e == nil {
		return wish{}, false
	}
	w := wish{intent: wantEdit, lang: e.lang, edit: e}
	switch {
	case e.kind == editChanges:
		if e.name != "" {
			d := b.o.Desk()
			if w.division, _ = d.Named(e.name); w.division == "" || !onlyNames(d, plain(e.name)) {
				return wish{}, false
			}
		}
		return w, true
	case e.kind != editQuestions && e.kind != editAddAdmin && e.kind != editDropAdmin && e.kind != editAdmins && b.editing == nil,
		e.question && !b.isAdmin(&j.ev):
		return wish{}, false
	}
	return w, true
}

// refuseEdit says whether a wish about the book has to be refused.
func (b *Bot) refuseEdit(j *job) bool {
	return j.ev.Kind != Due && !j.wish.edit.forAll() && !b.isAdmin(&j.ev)
}

// edit does what is wished of the book. Where it runs again after a crash it does
// the same: a draft has its event's name, and what was published is known.
func (b *Bot) edit(ctx context.Context, j *job) (step, error) {
	e := j.wish.edit
	lang := b.speak(j)
	var t *Told
	var err error
	switch e.kind {
	case editChanges, editChangesAll:
		t, err = b.changes(ctx, j, lang)
	case editQuestions:
		t, err = b.openQuestions(ctx, j, lang)
	case editAnswer:
		t, err = b.draftAnswer(ctx, lang, e.name, e.number)
	case editAddAdmin, editDropAdmin, editAdmins:
		t, err = b.nameAdmin(ctx, j, lang)
	case editTold:
		t = told(lang, editWordsOf(lang).broken)
		for l := range strings.Lines(e.text) {
			if l = tidy(l); l != "" && len(t.Lines) < shownErrors {
				t.line("%s", l)
			}
		}
	default:
		if b.editing == nil {
			t = told(lang, editWordsOf(lang).noBook)
			break
		}
		from, said := "", hashOf(j.ev.Text)
		if j.ev.Kind == Message || j.ev.Kind == Edited {
			from = j.ev.messageKey()
		}
		if j.ev.Kind == Edited {
			if same, err := b.editing.unchanged(ctx, from, said); err != nil || same {
				return stop("an edit that changes no word"), err
			}
		}
		t, err = b.editing.do(ctx, asked{edit: e, who: j.ev.Platform + ":" + j.ev.Person, key: j.key, from: from, said: said, lang: lang, cut: j.ev.Cut})
	}
	if err != nil {
		return step{}, err
	}
	if t.waits != "" {
		if err := b.due(ctx, dueConfirm+t.waits, ""); err != nil {
			b.log.Error("the other admins could not be told of a change that waits", "error", err)
		}
	}
	b.tellEdit(j, t)
	return step{}, nil
}

// tellEdit makes a reply or a view of what is told.
func (b *Bot) tellEdit(j *job, t *Told) {
	former, _ := b.adapters[j.ev.Platform].(Former)
	opens := former != nil && former.Opens(&j.ev)
	switch {
	case t.form != nil && opens:
		f := *t.form
		f.open(&j.ev, t.Lang)
		b.show(j, Modal, func(*words) string { return f.title(editWordsOf(t.Lang)) }, nil)
		j.view.Lang, j.view.Form = t.Lang, &f
		return
	case t.view && len(t.Blocks) > 0:
		b.show(j, Modal, func(*words) string { return t.title }, t.Blocks)
		j.view.Lang = t.Lang
		return
	}
	r := b.newReply(j, t.Lang)
	r.Headline, r.Lines, r.Controls, r.Caution = t.Headline, t.Lines, slices.Clone(t.Controls), t.Caution
	if former == nil { // where nothing can be filled in
		r.Controls = slices.DeleteFunc(r.Controls, func(c Control) bool { return strings.HasPrefix(c.ID, "edit:") })
	} else if t.form != nil && controlOf(t, "edit:") == "" {
		w := editWordsOf(t.Lang)
		id := t.opens
		if id == "" {
			id = opener(j.wish.edit)
		}
		r.Controls = append(r.Controls, Control{id, t.form.title(w)})
	}
	b.reply(j, r)
	if j.ev.Kind != Pressed {
		return
	}
	if j.ev.Direct {
		r.Private = false
	}
	switch {
	case t.inPlace && j.answered != nil && !j.answered.Ref.IsZero():
		r.Key, r.Private = j.answered.Key, j.answered.Private
		b.replace(j, j.answered)
	case t.inPlace && !j.ev.Reply.IsZero():
		j.do, j.stands = doUpdate, j.ev.Reply
	default:
		j.keeps = true // its controls are to be found again
	}
}

// opener is the control that opens a form from a reply.
func opener(e *edit) string {
	switch e.kind {
	case editNew:
		return "new:" + cutTo(e.name, labelRunes)
	case editValue:
		return "value:"
	}
	return "edit:" + e.name
}

// changes tells what changed this season for a division that is named or bound.
func (b *Bot) changes(ctx context.Context, j *job, lang string) (*Told, error) {
	e := j.wish.edit
	division := j.wish.division
	if e.kind == editChangesAll {
		division = e.name
	}
	if division == "" {
		bound, err := b.binding(ctx, j)
		if err != nil {
			return nil, err
		}
		division = bound.Division
	}
	bk := b.o.Desk().Book()
	if e.kind == editChangesAll && bk.Sheet.DivisionIndex(division) < 0 {
		division = ""
	}
	return seasonChanges(bk, division, lang, tidy(b.texts.Say(lang, "common", "caution", nil)), e.kind == editChangesAll)
}

// newEditing makes the keeping of the book, where there is an editor.
func (b *Bot) newEditing() *Editing {
	if b.o.Editor == nil {
		return nil
	}
	return NewEditing(EditOptions{Editor: b.o.Editor, Values: b.store, Clock: b.clock, Admin: b.isAdminCalled, Confirm: b.o.Confirm,
		Book: func() *book.Book { return b.o.Desk().Book() }})
}

// isAdminCalled says whether somebody is an admin who is named with the platform.
func (b *Bot) isAdminCalled(who string) bool {
	platform, person, _ := strings.Cut(who, ":")
	return b.isAdmin(&Event{Platform: platform, Person: person})
}

// Due is what the bot itself begins: a report for the admins' channel.
const Due Kind = "due"

// What is due, as the event's id begins.
const (
	dueQuestions = "questions/"
	dueConfirm   = "confirm/"
	dueTold      = "told/"
)

// readDue is the wish of an event of the bot's own.
func readDue(e *Event) *edit {
	if id, ok := strings.CutPrefix(e.ID, dueConfirm); ok {
		return &edit{kind: editPending, name: id}
	}
	if strings.HasPrefix(e.ID, dueTold) {
		return &edit{kind: editTold, text: e.Text}
	}
	return &edit{kind: editQuestions}
}

// due has something told in the admins' channel, once for each id. It is an event
// like others, so that it is tried until the platform takes it, and outlives a
// restart.
func (b *Bot) due(ctx context.Context, id, text string) error {
	platform, channel := b.adminChannel()
	if channel == "" || b.closed.Load() {
		return nil
	}
	j := &job{ev: Event{Kind: Due, ID: id, Platform: platform, Channel: channel, Text: cutTo(strings.ToValidUTF8(text, ""), maxText/4), Lang: b.o.Lang, At: b.clock.Now()}, at: b.clock.Now()}
	j.key = j.ev.Key()
	j.conversation = j.key
	if err := b.accept(ctx, j); err != nil {
		return fmt.Errorf("tell the admins' channel: %w", err)
	}
	return nil
}

// adminChannel is where admins are told things; "" for nowhere. The platform may
// stand before it; otherwise it is the one there is.
func (b *Bot) adminChannel() (platform, channel string) {
	at := b.o.AdminChannel
	if p, id, ok := strings.Cut(at, ":"); ok && b.adapters[p] != nil {
		return p, id
	}
	if at == "" || len(b.o.Adapters) != 1 {
		return "", ""
	}
	return b.o.Adapters[0].Platform(), at
}

// BookErrors is what is wrong with a book, a line each, with file and line and
// without the lines of the files.
func BookErrors(wrong error) string {
	var all book.Errors
	if !errors.As(wrong, &all) {
		return wrong.Error()
	}
	var lines []string
	for _, x := range all {
		lines = append(lines, x.Error())
	}
	return strings.Join(lines, "\n")
}

// BookBroken tells the admins' channel that the book's folder does not load, once
// for each thing that is wrong.
func (b *Bot) BookBroken(ctx context.Context, wrong error) error {
	text := BookErrors(wrong)
	return b.due(ctx, dueTold+hashOf(b.clock.Now().UTC().Format(time.DateOnly)+text), text)
}
