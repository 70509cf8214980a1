package bot

import (
	"context"
	"errors"
	"strings"
	"unicode/utf8"

	"sidewall/answers/answer"
)

// maxText is the longest text that is kept of a message, in bytes. The desk says
// of anything near it that it is too long.
const maxText = 8 << 10

// ignore says why an event is not for the bot, "" where it is. It writes
// nothing: of talk that is not for the bot nothing is kept, not even that there
// was some. It is the one place where events are told apart that get no answer.
func (b *Bot) ignore(ctx context.Context, j *job) (why string, err error) {
	e := &j.ev
	switch {
	case e.Self:
		return "it is our own", nil
	case e.Robot:
		return "another bot", nil
	}
	j.person = b.people.hash(e.Person)
	j.conversation = j.key
	if len(e.Text) > maxText {
		e.Cut = true
		e.Text = strings.ToValidUTF8(e.Text[:maxText], "")
	}
	if len(e.People) > 0 && !namesSomebody(e.Text) {
		e.People = nil
	}
	j.text = said(e.Text)
	switch e.Kind {
	case Command, Home, Due:
		return "", nil
	case Pressed:
		return b.ignorePress(ctx, j)
	case Edited, Deleted:
		return b.ignoreChange(ctx, j)
	case Message:
		return b.ignoreMessage(ctx, j)
	}
	return "an unknown kind of event", nil
}

func (b *Bot) ignorePress(ctx context.Context, j *job) (string, error) {
	a, err := b.pressed(ctx, &j.ev)
	switch {
	case errors.Is(err, ErrUnknown) && j.ev.Of == "":
		return "not a reply of ours", nil // a reaction to somebody's message
	case errors.Is(err, ErrUnknown):
		return "", nil // it was ours, and is forgotten: that is told
	case err != nil:
		return "", err
	}
	if n, ok := strings.CutPrefix(j.ev.Control, numberPrefix); ok {
		if k, ok := number(n); !ok || k > len(a.Offered) {
			return "a number that was not offered", nil
		}
	}
	j.conversation = a.Conversation
	return "", nil
}

// pressed is the answer that a control belongs to.
func (b *Bot) pressed(ctx context.Context, e *Event) (*Answered, error) {
	if e.Of != "" {
		return b.store.Answered(ctx, e.Of)
	}
	return b.store.AnsweredAt(ctx, e.Platform, e.Reply)
}

func (b *Bot) ignoreChange(ctx context.Context, j *job) (string, error) {
	key := j.ev.messageKey()
	var err error
	if j.conversation, err = b.conversation(ctx, &j.ev); err != nil {
		return "", err
	}
	a, err := b.store.Answered(ctx, key)
	if err == nil {
		j.conversation = a.Conversation
	} else if !errors.Is(err, ErrUnknown) {
		return "", err
	}
	state, err := b.store.State(ctx, key)
	if err != nil {
		return "", err
	}
	switch {
	case state == InHand:
		return "", nil // it gets its turn after the message itself
	case a == nil:
		return "a change of a message that was not for us", nil
	case j.ev.Kind == Deleted:
		return "", nil
	case j.text == "":
		return "an edit that leaves no words", nil
	case b.clock.Now().Sub(a.At) > b.o.Threads:
		return "an edit of a question that is forgotten", nil
	}
	turns, err := b.turns(ctx, j.conversation)
	if err != nil {
		return "", err
	}
	for i := range turns {
		if turns[i].Key == key && turns[i].Part == 0 && turns[i].Text == j.text {
			return "an edit that changes no word", nil // platforms report unfolded links as edits
		}
	}
	return "", nil
}

func (b *Bot) ignoreMessage(ctx context.Context, j *job) (string, error) {
	e := &j.ev
	switch {
	case e.Message == "" && e.ID == "":
		return "a message without an id", nil
	case j.text == "" && !e.Mentioned:
		return "no words", nil
	case isThanks(j.text):
		return "thanks", nil
	}
	var err error
	if j.conversation, err = b.conversation(ctx, e); err != nil {
		return "", err
	}
	switch {
	case e.Direct && e.Thread == "":
		return "", b.goOn(ctx, j)
	case e.Direct:
		return "", nil
	case e.Mentioned && addressed(e.Text):
		return "", nil
	case e.Mentioned:
		return "a mention in mid-sentence", nil
	case e.Thread == "":
		return "nobody asked us", nil
	case strings.Contains(e.Text, Somebody):
		return "it is for somebody else", nil
	}
	turns, err := b.turns(ctx, j.conversation)
	if err != nil {
		return "", err
	}
	if len(turns) == 0 && !b.lanes.busy(j.conversation) {
		return "a thread that is not ours", nil
	}
	asked := strings.ContainsRune(j.text, '?') || follows(j.text)
	if len(turns) > 0 && !asked {
		if last := &turns[len(turns)-1]; last.Verdict != answer.Need || wordCount(j.text) > fewWords {
			return "talk in our thread", nil
		}
	}
	j.overheard = true
	return "", nil
}

// fewWords is how long a reply to a question of ours may be that is not put as one.
const fewWords = 6

// conversation names the conversation that an event belongs to: its thread's, or
// its own. In a direct conversation a thread may go on with an older one.
func (b *Bot) conversation(ctx context.Context, e *Event) (string, error) {
	if e.Thread == "" {
		return e.messageKey(), nil
	}
	root := e.place() + "/" + e.Thread
	a, err := b.store.Answered(ctx, root)
	switch {
	case errors.Is(err, ErrUnknown):
		return root, nil
	case err != nil:
		return "", err
	}
	return a.Conversation, nil
}

// goOn lets a message to the bot alone go on with the last conversation where it
// reads like that; people rarely open threads there. Else it starts clean.
func (b *Bot) goOn(ctx context.Context, j *job) error {
	few := wordCount(j.text) <= fewWords
	if !few && !follows(j.text) {
		return nil
	}
	last, err := b.store.Latest(ctx, j.ev.place(), b.clock.Now().Add(-b.o.Threads))
	if err != nil || last == "" {
		return err
	}
	if follows(j.text) {
		j.conversation = last
		return nil
	}
	turns, err := b.turns(ctx, last)
	if err != nil {
		return err
	}
	if n := len(turns); n > 0 && turns[n-1].Verdict == answer.Need && !strings.ContainsRune(j.text, '?') {
		j.conversation = last
	}
	return nil
}

func (b *Bot) turns(ctx context.Context, conversation string) ([]Turn, error) {
	return b.store.Turns(ctx, conversation, b.clock.Now().Add(-b.o.Threads))
}

// said is a text without the marks of mentions.
func said(text string) string {
	text = strings.NewReplacer(Me, " ", Somebody, " ").Replace(text)
	return strings.TrimLeft(strings.Join(strings.Fields(text), " "), " ,:;-–—")
}

// addressed says whether a mention speaks to the bot and not of it: it stands at
// the beginning (behind "hey coach," at most), at the end, or with a question.
func addressed(text string) bool {
	i := strings.Index(text, Me)
	if i < 0 {
		return true // it is mentioned beside the text
	}
	before, after := text[:i], text[i+utf8.RuneLen('\uFFFC'):]
	return wordCount(before) <= 2 || said(after) == "" || strings.ContainsRune(text, '?') || strings.ContainsRune(text, '¿')
}

func wordCount(s string) int { return len(strings.Fields(said(s))) }
