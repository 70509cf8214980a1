package bot

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"sidewall/answers/book"
)

// draft is a change of the book that somebody proposed and nobody decided on yet.
// It is kept until then, so that it outlives a restart. Like an event in hand it
// holds who it is of as the platform names them: that is what the book's history
// gets, and how one who is no admin any more is known.
type draft struct {
	ID       string            `json:"id"`
	By       string            `json:"by"`
	Why      string            `json:"why,omitempty"`
	What     string            `json:"what"`
	Base     string            `json:"base"`
	Files    []book.FileChange `json:"files"`
	Undoes   int               `json:"undoes,omitempty"`
	Approved []string          `json:"approved,omitempty"` // who wants it published
	Begun    bool              `json:"begun,omitempty"`    // to publish: after a crash it may stand already
	State    draftState        `json:"state,omitempty"`
	Number   int               `json:"number,omitempty"` // of the publication
	From     string            `json:"from,omitempty"`   // the message that proposed it
	Said     string            `json:"said,omitempty"`   // a hash of its words
	At       time.Time         `json:"at"`
}

type draftState string

const (
	draftOpen      draftState = ""
	draftPublished draftState = "published"
	draftCancelled draftState = "cancelled"
)

// Bounds of what waits.
const (
	draftsName = "drafts"
	mostDrafts = 50                  // the oldest are dropped
	draftsKept = 14 * 24 * time.Hour // whoever has not decided by then forgot it
)

// draftID names the draft of an event: the same when the event is taken up again.
func draftID(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:3])
}

func (e *Editing) drafts(ctx context.Context) ([]*draft, error) {
	raw, err := e.o.Values.Value(ctx, draftsName)
	if err != nil {
		return nil, fmt.Errorf("read the drafts: %w", err)
	}
	var out []*draft
	if len(raw) > 0 {
		if err := json.Unmarshal(raw, &out); err != nil {
			return nil, fmt.Errorf("read the drafts: %w", err)
		}
	}
	old := e.o.Clock.Now().Add(-draftsKept)
	return slices.DeleteFunc(out, func(d *draft) bool { return d.At.Before(old) }), nil
}

func (e *Editing) keepDrafts(ctx context.Context, all []*draft) error {
	if n := len(all) - mostDrafts; n > 0 {
		all = all[n:]
	}
	raw, err := json.Marshal(all)
	if err == nil {
		err = e.o.Values.SetValue(ctx, draftsName, raw)
	}
	if err != nil {
		return fmt.Errorf("keep the drafts: %w", err)
	}
	return nil
}

// keep puts a draft in the place of its older self, or at the end. What an
// earlier wording of the same message proposed is dropped.
func (e *Editing) keep(ctx context.Context, d *draft) error {
	all, err := e.drafts(ctx)
	if err != nil {
		return err
	}
	for _, o := range all {
		if o.ID != d.ID && o.From == d.From && d.From != "" && o.State == draftOpen && o.By == d.By {
			o.State, o.Files = draftCancelled, nil
		}
	}
	if i := slices.IndexFunc(all, func(o *draft) bool { return o.ID == d.ID }); i >= 0 {
		all[i] = d
	} else {
		all = append(all, d)
	}
	return e.keepDrafts(ctx, all)
}

// draft is the one that is named, or the newest open one of somebody; nil for none.
func (e *Editing) draft(ctx context.Context, id, by string) (*draft, error) {
	all, err := e.drafts(ctx)
	if err != nil {
		return nil, err
	}
	for i := len(all) - 1; i >= 0; i-- {
		if d := all[i]; id != "" && d.ID == id || id == "" && d.By == by && d.State == draftOpen {
			return d, nil
		}
	}
	return nil, nil
}

// unchanged says whether a draft was made of the same words of a message:
// platforms report links that unfold as edits.
func (e *Editing) unchanged(ctx context.Context, from, said string) (bool, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	all, err := e.drafts(ctx)
	return slices.ContainsFunc(all, func(d *draft) bool { return d.From == from && d.Said == said }), err
}

// dropOf drops the drafts of those whom gone names, and what they agreed to.
func (e *Editing) dropOf(ctx context.Context, gone func(who string) bool) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	all, err := e.drafts(ctx)
	if err != nil {
		return err
	}
	was := len(all)
	all = slices.DeleteFunc(all, func(d *draft) bool { return gone(d.By) })
	changed := len(all) < was
	for _, d := range all {
		n := len(d.Approved)
		d.Approved = slices.DeleteFunc(d.Approved, gone)
		changed = changed || len(d.Approved) < n
	}
	if !changed {
		return nil
	}
	return e.keepDrafts(ctx, all)
}
