package matrixchat

import (
	"context"
	"errors"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
)

// vault reads encrypted rooms. Writing them is the client's own once the vault is
// open.
type vault interface {
	// take takes in the keys that a batch holds.
	take(ctx context.Context, batch *mautrix.RespSync, since string)
	// state takes in a room's state.
	state(ctx context.Context, ev *event.Event)
	// open decrypts; errNoKey where the key is not there yet.
	open(ctx context.Context, ev *event.Event) (*event.Event, error)
	// request asks the other devices for a key.
	request(ctx context.Context, ev *event.Event)
	// identify signs the device, so that clients do not warn of it.
	identify(ctx context.Context, a *Adapter) error
	close() error
}

var errNoKey = errors.New("the key is not there yet")
