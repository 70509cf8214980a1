package bot

import (
	"strings"
	"time"
)

// Kind is what happened on the platform.
type Kind string

// What can happen.
const (
	Message Kind = "message" // somebody wrote
	Command Kind = "command" // somebody used the platform's own command ("/sidewall …"); the answer is private
	Edited  Kind = "edited"  // a message was changed: Message names it, Text is the new text
	Deleted Kind = "deleted" // a message was taken away: Message names it
	Pressed Kind = "pressed" // a control of one of our replies was used: Control, and Of or Reply, say which
	Home    Kind = "home"    // somebody opened the bot's own page
)

// Me stands in a Text where the bot is mentioned. An adapter puts it there in
// place of the platform's own mark, so that the bot can tell "@bot, is it legal?"
// from "I asked @bot yesterday".
const Me = "\uFFFC"

// Somebody stands in a Text where a person is mentioned who is not the bot. An
// adapter puts it there, so that no person's id is kept with a question.
const Somebody = "@somebody"

// Event is what an adapter hands in, whatever the platform calls it. An adapter
// fills in what it knows and leaves the rest empty; it decides nothing.
type Event struct {
	Kind Kind `json:"kind"`
	// ID is the platform's id of this event: the same on a retry. For a command or
	// a pressed control it is what the platform gives each use (a trigger id).
	ID        string `json:"id"`
	Platform  string `json:"platform"`            // the adapter's name, "slack"
	Workspace string `json:"workspace,omitempty"` // the team or server, where one bot serves several
	Channel   string `json:"channel,omitempty"`
	// Message is the platform's id of the message that was written, changed or
	// taken away. A post that arrives twice, as a mention and as a message, has two
	// IDs and one Message: it is one question.
	Message string `json:"message,omitempty"`
	// Thread is the message that started the thread; "" where Message starts one.
	Thread string `json:"thread,omitempty"`
	Person string `json:"person,omitempty"`
	// Text is plain text: the platform's markup is gone, people are Somebody, the
	// bot is Me.
	Text string `json:"text,omitempty"`
	Cut  bool   `json:"cut,omitempty"`  // Text was longer; the bot sets it
	Lang string `json:"lang,omitempty"` // of the person's client, "en" or "es", where the platform says; only for what has no words

	// People are the ids of those who are mentioned, in order. The bot keeps them
	// only where the words name an admin.
	People []string `json:"people,omitempty"`

	Direct    bool `json:"direct,omitempty"`    // only this person and the bot
	Mentioned bool `json:"mentioned,omitempty"` // the bot is mentioned, in the text (Me) or beside it
	Self      bool `json:"self,omitempty"`      // the bot itself did it
	Robot     bool `json:"robot,omitempty"`     // another bot, an app or a notice did it

	Control string `json:"control,omitempty"` // the Control.ID that was pressed, or Number(n) for "the n-th choice"
	Of      string `json:"of,omitempty"`      // the Key of the reply it belongs to, where the adapter kept it with the control
	Reply   Ref    `json:"reply,omitzero"`    // where that reply stands, where Of is not known

	// Back is what the adapter itself needs to answer this event (a trigger id, a
	// response address). The bot keeps it while the event is in hand, hands it back
	// and never looks at it.
	Back string    `json:"back,omitempty"`
	At   time.Time `json:"at,omitzero"` // when it happened, where the platform says
}

// Key names what is answered: the message, however often and as whatever it
// arrives; for all else the event. One key gets one answer.
func (e *Event) Key() string {
	if e.Kind == Message && e.Message != "" {
		return e.messageKey()
	}
	return e.place() + "/" + string(e.Kind) + "/" + e.ID
}

// messageKey is the key of the message that the event is about.
func (e *Event) messageKey() string { return e.place() + "/" + e.Message }

func (e *Event) place() string {
	return strings.Join([]string{e.Platform, e.Workspace, e.Channel}, "/")
}

// where is where an answer to the event belongs.
func (e *Event) where() Where {
	w := Where{Platform: e.Platform, Workspace: e.Workspace, Channel: e.Channel, Thread: e.Thread, Person: e.Person}
	if w.Thread == "" && e.Kind == Message {
		w.Thread = e.Message
	}
	return w
}
