package bot

import (
	"context"
	"strconv"
	"time"
)

// Adapter carries replies to one platform. It translates and never decides: what
// a message means, who may do what, whether and what to answer is the bot's.
//
// An adapter hands events to Bot.Handle in the order in which they arrived, and
// tells its platform that an event was received only when Handle gave nil: from
// then on the event is in the state store and will be answered, whatever happens
// to the process. The bot calls an adapter from several goroutines, but never
// from two for one thread.
type Adapter interface {
	// Platform is the name in Event.Platform of the adapter's events.
	Platform() string

	// Send posts a reply where it says, privately where it says so, with Key in the
	// message's metadata so that Find finds it, and each control with its ID and
	// the reply's Key.
	Send(ctx context.Context, r *Reply) (Ref, Again, error)

	// Update puts a reply in the place of one that stands. r.Event is what caused
	// it: an edit, or a control that was pressed.
	Update(ctx context.Context, at Ref, r *Reply) (Again, error)

	// Remove takes a reply away. One that is gone already is no error.
	Remove(ctx context.Context, at Ref) (Again, error)

	// Find looks in a channel's thread for a reply of ours that carries a key. The
	// bot asks before it posts again what it may have posted before it crashed, or
	// where Send could not tell (Again.Unknown). A platform that does not keep
	// private replies, or that refuses a second post with one key by itself, may
	// answer that there is none.
	Find(ctx context.Context, w Where, key string) (Ref, bool, Again, error)

	// Show opens something beside the conversation: a modal, the bot's own page,
	// or a private message where the platform has neither.
	Show(ctx context.Context, v *View) (Again, error)
}

// Worker is an adapter that can show that the bot is at work. Working must
// return at once: it stays off the reply's path.
type Worker interface {
	Working(w Where)
}

// Numberer is an adapter that shows choices as numbered lines: where it does,
// a bare number in a thread is the choice with that number.
type Numberer interface {
	NumbersChoices() bool
}

// Again says what may be done after an attempt that failed.
type Again struct {
	Retry   bool          // the same attempt may succeed later
	After   time.Duration // not sooner than that, where the platform said so
	Unknown bool          // it may have succeeded all the same (the connection broke while waiting)
}

// Where is a place to answer in.
type Where struct {
	Platform  string `json:"platform"`
	Workspace string `json:"workspace,omitempty"`
	Channel   string `json:"channel,omitempty"`
	Thread    string `json:"thread,omitempty"` // "" is the channel itself
	Person    string `json:"person,omitempty"` // who sees a private reply
}

// Ref is where a reply stands: what Send gave, for Update and Remove.
type Ref struct {
	Channel string `json:"channel,omitempty"`
	Message string `json:"message,omitempty"`
	Extra   string `json:"extra,omitempty"` // the adapter's own
}

// IsZero says that a reply stands nowhere (a private one on some platforms).
func (r Ref) IsZero() bool { return r == Ref{} }

// Reply is one answer as neutral blocks. Read from the top: Headline, Lines,
// Caution are at most five lines; then Choices, then Controls.
type Reply struct {
	Key     string // into the message's metadata
	EventID string // likewise: the platform's id of the event that is answered
	Event   Event  // what is answered
	Where   Where
	Private bool // only Where.Person sees it
	Lang    string

	Verdict  string // an answer's verdict ("legal" …); "" where the reply is not an answer
	Headline string // begins with the verdict as a word
	Lines    []Line
	Caution  string    // "" where the reply is not an answer
	Choices  []Control // likely values of the one fact that is missing
	Controls []Control // detail, a summary's section, "this does not answer me"
	Revision string    // the book's, into the message's metadata
}

// LineKind is what a line is for, where a platform wants to show it.
type LineKind string

// Kinds of a line.
const (
	Plain LineKind = ""
	Rule  LineKind = "rule" // names the rules that the answer rests on
	Read  LineKind = "read" // where to read more
)

// Line is one short line. Its text is plain: an adapter escapes it.
type Line struct {
	Kind LineKind
	Text string
}

// Control is something to press.
type Control struct {
	ID    string // what Event.Control has to be when it is pressed; unique in its reply
	Label string // plain, short
}

// The beginnings of control ids. An adapter need not look at them.
const (
	choicePrefix  = "choice:"
	numberPrefix  = "number:"
	sectionPrefix = "section:"
	controlDetail = "detail"
	controlMissed = "missed"
)

// Number is the control "the n-th of the choices", for a platform on which
// people choose by number or by a number as a reaction. The first is 1.
func Number(n int) string { return numberPrefix + strconv.Itoa(n) }

// ViewKind is where a view is shown.
type ViewKind string

// Kinds of a view.
const (
	Modal    ViewKind = "modal" // over the conversation; Event.Back opens it
	HomePage ViewKind = "home"  // the bot's own page
)

// View is more than a reply holds: the whole answer, a summary's section, the
// bot's own page.
type View struct {
	Kind   ViewKind
	Key    string // of the event that asked for it
	Event  Event
	Where  Where // of the person who asked for it
	Lang   string
	Title  string
	Blocks []Block
	Form   *Form // to fill in below the blocks, on a platform that is a Former; nil for none
}

// Block is a part of a view.
type Block struct {
	Heading  string
	Text     string   // lines separated by \n
	Markdown bool     // Text is the club's Markdown; otherwise it is plain
	People   []string // ids of people, for the platform to show as names; they come after Text
}
