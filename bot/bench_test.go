package bot

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkEventToReply is the time from an event's arrival to its reply's
// posting on a platform that takes no time, the state file's sync included.
func BenchmarkEventToReply(b *testing.B) {
	d := testDesk(b)
	s, err := OpenSQLite(b.Context(), filepath.Join(b.TempDir(), "state.db"), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	sent := make(chan struct{}, 1)
	chat := &fakeChat{after: func(int, *Reply) (Again, error) { sent <- struct{}{}; return Again{}, nil }}
	bot, err := New(Options{Desk: func() Desk { return d }, Store: s, Adapters: []Adapter{chat}, Date: gameDay})
	if err != nil {
		b.Fatal(err)
	}
	bot.lanes.start(bot.o.Workers)
	defer func() { _ = bot.Close(context.Background()) }()
	for i := 0; b.Loop(); i++ {
		e := Event{Kind: Message, ID: fmt.Sprint(i), Message: fmt.Sprint(i), Platform: "fake", Channel: "C", Person: "ann", Mentioned: true, Text: "U11 attack, 45-inch stick?"}
		if err := bot.Handle(b.Context(), e); err != nil {
			b.Fatal(err)
		}
		<-sent
	}
}
