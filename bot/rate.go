package bot

import (
	"context"
	"sync"
	"time"
)

// rates counts each person's questions in windows of time.
type rates struct {
	limit Rate
	mu    sync.Mutex
	since time.Time
	count map[string]int
}

func newRates(r Rate) *rates { return &rates{limit: r, count: map[string]int{}} }

// take counts one more, and says how many there are in this window.
func (r *rates) take(person string, now time.Time) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	// A clock that was put back must not keep people out until it has caught up.
	if d := now.Sub(r.since); d >= r.limit.Per || d < 0 {
		r.since = now
		clear(r.count)
	}
	r.count[person]++
	return r.count[person]
}

// rate keeps one person from taking the bot from the others. Who asks too much
// is told once in each window, and not answered for the rest of it.
func (b *Bot) rate(_ context.Context, j *job) (step, error) {
	limit := b.rates.limit
	if limit.Questions <= 0 || limit.Per <= 0 || j.recovered || j.person == "" || j.ev.Kind == Deleted {
		return step{}, nil
	}
	n := b.rates.take(j.person, b.clock.Now())
	switch {
	case n <= limit.Questions:
		return step{}, nil
	case n == limit.Questions+1:
		b.say(j, func(w *words) string { return w.tooFast })
		return b.toSend(j), nil
	}
	return stop("too fast"), nil
}
