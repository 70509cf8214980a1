package rulesindex

import (
	"context"
	"errors"
	"sync/atomic"
)

// Live is the index that serves, and can be replaced while it does: a search
// runs to its end on the index it began with, and that one closes after the last.
type Live struct {
	now atomic.Pointer[Index]
}

// NewLive serves an index, which from now on belongs to it.
func NewLive(ix *Index) *Live {
	l := &Live{}
	l.now.Store(ix)
	return l
}

// Search searches the index that serves at this moment.
func (l *Live) Search(ctx context.Context, q Query) ([]Hit, error) {
	for {
		ix := l.now.Load()
		if ix == nil {
			return nil, ErrClosed
		}
		hits, err := ix.Search(ctx, q)
		if errors.Is(err, ErrClosed) && l.now.Load() != ix {
			continue // replaced between the load and the search
		}
		return hits, err
	}
}

// Swap serves another index from now on. It does not wait for the searches that
// still run on the old one.
func (l *Live) Swap(ix *Index) {
	if old := l.now.Swap(ix); old != nil && old != ix {
		old.retire()
	}
}

// Close stops serving and waits for the searches that run.
func (l *Live) Close() error {
	if ix := l.now.Swap(nil); ix != nil {
		return ix.Close()
	}
	return nil
}
