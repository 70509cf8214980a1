package fakeslack

import (
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// The methods of the Web API. They run with the state locked.

func (s *Server) connectionsOpen(args) answer {
	if len(s.conns) >= 10 {
		return failed("too_many_websockets")
	}
	return answer{fields: obj{"url": s.newSocket()}}
}

func (s *Server) authTest(args) answer {
	return answer{fields: obj{
		"url": "https://club.slack.com/", "team": "Club", "team_id": s.o.Team, "user": s.o.BotName, "user_id": s.o.BotUser,
		"bot_id": s.o.BotID, "is_enterprise_install": false,
	}}
}

// open is a channel that the bot may write to.
func (s *Server) open(id string) (*channel, answer) {
	c := s.channels[id]
	switch {
	case c == nil, !c.has(s.o.BotUser) && c.kind != Public:
		return nil, failed("channel_not_found")
	case c.archived:
		return nil, failed("is_archived")
	case !c.has(s.o.BotUser):
		return nil, failed("not_in_channel")
	}
	return c, answer{}
}

// read is a channel that the bot may read.
func (s *Server) read(id string) (*channel, answer) {
	c, ans := s.open(id)
	if ans.err == "is_archived" {
		return s.channels[id], answer{}
	}
	return c, ans
}

// inThread is the thread that a message is posted in. Where its first message is
// gone, Slack posts to the channel and says nothing.
func (c *channel) inThread(ts string) (thread string, ans answer) {
	m := c.at(ts)
	switch {
	case ts == "":
		return "", answer{}
	case m == nil:
		return "", answer{warning: "posted_outside_the_thread"}
	case m.Thread != "" && m.Thread != m.TS:
		return "", failed("cannot_reply_to_message", "[ERROR] thread_ts is the ts of a reply [json-pointer:/thread_ts]")
	}
	return ts, answer{}
}

func (s *Server) postMessage(a args) answer {
	if id := a["channel"]; s.users[id] != nil && id != s.o.BotUser {
		a["channel"] = s.im(id).id // posting to a person is posting to the IM
	}
	c, ans := s.open(a["channel"])
	if ans.err != "" {
		return ans
	}
	text, blocks, ans := s.say(a)
	if ans.err != "" {
		return ans
	}
	meta, bad := s.metadataOf(a)
	if bad.err != "" {
		return bad
	}
	thread, bad := c.inThread(a["thread_ts"])
	if bad.err != "" {
		return bad
	}
	m := &message{Message: Message{
		Channel: c.id, TS: s.stamp(), Thread: thread, User: s.o.BotUser, BotID: s.o.BotID, Text: text, Blocks: blocks,
		Metadata: meta, Broadcast: a.on("reply_broadcast"), At: s.o.Now(),
	}}
	if m.Broadcast {
		m.Subtype = "thread_broadcast"
	}
	c.add(m)
	if x := s.assistants[c.id+"/"+m.Thread]; x != nil {
		x.status = "" // an answer takes the status away
	}
	s.posted(c, m, "")
	ans.ts, ans.note = m.TS, bad.warning
	m.Unthreaded = bad.warning != ""
	ans.fields = obj{"channel": c.id, "ts": m.TS, "message": s.body(c, m)}
	return ans
}

func (s *Server) postEphemeral(a args) answer {
	c, ans := s.open(a["channel"])
	if ans.err != "" {
		return ans
	}
	if !c.has(a["user"]) {
		return failed("user_not_in_channel")
	}
	text, blocks, ans := s.say(a)
	if ans.err != "" {
		return ans
	}
	if a["metadata"] != "" {
		ans.warning = "metadata_is_not_kept"
	}
	thread, bad := c.inThread(a["thread_ts"])
	if bad.err != "" {
		return bad
	}
	m := &message{Message: Message{
		Channel: c.id, TS: s.stamp(), Thread: thread, User: s.o.BotUser, BotID: s.o.BotID, Text: text, Blocks: blocks,
		Ephemeral: a["user"], At: s.o.Now(),
	}}
	c.add(m)
	ans.ts, ans.fields = m.TS, obj{"message_ts": m.TS}
	return ans
}

// own is a message that the bot may change.
func (s *Server) own(a args, cannot string) (*channel, *message, answer) {
	c := s.channels[a["channel"]]
	if c == nil || !c.has(s.o.BotUser) && c.kind != Public {
		return nil, nil, failed("channel_not_found")
	}
	m := c.at(a["ts"])
	switch {
	case m == nil, m.tombstone:
		return nil, nil, failed("message_not_found")
	case m.BotID != s.o.BotID:
		return nil, nil, failed(cannot)
	case c.archived:
		return nil, nil, failed("is_archived")
	}
	return c, m, answer{}
}

func (s *Server) update(a args) answer {
	c, m, ans := s.own(a, "cant_update_message")
	if ans.err != "" {
		return ans
	}
	text, blocks, ans := s.say(a)
	_, has := a["text"]
	if ans.err == "no_text" && !has && a["metadata"] != "" {
		ans = answer{} // only the metadata is changed
	}
	if ans.err != "" {
		return ans
	}
	meta, bad := s.metadataOf(a)
	if bad.err != "" {
		return bad
	}
	before, old := s.body(c, m), m.Text
	if has {
		m.Text = text
	}
	if _, given := a["blocks"]; given || has { // a text without blocks takes them away
		m.Blocks = blocks
	}
	if meta != nil {
		m.Metadata = meta
	}
	if m.Text != old && m.Blocks == nil { // with blocks, no mark of the edit is shown
		m.Edited, m.edited = true, s.stamp()
	}
	if x := s.assistants[c.id+"/"+m.Thread]; x != nil {
		x.status = ""
	}
	s.altered(c, m, before)
	ans.ts = m.TS
	ans.fields = obj{"channel": c.id, "ts": m.TS, "text": m.Text, "message": s.body(c, m)}
	return ans
}

func (s *Server) deleteMessage(a args) answer {
	c, m, ans := s.own(a, "cant_delete_message")
	if ans.err != "" {
		return ans
	}
	s.remove(c, m)
	return answer{ts: m.TS, fields: obj{"channel": c.id, "ts": m.TS}}
}

// page is one page of a list of messages. The cursor is the ts that it starts at.
func (s *Server) page(c *channel, l []*message, a args, most int) (out []obj, next string, ans answer) {
	limit := most
	if v := a["limit"]; v != "" && v != "0" {
		n, err := strconv.Atoi(v)
		if err != nil || n < 1 || n > 1000 {
			return nil, "", failed("invalid_limit")
		}
		limit = min(n, most)
	}
	start := 0
	if cur := a["cursor"]; cur != "" {
		start = slices.IndexFunc(l, func(m *message) bool { return "next_ts:"+m.TS == cur })
		if start < 0 {
			return nil, "", failed("invalid_cursor")
		}
	}
	for i, m := range l[start:] {
		if i == limit {
			next = "next_ts:" + m.TS
			break
		}
		b := s.body(c, m)
		if m.Metadata != nil && a.on("include_all_metadata") {
			b["metadata"] = m.Metadata
		}
		out = append(out, b)
	}
	return out, next, ans
}

func (s *Server) pageSize() int {
	if s.o.Page > 0 {
		return s.o.Page
	}
	return 1000
}

func between(a args) func(m *message) bool {
	return func(m *message) bool {
		in := a.on("inclusive")
		if v := a["oldest"]; v != "" && v != "0" && (m.TS < v || m.TS == v && !in) {
			return false
		}
		if v := a["latest"]; v != "" && (m.TS > v || m.TS == v && !in) {
			return false
		}
		return true
	}
}

func pages(out []obj, next string) answer {
	if out == nil {
		out = []obj{}
	}
	return answer{fields: obj{"messages": out, "has_more": next != "", "response_metadata": obj{"next_cursor": next}}}
}

func (s *Server) conversationReplies(a args) answer {
	c, ans := s.read(a["channel"])
	if ans.err != "" {
		return ans
	}
	root := c.at(a["ts"])
	if root == nil {
		return failed("thread_not_found")
	}
	var l []*message
	keep := between(a)
	for _, m := range c.replies(root.TS) {
		if keep(m) {
			l = append(l, m)
		}
	}
	out, next, ans := s.page(c, l, a, s.pageSize())
	if ans.err != "" {
		return ans
	}
	first := s.body(c, root) // every page begins with it
	if root.Metadata != nil && a.on("include_all_metadata") {
		first["metadata"] = root.Metadata
	}
	return pages(append([]obj{first}, out...), next)
}

func (s *Server) conversationHistory(a args) answer {
	c, ans := s.read(a["channel"])
	if ans.err != "" {
		return ans
	}
	var l []*message
	keep := between(a)
	for _, m := range c.messages {
		if m.Ephemeral == "" && (m.Thread == "" || m.Broadcast) && keep(m) {
			l = append(l, m)
		}
	}
	slices.Reverse(l)
	most := s.pageSize()
	if a["limit"] == "" {
		most = min(most, 100)
	}
	out, next, ans := s.page(c, l, a, most)
	if ans.err != "" {
		return ans
	}
	return pages(out, next)
}

func (s *Server) conversationInfo(a args) answer {
	c := s.channels[a["channel"]]
	if c == nil || !c.has(s.o.BotUser) && c.kind != Public {
		return failed("channel_not_found")
	}
	o := obj{
		"id": c.id, "name": c.name, "is_channel": c.kind == Public, "is_group": c.kind == Private, "is_im": c.kind == IM,
		"is_mpim": c.kind == MPIM, "is_private": c.kind != Public, "is_archived": c.archived, "is_member": c.has(s.o.BotUser),
	}
	if c.kind == IM {
		o["user"] = c.members[0]
		delete(o, "name")
	}
	return answer{fields: obj{"channel": o}}
}

func (s *Server) conversationOpen(a args) answer {
	if id := a["channel"]; id != "" {
		if s.channels[id] == nil {
			return failed("channel_not_found")
		}
		return answer{fields: obj{"channel": obj{"id": id}}}
	}
	u := a["users"]
	if strings.Contains(u, ",") || s.users[u] == nil {
		return failed("user_not_found")
	}
	return answer{fields: obj{"channel": obj{"id": s.im(u).id}}}
}

func (s *Server) userInfo(a args) answer {
	u := s.users[a["user"]]
	if u == nil {
		return failed("user_not_found")
	}
	o := obj{
		"id": u.id, "team_id": s.o.Team, "name": u.name, "real_name": u.name, "deleted": false, "is_bot": u.id == s.o.BotUser,
		"tz": "America/New_York", "profile": obj{"real_name": u.name, "display_name": u.name},
	}
	if a.on("include_locale") {
		o["locale"] = u.locale
	}
	return answer{fields: obj{"user": o}}
}

// view is an open or closed view by its id.
func (s *Server) view(id string) *view {
	for _, v := range s.views {
		if v.ID == id {
			return v
		}
	}
	for _, v := range s.homes {
		if v.ID == id {
			return v
		}
	}
	return nil
}

func viewOf(a args, kind string) (json.RawMessage, answer) {
	v := json.RawMessage(a["view"])
	if len(v) > 250000 {
		return nil, failed("view_too_large")
	}
	if wrong := CheckView(v); len(wrong) > 0 {
		return nil, failed("invalid_arguments", wrong...)
	}
	var t struct{ Type string }
	_ = json.Unmarshal(v, &t)
	if t.Type != kind {
		return nil, failed("invalid_arguments", "[ERROR] the type must be "+kind+" here [json-pointer:/view/type]")
	}
	return v, answer{}
}

func (s *Server) fillView(v *view, given json.RawMessage) {
	var m obj
	_ = json.Unmarshal(given, &m)
	v.Hash = s.nextID(strconv.FormatInt(s.o.Now().Unix(), 10) + ".")
	v.Raw = given
	v.Type, _ = m["type"].(string)
	v.CallbackID, _ = m["callback_id"].(string)
	v.Private, _ = m["private_metadata"].(string)
	v.external, _ = m["external_id"].(string)
	if t, ok := m["title"].(obj); ok {
		v.Title, _ = t["text"].(string)
	}
	l, _ := m["blocks"].([]any)
	body := obj{
		"id": v.ID, "team_id": s.o.Team, "app_id": s.o.AppID, "app_installed_team_id": s.o.Team, "bot_id": s.o.BotID,
		"hash": v.Hash, "root_view_id": v.Root, "previous_view_id": nil, "state": obj{"values": obj{}}, "blocks": s.complete(l),
		"type": v.Type, "callback_id": v.CallbackID, "private_metadata": v.Private, "external_id": v.external,
		"clear_on_close": m["clear_on_close"] == true, "notify_on_close": m["notify_on_close"] == true,
		"title": m["title"], "submit": m["submit"], "close": m["close"],
	}
	if v.Previous != "" {
		body["previous_view_id"] = v.Previous
	}
	v.body = body
}

func (s *Server) addView(user string, given json.RawMessage, below *view) *view {
	v := &view{View: View{ID: s.nextID("V"), User: user}}
	v.Root = v.ID
	if below != nil {
		v.Root, v.Previous = below.Root, below.ID
	}
	s.fillView(v, given)
	s.views = append(s.views, v)
	return v
}

// exchange uses a trigger id.
func (s *Server) exchangeTrigger(id string) (*trigger, answer) {
	t := s.triggers[id]
	switch {
	case t == nil:
		return nil, failed("invalid_trigger_id")
	case t.used:
		return nil, failed("exchanged_trigger_id")
	case s.o.Now().After(t.until):
		return nil, failed("expired_trigger_id")
	}
	t.used = true
	return t, answer{}
}

func (s *Server) taken(external string, but *view) bool {
	return external != "" && slices.ContainsFunc(s.views, func(v *view) bool { return !v.Closed && v != but && v.external == external })
}

func externalOf(v json.RawMessage) string {
	var m struct {
		ID string `json:"external_id"`
	}
	_ = json.Unmarshal(v, &m)
	return m.ID
}

func (s *Server) viewOpen(a args) answer {
	given, ans := viewOf(a, "modal")
	if ans.err != "" {
		return ans
	}
	if s.taken(externalOf(given), nil) {
		return failed("duplicate_external_id")
	}
	t, ans := s.exchangeTrigger(a["trigger_id"])
	if ans.err != "" {
		return ans
	}
	return answer{fields: obj{"view": s.addView(t.user, given, nil).body}}
}

func (s *Server) viewPush(a args) answer {
	given, ans := viewOf(a, "modal")
	if ans.err != "" {
		return ans
	}
	t, ans := s.exchangeTrigger(a["trigger_id"])
	if ans.err != "" {
		return ans
	}
	below := s.view(t.view)
	if below == nil || below.Type != "modal" || below.Closed {
		return failed("invalid_trigger_id", "[ERROR] a view is pushed onto an open modal")
	}
	depth := 1
	for v := below; v.Previous != ""; v = s.view(v.Previous) {
		depth++
	}
	if depth >= 3 {
		return failed("push_limit_reached")
	}
	return answer{fields: obj{"view": s.addView(t.user, given, below).body}}
}

func (s *Server) viewUpdate(a args) answer {
	given, ans := viewOf(a, "modal")
	if ans.err != "" {
		return ans
	}
	v := s.view(a["view_id"])
	if a["view_id"] == "" {
		for _, x := range s.views {
			if !x.Closed && x.external == a["external_id"] {
				v = x
			}
		}
	}
	switch {
	case v == nil, v.Closed:
		return failed("not_found")
	case a["hash"] != "" && a["hash"] != v.Hash:
		return failed("hash_conflict")
	case s.taken(externalOf(given), v):
		return failed("duplicate_external_id")
	}
	v.Updates++
	s.fillView(v, given)
	return answer{fields: obj{"view": v.body}}
}

func (s *Server) viewPublish(a args) answer {
	given, ans := viewOf(a, "home")
	if ans.err != "" {
		return ans
	}
	if s.users[a["user_id"]] == nil {
		return failed("invalid_arguments", "[ERROR] user not found [json-pointer:/user_id]")
	}
	v := s.homes[a["user_id"]]
	switch {
	case v == nil:
		v = &view{View: View{ID: s.nextID("V"), User: a["user_id"]}}
		v.Root = v.ID
	case a["hash"] != "" && a["hash"] != v.Hash:
		return failed("hash_conflict")
	default:
		v.Updates++
	}
	s.fillView(v, given)
	s.homes[a["user_id"]] = v
	return answer{fields: obj{"view": v.body}}
}

var emoji = regexp.MustCompile(`^[a-z0-9_+'-]+(::skin-tone-[2-6])?$`)

func (s *Server) reactionAdd(a args) answer {
	c, ans := s.open(a["channel"])
	switch {
	case ans.err != "":
		return ans
	case !emoji.MatchString(a["name"]):
		return failed("invalid_name")
	case c.at(a["timestamp"]) == nil:
		return failed("message_not_found")
	case slices.Contains(c.reactions[a["timestamp"]], a["name"]):
		return failed("already_reacted")
	}
	c.reactions[a["timestamp"]] = append(c.reactions[a["timestamp"]], a["name"])
	return answer{}
}

// pane is the assistant thread that a call names.
func (s *Server) pane(a args) (*assistant, answer) {
	c, ans := s.open(a["channel_id"])
	if ans.err != "" {
		return nil, ans
	}
	if c.at(a["thread_ts"]) == nil {
		return nil, failed("invalid_thread_ts")
	}
	key := c.id + "/" + a["thread_ts"]
	if s.assistants[key] == nil {
		if c.kind != IM {
			return nil, failed("invalid_channel_type")
		}
		s.assistants[key] = &assistant{}
	}
	return s.assistants[key], answer{}
}

func (s *Server) setStatus(a args) answer {
	if _, ok := a["status"]; !ok { // it may be empty, but not missing
		return failed("invalid_arguments", "[ERROR] missing required field: status")
	}
	p, ans := s.pane(a)
	if ans.err == "" {
		p.status = a["status"]
	}
	return ans
}

func (s *Server) setTitle(a args) answer {
	p, ans := s.pane(a)
	if ans.err == "" {
		p.title = a["title"]
	}
	return ans
}

func (s *Server) setPrompts(a args) answer {
	var l []any
	if json.Unmarshal([]byte(a["prompts"]), &l) != nil {
		return failed("invalid_arguments", "[ERROR] must provide an array [json-pointer:/prompts]")
	}
	c := &checker{}
	list(1, 4, object(kind{need: []string{"title", "message"}, props: map[string]check{
		"title": str(1, 255), "message": str(1, 4000),
	}}))(c, "/prompts", l)
	if len(c.wrong) > 0 {
		return failed("invalid_arguments", c.wrong...)
	}
	p, ans := s.pane(a)
	if ans.err != "" {
		return ans
	}
	p.prompts = nil
	for _, v := range l {
		p.prompts = append(p.prompts, v.(obj))
	}
	return answer{}
}
