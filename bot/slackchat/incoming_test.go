package slackchat

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"sidewall/bot"
)

var testMe = &identity{user: "UBOT", bot: "BBOT", team: "T1"}

func TestTranslateEvents(t *testing.T) {
	at := time.Unix(1700000009, 200000)
	base := bot.Event{ID: "Ev1", Platform: Platform, Workspace: "T1", Channel: "C1", Person: "U1", At: at}
	with := func(change func(e *bot.Event)) *bot.Event { e := base; change(&e); return &e }
	tests := []struct {
		name, inner string
		want        *bot.Event
	}{
		{"a mention", `{"type":"app_mention","user":"U1","text":"<@UBOT> 45\" ok?","ts":"1700000009.000200","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Mentioned = bot.Message, "1700000009.000200", bot.Me+` 45" ok?`, true
			})},
		{"the same as a message", `{"type":"message","channel_type":"channel","user":"U1","text":"<@UBOT> 45\" ok?","ts":"1700000009.000200","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Mentioned = bot.Message, "1700000009.000200", bot.Me+` 45" ok?`, true
			})},
		{"a direct message", `{"type":"message","channel_type":"im","user":"U1","text":"hi","ts":"1.000001","channel":"D1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Channel, e.Message, e.Text, e.Direct = bot.Message, "D1", "1.000001", "hi", true
			})},
		{"in a thread", `{"type":"message","channel_type":"channel","user":"U1","text":"hi","ts":"2.000001","thread_ts":"1.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) { e.Kind, e.Message, e.Thread, e.Text = bot.Message, "2.000001", "1.000001", "hi" })},
		{"sent to the channel too", `{"type":"message","subtype":"thread_broadcast","root":{"text":"x"},"user":"U1","text":"hi","ts":"2.000001","thread_ts":"1.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) { e.Kind, e.Message, e.Thread, e.Text = bot.Message, "2.000001", "1.000001", "hi" })},
		{"with a file", `{"type":"message","subtype":"file_share","files":[{"id":"F1"}],"user":"U1","text":"hi","ts":"2.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) { e.Kind, e.Message, e.Text = bot.Message, "2.000001", "hi" })},
		{"its own", `{"type":"message","user":"UBOT","bot_id":"BBOT","text":"hi","ts":"2.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Person, e.Self, e.Robot = bot.Message, "2.000001", "hi", "UBOT", true, true
			})},
		{"another bot", `{"type":"message","subtype":"bot_message","bot_id":"B9","text":"hi","ts":"2.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Person, e.Robot = bot.Message, "2.000001", "hi", "", true
			})},
		{"another app as a person", `{"type":"message","user":"U9","bot_id":"B9","text":"hi","ts":"2.000001","channel":"C1","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Person, e.Robot = bot.Message, "2.000001", "hi", "U9", true
			})},
		{"an edit", `{"type":"message","subtype":"message_changed","channel":"C1","event_ts":"1700000009.000200","ts":"1700000009.000200","message":{"type":"message","user":"U1","text":"<@UBOT> new","ts":"1.000001","thread_ts":"1.000001","edited":{"user":"U1","ts":"3.0"}},"previous_message":{"user":"U1","text":"old","ts":"1.000001"}}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Mentioned = bot.Edited, "1.000001", bot.Me+" new", true
			})},
		{"an edit of its own", `{"type":"message","subtype":"message_changed","channel":"C1","event_ts":"1700000009.000200","message":{"user":"UBOT","bot_id":"BBOT","text":"new","ts":"1.000001"}}`,
			with(func(e *bot.Event) {
				e.Kind, e.Message, e.Text, e.Person, e.Self, e.Robot = bot.Edited, "1.000001", "new", "UBOT", true, true
			})},
		{"deleted", `{"type":"message","subtype":"message_deleted","channel":"C1","event_ts":"1700000009.000200","deleted_ts":"1.000001","previous_message":{"user":"U1","text":"<@UBOT> old","ts":"1.000001"}}`,
			with(func(e *bot.Event) { e.Kind, e.Message = bot.Deleted, "1.000001" })},
		{"deleted under its replies", `{"type":"message","subtype":"message_changed","hidden":true,"channel":"C1","event_ts":"1700000009.000200","message":{"subtype":"tombstone","user":"USLACKBOT","text":"This message was deleted.","ts":"1.000001","thread_ts":"1.000001"},"previous_message":{"user":"U1","text":"old","ts":"1.000001"}}`,
			with(func(e *bot.Event) { e.Kind, e.Message = bot.Deleted, "1.000001" })},
		{"the home page", `{"type":"app_home_opened","user":"U1","channel":"D1","tab":"home","event_ts":"1700000009.000200"}`,
			with(func(e *bot.Event) { e.Kind, e.Channel, e.Direct = bot.Home, "D1", true })},
		{"the messages tab", `{"type":"app_home_opened","user":"U1","channel":"D1","tab":"messages","event_ts":"1700000009.000200"}`, nil},
		{"somebody joined", `{"type":"message","subtype":"channel_join","user":"U1","text":"x","ts":"1.1","channel":"C1"}`, nil},
		{"an event of next year", `{"type":"crosse_inspected","user":{"id":"U1"},"channel":["C1"],"text":7}`, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			raw := `{"token":"x","team_id":"T9","type":"event_callback","event_id":"Ev1","event":` + tt.inner + `}`
			in, err := translate(events, []byte(raw), testMe)
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(in.event, tt.want) {
				t.Errorf("got  %+v\nwant %+v", in.event, tt.want)
			}
		})
	}
}

