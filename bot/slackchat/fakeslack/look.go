package fakeslack

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"time"
)

func (s *Server) each(channel string, keep func(m *message) bool) []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.channels[channel]
	if c == nil {
		return nil
	}
	var out []Message
	for _, m := range c.messages {
		if keep(m) {
			out = append(out, m.Message)
		}
	}
	return out
}

// Messages are a channel's messages, oldest first, with those in threads.
func (s *Server) Messages(channel string) []Message {
	return s.each(channel, func(m *message) bool { return m.Ephemeral == "" })
}

// Thread is a thread with its first message, oldest first.
func (s *Server) Thread(channel, ts string) []Message {
	return s.each(channel, func(m *message) bool { return m.Ephemeral == "" && (m.TS == ts || m.Thread == ts) })
}

// Replies are what the bot posted in a thread.
func (s *Server) Replies(channel, ts string) []Message {
	return s.each(channel, func(m *message) bool {
		return m.Ephemeral == "" && m.Thread == ts && m.TS != ts && m.BotID == s.o.BotID
	})
}

// Ephemeral are the messages in a channel that only user sees.
func (s *Server) Ephemeral(channel, user string) []Message {
	return s.each(channel, func(m *message) bool { return m.Ephemeral == user })
}

// Unthreaded are the bot's messages that were meant for a thread whose first
// message is gone, and stand in the channel instead.
func (s *Server) Unthreaded(channel string) []Message {
	return s.each(channel, func(m *message) bool { return m.Unthreaded })
}

// IM is the channel of a person with the bot.
func (s *Server) IM(user string) string {
	defer s.lock()()
	return s.im(user).id
}

var ping = regexp.MustCompile(`<!(?:channel|here|everyone|subteam)|<@[UW][A-Z0-9]+>`)

// Pings are the messages of the bot that alert people: @channel and the like, or
// a person by name.
func (s *Server) Pings() []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []Message
	for _, id := range sortedMap(s.channels) {
		for _, m := range s.channels[id].messages {
			if m.BotID != s.o.BotID {
				continue
			}
			var v any
			_ = json.Unmarshal(m.Blocks, &v)
			if ping.MatchString(m.Text) || pings(v) {
				out = append(out, m.Message)
			}
		}
	}
	return out
}

func pings(v any) bool {
	switch v := v.(type) {
	case []any:
		return slices.ContainsFunc(v, pings)
	case obj:
		t, _ := v["text"].(string)
		if (v["type"] == "mrkdwn" || v["type"] == "markdown") && ping.MatchString(t) {
			return true
		}
		if v["type"] == "broadcast" || v["type"] == "user" {
			return true
		}
		for _, x := range v {
			if pings(x) {
				return true
			}
		}
	}
	return false
}

// Views are the modals that were opened, oldest first, closed ones too.
func (s *Server) Views() []View {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []View
	for _, v := range s.views {
		out = append(out, v.View)
	}
	return out
}

// Home is the page that was published for user.
func (s *Server) Home(user string) (View, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v := s.homes[user]; v != nil {
		return v.View, true
	}
	return View{}, false
}

func (s *Server) assistant(channel, thread string) assistant {
	s.mu.Lock()
	defer s.mu.Unlock()
	if a := s.assistants[channel+"/"+thread]; a != nil {
		return *a
	}
	return assistant{}
}

// Status is the status that an assistant thread shows.
func (s *Server) Status(channel, thread string) string { return s.assistant(channel, thread).status }

// Prompts are the suggested prompts of an assistant thread.
func (s *Server) Prompts(channel, thread string) []map[string]any {
	return s.assistant(channel, thread).prompts
}

// Title is the title of an assistant thread.
func (s *Server) Title(channel, thread string) string { return s.assistant(channel, thread).title }

// Reactions are the emoji that the bot gave a message.
func (s *Server) Reactions(channel, ts string) []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if c := s.channels[channel]; c != nil {
		return slices.Clone(c.reactions[ts])
	}
	return nil
}

