package slackchat

import (
	"context"
	"errors"
	"net/http"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

const (
	metadataType = "sidewall_answer"
	metadataKey  = "key"
	privately    = "private" // Ref.Extra of a message that one person sees
	findPage     = 200
)

// Send satisfies bot.Adapter.
func (a *Adapter) Send(ctx context.Context, r *bot.Reply) (bot.Ref, bot.Again, error) {
	if r.Private {
		again, err := a.sendPrivate(ctx, r.Where, &r.Event, fallback(r), blocksOf(r))
		return bot.Ref{}, again, err // a private message cannot be found again
	}
	opts := append(content(r), slack.MsgOptionDisableLinkUnfurl(), slack.MsgOptionDisableMediaUnfurl())
	if r.Where.Thread != "" {
		opts = append(opts, slack.MsgOptionTS(r.Where.Thread))
	}
	channel, ts, err := a.api.PostMessageContext(ctx, r.Where.Channel, opts...)
	if err != nil {
		again, err := verdict("post a reply", err)
		return bot.Ref{}, again, err
	}
	return bot.Ref{Channel: channel, Message: ts}, bot.Again{}, nil
}

// content is what a reply's message holds.
func content(r *bot.Reply) []slack.MsgOption {
	return []slack.MsgOption{
		slack.MsgOptionText(fallback(r), false), // it is escaped already
		slack.MsgOptionBlocks(blocksOf(r)...),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: metadataType, EventPayload: map[string]any{
			metadataKey: r.Key, "event": r.EventID, "revision": r.Revision,
		}}),
	}
}

// sendPrivate shows something to one person. A command's answer goes through its
// response address, which works in channels that the bot is not in; all else is
// posted as an ephemeral message into the thread, where the address would show it
// beside it.
func (a *Adapter) sendPrivate(ctx context.Context, w bot.Where, ev *bot.Event, text string, blocks []slack.Block) (bot.Again, error) {
	b := backOf(ev)
	if b.URL != "" && (ev.Kind == bot.Command || b.Private) {
		again, err := a.respond(ctx, b.URL, text, blocks, false)
		if !expired(err) {
			return again, err
		}
	}
	opts := []slack.MsgOption{slack.MsgOptionText(text, false), slack.MsgOptionBlocks(blocks...)}
	if w.Thread != "" {
		opts = append(opts, slack.MsgOptionTS(w.Thread))
	}
	_, err := a.api.PostEphemeralContext(ctx, w.Channel, w.Person, opts...)
	if b.URL != "" && ev.Kind == bot.Pressed && isError(err, "channel_not_found", "not_in_channel", "user_not_in_channel") {
		return a.respond(ctx, b.URL, text, blocks, false)
	}
	return verdict("post a private reply", err)
}

// respond posts to a response address, in place of the private message that the
// control stood in where replace is set.
func (a *Adapter) respond(ctx context.Context, url, text string, blocks []slack.Block, replace bool) (bot.Again, error) {
	m := &slack.WebhookMessage{Text: text, Blocks: &slack.Blocks{BlockSet: blocks}, ResponseType: slack.ResponseTypeEphemeral, ReplaceOriginal: replace}
	return verdict("answer privately", slack.PostWebhookCustomHTTPContext(ctx, url, a.http, m))
}

// expired says that a response address is used up.
func expired(err error) bool {
	var status slack.StatusCodeError
	return errors.As(err, &status) && status.Code >= 400 && status.Code < 500 && status.Code != http.StatusTooManyRequests
}

// Update satisfies bot.Adapter.
func (a *Adapter) Update(ctx context.Context, at bot.Ref, r *bot.Reply) (bot.Again, error) {
	if at.Extra == privately || at.Message == "" {
		if b := backOf(&r.Event); b.URL != "" {
			again, err := a.respond(ctx, b.URL, fallback(r), blocksOf(r), b.Private)
			if !expired(err) {
				return again, err
			}
		}
		return a.sendPrivate(ctx, r.Where, &r.Event, fallback(r), blocksOf(r))
	}
	_, _, _, err := a.api.UpdateMessageContext(ctx, at.Channel, at.Message, content(r)...)
	return verdict("replace a reply", err)
}

// Remove satisfies bot.Adapter.
func (a *Adapter) Remove(ctx context.Context, at bot.Ref) (bot.Again, error) {
	if at.Extra == privately || at.Message == "" {
		return bot.Again{}, nil // Slack forgets private messages by itself
	}
	_, _, err := a.api.DeleteMessageContext(ctx, at.Channel, at.Message)
	if isError(err, "message_not_found", "thread_not_found") {
		return bot.Again{}, nil
	}
	return verdict("take a reply away", err)
}

// Find satisfies bot.Adapter: it reads the thread, all of it, for a message of
// ours that carries the key.
func (a *Adapter) Find(ctx context.Context, w bot.Where, key string) (bot.Ref, bool, bot.Again, error) {
	if w.Thread == "" || w.Channel == "" {
		return bot.Ref{}, false, bot.Again{}, nil
	}
	me, err := a.identity(ctx)
	if err != nil {
		again, err := verdict("look for a reply", err)
		return bot.Ref{}, false, again, err
	}
	p := slack.GetConversationRepliesParameters{ChannelID: w.Channel, Timestamp: w.Thread, Limit: findPage, IncludeAllMetadata: true}
	for {
		ms, more, cursor, err := a.api.GetConversationRepliesContext(ctx, &p)
		if isError(err, "thread_not_found", "message_not_found") {
			return bot.Ref{}, false, bot.Again{}, nil
		}
		if err != nil {
			again, err := verdict("look for a reply", err)
			return bot.Ref{}, false, again, err
		}
		for i := range ms {
			m := &ms[i]
			if m.Metadata.EventType == metadataType && m.Metadata.EventPayload[metadataKey] == key && (m.User == me.user || m.BotID == me.bot) {
				return bot.Ref{Channel: w.Channel, Message: m.Timestamp}, true, bot.Again{}, nil
			}
		}
		if !more || cursor == "" {
			return bot.Ref{}, false, bot.Again{}, nil
		}
		p.Cursor = cursor
	}
}

// Show satisfies bot.Adapter. A modal has to be opened within three seconds; where
// that is over (Slack was slow, or the bot restarted) the same comes as a private
// message.
func (a *Adapter) Show(ctx context.Context, v *bot.View) (bot.Again, error) {
	if v.Kind == bot.HomePage {
		_, err := a.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: v.Where.Person, View: homePage(v)})
		return verdict("publish the home page", err)
	}
	b := backOf(&v.Event)
	err := errNoTrigger
	if b.Trigger != "" {
		_, err = a.api.OpenViewContext(ctx, b.Trigger, modal(v))
	}
	if errors.Is(err, errNoTrigger) || isError(err, "expired_trigger_id", "trigger_expired", "invalid_trigger_id", "trigger_exchanged", "exchanged_trigger_id") {
		if v.Form != nil { // only a press opens one
			text := escape(tooLateIn(v.Lang))
			return a.sendPrivate(ctx, v.Where, &v.Event, text, []slack.Block{section(text)})
		}
		return a.sendPrivate(ctx, v.Where, &v.Event, viewText(v), viewBlocks(v, maxMessageBlocks))
	}
	return verdict("open a view", err)
}

var errNoTrigger = errors.New("there is no trigger")