func TestOnePostIsOneKey(t *testing.T) {
	var keys []string
	for _, inner := range []string{
		`{"type":"app_mention","user":"U1","text":"<@UBOT> x","ts":"9.000002","channel":"C1","thread_ts":"8.000001"}`,
		`{"type":"message","channel_type":"channel","user":"U1","text":"<@UBOT> x","ts":"9.000002","channel":"C1","thread_ts":"8.000001"}`,
	} {
		in, err := translate(events, []byte(`{"type":"event_callback","event_id":"Ev`+inner[9:12]+`","event":`+inner+`}`), testMe)
		if err != nil || in.event == nil {
			t.Fatal(in, err)
		}
		keys = append(keys, in.event.Key())
	}
	if keys[0] != keys[1] {
		t.Errorf("the keys are %q", keys)
	}
}

func TestTranslateCommand(t *testing.T) {
	raw := `{"command":"/sidewall","text":"45 &lt; 47 <@U2|ann>?","user_id":"U1","user_name":"ann","channel_id":"C1","team_id":"T1","trigger_id":"13.7.abc","response_url":"https://hooks.example.org/x"}`
	in, err := translate(commands, []byte(raw), testMe)
	if err != nil {
		t.Fatal(err)
	}
	want := &bot.Event{Kind: bot.Command, ID: "13.7.abc", Platform: Platform, Workspace: "T1", Channel: "C1", Person: "U1", Text: "45 < 47 " + bot.Somebody + "?", People: []string{"U2"},
		Back: `{"t":"13.7.abc","u":"https://hooks.example.org/x"}`}
	if !reflect.DeepEqual(in.event, want) {
		t.Errorf("got  %+v\nwant %+v", in.event, want)
	}
	if b := backOf(in.event); b.Trigger != "13.7.abc" || b.URL != "https://hooks.example.org/x" || b.Private {
		t.Errorf("the way back is %+v", b)
	}
}

func TestTranslatePress(t *testing.T) {
	press := func(change string) []byte {
		var p, c map[string]any
		base := `{"type":"block_actions","trigger_id":"13.7.abc","response_url":"https://hooks.example.org/x","user":{"id":"U1"},"channel":{"id":"C1"},
			"container":{"type":"message","message_ts":"2.000001","thread_ts":"1.000001","channel_id":"C1","is_ephemeral":false},
			"message":{"blocks":[{"type":"a_new_kind","fields":7}]},
			"actions":[{"type":"button","action_id":"choice:U11","value":"{\"k\":\"slack/T1/C1/1.000001\",\"c\":\"choice:U11\"}","action_ts":"3.000000"}]}`
		for _, err := range []error{json.Unmarshal([]byte(base), &p), json.Unmarshal([]byte(change), &c)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		for k, v := range c {
			p[k] = v
		}
		raw, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		return raw
	}
	want := bot.Event{Kind: bot.Pressed, ID: "13.7.abc", Platform: Platform, Workspace: "T1", Channel: "C1", Thread: "1.000001", Person: "U1",
		Control: "choice:U11", Of: "slack/T1/C1/1.000001", Reply: bot.Ref{Channel: "C1", Message: "2.000001"}, At: time.Unix(3, 0),
		Back: `{"t":"13.7.abc","u":"https://hooks.example.org/x"}`}
	private := want
	private.Thread, private.Reply.Extra, private.Back = "", privately, `{"t":"13.7.abc","u":"https://hooks.example.org/x","p":true}`
	tests := []struct {
		name, change string
		want         *bot.Event
	}{
		{"a choice", `{}`, &want},
		{"in a private message", `{"container":{"type":"message","message_ts":"2.000001","channel_id":"C1","is_ephemeral":true}}`, &private},
		{"a button of somebody else's", `{"actions":[{"type":"button","value":"buy"}]}`, nil},
		{"a menu", `{"actions":[{"type":"static_select"}]}`, nil},
		{"a submission", `{"type":"view_submission"}`, nil},
		{"nothing pressed", `{"actions":[]}`, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in, err := translate(interactions, press(tt.change), testMe)
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(in.event, tt.want) {
				t.Errorf("got  %+v\nwant %+v", in.event, tt.want)
			}
		})
	}
}

func FuzzTranslate(f *testing.F) {
	f.Add("events_api", []byte(`{"type":"event_callback","event_id":"Ev1","event":{"type":"message","text":"<@UBOT> x","ts":"1.0","channel":"C1"}}`))
	f.Add("events_api", []byte(`{"type":"event_callback","event":{"type":"message","subtype":"message_changed","message":null}}`))
	f.Add("slash_commands", []byte(`{"trigger_id":"1","text":"x"}`))
	f.Add("interactive", []byte(`{"type":"block_actions","trigger_id":"1","actions":[{"type":"button","value":"{\"c\":\"x\"}"}]}`))
	f.Add("hello", []byte(`7`))
	f.Fuzz(func(t *testing.T, kind string, raw []byte) {
		in, err := translate(payloadKind(kind), raw, testMe)
		if err != nil && (in.event != nil || in.pane != nil) {
			t.Error("an error and an event")
		}
		if e := in.event; e != nil && (e.Platform != Platform || e.Workspace != "T1" || e.Kind == "") {
			t.Errorf("%+v", e)
		}
	})
}
