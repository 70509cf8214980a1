package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"sidewall/answers"
	"sidewall/answers/answer"
)

// answer works out what to say. It may run again after a crash, so that whatever
// it writes it writes the same twice.
func (b *Bot) answer(ctx context.Context, j *job) (step, error) {
	switch j.wish.intent {
	case wantHelp:
		b.help(j)
	case wantTopics:
		b.show(j, Modal, func(w *words) string { return w.topicsTitle }, b.topicBlocks(b.speak(j)))
	case wantHome:
		b.home(j)
	case wantBind, wantUnbind, wantBinding:
		return step{}, b.bindChannel(ctx, j)
	case wantDefault, wantNoDefault, wantMyDefault:
		return step{}, b.bindPerson(ctx, j)
	case wantForget:
		n, err := b.Forget(ctx, j.ev.Person)
		if err != nil {
			return step{}, err
		}
		b.log.Info("a person was forgotten", "records", n)
		b.say(j, func(w *words) string { return w.forgot })
		j.person = ""
	case wantRemoval:
		b.remove(j)
	case wantChoice:
		return step{}, b.choose(ctx, j)
	case wantDetail:
		return step{}, b.detail(ctx, j)
	case wantSection:
		b.section(j)
	case wantEdit:
		return b.edit(ctx, j)
	case wantMissed:
		return step{}, b.missed(ctx, j)
	default:
		return b.question(ctx, j)
	}
	return step{}, nil
}

// question answers what was written, or answers an edited question anew.
func (b *Bot) question(ctx context.Context, j *job) (step, error) {
	key, ord := j.key, j.ord
	before := j.turns
	if j.ev.Kind == Edited {
		key = j.ev.messageKey()
		before, ord = beforeKey(j.turns, key, ord)
	}
	text := j.text
	if n, ok := number(text); ok && j.ev.Kind == Message {
		choice, err := b.numbered(ctx, j, n)
		if err != nil {
			return step{}, err
		}
		if choice != "" {
			text = choice
		}
	}
	a, req, err := b.ask(ctx, j, before, text)
	if err != nil {
		return step{}, err
	}
	if j.overheard && (a.Verdict == answer.NoAnswer || a.Kind == answer.Summary && !strings.ContainsRune(text, '?')) {
		return stop("talk in our thread"), nil
	}
	r := b.newReply(j, a.Lang)
	b.render(r, a, req)
	b.reply(j, r)
	j.given = given(a)
	j.done.Turn = &Turn{Conversation: j.conversation, Key: key, Ord: ord, Text: text, Person: j.person, Verdict: a.Verdict, Lang: a.Lang, At: b.clock.Now()}
	j.done.Rewrite = j.ev.Kind == Edited
	b.note(j, key, a, text)
	return step{}, nil
}

// beforeKey are the turns before a message's, and where it stands among them.
func beforeKey(turns []Turn, key string, ord int64) ([]Turn, int64) {
	for i := range turns {
		if turns[i].Key == key {
			return turns[:i], turns[i].Ord
		}
	}
	return turns, ord
}

// numbered is the choice that a bare number stands for, where the platform shows
// numbers and the last answer offered choices.
func (b *Bot) numbered(ctx context.Context, j *job, n int) (string, error) {
	if a, ok := b.adapters[j.ev.Platform].(Numberer); !ok || !a.NumbersChoices() || len(j.turns) == 0 {
		return "", nil
	}
	a, err := b.store.Answered(ctx, j.turns[len(j.turns)-1].Key)
	if err != nil || n > len(a.Offered) {
		return "", known(err)
	}
	return a.Offered[n-1], nil
}

