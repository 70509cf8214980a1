// Package bot is a conversation, whatever carries it. Adapters translate between
// a platform and the neutral Event, Reply and View of this package; everything
// that has to be decided is decided here.
//
// # The pipeline
//
// An event passes small stages, one a file:
//
//	Handle (in the adapter's goroutine, before the platform is told "received")
//	  ignore      is it for us at all? writes nothing, so that of other talk nothing is kept
//	  seen        keep it in the store; a second delivery ends here
//	workers (bounded; one conversation's events in order, others side by side)
//	  gather      what the store knows of the conversation, now that its turn has come
//	  understand  help, a binding, a default, a control, or a question
//	  permit      may this person do it? a refusal is told politely, and logged
//	  rate        does this person leave room for others?
//	  answer      ask the desk; render what it says
//	  send        post, replace, take away or show; note where it stands
//
// A stage returns a step: go on, stop (and why), or come back after some time.
// Waiting is a value and never a sleep: the conversation is parked, its order is
// kept, and the worker goes on with others. A panic ends in the pipeline, in one
// place: the person gets a plain sorry, the log gets the stack and no word of
// what was asked.
//
// # An example
//
// A post in a channel, "@bot 45 inch stick for attack?", comes from Slack twice:
// as a mention and as a message, with two event ids. Both have the same Message,
// so that they have one Key, T1/C1/1700.01 with the platform before it. The first
// one to come is written into the store in state InHand, synced to the disk, and
// acknowledged; the second finds the key in hand and is acknowledged too. A
// worker asks the desk, which asks for the division. The reply goes out with the
// key in its metadata and a choice for each division; one transaction then sets
// the event to Replied, wipes its payload, and keeps what was said and where the
// reply stands. Somebody presses U11: an event of its own, with the key of the
// reply. The desk is asked "45 inch stick for attack?" and then "U11", and the
// reply is replaced in its place. "and at U13?" in the thread goes on from there;
// the same in a new thread starts clean.
//
// # What is promised
//
// Each event gets one answer, through retries, rate limits, dropped connections
// and kill -9 at any moment:
//
//   - Before the event is in the store, Handle has not returned nil. The platform
//     was not told, and sends it again.
//   - In the store and not finished, it is taken up by the next bot: New reads
//     what is in hand, in order. The reply may or may not have been posted, so
//     the platform is asked (Adapter.Find, by the key in the metadata) before it
//     is posted. A retry that arrives meanwhile is no duplicate because of its id
//     alone; it is one when the event is finished, or in this bot's hands.
//   - Finished, its key is known for Options.Seen, which outlasts every retry.
//   - Where Send cannot tell whether it posted (the connection broke), the
//     platform is asked before it is sent again.
//   - Replacing and taking away can be done twice without harm.
//
// What is not promised: a private reply cannot be found again on platforms that do
// not keep them, so a crash between posting it and noting that may show it a
// second time. After a broken state file was set aside, the platform is asked
// before each posting, since nothing is known of what was answered before.
//
// A clock that is set while the bot runs costs nothing of that: an answer is tried
// a few times however old it looks, and after a jump the next sweep is left out, so
// that what was finished a moment ago is still known when it comes again.
//
// Shutting down takes nothing new (Handle gives ErrClosed, the platform keeps the
// event), finishes what is in hand for Options.Drain, and leaves the rest in the
// store for the next start.
//
// # What is told
//
// The log names each event by a short request id, the same on every retry and after
// a restart, and never holds words or people. An Observer is told how long each
// stage took, what became of each event, and what had to wait.
//
// # What is kept
//
// Of a conversation the words that were said to the bot, for Options.Threads; its
// facts are rebuilt from them, so that an edit or a new book changes them rightly.
// Questions that the book did not answer, without names, numbers and contact
// data, for Options.Retention. People are salted hashes throughout, admins that
// were named in chat too. There are two exceptions, both in hand: the payload of
// an event, wiped with the answer, and a change of the book that an admin proposed
// and nobody decided on, which holds who proposed it, since the book's history
// will. Forget deletes what is there of a person.
//
// # Keeping the book
//
// Whoever is an admin changes the book in plain words or in forms (Former). The
// bot works nothing of it into files: an Editor does. It proposes, shows what
// would change, keeps the proposal as a draft in the store, and publishes it when
// as many admins as Options.Confirm want that. A draft has the name of its event,
// and is marked before it is published: after a crash the book's history is looked
// through before anything is published again. Where the book has changed
// meanwhile nothing is published, and the change is shown anew on the book of now.
// A form is answered while its sender waits (Bot.Submit); what it publishes is an
// event like any other. What the bot itself begins (the week's open questions, a
// change that waits for a second admin) is an event too, of the kind Due.
package bot
