package fakeslack

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Post stores a message and delivers what Slack would: in a channel of the bot a
// message event, and an app_mention beside it where the bot is mentioned; in an IM
// a message event alone. It gives the message's ts.
func (s *Server) Post(channel, user, text string, o PostOptions) (ts string) {
	defer s.lock()()
	c := s.must(channel)
	m := &message{Message: Message{
		Channel: channel, TS: s.stamp(), Thread: o.Thread, User: user, BotID: o.BotID, Subtype: o.Subtype,
		Text: text, Broadcast: o.Broadcast, At: s.o.Now(),
	}}
	if user != "" {
		s.user(user)
	}
	switch {
	case o.Broadcast:
		m.Subtype = "thread_broadcast"
	case o.BotID != "" && user == "" && o.Subtype == "":
		m.Subtype = "bot_message"
	}
	c.add(m)
	if !o.Mute {
		s.posted(c, m, "")
	}
	return m.TS
}

// posted delivers the events of a new message, or of the text of an edit.
func (s *Server) posted(c *channel, m *message, edited string) {
	if !c.has(s.o.BotUser) {
		return
	}
	if c.kind != IM && strings.Contains(m.Text, "<@"+s.o.BotUser+">") && m.User != s.o.BotUser {
		e := s.body(c, m)
		e["type"] = "app_mention"
		delete(e, "subtype")
		e["channel"], e["event_ts"] = c.id, m.TS
		if edited != "" {
			e["event_ts"] = edited
		}
		s.event(e)
	}
	if edited != "" {
		return
	}
	e := s.body(c, m)
	e["channel"], e["channel_type"], e["event_ts"] = c.id, c.kind, m.TS
	if m.Subtype == "thread_broadcast" {
		if root := c.at(m.Thread); root != nil {
			e["root"] = s.body(c, root)
		}
	}
	s.event(e)
}

// body is a message as it stands in events and in the Web API's answers.
func (s *Server) body(c *channel, m *message) obj {
	b := obj{"type": "message", "ts": m.TS, "text": m.Text, "team": s.o.Team}
	set := func(name, v string) {
		if v != "" {
			b[name] = v
		}
	}
	set("user", m.User)
	set("subtype", m.Subtype)
	set("thread_ts", m.Thread)
	if m.tombstone {
		b["user"], b["subtype"], b["hidden"], b["parent_user_id"] = "USLACKBOT", "tombstone", true, "USLACKBOT"
	}
	switch {
	case m.BotID == s.o.BotID:
		b["bot_id"], b["app_id"] = m.BotID, s.o.AppID
		b["bot_profile"] = obj{"id": m.BotID, "app_id": s.o.AppID, "name": s.o.BotName, "team_id": s.o.Team, "deleted": false}
	case m.BotID != "":
		b["bot_id"] = m.BotID
		if m.User == "" {
			b["username"] = strings.ToLower(m.BotID)
		}
	case m.Subtype == "" && !m.tombstone:
		b["client_msg_id"] = "00000000-0000-4000-8000-" + m.TS[len(m.TS)-6:] + m.TS[4:10]
	}
	switch {
	case len(m.Blocks) > 0:
		b["blocks"] = m.Blocks
	case m.Text != "" && m.Subtype != "bot_message" && !m.tombstone:
		b["blocks"] = s.rich(m)
	}
	if m.Subtype == "file_share" {
		b["files"] = []obj{{"id": "F" + strings.ReplaceAll(m.TS, ".", ""), "name": "photo.jpg", "mimetype": "image/jpeg"}}
	}
	if m.attached {
		b["attachments"] = []obj{{"id": 1, "title": "A page", "fallback": "A page", "from_url": "https://example.org/"}}
	}
	if m.edited != "" {
		by := m.User
		b["edited"] = obj{"user": by, "ts": m.edited}
	}
	if r := c.replies(m.TS); len(r) > 0 && m.Ephemeral == "" {
		b["thread_ts"], b["reply_count"], b["latest_reply"] = m.TS, len(r), r[len(r)-1].TS
		var who []string
		for _, x := range r {
			if !slices.Contains(who, x.User) {
				who = append(who, x.User)
			}
		}
		b["reply_users"], b["reply_users_count"], b["is_locked"], b["subscribed"] = who, len(who), false, false
	}
	if m.Thread != "" && m.Thread != m.TS {
		if root := c.at(m.Thread); root != nil && root.User != "" {
			b["parent_user_id"] = root.User
		}
	}
	return b
}

