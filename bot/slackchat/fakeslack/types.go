package fakeslack

import (
	"encoding/json"
	"log/slog"
	"time"
)

// Options are what a fake is made of. Nothing has to be given.
type Options struct {
	BotToken      string // xoxb-…
	AppToken      string // xapp-…
	SigningSecret string
	BotUser       string // the bot's user id, U…
	BotID         string // its bot id, B…
	BotName       string
	AppID         string // A…
	Team          string // T…

	Ack     time.Duration   // how long an acknowledgement may take; 3 s
	Ping    time.Duration   // between WebSocket pings; 5 s
	Retries []time.Duration // waits before the redeliveries, which are as many; at once, 1 min, 5 min

	// Now is the clock of message ids, signatures, trigger ids, response addresses
	// and PostRate. Acknowledgements and redeliveries take real time. nil: time.Now
	Now func() time.Time

	// Limit and Fault are asked for each call, and for response addresses as the
	// method "response_url". They must not call the server.

	// Limit makes a call fail with 429 and this Retry-After; 0 lets it through.
	Limit func(method, channel string) (retryAfter time.Duration)
	// Fault breaks a call in another way. nil: never.
	Fault func(method, channel string) Fault
	// PostRate allows one posted message a second in each channel, with Slack's
	// tolerance of a short burst, and answers 429 beyond that.
	PostRate bool
	// Page is how many messages a page of a thread or channel has at most; 1000. A
	// thread's first message begins every page and does not count.
	Page int

	Log *slog.Logger
}

// Fault is a way in which a call fails.
type Fault struct {
	Status int  // answer with this HTTP status and no JSON
	Break  bool // break the connection without an answer
	Done   bool // but do what was asked first
}

// Kinds of a channel.
const (
	Public  = "channel"
	Private = "group"
	IM      = "im"
	MPIM    = "mpim"
)

// PostOptions are the particulars of what somebody posts.
type PostOptions struct {
	Thread    string // ts of the message that it answers
	Broadcast bool   // shown in the channel too (subtype thread_broadcast)
	BotID     string // another bot posts it (subtype bot_message where user is "")
	Subtype   string // file_share, me_message, channel_join …
	Mute      bool   // stored, but nothing is delivered
}

// Message is what stands in a channel.
type Message struct {
	Channel   string
	TS        string
	Thread    string // ts of the thread's first message; "" outside a thread
	User      string
	BotID     string
	Subtype   string
	Text      string
	Blocks    json.RawMessage // nil for none
	Metadata  *Metadata
	Edited    bool
	Broadcast bool
	// Unthreaded is a message for a thread whose first message was deleted before:
	// Slack shows it in the channel, and says so only by leaving thread_ts out of
	// the answer's message.
	Unthreaded bool
	Ephemeral  string // whom it is shown to; "" for all
	At         time.Time
}

// Metadata is what an app keeps with a message.
type Metadata struct {
	EventType string         `json:"event_type"`
	Payload   map[string]any `json:"event_payload"`
}

// Action is something to press in a message or view.
type Action struct {
	Type, BlockID, ActionID, Label, Value, Style, URL string
}

// View is a modal or a home page.
type View struct {
	ID, Hash, Type, User, Root, Previous, CallbackID, Private, Title string
	Raw                                                              json.RawMessage // as the app sent it
	Closed                                                           bool
	Updates                                                          int
}

// Call is a call of the Web API or of a response address (method "response_url").
type Call struct {
	Method  string
	Channel string
	Args    map[string]string // without the token; nested values as JSON
	Err     string            // "" for ok, "ratelimited", "fault", or Slack's name of the error
	TS      string            // of the message that it made or changed
	Warning string            // missing_text_in_message: nothing for notifications and screen readers; posted_outside_the_thread: see Message.Unthreaded
	At      time.Time
}

// Refusal is what was refused: a call, an acknowledgement, an answer over HTTP.
type Refusal struct {
	What    string // the method, "ack", "command", "interaction", "view_submission"
	Err     string
	Details []string
	Args    map[string]string
	At      time.Time
}

// Delivery is an event, command or interaction on its way.
type Delivery struct {
	ID       string // event id (Ev…), or the trigger id of a command or interaction
	Kind     string // events_api, slash_commands, interactive
	Type     string // of the inner event, the command, or the interaction
	Attempts int    // how often it was sent
	Acked    bool
	GivenUp  bool          // it will not be sent again
	Took     time.Duration // from the delivery to its acknowledgement
	Problem  string        // of the last attempt: timeout, http_error, connection_failed …
	Answer   json.RawMessage
}
