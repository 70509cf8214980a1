package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"

	"sidewall/answers"
	"sidewall/bot"
	"sidewall/bot/slackchat"
	"sidewall/config"
)

func slackPlatform() platform {
	return platform{
		name: "Slack",
		begun: func(s *config.Settings) bool {
			return !s.Slack.BotToken.Empty() || !s.Slack.AppToken.Empty() || !s.Slack.SigningSecret.Empty()
		},
		missing: func(s *config.Settings) []string { return s.Slack.Missing() },
		open:    openSlack,
		examine: examineSlack,
	}
}

func openSlack(_ context.Context, s *config.Settings, p parts) (chat, error) {
	return slackchat.New(slackchat.Options{
		BotToken: s.Slack.BotToken.Reveal(), AppToken: s.Slack.AppToken.Reveal(), SigningSecret: s.Slack.SigningSecret.Reveal(),
		HTTP: s.Slack.Mode == config.HTTPMode, Listen: s.Slack.Listen, APIURL: s.Slack.APIURL,
		Submit:  p.submit,
		Prompts: func() []string { return prompts(p.desk().Topics(), s.Lang) },
		Log:     p.log.With("chat", slackchat.Platform),
		Opened:  func() { p.meter.connected(slackchat.Platform) },
		Listens: func(net.Addr) { p.meter.connected(slackchat.Platform) },
		Through: func(t http.RoundTripper) http.RoundTripper { return p.meter.watch(slackchat.Platform, t) },
	})
}

// prompts are questions to begin with, from all over the topics.
func prompts(topics []answers.Topic, lang string) []string {
	const few = 4
	var out []string
	for i := range min(few, len(topics)) {
		t := topics[i*len(topics)/few]
		examples := t.Examples
		if lang == "es" && len(t.ExamplesES) > 0 {
			examples = t.ExamplesES
		}
		if len(examples) > 0 {
			out = append(out, examples[0])
		}
	}
	return out
}

// refusedToken makes a token that is no good something to put right.
func refusedToken(err error) error {
	if errors.Is(err, slackchat.ErrRefused) {
		return usageError{fmt.Errorf("%w; check slack.bot_token and slack.app_token", err)}
	}
	return err
}

var _ chat = (*slackchat.Adapter)(nil)
var _ bot.Adapter = (*slackchat.Adapter)(nil)
