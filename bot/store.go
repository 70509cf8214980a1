package bot

import (
	"context"
	"errors"
	"time"
)

// Store is what the bot remembers. People stand in it as salted hashes; the one
// exception is the payload of an event in hand, which is wiped when the event is
// answered. Every store passes the tests of store_test.go.
type Store interface {
	// Accept keeps an event before its platform is told that it was received.
	// State says what is known of its key already; Unseen means that it was kept now.
	Accept(ctx context.Context, p *Pending) (State, error)
	// Finish records in one step what became of an event, and wipes its payload.
	Finish(ctx context.Context, d *Done) error
	// Unfinished are the events that were accepted and not finished, oldest first.
	Unfinished(ctx context.Context) ([]Pending, error)
	// State is what is known of a key.
	State(ctx context.Context, key string) (State, error)

	// Answered is what was answered to a key; ErrUnknown where nothing was.
	Answered(ctx context.Context, key string) (*Answered, error)
	// AnsweredAt is the same by where the answer stands.
	AnsweredAt(ctx context.Context, platform string, at Ref) (*Answered, error)
	// Turns are what was asked in a conversation since a time, in order.
	Turns(ctx context.Context, conversation string, since time.Time) ([]Turn, error)
	// Latest is the last conversation of a channel that was active since a time; "" for none.
	Latest(ctx context.Context, place string, since time.Time) (string, error)
	// Idle are the last turns of the conversations that nobody went on with since a time.
	Idle(ctx context.Context, since time.Time) ([]Turn, error)

	// Binding is what a channel or person is bound to; ErrUnknown where nothing was said.
	Binding(ctx context.Context, of string) (Binding, error)
	Bind(ctx context.Context, of string, b Binding) error
	Unbind(ctx context.Context, of string) error

	// Miss keeps an open question; one with its Source is kept already.
	Miss(ctx context.Context, m Missed) error
	// Missed are the open questions since a time, oldest first.
	Missed(ctx context.Context, since time.Time) ([]Missed, error)

	// Value is a small value by name (a sync token, the salt); nil for none.
	Value(ctx context.Context, name string) ([]byte, error)
	SetValue(ctx context.Context, name string, value []byte) error

	// Sweep deletes what is older than it may be.
	Sweep(ctx context.Context, before Before) error
	// Forget deletes what belongs to a hashed person, and says how much it was.
	Forget(ctx context.Context, person string) (int, error)
	// Lost says where a broken file was set aside, if one was when the store was opened.
	Lost() string
	Close() error
}

// ErrUnknown says that the store has nothing under a name.
var ErrUnknown = errors.New("nothing is known of it")

// State is what is known of an event.
type State int

// States of an event. A key that is InHand is no duplicate for a bot that does
// not have it in hand: whoever had it died.
const (
	Unseen   State = iota
	InHand         // accepted, not finished
	Replied        // answered
	Silent         // looked at, and nothing was to be said
	Failed         // the platform refused the answer for good
	Withdrew       // the message was taken away
)

// Pending is an event in hand.
type Pending struct {
	Key          string
	Conversation string
	Person       string // hashed
	Event        Event
	At           time.Time
	Ord          int64 // order of acceptance; the store sets it
}

// Answered is a reply that stands somewhere.
type Answered struct {
	Key          string // of what was asked
	Conversation string
	Platform     string
	Ref          Ref
	Private      bool
	Lang         string
	Person       string   // hashed: who asked
	Offered      []string // the choices that it shows, for numbers
	At           time.Time
}

// Turn is one thing that was said to the bot in a conversation: part 0 is a
// message, the parts after it are choices that completed its answer.
type Turn struct {
	Conversation string
	Key          string // of the message
	Part         int
	Ord          int64 // of the message
	Text         string
	Person       string // hashed
	Verdict      string // of the answer
	Lang         string
	At           time.Time
}

// Done is what became of an event.
type Done struct {
	Key      string
	State    State
	At       time.Time
	Answered *Answered // a reply that stands now; nil leaves what is there
	Turn     *Turn     // what was said; nil for none
	Rewrite  bool      // the turn takes the place of its message's old parts
	Missed   *Missed   // an open question
	Found    string    // the source of an open question that was answered after all
	Withdraw string    // the key of a message that was taken away, with all that hangs on it
}

// Binding is a division and position that stand where a question names none.
type Binding struct {
	Division string
	Position string
	By       string // hashed
	At       time.Time
}

// Why a question stays open.
const (
	WhyNone   = "none"   // nothing reliable was found
	WhyNeed   = "need"   // a fact was asked for and never came
	WhyMissed = "missed" // somebody said that the answer is none
)

// Missed is a question that the book did not answer, scrubbed of people.
type Missed struct {
	Source   string // what it came from, so that it is kept once
	Why      string
	Text     string
	Lang     string
	Topic    string
	Division string
	Person   string // hashed, so that a person can be forgotten
	At       time.Time
}

// Before are the days before which things are deleted.
type Before struct {
	Events  time.Time // finished events: duplicates are known that long
	Threads time.Time // what was said in conversations
	Answers time.Time // where answers stand
	Missed  time.Time // open questions
}
