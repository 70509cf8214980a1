package fakeslack

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
)

// args are a call's arguments: strings as they are, everything else as JSON.
type args map[string]string

func (a args) on(name string) bool { return a[name] == "true" || a[name] == "1" }

// answer is what a method says: the fields beside ok, or an error.
type answer struct {
	err     string
	details []string // response_metadata.messages
	fields  obj
	ts      string // of the message that was made or changed
	warning string
	note    string // kept with the call, but not told
}

func failed(err string, details ...string) answer { return answer{err: err, details: details} }

// method is one method of the Web API.
type method struct {
	need  []string // arguments; "a|b" is one of them
	app   bool     // takes the app-level token
	json  bool     // takes its arguments as JSON too
	write bool     // is never called by GET
	do    func(s *Server, a args) answer
}

var methods = map[string]method{
	"apps.connections.open": {app: true, json: true, write: true, do: (*Server).connectionsOpen},
	"auth.test":             {json: true, do: (*Server).authTest},
	"chat.postMessage":      {json: true, write: true, need: []string{"channel"}, do: (*Server).postMessage},
	"chat.postEphemeral":    {json: true, write: true, need: []string{"channel", "user"}, do: (*Server).postEphemeral},
	"chat.update":           {json: true, write: true, need: []string{"channel", "ts"}, do: (*Server).update},
	"chat.delete":           {json: true, write: true, need: []string{"channel", "ts"}, do: (*Server).deleteMessage},
	"conversations.replies": {need: []string{"channel", "ts"}, do: (*Server).conversationReplies},
	"conversations.history": {need: []string{"channel"}, do: (*Server).conversationHistory},
	"conversations.info":    {need: []string{"channel"}, do: (*Server).conversationInfo},
	"conversations.open":    {json: true, write: true, need: []string{"users|channel"}, do: (*Server).conversationOpen},
	"users.info":            {need: []string{"user"}, do: (*Server).userInfo},
	"views.open":            {json: true, write: true, need: []string{"trigger_id", "view"}, do: (*Server).viewOpen},
	"views.push":            {json: true, write: true, need: []string{"trigger_id", "view"}, do: (*Server).viewPush},
	"views.update":          {json: true, write: true, need: []string{"view_id|external_id", "view"}, do: (*Server).viewUpdate},
	"views.publish":         {json: true, write: true, need: []string{"user_id", "view"}, do: (*Server).viewPublish},
	"reactions.add":         {json: true, write: true, need: []string{"channel", "timestamp", "name"}, do: (*Server).reactionAdd},

	"assistant.threads.setStatus":           {json: true, write: true, need: []string{"channel_id", "thread_ts"}, do: (*Server).setStatus},
	"assistant.threads.setTitle":            {json: true, write: true, need: []string{"channel_id", "thread_ts", "title"}, do: (*Server).setTitle},
	"assistant.threads.setSuggestedPrompts": {json: true, write: true, need: []string{"channel_id", "prompts"}, do: (*Server).setPrompts},
}