var userMark = regexp.MustCompile(`<@([UW][A-Z0-9]+)>`)

// rich is the rich_text block that Slack makes of what a person typed.
func (s *Server) rich(m *message) json.RawMessage {
	var parts []obj
	say := func(t string) {
		if t != "" {
			t = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(t)
			parts = append(parts, obj{"type": "text", "text": t})
		}
	}
	rest := m.Text
	for {
		at := userMark.FindStringSubmatchIndex(rest)
		if at == nil {
			break
		}
		say(rest[:at[0]])
		parts = append(parts, obj{"type": "user", "user_id": rest[at[2]:at[3]]})
		rest = rest[at[1]:]
	}
	say(rest)
	return raw([]obj{{
		"type": "rich_text", "block_id": "r" + m.TS[len(m.TS)-6:],
		"elements": []obj{{"type": "rich_text_section", "elements": parts}},
	}})
}

// Edit changes a person's message and delivers message_changed. An app_mention
// comes with it where the new text mentions the bot and the old one did not.
func (s *Server) Edit(channel, ts, text string) {
	defer s.lock()()
	c := s.must(channel)
	m := c.at(ts)
	if m == nil {
		panic("fakeslack: no message to edit: " + ts)
	}
	before, old := s.body(c, m), m.Text
	m.Text, m.Edited, m.edited = text, true, s.stamp()
	s.altered(c, m, before)
	if me := "<@" + s.o.BotUser + ">"; !strings.Contains(old, me) {
		s.posted(c, m, m.edited)
	}
}

// Unfurl shows a link of a message below it: Slack delivers a message_changed
// with the same text, and no mark of an edit.
func (s *Server) Unfurl(channel, ts string) {
	defer s.lock()()
	c := s.must(channel)
	m := c.at(ts)
	if m == nil {
		panic("fakeslack: no message to unfurl: " + ts)
	}
	before := s.body(c, m)
	m.attached = true
	s.altered(c, m, before)
}

func (s *Server) altered(c *channel, m *message, before obj) {
	if !c.has(s.o.BotUser) {
		return
	}
	now := s.stamp()
	s.event(obj{
		"type": "message", "subtype": "message_changed", "hidden": true, "channel": c.id, "channel_type": c.kind,
		"ts": now, "event_ts": now, "message": s.body(c, m), "previous_message": before,
	})
}

// Delete takes a message away and delivers message_deleted. Where a thread hangs
// on it, Slack leaves a tombstone in its place: that is a message_changed whose
// message has the subtype tombstone.
func (s *Server) Delete(channel, ts string) {
	defer s.lock()()
	c := s.must(channel)
	m := c.at(ts)
	if m == nil {
		panic("fakeslack: no message to delete: " + ts)
	}
	s.remove(c, m)
}

func (s *Server) remove(c *channel, m *message) {
	before := s.body(c, m)
	if len(c.replies(m.TS)) > 0 {
		m.tombstone, m.Text, m.Blocks, m.Metadata, m.Subtype = true, "This message was deleted.", nil, nil, "tombstone"
		s.altered(c, m, before)
		return
	}
	c.drop(m)
	s.removed(c, m, before)
	if root := c.at(m.Thread); root != nil && root.tombstone && len(c.replies(root.TS)) == 0 {
		before := s.body(c, root) // the last reply takes the tombstone with it
		c.drop(root)
		s.removed(c, root, before)
	}
}