// ask asks the desk, after what was said before in the conversation. The facts
// of a conversation are rebuilt from its words: words outlive a restart, a new
// book and an edit, which facts would not.
func (b *Bot) ask(ctx context.Context, j *job, before []Turn, text string) (*answer.Answer, answers.Request, error) {
	desk := b.o.Desk()
	req := answers.Request{ID: j.ev.ID, Lang: b.o.Lang, On: b.o.Date}
	bound, err := b.binding(ctx, j)
	if err != nil {
		return nil, req, err
	}
	req.Division, req.Position = bound.Division, bound.Position
	thread := &answers.Thread{}
	for _, t := range lastQuestions(before, b.o.Turns) {
		req.Text = t.Text
		if _, err := desk.Ask(ctx, req, thread); err != nil {
			return nil, req, fmt.Errorf("go through the conversation: %w", err)
		}
	}
	req.Text = text
	a, err := desk.Ask(ctx, req, thread)
	if err != nil {
		return nil, req, fmt.Errorf("ask the desk: %w", err)
	}
	return a, req, nil
}

// lastQuestions are the turns of the last n messages.
func lastQuestions(turns []Turn, n int) []Turn {
	seen := 0
	for i := len(turns) - 1; i >= 0; i-- {
		if i == len(turns)-1 || turns[i].Key != turns[i+1].Key {
			if seen++; seen > n {
				return turns[i+1:]
			}
		}
	}
	return turns
}

// choose completes an answer with a choice, in its place.
func (b *Bot) choose(ctx context.Context, j *job) error {
	a := j.answered
	if a == nil {
		b.say(j, func(w *words) string { return w.noChoice })
		return nil
	}
	choice := j.wish.rest
	if strings.HasPrefix(j.ev.Control, numberPrefix) {
		n, ok := number(choice)
		if !ok || n > len(a.Offered) {
			b.say(j, func(w *words) string { return w.noChoice })
			return nil
		}
		choice = a.Offered[n-1]
	}
	turns, last := throughKey(j.turns, a.Key)
	if last == nil || choice == "" {
		b.say(j, func(w *words) string { return w.noChoice })
		return nil
	}
	ans, req, err := b.ask(ctx, j, turns, choice)
	if err != nil {
		return err
	}
	r := b.newReply(j, ans.Lang)
	b.render(r, ans, req)
	b.reply(j, r)
	r.Key, r.Private = a.Key, a.Private
	j.given = given(ans)
	b.replace(j, a)
	j.done.Turn = &Turn{Conversation: a.Conversation, Key: a.Key, Part: last.Part + 1, Ord: last.Ord, Text: choice, Person: j.person,
		Verdict: ans.Verdict, Lang: ans.Lang, At: b.clock.Now()}
	b.note(j, a.Key, ans, turns[len(turns)-1].Text)
	return nil
}

// throughKey are the turns up to a message's last one, and that one; nil where
// the message is forgotten.
func throughKey(turns []Turn, key string) ([]Turn, *Turn) {
	for i := len(turns) - 1; i >= 0; i-- {
		if turns[i].Key == key {
			return turns[:i+1], &turns[i]
		}
	}
	return nil, nil
}

// again works an answer out once more, from what was said; nil where that is forgotten.
func (b *Bot) again(ctx context.Context, j *job) (*answer.Answer, answers.Request, error) {
	if j.answered == nil {
		return nil, answers.Request{}, nil
	}
	turns, last := throughKey(j.turns, j.answered.Key)
	if last == nil {
		return nil, answers.Request{}, nil
	}
	return b.ask(ctx, j, turns[:len(turns)-1], last.Text)
}

// detail shows the whole answer beside the conversation.
func (b *Bot) detail(ctx context.Context, j *job) error {
	a, _, err := b.again(ctx, j)
	if err != nil {
		return err
	}
	if a == nil {
		b.say(j, func(w *words) string { return w.forgotten })
		return nil
	}
	b.show(j, Modal, func(w *words) string { return w.detailTitle }, detailBlocks(a))
	return nil
}

// missed keeps a question that somebody says was not answered.
func (b *Bot) missed(ctx context.Context, j *job) error {
	a, req, err := b.again(ctx, j)
	if err != nil {
		return err
	}
	if a == nil {
		b.say(j, func(w *words) string { return w.forgotten })
		return nil
	}
	_, last := throughKey(j.turns, j.answered.Key)
	said := j.questionWords(j.answered.Key)
	m := b.open(WhyMissed, said, a, req.Division)
	m.Source, m.Person = WhyMissed+":"+last.Key+":"+j.person, j.person
	j.done.Missed = &m
	b.say(j, func(w *words) string { return w.noted })
	return nil
}

