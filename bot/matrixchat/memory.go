package matrixchat

import "maunium.net/go/mautrix/id"

// rememberReplies is how many messages the adapter knows without asking.
const rememberReplies = 4096

// known is what is known of a message: whether it is a reply of ours, and then
// what it belongs to.
type known struct {
	ours     bool
	question id.EventID        // what a plain reply answers
	root     id.EventID        // of the thread that it stands in
	controls map[string]string // its signs, and the controls that they are
}

// memory keeps something of the last messages, and forgets the oldest.
type memory[T any] struct {
	of    map[id.EventID]T
	order []id.EventID // a ring
	next  int
}

func newMemory[T any](n int) *memory[T] {
	return &memory[T]{of: make(map[id.EventID]T), order: make([]id.EventID, n)}
}

func (m *memory[T]) get(at id.EventID) (T, bool) {
	k, ok := m.of[at]
	return k, ok
}

func (m *memory[T]) put(at id.EventID, k T) {
	if _, ok := m.of[at]; !ok {
		delete(m.of, m.order[m.next])
		m.order[m.next] = at
		m.next = (m.next + 1) % len(m.order)
	}
	m.of[at] = k
}
