package slackchat

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"sidewall/bot"
)

// payloadKind is what a payload holds, by the name of its Socket Mode envelope.
type payloadKind string

const (
	events       payloadKind = "events_api"
	commands     payloadKind = "slash_commands"
	interactions payloadKind = "interactive"
)

// incoming is what a payload comes to: an event for the bot, an assistant pane
// that was opened, a form that was sent, or nothing.
type incoming struct {
	event  *bot.Event
	pane   *pane
	filled *bot.Filled
}

type pane struct{ channel, thread string }

// back is what the adapter needs to answer an event: it travels through the bot
// as Event.Back.
type back struct {
	Trigger string `json:"t,omitempty"` // opens a modal, for three seconds
	URL     string `json:"u,omitempty"` // takes private answers, for half an hour
	Private bool   `json:"p,omitempty"` // the message with the control is a private one
}

func (b back) String() string {
	raw, _ := json.Marshal(b) // strings and a bool always marshal
	return string(raw)
}

func backOf(e *bot.Event) back {
	var b back
	_ = json.Unmarshal([]byte(e.Back), &b) // an event without a way back has none
	return b
}

// translate makes an event of a payload. Only the fields that count are read, so
// that a block or an event of a kind that is new cannot make it fail.
func translate(kind payloadKind, raw []byte, me *identity) (incoming, error) {
	switch kind {
	case events:
		return translateEvent(raw, me)
	case commands:
		return translateCommand(raw, me)
	case interactions:
		return translatePress(raw, me)
	}
	return incoming{}, nil
}

// message is a message as events carry it.
type message struct {
	Type     string `json:"type"`
	Subtype  string `json:"subtype"`
	User     string `json:"user"`
	BotID    string `json:"bot_id"`
	Text     string `json:"text"`
	TS       string `json:"ts"`
	ThreadTS string `json:"thread_ts"`
}

type inner struct {
	message
	Channel     string   `json:"channel"`
	ChannelType string   `json:"channel_type"`
	EventTS     string   `json:"event_ts"`
	DeletedTS   string   `json:"deleted_ts"`
	Message     *message `json:"message"`
	Previous    *message `json:"previous_message"`
	Tab         string   `json:"tab"`
	Pane        struct {
		Channel string `json:"channel_id"`
		Thread  string `json:"thread_ts"`
	} `json:"assistant_thread"`
}

func translateEvent(raw []byte, me *identity) (incoming, error) {
	var outer struct {
		Type    string          `json:"type"`
		EventID string          `json:"event_id"`
		Event   json.RawMessage `json:"event"`
	}
	if err := json.Unmarshal(raw, &outer); err != nil {
		return incoming{}, fmt.Errorf("read an event: %w", noWords(err))
	}
	if outer.Type != "event_callback" {
		return incoming{}, nil
	}
	var kind struct {
		Type string `json:"type"`
	}
	if err := json.Unmarshal(outer.Event, &kind); err != nil {
		return incoming{}, fmt.Errorf("read an inner event: %w", noWords(err))
	}
	switch kind.Type {
	case "message", "app_mention", "app_home_opened", "assistant_thread_started":
	default:
		return incoming{}, nil // its fields may be of any shape
	}
	var in inner
	if err := json.Unmarshal(outer.Event, &in); err != nil {
		return incoming{}, fmt.Errorf("read a %s: %w", kind.Type, noWords(err))
	}
	e := &bot.Event{ID: outer.EventID, Platform: Platform, Workspace: me.team, Channel: in.Channel,
		Direct: in.ChannelType == "im" || strings.HasPrefix(in.Channel, "D"), At: timeOf(in.EventTS)}
	switch kind.Type {
	case "assistant_thread_started":
		return incoming{pane: &pane{in.Pane.Channel, in.Pane.Thread}}, nil
	case "app_home_opened":
		if in.Tab != "home" {
			return incoming{}, nil
		}
		e.Kind, e.Person = bot.Home, in.User
		return incoming{event: e}, nil
	case "app_mention":
		fill(e, &in.message, me)
		e.Kind, e.Mentioned = bot.Message, true
		return incoming{event: e}, nil
	}
	if !translateMessage(e, &in, me) {
		return incoming{}, nil
	}
	return incoming{event: e}, nil
}

// translateMessage says whether the message event is one that the bot looks at.
func translateMessage(e *bot.Event, in *inner, me *identity) bool {
	switch in.Subtype {
	case "", "thread_broadcast", "file_share", "me_message", "bot_message":
		fill(e, &in.message, me)
		e.Kind = bot.Message
	case "message_changed":
		if in.Message == nil {
			return false
		}
		fill(e, in.Message, me)
		e.Kind = bot.Edited
		if in.Message.Subtype == "tombstone" { // a deleted message that has a thread leaves this
			e.Kind, e.Text, e.Mentioned = bot.Deleted, "", false
			if in.Previous != nil {
				whose(e, in.Previous, me)
			}
		}
	case "message_deleted":
		e.Kind, e.Message = bot.Deleted, in.DeletedTS
		if in.Previous != nil {
			fill(e, in.Previous, me)
			e.Text, e.Mentioned = "", false
			e.Message = in.DeletedTS
		}
	default: // somebody joined, the topic was set, …
		return false
	}
	return e.Message != "" && e.Channel != ""
}