// remove takes away the answer of a message that was taken away.
func (b *Bot) remove(j *job) {
	j.done.Withdraw = j.ev.messageKey()
	if j.answered != nil {
		j.do, j.stands = doRemove, j.answered.Ref
	}
}

// bindChannel sets, drops or tells the division of a channel.
func (b *Bot) bindChannel(ctx context.Context, j *job) error {
	w := j.wish
	switch w.intent {
	case wantBinding:
		bound, err := b.channelBinding(ctx, &j.ev)
		if err != nil {
			return err
		}
		b.say(j, func(w *words) string {
			if bound.empty() {
				return w.notBound
			}
			return fmt.Sprintf(w.isBound, bound.name(w))
		})
		return nil
	case wantBind:
		if w.division == "" && w.position == "" {
			b.say(j, func(w *words) string { return fmt.Sprintf(w.noDivision, b.divisions()) })
			return nil
		}
	}
	// No division is kept too: it goes before what the settings bind.
	bound := Binding{Division: w.division, Position: w.position, By: j.person, At: b.clock.Now()}
	if err := b.store.Bind(ctx, channelName(&j.ev), bound); err != nil {
		return err
	}
	b.log.Info("a channel was bound", "channel", j.ev.Channel, "division", bound.Division, "position", bound.Position, "by", j.person)
	b.say(j, func(w *words) string {
		if bound.empty() {
			return w.unbound
		}
		return fmt.Sprintf(w.bound, bound.name(w))
	})
	return nil
}

// bindPerson sets, drops or tells a person's own default.
func (b *Bot) bindPerson(ctx context.Context, j *job) error {
	name := personName(j.person)
	switch j.wish.intent {
	case wantMyDefault:
		bound, err := b.store.Binding(ctx, name)
		if known(err) != nil {
			return err
		}
		b.say(j, func(w *words) string {
			if bound.empty() {
				return w.defaultNone
			}
			return fmt.Sprintf(w.defaultIs, bound.name(w))
		})
		return nil
	case wantNoDefault:
		b.say(j, func(w *words) string { return w.defaultGone })
		return b.store.Unbind(ctx, name)
	}
	bound := Binding{Division: j.wish.division, Position: j.wish.position, By: j.person, At: b.clock.Now()}
	b.say(j, func(w *words) string { return fmt.Sprintf(w.defaultSet, bound.name(w)) })
	return b.store.Bind(ctx, name, bound)
}

// binding is what stands where a question names no division: the channel's, else
// the person's own; the other way round where they are alone with the bot.
func (b *Bot) binding(ctx context.Context, j *job) (Binding, error) {
	channel, err := b.channelBinding(ctx, &j.ev)
	if err != nil || !channel.empty() && !j.ev.Direct || j.person == "" {
		return channel, err
	}
	own, err := b.store.Binding(ctx, personName(j.person))
	if known(err) != nil {
		return own, err
	}
	if own.empty() {
		return channel, nil
	}
	return own, nil
}

// channelBinding is what an admin said in the channel, else what the settings say.
func (b *Bot) channelBinding(ctx context.Context, e *Event) (Binding, error) {
	bound, err := b.store.Binding(ctx, channelName(e))
	if !errors.Is(err, ErrUnknown) {
		return bound, err
	}
	for _, c := range b.o.Channels {
		if c.ID == e.Channel {
			return Binding{Division: c.Division, Position: c.Position}, nil
		}
	}
	return Binding{}, nil
}

func (b Binding) empty() bool { return b.Division == "" && b.Position == "" }

func (b Binding) name(w *words) string {
	position := b.Position
	if p := w.positions[position]; p != "" {
		position = p
	}
	return strings.TrimSpace(b.Division + " " + position)
}

func (b *Bot) divisions() string {
	var ids []string
	for _, d := range b.o.Desk().Book().Divisions {
		ids = append(ids, d.ID)
	}
	return strings.Join(ids, ", ")
}
