package matrixchat

import (
	"slices"

	"maunium.net/go/mautrix/event"
)

// mentioned are the people that a message names, by mention or by id, the bot
// apart. The bot keeps them only where the words name an admin.
func (a *Adapter) mentioned(c *event.MessageEventContent) []string {
	var out []string
	add := func(who string) {
		if who != string(a.me) && !slices.Contains(out, who) {
			out = append(out, who)
		}
	}
	if c.Mentions != nil {
		for _, who := range c.Mentions.UserIDs {
			add(string(who))
		}
	}
	for _, who := range someID().FindAllString(event.TrimReplyFallbackText(c.Body), -1) {
		add(who)
	}
	return out
}