// fill takes over what a message says.
func fill(e *bot.Event, m *message, me *identity) {
	e.Message, e.Text, e.People = m.TS, plainText(m.Text, me.user), mentioned(m.Text, me.user)
	e.Mentioned = strings.Contains(e.Text, bot.Me)
	if m.ThreadTS != m.TS {
		e.Thread = m.ThreadTS
	}
	whose(e, m, me)
}

// whose says who wrote a message.
func whose(e *bot.Event, m *message, me *identity) {
	e.Person = m.User
	e.Self = m.User != "" && m.User == me.user || m.BotID != "" && m.BotID == me.bot
	e.Robot = m.BotID != "" || m.Subtype == "bot_message" || m.User == "USLACKBOT" || m.User == "USLACK"
}

func translateCommand(raw []byte, me *identity) (incoming, error) {
	var c struct {
		Text        string `json:"text"`
		User        string `json:"user_id"`
		Channel     string `json:"channel_id"`
		Trigger     string `json:"trigger_id"`
		ResponseURL string `json:"response_url"`
	}
	if err := json.Unmarshal(raw, &c); err != nil {
		return incoming{}, fmt.Errorf("read a command: %w", noWords(err))
	}
	if c.Trigger == "" {
		return incoming{}, nil
	}
	return incoming{event: &bot.Event{Kind: bot.Command, ID: c.Trigger, Platform: Platform, Workspace: me.team, Channel: c.Channel,
		Person: c.User, Text: plainText(c.Text, me.user), People: mentioned(c.Text, me.user), Back: back{Trigger: c.Trigger, URL: c.ResponseURL}.String()}}, nil
}

// pressed is the value of a button: the reply's key and the control.
type pressed struct {
	Key     string `json:"k,omitempty"`
	Control string `json:"c"`
}

func translatePress(raw []byte, me *identity) (incoming, error) {
	var p struct {
		Type        string `json:"type"`
		Trigger     string `json:"trigger_id"`
		ResponseURL string `json:"response_url"`
		User        struct {
			ID string `json:"id"`
		} `json:"user"`
		Channel struct {
			ID string `json:"id"`
		} `json:"channel"`
		Container struct {
			Channel string `json:"channel_id"`
			Message string `json:"message_ts"`
			Thread  string `json:"thread_ts"`
			Private bool   `json:"is_ephemeral"`
		} `json:"container"`
		Message struct {
			Thread string `json:"thread_ts"`
		} `json:"message"`
		Actions []struct {
			Type  string `json:"type"`
			Value string `json:"value"`
			TS    string `json:"action_ts"`
		} `json:"actions"`
	}
	if err := json.Unmarshal(raw, &p); err != nil {
		return incoming{}, fmt.Errorf("read an interaction: %w", noWords(err))
	}
	if p.Type == "view_submission" {
		f, err := translateFilled(raw, me)
		return incoming{filled: f}, err
	}
	if p.Type != "block_actions" || len(p.Actions) == 0 || p.Actions[0].Type != "button" || p.Trigger == "" {
		return incoming{}, nil
	}
	var v pressed
	if json.Unmarshal([]byte(p.Actions[0].Value), &v) != nil || v.Control == "" {
		return incoming{}, nil // no button of ours
	}
	e := &bot.Event{Kind: bot.Pressed, ID: p.Trigger, Platform: Platform, Workspace: me.team, Channel: p.Channel.ID, Person: p.User.ID,
		Control: v.Control, Of: v.Key, Thread: p.Container.Thread, At: timeOf(p.Actions[0].TS),
		Back: back{p.Trigger, p.ResponseURL, p.Container.Private}.String()}
	if e.Channel == "" {
		e.Channel = p.Container.Channel
	}
	if e.Thread == "" {
		e.Thread = p.Message.Thread
	}
	e.Direct = strings.HasPrefix(e.Channel, "D")
	e.Reply = bot.Ref{Channel: e.Channel, Message: p.Container.Message}
	if p.Container.Private {
		e.Reply.Extra = privately
	}
	return incoming{event: e}, nil
}

// timeOf reads "1700000000.000100".
func timeOf(ts string) time.Time {
	s, frac, _ := strings.Cut(ts, ".")
	sec, err := strconv.ParseInt(s, 10, 64)
	if err != nil || sec <= 0 {
		return time.Time{}
	}
	micro, err := strconv.ParseInt(frac, 10, 64)
	if err != nil || len(frac) != 6 {
		micro = 0
	}
	return time.Unix(sec, micro*1000)
}

// noWords is a JSON error without what it read: that may be somebody's question.
func noWords(err error) error { return fmt.Errorf("%T", err) }
