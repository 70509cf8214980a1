package fakeslack

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
	"github.com/slack-go/slack/socketmode"
)

func TestSign(t *testing.T) {
	// The worked example of Slack's page on verifying requests.
	const (
		secret = "8f742231b10e8888abcd99yyyzzz85a5"
		body   = "token=xyzz0WbapA4vBCDEFasx0q6G&team_id=T1DC2JH3J&team_domain=testteamnow&channel_id=G8PSS9T3V&channel_name=foobar" +
			"&user_id=U2CERLKJA&user_name=roadrunner&command=%2Fwebhook-collect&text=&response_url=https%3A%2F%2Fhooks.slack.com" +
			"%2Fcommands%2FT1DC2JH3J%2F397700885554%2F96rGlfmibIGlgcZRskXaIFfN&trigger_id=398738663015.47445629121.803a0bc887a14d10d2c447fce8b6703c"
		want = "v0=a2114d57b48eac39b9ad189dd8316235a7b4a8d21a10bd27519666489c69b503"
	)
	if got := Sign(secret, time.Unix(1531420618, 0), []byte(body)); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// What a library that was not written with this fake thinks of its signatures.
func TestSignedForALibrary(t *testing.T) {
	s := start(t, Options{})
	for name, tt := range map[string]struct {
		at     time.Duration
		secret string
		good   bool
	}{
		"now": {0, s.o.SigningSecret, true}, "six minutes ago": {-6 * time.Minute, s.o.SigningSecret, false},
		"in six minutes": {6 * time.Minute, s.o.SigningSecret, false}, "another secret": {0, "other", false},
	} {
		r, err := s.Signed("http://127.0.0.1/slack/events", "application/json", []byte(`{}`), time.Now().Add(tt.at))
		if err != nil {
			t.Fatal(err)
		}
		v, err := slack.NewSecretsVerifier(r.Header, tt.secret)
		if err == nil {
			_, _ = v.Write([]byte(`{}`))
			err = v.Ensure()
		}
		if (err == nil) != tt.good {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A conversation with a client library: both events of a mention, the answer in
// the thread, its metadata, its change, its button, a modal.
func TestConversation(t *testing.T) {
	s := start(t, Options{})
	api := client(t, s)
	sm := socketmode.New(api)
	ctx, stop := context.WithCancel(deadline(t))
	done := make(chan error, 1)
	go func() { done <- sm.RunContext(ctx) }()
	defer func() { stop(); <-done }()

	ts := s.Post("C1", "U1", "<@U0BOT> is 45 in legal at U11?", PostOptions{})
	seen := map[string]string{} // type of the inner event -> event id
	pressed := make(chan slack.InteractionCallback, 1)
	go func() {
		for {
			var ev socketmode.Event
			select {
			case ev = <-sm.Events:
			case <-ctx.Done():
				return
			}
			if ev.Request != nil && ev.Type != socketmode.EventTypeHello {
				_ = sm.Ack(*ev.Request)
			}
			if cb, ok := ev.Data.(slack.InteractionCallback); ok {
				pressed <- cb
			}
		}
	}()
	wait(t, s, "the acknowledgements", func() bool { return len(s.Deliveries()) == 2 && len(s.Unacked()) == 0 })
	for _, d := range s.Deliveries() {
		seen[d.Type] = d.ID
		if d.Attempts != 1 || d.Took <= 0 {
			t.Errorf("%+v", d)
		}
	}
	if len(seen) != 2 || seen["message"] == "" || seen["app_mention"] == "" || seen["message"] == seen["app_mention"] {
		t.Fatalf("delivered %v", seen)
	}

	text := slack.NewTextBlockObject(slack.MarkdownType, "*Not legal*", false, false)
	button := slack.NewButtonBlockElement("more", "k1", slack.NewTextBlockObject(slack.PlainTextType, "More", false, false))
	_, at, err := api.PostMessageContext(ctx, "C1",
		slack.MsgOptionTS(ts), slack.MsgOptionText("Not legal", false),
		slack.MsgOptionBlocks(slack.NewSectionBlock(text, nil, nil), slack.NewActionBlock("", button)),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "sidewall_answer", EventPayload: map[string]any{"key": "k1"}}))
	if err != nil {
		t.Fatal(err)
	}
	for _, all := range []bool{true, false} {
		l, more, _, err := api.GetConversationRepliesContext(ctx, &slack.GetConversationRepliesParameters{ChannelID: "C1", Timestamp: ts, IncludeAllMetadata: all})
		if err != nil || more || len(l) != 2 || l[1].Timestamp != at || l[0].ReplyCount != 1 || l[1].BotID != s.o.BotID {
			t.Fatalf("replies %+v, %v, %v", l, more, err)
		}
		if (l[1].Metadata.EventPayload["key"] == "k1") != all {
			t.Errorf("include_all_metadata %v: %+v", all, l[1].Metadata)
		}
	}
	if r := s.Replies("C1", ts); len(r) != 1 || r[0].Plain() != "*Not legal*" || len(r[0].Actions()) != 1 || r[0].Actions()[0].Label != "More" {
		t.Fatalf("%+v", r)
	}

	if _, err := s.Press("U1", "C1", at, "none", ""); err == nil {
		t.Error("a button that is not there was pressed")
	}
	if _, err := s.Press("U1", "C1", at, "more", ""); err != nil {
		t.Fatal(err)
	}
	cb := <-pressed
	if cb.Container.MessageTs != at || cb.Container.ThreadTs != ts || cb.ActionCallback.BlockActions[0].Value != "k1" || cb.Message.Timestamp != at {
		t.Errorf("%+v", cb)
	}
	v, err := api.OpenViewContext(ctx, cb.TriggerID, slack.ModalViewRequest{
		Type: slack.VTModal, Title: slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false),
		Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewSectionBlock(text, nil, nil)}},
	})
	if err != nil || v.ID == "" || len(s.Views()) != 1 || s.Views()[0].User != "U1" || s.Views()[0].Plain() != "*Not legal*" {
		t.Fatalf("%+v, %v", s.Views(), err)
	}
	if _, err := api.OpenViewContext(ctx, cb.TriggerID, slack.ModalViewRequest{
		Type: slack.VTModal, Title: slack.NewTextBlockObject(slack.PlainTextType, "Sticks", false, false),
	}); err == nil {
		t.Error("a trigger id was used twice")
	}

	if _, _, _, err := api.UpdateMessageContext(ctx, "C1", at, slack.MsgOptionText("Legal", false), slack.MsgOptionBlocks()); err != nil {
		t.Fatal(err)
	}
	if _, _, err := api.DeleteMessageContext(ctx, "C1", at); err != nil {
		t.Fatal(err)
	}
	if r := s.Replies("C1", ts); len(r) != 0 {
		t.Errorf("%+v", r)
	}
	if r := s.Refused(); len(r) != 1 || r[0].Err == "" { // the trigger id
		t.Errorf("refused %+v", r)
	}
}

