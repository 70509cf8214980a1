package matrixchat

import (
	"strings"
	"testing"

	"maunium.net/go/mautrix/event"
)

// TestRelation wants the relation of a message seen, encrypted or not: an edit is
// nothing that stands by itself.
func TestRelation(t *testing.T) {
	const rel = `"m.relates_to":{"rel_type":"m.replace","event_id":"$q"}`
	for kind, raw := range map[string]string{
		"m.room.message":   `{"msgtype":"m.text","body":"* x",` + rel + `}`,
		"m.room.encrypted": `{"algorithm":"m.megolm.v1.aes-sha2","ciphertext":"AwgAEnAC","session_id":"y",` + rel + `}`,
		"m.reaction":       `{}`,
	} {
		ev := &event.Event{Type: event.Type{Type: kind}}
		if err := ev.Content.UnmarshalJSON([]byte(raw)); err != nil {
			t.Fatal(err)
		}
		prepare(ev, "!r:x")
		if got := relation(ev).GetReplaceID(); (got == "$q") != strings.Contains(raw, rel) {
			t.Errorf("%s replaces %q", kind, got)
		}
	}
}
