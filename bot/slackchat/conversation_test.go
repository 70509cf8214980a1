package slackchat

import (
	"strings"
	"testing"

	"sidewall/bot/slackchat/fakeslack"
)

const me = "<@U0BOT> "

// TestConversations runs the same talks over both ways in.
func TestConversations(t *testing.T) {
	talks := []struct {
		name string
		talk func(t *testing.T, r *rig)
	}{
		{"a mention gets one answer in its thread", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+`U11 attack, 45" stick?`, fakeslack.PostOptions{})
			m := r.reply("C1", ts, 1)
			r.settled()
			if n := len(r.slack.Replies("C1", ts)); n != 1 {
				t.Errorf("%d replies", n)
			}
			if !strings.HasPrefix(m.Plain(), "*Not legal") && !strings.HasPrefix(m.Plain(), "Not legal") {
				t.Errorf("the answer is %q", m.Plain())
			}
			if !strings.HasPrefix(m.Text, "Not legal") || !strings.Contains(m.Text, "Officials decide") {
				t.Errorf("the fallback is %q", m.Text)
			}
			if m.Metadata.EventType != "sidewall_answer" || m.Metadata.Payload["event"] == "" || m.Metadata.Payload["revision"] == nil {
				t.Errorf("the metadata is %+v", m.Metadata)
			}
		}},
		{"a choice completes the answer in its place", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"how long are the quarters?", fakeslack.PostOptions{})
			m := r.reply("C1", ts, 1)
			r.press(m, "choice:U13")
			r.wait("the completed answer", func() bool { return strings.Contains(r.slack.Replies("C1", ts)[0].Plain(), "10:00") })
			r.settled()
			if n := len(r.slack.Replies("C1", ts)); n != 1 {
				t.Errorf("%d replies", n)
			}
		}},
		{"a thread keeps its facts", func(t *testing.T, r *rig) {
			ts := r.post("C2", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
			r.reply("C2", ts, 1)
			r.post("C2", "and 41 inches?", fakeslack.PostOptions{Thread: ts})
			m := r.reply("C2", ts, 2)
			if !strings.HasPrefix(m.Text, "Legal") {
				t.Errorf("the answer is %q", m.Text)
			}
		}},
		{"a direct message", func(t *testing.T, r *rig) {
			ts := r.post("D1", "can U11s body check?", fakeslack.PostOptions{})
			if m := r.reply("D1", ts, 1); !strings.HasPrefix(m.Text, "Not legal") {
				t.Errorf("the answer is %q", m.Text)
			}
		}},
		{"a command is answered privately, also where the bot is not", func(t *testing.T, r *rig) {
			for _, channel := range []string{"C1", "C9"} {
				r.said = append(r.said, "how long are the quarters?")
				r.slack.Command("U1", channel, "/sidewall", "how long are the quarters?")
				r.wait("a private answer", func() bool { return len(r.slack.Ephemeral(channel, "U1")) == 1 })
				m := r.slack.Ephemeral(channel, "U1")[0]
				key := "slack/T0CLUB/" + channel + "/command/"
				if len(m.Actions()) == 0 || !strings.Contains(m.Actions()[0].Value, key) {
					t.Fatalf("the buttons are %+v", m.Actions())
				}
				known(t, r.store, keyOf(t, m.Actions()[0].Value))
				r.press(m, "choice:U13")
				r.wait("the completed answer", func() bool {
					e := r.slack.Ephemeral(channel, "U1")
					return len(e) == 1 && strings.Contains(e[0].Plain(), "10:00")
				})
				if n := len(r.slack.Replies(channel, "")); n != 0 {
					t.Errorf("%d open replies", n)
				}
			}
		}},
		{"an edit changes the answer, an unfolded link does not", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
			r.reply("C1", ts, 1)
			r.slack.Unfurl("C1", ts)
			r.settled()
			if n := len(r.slack.Calls("chat.update")); n != 0 {
				t.Errorf("%d updates for a link", n)
			}
			r.slack.Edit("C1", ts, me+"U11 attack, 41-inch stick?")
			r.wait("the new answer", func() bool { return strings.HasPrefix(r.slack.Replies("C1", ts)[0].Text, "Legal") })
			r.settled()
			if n := len(r.slack.Replies("C1", ts)); n != 1 {
				t.Errorf("%d replies", n)
			}
		}},
		{"a deleted question takes its answer along", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
			r.reply("C1", ts, 1)
			r.slack.Delete("C1", ts)
			r.wait("the answer to go", func() bool { return len(r.slack.Replies("C1", ts)) == 0 })
			r.settled()
		}},
		{"more detail and the club's section open beside it", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
			m := r.reply("C1", ts, 1)
			r.press(m, "detail")
			r.wait("a modal", func() bool { return len(r.slack.Views()) == 1 })
			r.press(m, "section:")
			r.wait("a second modal", func() bool { return len(r.slack.Views()) == 2 })
			if v := r.slack.Views()[0]; v.Type != "modal" || !strings.Contains(v.Plain(), "replaces") {
				t.Errorf("the view is %q", v.Plain())
			}
		}},
		{"what is not answered is noted, and only who said so is told", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"U11 attack, 45-inch stick?", fakeslack.PostOptions{})
			m := r.reply("C1", ts, 1)
			r.press(m, "missed")
			r.wait("a private note", func() bool { return len(r.slack.Ephemeral("C1", "U1")) == 1 })
			if e := r.slack.Ephemeral("C1", "U1")[0]; e.Thread != ts {
				t.Errorf("the note stands in thread %q, want %q", e.Thread, ts)
			}
		}},
		{"silences", func(t *testing.T, r *rig) {
			r.slack.AddChannel("C3", fakeslack.Public, "U1", "U2", "U0BOT")
			r.post("C3", "how long are U13 quarters?", fakeslack.PostOptions{})
			r.slack.Post("C3", "", me+"how long are U13 quarters?", fakeslack.PostOptions{BotID: "B9"})
			r.slack.Post("C3", "U2", "joined", fakeslack.PostOptions{Subtype: "channel_join"})
			r.post("C3", "somebody said they asked <@U0BOT> yesterday", fakeslack.PostOptions{})
			r.slack.Event(map[string]any{"type": "crosse_inspected", "user": map[string]any{"id": "U1"}})
			r.slack.Event(map[string]any{"type": "reaction_added", "user": "U1", "reaction": "eyes", "item": map[string]any{"type": "message"}})
			r.settled()
			r.slack.Post("C3", "U1", me+"thanks", fakeslack.PostOptions{})
			r.settled()
			if n := len(r.slack.Calls("chat.postMessage")); n != 0 {
				t.Errorf("%d messages: %+v", n, r.slack.Messages("C3"))
			}
		}},
		{"a mention with a file, and one that is sent to the channel too", func(t *testing.T, r *rig) {
			ts := r.post("C1", me+"can U11s body check?", fakeslack.PostOptions{Subtype: "file_share"})
			r.reply("C1", ts, 1)
			r.post("C1", "and U15?", fakeslack.PostOptions{Thread: ts, Broadcast: true})
			if m := r.reply("C1", ts, 2); !strings.HasPrefix(m.Text, "Legal") {
				t.Errorf("the answer is %q", m.Text)
			}
		}},
		{"an admin binds the channel", func(t *testing.T, r *rig) {
			r.reply("C1", r.post("C1", me+"this channel is U13", fakeslack.PostOptions{}), 1)
			m := r.reply("C1", r.post("C1", me+"how long are the quarters?", fakeslack.PostOptions{}), 1)
			if !strings.Contains(m.Text, "10:00") || !strings.Contains(m.Text, "U13") {
				t.Errorf("the answer is %q", m.Text)
			}
		}},
		{"the home page", func(t *testing.T, r *rig) {
			r.slack.OpenHome("U1")
			r.wait("the page", func() bool { _, ok := r.slack.Home("U1"); return ok })
			v, _ := r.slack.Home("U1")
			if !strings.Contains(v.Plain(), "<@U1>") {
				t.Errorf("the page names no admin: %q", v.Plain())
			}
		}},
		{"the assistant pane offers questions and answers in its thread", func(t *testing.T, r *rig) {
			channel, thread := r.slack.AssistantStart("U1")
			r.wait("questions to begin with", func() bool { return len(r.slack.Prompts(channel, thread)) == 2 })
			r.post(channel, "can U11s body check?", fakeslack.PostOptions{Thread: thread})
			r.reply(channel, thread, 1)
			r.post(channel, "and U15?", fakeslack.PostOptions{Thread: thread})
			if m := r.reply(channel, thread, 2); !strings.HasPrefix(m.Text, "Legal") {
				t.Errorf("the answer is %q", m.Text)
			}
		}},
		{"help, and all topics", func(t *testing.T, r *rig) {
			m := r.reply("D1", r.post("D1", "help", fakeslack.PostOptions{}), 1)
			r.press(m, "topics")
			r.wait("the topics", func() bool { return len(r.slack.Views()) == 1 })
		}},
	}
	for _, mode := range modes {
		t.Run(mode.name, func(t *testing.T) {
			for _, tt := range talks {
				t.Run(tt.name, func(t *testing.T) {
					tt.talk(t, newRig(t, mode.http, change{}))
				})
			}
		})
	}
}