// Calls are the calls of a method; "" is all.
func (s *Server) Calls(method string) []Call {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []Call
	for _, c := range s.calls {
		if method == "" || c.Method == method {
			out = append(out, c)
		}
	}
	return out
}

// Count is how many calls of a method there were, "" for all; it is cheaper than
// Calls, for conditions of WaitFor in long tests.
func (s *Server) Count(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if method == "" {
		return len(s.calls)
	}
	return s.counts[method]
}

// Pending is how many deliveries are not acknowledged; it is cheaper than Unacked.
func (s *Server) Pending() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, d := range s.deliveries {
		if !d.Acked {
			n++
		}
	}
	return n
}

// Refused is everything that was refused. 429s and faults are not among it.
func (s *Server) Refused() []Refusal {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.refused)
}

func (s *Server) pickDeliveries(keep func(d *delivery) bool) []Delivery {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []Delivery
	for _, d := range s.deliveries {
		if keep(d) {
			out = append(out, d.Delivery)
		}
	}
	return out
}

// Deliveries is all that was delivered or waits for it, in order.
func (s *Server) Deliveries() []Delivery {
	return s.pickDeliveries(func(*delivery) bool { return true })
}

// Unacked is what waits for its acknowledgement, was given up, or was never sent.
func (s *Server) Unacked() []Delivery {
	return s.pickDeliveries(func(d *delivery) bool { return !d.Acked })
}

// SlowAcks is what was acknowledged later than Options.Ack.
func (s *Server) SlowAcks() []Delivery {
	return s.pickDeliveries(func(d *delivery) bool { return d.Took > s.o.Ack })
}

// Slowest is the longest that an acknowledgement took.
func (s *Server) Slowest() time.Duration {
	var most time.Duration
	for _, d := range s.Deliveries() {
		most = max(most, d.Took)
	}
	return most
}

// Failed are the commands and interactions that were not acknowledged in time:
// the person saw an error.
func (s *Server) Failed() []Delivery {
	return s.pickDeliveries(func(d *delivery) bool { return d.Kind != kindEvent && d.GivenUp })
}

// Actions are the things to press in a message.
func (m Message) Actions() []Action { return actions(m.Blocks) }

// Plain is what a message's blocks say, one text a line; its text where it has none.
func (m Message) Plain() string {
	if len(m.Blocks) == 0 {
		return m.Text
	}
	return plainText(m.Blocks)
}

// Actions are the things to press in a view.
func (v View) Actions() []Action { return actions(v.blocks()) }

// Plain is what a view's blocks say, one text a line.
func (v View) Plain() string { return plainText(v.blocks()) }

func (v View) blocks() json.RawMessage {
	var b struct{ Blocks json.RawMessage }
	_ = json.Unmarshal(v.Raw, &b)
	return b.Blocks
}

func actions(blocks json.RawMessage) []Action {
	var out []Action
	walk(blocks, func(block, e obj) {
		get := func(m obj, k string) string {
			s, _ := m[k].(string)
			return s
		}
		a := Action{
			Type: get(e, "type"), BlockID: get(block, "block_id"), ActionID: get(e, "action_id"), Value: get(e, "value"),
			Style: get(e, "style"), URL: get(e, "url"),
		}
		if t, ok := e["text"].(obj); ok {
			a.Label = get(t, "text")
		}
		out = append(out, a)
	})
	return out
}

// plainText is the texts of blocks without those of what can be pressed.
func plainText(blocks json.RawMessage) string {
	var l []obj
	_ = json.Unmarshal(blocks, &l)
	var out []string
	var see func(v any)
	see = func(v any) {
		switch v := v.(type) {
		case string:
			out = append(out, v)
		case []any:
			for _, x := range v {
				see(x)
			}
		case obj:
			if v["action_id"] != nil {
				return
			}
			for _, k := range []string{"title", "text", "alt_text", "label", "hint", "fields", "elements", "rows"} {
				if x, ok := v[k]; ok {
					see(x)
				}
			}
		}
	}
	for _, b := range l {
		see(b)
	}
	return strings.Join(out, "\n")
}
