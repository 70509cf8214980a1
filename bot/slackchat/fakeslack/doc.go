// Package fakeslack is a Slack that runs in a test, on loopback only. It keeps
// channels, messages, views and people, speaks Socket Mode or posts signed
// requests, and refuses what Slack would refuse: wrong tokens, missing
// arguments, Block Kit beyond its limits, used-up trigger ids and response
// addresses, posts that come too fast. What it refused is kept (Server.Refused),
// so that a test can ask for none.
//
// Only tests import it. It knows nothing of the client that talks to it: it is
// written against the wire format, with no Slack library.
//
// # Delivery
//
// An event that is not acknowledged within Options.Ack is delivered again with
// a higher retry attempt, three times if Options.Retries does not say otherwise.
// Events that happen while no connection is open are kept for the next
// connection; what a broken connection left unacknowledged goes to another one.
// Commands, pressed buttons and submitted modals are delivered once and never
// again, as on Slack: there the person sees that it failed (Server.Failed).
//
// # What may surprise
//
//   - The bot's own posts, changes and deletions come back as events.
//   - A deleted message on which a thread hangs becomes a tombstone: that is a
//     message_changed, not a message_deleted. A link that is unfurled is a
//     message_changed too, without the mark of an edit.
//   - A command works in channels where the bot is not; posting there does not.
//   - An interaction with a message that only one person sees has no message.
//   - Every page of a thread begins with the thread's first message.
//   - An update with a text and no blocks takes the blocks away.
//   - A reply to a thread whose first message was deleted is shown in the channel,
//     and Slack does not call it an error (Server.Unthreaded).
//
// # What is stricter than Slack, or not known
//
// Lengths count UTF-16 units. The text of a message's blocks is at most 12,000
// characters in all; Slack has such a limit, but does not document it. Kinds of
// block that this fake has no table for are refused, and so is a reply to a
// reply. Scopes are not checked. Interactions do not hold the message's metadata.
package fakeslack
