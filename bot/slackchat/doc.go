// Package slackchat carries the bot to one Slack workspace. It translates, and
// decides nothing.
//
// Events come over Socket Mode or as signed HTTP requests; both bring the same
// payloads, and one translation (incoming.go) makes bot events of them. An event
// is acknowledged when the bot has it in its store, never before. What cannot be
// translated, such as a kind of event that Slack invents next year, is
// acknowledged and let go: sending it again would not help.
//
// # Refreshed connections
//
// Slack asks a Socket Mode connection to go every hour or so. slack-go's client
// closes the old one before it opens the new one, so two clients run side by
// side: while one changes its connection the other takes what comes. An event
// that was on its way on a connection that closed is not acknowledged, so Slack
// sends it again, and the bot knows it by its key.
//
// # What a reply looks like
//
// A bold headline, the lines, the caution as context, then the choices and the
// controls as buttons. A button's value holds the reply's key and the control.
// The message's metadata holds the key as well, which is how Find knows a reply
// again after a crash. Everything is cut at Block Kit's bounds, at a word.
package slackchat
