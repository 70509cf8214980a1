package bot

import "context"

// accept keeps an event before its platform is told that it was received, and
// gives it to the workers. A second delivery is dropped only where the first one
// is known to be finished or is in this bot's hands; where whoever had it died,
// the event is taken up, and the platform is asked for a reply first.
func (b *Bot) accept(ctx context.Context, j *job) error {
	if b.lanes.count() >= b.o.Queue && !b.lanes.has(j.key) {
		return ErrBusy
	}
	p := Pending{Key: j.key, Conversation: j.conversation, Person: j.person, Event: j.ev, At: j.at}
	began := b.clock.Now()
	state, err := b.store.Accept(ctx, &p)
	b.o.Observer.Stage(StageAccept, b.clock.Now().Sub(began), err)
	if err != nil {
		return err
	}
	j.ord = p.Ord
	switch state {
	case Unseen:
		j.recovered = b.store.Lost() != "" // what was answered before is not known any more
	case InHand:
		j.recovered = true
	default:
		b.log.Debug("silent", j.id(), "why", "seen before")
		return nil
	}
	if b.lanes.add(j) && state == Unseen {
		b.working(j)
	}
	return nil
}

// working lets the platform show that there is work, off the reply's path.
func (b *Bot) working(j *job) {
	if w, ok := b.adapters[j.ev.Platform].(Worker); ok && !j.overheard && (j.ev.Kind == Message || j.ev.Kind == Command) {
		w.Working(j.ev.where())
	}
}

// gather reads what the store knows for a job. It runs when the job's turn has
// come, so that what the one before it in the conversation left is there.
func (b *Bot) gather(ctx context.Context, j *job) (step, error) {
	if j.recovered {
		state, err := b.store.State(ctx, j.key)
		if err != nil {
			return step{}, err
		}
		if state != InHand { // it was finished after all, while this delivery came in
			j.skip = true
			return stop("seen before"), nil
		}
		conversation := j.conversation
		why, err := b.ignore(ctx, j)
		if err != nil || why != "" {
			return stop(why), err
		}
		j.conversation = conversation // as it was when the event came
	}
	var err error
	if j.turns, err = b.turns(ctx, j.conversation); err != nil {
		return step{}, err
	}
	switch j.ev.Kind {
	case Edited, Deleted:
		j.answered, err = b.store.Answered(ctx, j.ev.messageKey())
	case Pressed:
		j.answered, err = b.pressed(ctx, &j.ev)
	default:
		return step{}, nil
	}
	return step{}, known(err)
}
