package bot

import (
	"context"
	"errors"

	"sidewall/answers/book"
)

// Editor changes the club's book. The bot says who may, shows what would change
// and remembers it until somebody decides; an Editor knows how a book is written.
// It is safe for concurrent use.
type Editor interface {
	// Propose works changes into the book that stands. Its errors are those of
	// book.Publisher, or wrap ErrNoOwnBook.
	Propose(ctx context.Context, changes ...book.Change) (*book.Proposal, error)
	// ProposeUndo takes a publication back; 0 is the newest.
	ProposeUndo(ctx context.Context, number int) (*book.Proposal, error)
	// Resume makes a proposal again that was kept: a *book.StaleError where the
	// book has changed since.
	Resume(ctx context.Context, base string, files []book.FileChange) (*book.Proposal, error)
	// Preview says what would come of a proposal, beside its difference.
	Preview(ctx context.Context, pr *book.Proposal) (*Preview, error)
	// Publish makes a proposal the book and has it serve. A record beside an error
	// means that it is published all the same.
	Publish(ctx context.Context, pr *book.Proposal, n book.Note) (*book.Record, error)
	// History is what was published, the newest first.
	History(ctx context.Context, limit int) ([]*book.Record, error)
	// Begin writes a copy of the book that serves to a folder, as the start of the
	// club's own, and says which folder that is.
	Begin(ctx context.Context) (dir string, err error)
}

// ErrNoOwnBook is what an Editor says while the book in the program serves, which
// nobody can change.
var ErrNoOwnBook = errors.New("the book in the program serves, which cannot be changed")

// Preview is what an admin has to see before a proposal is published.
type Preview struct {
	Contradictions []string // numbers of summaries that the sheet would contradict, with file and line
	Findings       []string // what else would be wrong with the book
	Answers        []AnswerChange
}

// AnswerChange is an example question that would be answered differently.
type AnswerChange struct{ Question, Division, Before, After string }

// Values is what the keeping of the book needs of a Store.
type Values interface {
	Value(ctx context.Context, name string) ([]byte, error)
	SetValue(ctx context.Context, name string, value []byte) error
}