func (s *Server) removed(c *channel, m *message, before obj) {
	if !c.has(s.o.BotUser) {
		return
	}
	now := s.stamp()
	s.event(obj{
		"type": "message", "subtype": "message_deleted", "hidden": true, "channel": c.id, "channel_type": c.kind,
		"ts": now, "event_ts": now, "deleted_ts": m.TS, "previous_message": before,
	})
}

// Command uses a slash command; it gives the trigger id. The bot need not be in
// the channel.
func (s *Server) Command(user, channel, command, text string) (id string) {
	defer s.lock()()
	c, u := s.must(channel), s.user(user)
	id = s.newTrigger(user, "")
	s.begin(&delivery{
		Delivery: Delivery{ID: id, Kind: kindCommand, Type: command}, accepts: true, channel: channel, user: user,
		payload: raw(map[string]string{
			"token": "unused", "team_id": s.o.Team, "team_domain": "club", "channel_id": channel, "channel_name": c.name,
			"user_id": user, "user_name": u.name, "command": command, "text": text, "api_app_id": s.o.AppID,
			"is_enterprise_install": "false", "trigger_id": id, "response_url": s.newHook(hook{user: user, channel: channel}),
		}),
	})
	return id
}

// interaction delivers what somebody did with a block or view.
func (s *Server) interaction(d *delivery, user string, o obj) string {
	u := s.user(user)
	t, _ := o["type"].(string)
	o["user"] = obj{"id": u.id, "username": u.name, "name": u.name, "team_id": s.o.Team}
	o["team"] = obj{"id": s.o.Team, "domain": "club"}
	o["api_app_id"], o["token"], o["enterprise"], o["is_enterprise_install"] = s.o.AppID, "unused", nil, false
	d.Kind, d.Type, d.user, d.payload = kindInteract, t, user, raw(o)
	s.begin(d)
	return d.ID
}

// Press presses a button of a message, also of one that only user sees, or picks
// the option with that value in a menu. value "" is the button's own. It is an
// error when there is no such button.
func (s *Server) Press(user, channel, ts, actionID, value string) (id string, err error) {
	defer s.lock()()
	c := s.must(channel)
	var m *message
	for _, x := range c.messages {
		if x.TS == ts && (x.Ephemeral == "" || x.Ephemeral == user) {
			m = x
		}
	}
	if m == nil {
		return "", fmt.Errorf("there is no message %s for %s in %s", ts, user, channel)
	}
	act, err := s.action(m.Blocks, actionID, value)
	if err != nil {
		return "", err
	}
	id = s.newTrigger(user, "")
	box := obj{"type": "message", "message_ts": ts, "channel_id": channel, "is_ephemeral": m.Ephemeral != ""}
	if m.Thread != "" {
		box["thread_ts"] = m.Thread
	}
	o := obj{
		"type": "block_actions", "trigger_id": id, "container": box, "channel": obj{"id": channel, "name": c.name},
		"actions": []obj{act}, "state": obj{"values": obj{}},
		"response_url": s.newHook(hook{user: user, channel: channel, ts: ts, ephemeral: m.Ephemeral != ""}),
	}
	if m.Ephemeral == "" {
		o["message"] = s.body(c, m)
	}
	return s.interaction(&delivery{Delivery: Delivery{ID: id}, channel: channel}, user, o), nil
}

// PressIn presses a button of a view.
func (s *Server) PressIn(user, viewID, actionID, value string) (id string, err error) {
	defer s.lock()()
	v := s.view(viewID)
	if v == nil || v.Closed || v.User != user {
		return "", fmt.Errorf("%s sees no view %s", user, viewID)
	}
	act, err := s.action(raw(v.body["blocks"]), actionID, value)
	if err != nil {
		return "", err
	}
	id = s.newTrigger(user, viewID)
	return s.interaction(&delivery{Delivery: Delivery{ID: id}}, user, obj{
		"type": "block_actions", "trigger_id": id, "container": obj{"type": "view", "view_id": viewID}, "view": v.body,
		"actions": []obj{act}, "response_urls": []obj{},
	}), nil
}