func TestOwnPostsComeBack(t *testing.T) {
	s := start(t, Options{})
	c := connect(t, s)
	if _, _, err := client(t, s).PostMessageContext(deadline(t), "C1", slack.MsgOptionText("hello <@U0BOT>", false)); err != nil {
		t.Fatal(err)
	}
	f := c.next()
	c.ack(f, nil)
	if _, e := f.event(t); e["type"] != "message" || e["bot_id"] != "B0BOT" || e["user"] != "U0BOT" {
		t.Errorf("%v", e)
	}
	wait(t, s, "acknowledged", func() bool { return len(s.Unacked()) == 0 })
	if n := len(s.Deliveries()); n != 1 {
		t.Errorf("%d deliveries; a bot does not mention itself", n)
	}
}

func TestEvents(t *testing.T) {
	s := start(t, Options{})
	c := connect(t, s)
	next := func() map[string]any {
		t.Helper()
		f := c.next()
		c.ack(f, nil)
		_, e := f.event(t)
		raw, err := json.Marshal(map[string]any{"type": "event_callback", "event": e})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := slackevents.ParseEvent(raw, slackevents.OptionNoVerifyToken()); err != nil {
			t.Errorf("a library does not know %v: %v", e, err)
		}
		return e
	}
	is := func(e map[string]any, kv ...string) {
		t.Helper()
		for i := 0; i < len(kv); i += 2 {
			if got, _ := e[kv[i]].(string); got != kv[i+1] {
				t.Errorf("%s is %q, want %q in %v", kv[i], got, kv[i+1], e)
			}
		}
	}
	of := func(e map[string]any, k string) map[string]any { m, _ := e[k].(map[string]any); return m }

	s.Post("C2", "U1", "<@U0BOT> not a member here", PostOptions{})
	ts := s.Post("D1", "U1", "<@U0BOT> goggles?", PostOptions{})
	e := next()
	is(e, "type", "message", "channel", "D1", "channel_type", "im", "ts", ts, "user", "U1", "subtype", "")
	s.Edit("D1", ts, "helmet?")
	e = next()
	is(e, "type", "message", "subtype", "message_changed", "channel_type", "im")
	is(of(e, "message"), "text", "helmet?", "ts", ts, "user", "U1")
	is(of(e, "previous_message"), "text", "<@U0BOT> goggles?")
	if of(of(e, "message"), "edited") == nil {
		t.Errorf("no mark of the edit in %v", e)
	}
	s.Edit("D1", ts, "helmet? gloves?")
	next()
	s.Delete("D1", ts)
	is(next(), "subtype", "message_deleted", "deleted_ts", ts)
	if m := s.Messages("D1"); len(m) != 0 {
		t.Errorf("%+v", m)
	}

	ts = s.Post("C1", "U1", "see https://example.org", PostOptions{})
	is(next(), "type", "message", "channel_type", "channel")
	s.Unfurl("C1", ts)
	e = next()
	is(e, "subtype", "message_changed")
	if of(of(e, "message"), "edited") != nil {
		t.Errorf("an unfurled link is no edit: %v", e)
	}
	s.Edit("C1", ts, "<@U0BOT> see")
	is(next(), "subtype", "message_changed")
	is(next(), "type", "app_mention", "ts", ts)
	re := s.Post("C1", "U2", "why?", PostOptions{Thread: ts, Broadcast: true})
	e = next()
	is(e, "subtype", "thread_broadcast", "thread_ts", ts, "ts", re)
	is(of(e, "root"), "ts", ts)
	s.Delete("C1", ts)
	e = next()
	is(e, "subtype", "message_changed")
	is(of(e, "message"), "subtype", "tombstone", "ts", ts)
	s.Delete("C1", re)
	is(next(), "subtype", "message_deleted", "deleted_ts", re)
	is(next(), "subtype", "message_deleted", "deleted_ts", ts)
	if m := s.Messages("C1"); len(m) != 0 {
		t.Errorf("the tombstone is still there: %+v", m)
	}

	s.Post("C1", "", "build done", PostOptions{BotID: "B9"})
	is(next(), "subtype", "bot_message", "bot_id", "B9", "user", "")
	s.Post("C1", "U1", "look", PostOptions{Subtype: "file_share"})
	if e := next(); e["subtype"] != "file_share" || e["files"] == nil {
		t.Errorf("%v", e)
	}
	s.OpenHome("U1")
	is(next(), "type", "app_home_opened", "user", "U1", "tab", "home", "channel", "D1")
	ch, th := s.AssistantStart("U1")
	e = next()
	is(e, "type", "assistant_thread_started")
	is(of(e, "assistant_thread"), "channel_id", ch, "thread_ts", th, "user_id", "U1")
	s.Post(ch, "U1", "stick?", PostOptions{Thread: th})
	is(next(), "channel_type", "im", "thread_ts", th, "parent_user_id", "U0BOT")

	s.Event(map[string]any{"type": "not_yet_invented"})
	f := c.next()
	if _, e := f.event(t); e["type"] != "not_yet_invented" {
		t.Errorf("%v", e)
	}
}