func (s *Server) serveAPI(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/api/")
	m, known := methods[name]
	a, token, bad := readArgs(r, m.json || !known)

	unlock := s.lock()
	ans, after, fault := s.call(name, m, known, a, token, bad, r.Method)
	body := ans.body() // while nobody changes what it shows
	unlock()

	s.o.Log.Debug("call", "method", name, "err", ans.err)
	if fault.Break || fault.Status != 0 {
		breakAnswer(w, fault)
		return
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	if ans.err == "ratelimited" {
		w.Header().Set("Retry-After", seconds(after))
		w.WriteHeader(http.StatusTooManyRequests)
	}
	_, _ = w.Write(body)
}

// body is an answer as it is sent.
func (ans answer) body() []byte {
	out := obj{"ok": ans.err == ""}
	for k, v := range ans.fields {
		out[k] = v
	}
	meta, _ := out["response_metadata"].(obj)
	if ans.err != "" {
		out["error"] = ans.err
		if len(ans.details) > 0 {
			meta = obj{"messages": ans.details}
			if ans.err == "invalid_blocks" {
				out["errors"] = ans.details
			}
		}
	}
	if ans.warning != "" {
		out["warning"] = ans.warning
		if meta == nil {
			meta = obj{}
		}
		meta["warnings"] = []string{ans.warning}
	}
	if meta != nil {
		out["response_metadata"] = meta
	}
	return raw(out)
}

// call checks a call as Slack does, in its order, and does what it asks.
func (s *Server) call(name string, m method, known bool, a args, token, bad, verb string) (ans answer, after time.Duration, fault Fault) {
	where := a["channel"]
	if where == "" {
		where = a["channel_id"]
	}
	note := Call{Method: name, Channel: where, Args: a, At: s.o.Now()}
	defer func() {
		note.Err, note.TS, note.Warning = ans.err, ans.ts, ans.warning
		if ans.note != "" {
			note.Warning = ans.note
		}
		s.note(note)
		if ans.err != "" && ans.err != "ratelimited" && ans.err != "fault" {
			s.refused = append(s.refused, Refusal{What: name, Err: ans.err, Details: ans.details, Args: a, At: note.At})
		}
	}()
	if !known {
		return failed("unknown_method"), 0, fault
	}
	switch kind := s.tokenKind(token); {
	case token == "":
		return failed("not_authed"), 0, fault
	case kind == "":
		return failed("invalid_auth"), 0, fault
	case name != "auth.test" && m.app != (kind == "app"):
		return failed("not_allowed_token_type"), 0, fault
	}
	if verb != http.MethodPost && (m.write || verb != http.MethodGet) {
		return failed("invalid_http_method"), 0, fault
	}
	if s.o.Limit != nil {
		if after := s.o.Limit(name, where); after > 0 {
			return failed("ratelimited"), after, fault
		}
	}
	if s.o.Fault != nil {
		fault = s.o.Fault(name, where)
		if (fault.Break || fault.Status != 0) && !fault.Done {
			return failed("fault"), 0, fault
		}
	}
	if bad != "" {
		return failed(bad), 0, fault
	}
	var missing []string
	for _, n := range m.need {
		if !slices.ContainsFunc(strings.Split(n, "|"), func(n string) bool { return a[n] != "" }) {
			missing = append(missing, "[ERROR] missing required field: "+n)
		}
	}
	if len(missing) > 0 {
		return failed("invalid_arguments", missing...), 0, fault
	}
	if name == "chat.postMessage" && s.o.PostRate && !s.take(where) {
		return failed("ratelimited"), time.Second, fault
	}
	return m.do(s, a), 0, fault
}

func (s *Server) note(c Call) {
	s.calls = append(s.calls, c)
	s.counts[c.Method]++
}

func (s *Server) tokenKind(token string) string {
	switch token {
	case s.o.BotToken:
		return "bot"
	case s.o.AppToken:
		return "app"
	}
	return ""
}

// take takes one post from a channel's allowance: one a second, three at once.
func (s *Server) take(channel string) bool {
	now, b := s.o.Now(), s.buckets[channel]
	if b == nil {
		b = &bucket{tokens: 3, at: now}
		s.buckets[channel] = b
	}
	b.tokens = min(3, b.tokens+now.Sub(b.at).Seconds())
	b.at = now
	if b.tokens < 1 {
		return false
	}
	b.tokens--
	return true
}

// readArgs gives a call's arguments and token, or what is wrong with its body.
func readArgs(r *http.Request, takesJSON bool) (a args, token, bad string) {
	a = args{}
	fill := func(v url.Values) {
		for k := range v {
			a[k] = v.Get(k)
		}
	}
	fill(r.URL.Query())
	body, err := io.ReadAll(io.LimitReader(r.Body, 8<<20))
	if err != nil {
		bad = "invalid_form_data"
	}
	kind, params, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch {
	case len(body) == 0:
	case kind == "application/x-www-form-urlencoded":
		v, err := url.ParseQuery(string(body))
		if err != nil {
			bad = "invalid_form_data"
		}
		fill(v)
	case kind == "multipart/form-data":
		r.Body = io.NopCloser(strings.NewReader(string(body)))
		if err := r.ParseMultipartForm(8 << 20); err != nil {
			bad = "invalid_form_data"
		} else {
			fill(url.Values(r.MultipartForm.Value))
		}
	case kind == "application/json" && takesJSON:
		if cs := params["charset"]; cs != "" && !strings.EqualFold(cs, "utf-8") {
			bad = "invalid_charset"
		}
		var m map[string]json.RawMessage
		if json.Unmarshal(body, &m) != nil {
			if string(body) != "null" {
				bad = "invalid_json"
			}
			break
		}
		for k, v := range m {
			var str string
			switch {
			case string(v) == "null", k == "token": // a token in a JSON body does not count
			case json.Unmarshal(v, &str) == nil:
				a[k] = str
			default:
				a[k] = string(v)
			}
		}
	case kind == "application/json": // Slack does not look at it
	default:
		bad = "invalid_post_type"
	}
	if h := r.Header.Get("Authorization"); h != "" {
		token, _ = strings.CutPrefix(h, "Bearer ")
	} else {
		token = a["token"]
	}
	delete(a, "token")
	return a, token, bad
}

// blocksOf checks the blocks that a message is posted with, and completes them
// with the ids that Slack gives where an app gives none.
func (s *Server) blocksOf(a args) (json.RawMessage, answer) {
	b := a["blocks"]
	if b == "" {
		return nil, answer{}
	}
	var l []any
	if json.Unmarshal([]byte(b), &l) != nil {
		return nil, failed("invalid_blocks_format")
	}
	if wrong := CheckBlocks(json.RawMessage(b)); len(wrong) > 0 {
		return nil, failed("invalid_blocks", wrong...)
	}
	// The limit of a message's blocks in all is not documented; apps report about this much.
	if blockText(l) > 12000 {
		return nil, failed("msg_blocks_too_long")
	}
	if len(l) == 0 {
		return nil, answer{}
	}
	return raw(s.complete(l)), answer{}
}

func (s *Server) complete(l []any) []any {
	for _, v := range l {
		b := v.(obj)
		if b["block_id"] == nil {
			b["block_id"] = s.nextID("b")
		}
		give := func(v any) {
			if e, ok := v.(obj); ok && e["action_id"] == nil && e["type"] != "image" && e["type"] != "mrkdwn" && e["type"] != "plain_text" {
				e["action_id"] = s.nextID("a")
			}
		}
		switch b["type"] {
		case "section":
			give(b["accessory"])
		case "input":
			give(b["element"])
		case "actions", "context_actions":
			for _, e := range b["elements"].([]any) {
				give(e)
			}
		}
	}
	return l
}

// say checks what every message needs.
func (s *Server) say(a args) (text string, blocks json.RawMessage, ans answer) {
	text = a["text"]
	blocks, ans = s.blocksOf(a)
	switch {
	case ans.err != "":
	case size(text) > 40000:
		ans = failed("msg_too_long")
	case strings.TrimSpace(text) == "" && blocks == nil:
		ans = failed("no_text")
	case strings.TrimSpace(text) == "":
		ans.warning = "missing_text_in_message"
	}
	return text, blocks, ans
}

func (s *Server) metadataOf(a args) (*Metadata, answer) {
	v := a["metadata"]
	if v == "" {
		return nil, answer{}
	}
	var m obj
	if json.Unmarshal([]byte(v), &m) != nil {
		return nil, failed("invalid_metadata_format")
	}
	if len(m) == 0 {
		return nil, answer{}
	}
	t, ok := m["event_type"].(string)
	p, is := m["event_payload"].(obj)
	if !ok || t == "" || size(t) > 255 || !is {
		return nil, failed("invalid_metadata_schema", "[ERROR] event_type and event_payload are needed [json-pointer:/metadata]")
	}
	for k := range m {
		if k != "event_type" && k != "event_payload" && k != "entities" {
			return nil, failed("invalid_metadata_schema", "[ERROR] invalid additional property: "+k+" [json-pointer:/metadata]")
		}
	}
	if len(v) > 16000 {
		return nil, failed("metadata_too_large")
	}
	return &Metadata{EventType: t, Payload: p}, answer{}
}

// serveHook is the address that a command or a pressed button may be answered at.
func (s *Server) serveHook(w http.ResponseWriter, r *http.Request) {
	a, _, bad := readArgs(r, true)
	parts := strings.Split(r.URL.Path, "/")
	id := parts[len(parts)-1]
	unlock := s.lock()
	h := s.hooks[id]
	note := Call{Method: "response_url", Args: a, At: s.o.Now()}
	if h != nil {
		note.Channel = h.channel
	}
	var fault Fault
	if s.o.Fault != nil {
		fault = s.o.Fault("response_url", note.Channel)
	}
	broken := fault.Break || fault.Status != 0
	status, after, ans := http.StatusOK, time.Duration(0), failed("fault")
	if !broken || fault.Done {
		status, after, ans = s.answerHook(h, a, bad, r)
	}
	note.Err, note.TS, note.Warning = ans.err, ans.ts, ans.warning
	s.note(note)
	if ans.err != "" && ans.err != "ratelimited" && ans.err != "fault" {
		s.refused = append(s.refused, Refusal{What: "response_url", Err: ans.err, Details: ans.details, Args: a, At: note.At})
	}
	unlock()
	switch {
	case broken:
		breakAnswer(w, fault)
	case ans.err == "":
		_, _ = io.WriteString(w, "ok")
	default:
		w.Header().Set("Content-Type", "application/json; charset=utf-8")
		if status == http.StatusTooManyRequests {
			w.Header().Set("Retry-After", seconds(after))
		}
		w.WriteHeader(status)
		_, _ = w.Write(raw(obj{"ok": false, "error": ans.err}))
	}
}

// seconds is a Retry-After.
func seconds(d time.Duration) string { return strconv.Itoa(max(1, int(math.Ceil(d.Seconds())))) }

// breakAnswer fails an answer as a test asked.
func breakAnswer(w http.ResponseWriter, f Fault) {
	if !f.Break {
		http.Error(w, http.StatusText(f.Status), f.Status)
		return
	}
	if h, ok := w.(http.Hijacker); ok {
		if c, _, err := h.Hijack(); err == nil {
			_ = c.Close()
		}
	}
}

func (s *Server) answerHook(h *hook, a args, bad string, r *http.Request) (status int, after time.Duration, ans answer) {
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch {
	case h == nil:
		return http.StatusNotFound, 0, failed("invalid_url")
	case r.Method != http.MethodPost:
		return http.StatusMethodNotAllowed, 0, failed("invalid_http_method")
	case s.o.Now().After(h.until):
		return http.StatusNotFound, 0, failed("expired_url")
	case h.left == 0:
		return http.StatusNotFound, 0, failed("used_url")
	case kind != "application/json" || bad != "":
		return http.StatusBadRequest, 0, failed("invalid_payload")
	}
	if s.o.Limit != nil {
		if after := s.o.Limit("response_url", h.channel); after > 0 {
			return http.StatusTooManyRequests, after, failed("ratelimited")
		}
	}
	if ans = s.respond(h, a); ans.err != "" {
		return http.StatusBadRequest, 0, ans
	}
	h.left--
	return http.StatusOK, 0, ans
}

// respond does what an answer to a command or button asks: a new message, or a
// change of the one that the button was in.
func (s *Server) respond(h *hook, a args) answer {
	c := s.channels[h.channel]
	if a.on("delete_original") || a.on("replace_original") {
		var at *message
		for _, m := range c.messages {
			if h.ts != "" && m.TS == h.ts {
				at = m
			}
		}
		if at == nil {
			return failed("message_not_found")
		}
		if a.on("delete_original") {
			if h.ephemeral {
				c.drop(at)
			} else {
				s.remove(c, at)
			}
			return answer{ts: h.ts}
		}
		text, blocks, ans := s.say(a)
		if ans.err != "" {
			return ans
		}
		before := s.body(c, at)
		at.Text, at.Blocks = text, blocks
		if !h.ephemeral {
			s.altered(c, at, before)
		}
		return answer{ts: h.ts, warning: ans.warning}
	}
	text, blocks, ans := s.say(a)
	if ans.err != "" {
		return ans
	}
	m := &message{Message: Message{
		Channel: c.id, TS: s.stamp(), User: s.o.BotUser, BotID: s.o.BotID, Text: text, Blocks: blocks, At: s.o.Now(),
		Thread: a["thread_ts"],
	}}
	switch a["response_type"] {
	case "in_channel":
		c.add(m)
		s.posted(c, m, "")
	case "", "ephemeral":
		m.Ephemeral = h.user
		c.add(m)
	default:
		return failed("invalid_response_type")
	}
	return answer{ts: m.TS, warning: ans.warning}
}

// commandAnswer is the answer that came with a command's acknowledgement.
func (s *Server) commandAnswer(d *delivery, body json.RawMessage) {
	var m map[string]json.RawMessage
	a := args{}
	if json.Unmarshal(body, &m) != nil {
		s.refuse("command", "invalid_payload")
		return
	}
	for k, v := range m {
		var str string
		if json.Unmarshal(v, &str) == nil {
			a[k] = str
		} else {
			a[k] = string(v)
		}
	}
	if len(a) == 0 {
		return
	}
	if ans := s.respond(&hook{user: d.user, channel: d.channel}, a); ans.err != "" {
		s.refuse("command", ans.err, ans.details...)
	}
}

func (s *Server) refuse(what, err string, details ...string) {
	s.refused = append(s.refused, Refusal{What: what, Err: err, Details: details, At: s.o.Now()})
}

// submitAnswer is the answer that came with a submitted modal's acknowledgement.
func (s *Server) submitAnswer(d *delivery, body json.RawMessage) {
	v := s.view(d.view)
	if v == nil {
		return
	}
	if body == nil {
		v.Closed = true
		return
	}
	var a struct {
		Action string            `json:"response_action"`
		View   json.RawMessage   `json:"view"`
		Errors map[string]string `json:"errors"`
	}
	if json.Unmarshal(body, &a) != nil {
		s.refuse("view_submission", "invalid_payload")
		return
	}
	switch a.Action {
	case "":
		v.Closed = true
	case "clear":
		for _, x := range s.views {
			if x.Root == v.Root {
				x.Closed = true
			}
		}
	case "errors":
		inputs := map[string]bool{}
		l, _ := v.body["blocks"].([]any)
		for _, b := range l {
			if b := b.(obj); b["type"] == "input" {
				inputs[fmt.Sprint(b["block_id"])] = true
			}
		}
		if len(a.Errors) == 0 {
			s.refuse("view_submission", "no_errors")
		}
		for id := range a.Errors {
			if !inputs[id] {
				s.refuse("view_submission", "no_such_input", id)
			}
		}
	case "update", "push":
		if wrong := CheckView(a.View); len(wrong) > 0 {
			s.refuse("view_submission", "invalid_view", wrong...)
			return
		}
		if a.Action == "update" {
			s.fillView(v, a.View)
		} else {
			s.addView(d.user, a.View, v)
		}
	default:
		s.refuse("view_submission", "invalid_response_action", a.Action)
	}
}
