// Package matrixchat carries the bot's conversation to Matrix. It translates
// between a homeserver's events and those of package bot, and decides nothing.
//
// # In
//
// One loop asks the homeserver for what is new. Of each batch it hands every
// event to the bot, in order, and only when the bot has taken all of them does it
// keep the token that asks for the next one. A bot that dies in the middle is
// given the same batch again; the bot knows by each message's id what it has
// already. Where a batch leaves out part of a room's talk ("limited"), the gap is
// read before it goes on.
//
// An example. "@bot 45 inch stick for attack?" comes as m.room.message with the
// bot among m.mentions. It becomes a bot.Event with the room as Channel, the
// event's id as Message, and bot.Me where the mention stood. In a room of two
// nothing has to be mentioned. An edit (m.replace) becomes Edited, a redaction
// Deleted, a reaction with a number or a sign below one of our answers Pressed.
//
// # Out
//
// A reply is an m.notice, so that other bots leave it alone, in the question's
// thread. Where the bot and one person are alone it is a plain reply, because
// clients hide threads there. Choices are numbered; a bare number or a reaction
// picks one. What the platform has no button for is a reaction too: the last line
// of a reply says which sign does what.
//
// A transaction id is made from what is answered and not from the attempt, so
// that a homeserver that still remembers it gives the same message again. One
// that forgot it (a restart) is asked for the reply by the key in its content; and
// where it brings a second one to light later, that one is taken away.
//
// Typing notices, receipts and the reactions that wait to be tapped are sent
// aside, by a worker that may drop them; no reply waits for them.
//
// # Encrypted rooms
//
// They need a build with -tags goolm and the setting for it. Without, such a room
// is told once what to do. The bot makes its account an identity and signs its
// device with it, so that clients do not warn of it.
package matrixchat