// action is the entry of "actions" for something that is pressed.
func (s *Server) action(blocks json.RawMessage, actionID, value string) (obj, error) {
	var found obj
	walk(blocks, func(block, e obj) {
		if found == nil && e["action_id"] == actionID {
			found = obj{"type": e["type"], "action_id": actionID, "block_id": block["block_id"], "action_ts": s.stamp()}
			if e["type"] == "button" {
				for _, k := range []string{"text", "value", "style"} {
					if v, ok := e[k]; ok {
						found[k] = v
					}
				}
				if value != "" {
					found["value"] = value
				}
				return
			}
			l, _ := e["options"].([]any)
			for _, o := range l {
				if o, ok := o.(obj); ok && o["value"] == value {
					found["selected_option"] = o
				}
			}
		}
	})
	if found == nil {
		return nil, fmt.Errorf("nothing there has the action id %q", actionID)
	}
	return found, nil
}

// walk shows each element with an action id, and the block that it is in.
func walk(blocks json.RawMessage, f func(block, element obj)) {
	var l []obj
	if json.Unmarshal(blocks, &l) != nil {
		return
	}
	for _, b := range l {
		see := func(v any) {
			if e, ok := v.(obj); ok && e["action_id"] != nil {
				f(b, e)
			}
		}
		see(b["accessory"])
		see(b["element"])
		es, _ := b["elements"].([]any)
		for _, e := range es {
			see(e)
		}
	}
}

// SubmitView submits a modal. state maps block id to action id to its value
// object ({"type":"plain_text_input","value":"…"}).
func (s *Server) SubmitView(user, viewID string, state map[string]map[string]any) (id string, err error) {
	defer s.lock()()
	v := s.view(viewID)
	if v == nil || v.Closed || v.User != user || v.Type != "modal" {
		return "", fmt.Errorf("%s sees no modal %s", user, viewID)
	}
	if v.body["submit"] == nil {
		return "", fmt.Errorf("the modal %s has nothing to submit with", viewID)
	}
	if state == nil {
		state = map[string]map[string]any{}
	}
	v.body["state"] = obj{"values": state}
	id = s.newTrigger(user, viewID)
	return s.interaction(&delivery{Delivery: Delivery{ID: id}, accepts: true, view: viewID}, user, obj{
		"type": "view_submission", "trigger_id": id, "view": v.body, "response_urls": []obj{},
	}), nil
}

// CloseView closes a modal; the bot hears of it where it asked to.
func (s *Server) CloseView(user, viewID string) {
	defer s.lock()()
	v := s.view(viewID)
	if v == nil || v.Closed || v.User != user {
		return
	}
	v.Closed = true
	if v.body["notify_on_close"] == true {
		d := &delivery{Delivery: Delivery{ID: s.nextID("close")}}
		s.interaction(d, user, obj{"type": "view_closed", "view": v.body, "is_cleared": false})
	}
}

// OpenHome opens the app's home page.
func (s *Server) OpenHome(user string) (id string) {
	defer s.lock()()
	e := obj{"type": "app_home_opened", "user": user, "channel": s.im(user).id, "tab": "home"}
	if v := s.homes[user]; v != nil {
		e["view"] = v.body
	}
	return s.event(e)
}

// AssistantStart opens the assistant pane: it posts the thread's first message in
// the IM of user and delivers assistant_thread_started. What is posted in that
// thread arrives as a message of the IM with a thread.
func (s *Server) AssistantStart(user string) (channel, thread string) {
	defer s.lock()()
	c := s.im(user)
	m := &message{Message: Message{
		Channel: c.id, TS: s.stamp(), User: s.o.BotUser, BotID: s.o.BotID, Subtype: "assistant_app_thread",
		Text: "New Assistant Thread", At: s.o.Now(),
	}}
	c.add(m)
	s.assistants[c.id+"/"+m.TS] = &assistant{}
	s.event(obj{"type": "assistant_thread_started", "assistant_thread": obj{
		"user_id": user, "context": obj{}, "channel_id": c.id, "thread_ts": m.TS,
	}})
	return c.id, m.TS
}
