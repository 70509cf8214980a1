package matrixchat

import (
	"context"
	"fmt"
	"iter"
	"slices"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// Bounds of what is read of a room.
const (
	pageEvents   = 500
	gapPages     = 6  // of a gap that are read
	besideEvents = 25 // of what is said at the same moment
)

// before reads a room's talk back from one token to another, but not back to
// before a time or before the bot came; oldest first.
func (a *Adapter) before(ctx context.Context, cli *mautrix.Client, at id.RoomID, from, to string, since int64) ([]*event.Event, error) {
	oldest := since - clocksDiffer.Milliseconds() // homeservers do not always stop where they are told
	var out []*event.Event
	for ev, err := range talk(ctx, cli, at, from, to, gapPages) {
		if err != nil && a.again(err).Retry {
			return nil, fmt.Errorf("read a room's talk: %w", err)
		}
		if err != nil {
			a.log.Error("a room's talk cannot be read", "room", at, "error", err)
			break
		}
		if a.isOurJoin(ev) || ev.Timestamp < oldest || ev.Timestamp <= a.sync.at.Began {
			break
		}
		out = append(out, ev)
	}
	slices.Reverse(out)
	return out, nil
}

// talk is what was said in a room, newest first, from one token to another but no
// more than some pages. What stands at a page's end is read a second time by its
// neighbours: dendrite begins the next page one depth earlier, and leaves out
// whatever was said at the same moment as the last event and stands beside it.
func talk(ctx context.Context, cli *mautrix.Client, at id.RoomID, from, to string, pages int) iter.Seq2[*event.Event, error] {
	return func(yield func(*event.Event, error) bool) {
		have := map[id.EventID]bool{}
		give := func(events []*event.Event) bool {
			for _, ev := range events {
				prepare(ev, at)
				if !have[ev.ID] && !yield(ev, nil) {
					return false
				}
				have[ev.ID] = true
			}
			return true
		}
		for n := range pages {
			page, err := messages(ctx, cli, at, from, to)
			if err != nil {
				yield(nil, err)
				return
			}
			if !give(page.Chunk) || len(page.Chunk) == 0 || page.End == "" || page.End == from || n == pages-1 {
				return
			}
			beside, err := justBefore(ctx, cli, at, page.Chunk[len(page.Chunk)-1].ID)
			if err != nil {
				yield(nil, err)
				return
			}
			if !give(beside) {
				return
			}
			from = page.End
		}
	}
}

// messages are a page of a room's talk, newest first. Dendrite takes a limit above
// 100 only as part of a filter.
func messages(ctx context.Context, cli *mautrix.Client, at id.RoomID, from, to string) (*mautrix.RespMessages, error) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	return cli.Messages(ctx, at, from, to, mautrix.DirectionBackward, &mautrix.FilterPart{Limit: pageEvents}, pageEvents)
}

// justBefore are the events that came just before one, newest first.
func justBefore(ctx context.Context, cli *mautrix.Client, at id.RoomID, ev id.EventID) ([]*event.Event, error) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	around, err := cli.Context(ctx, at, ev, nil, 2*besideEvents)
	if err != nil {
		return nil, err
	}
	return around.EventsBefore, nil
}
