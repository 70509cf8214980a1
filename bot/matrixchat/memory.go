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

// memory keeps something of the last of many things, and forgets the oldest.
type memory[K comparable, T any] struct {
	of    map[K]T
	order []K // a ring
	next  int
}

func newMemory[K comparable, T any](n int) *memory[K, T] {
	return &memory[K, T]{of: make(map[K]T), order: make([]K, n)}
}

func (m *memory[K, T]) get(at K) (T, bool) {
	k, ok := m.of[at]
	return k, ok
}

func (m *memory[K, T]) put(at K, k T) {
	if _, ok := m.of[at]; !ok {
		delete(m.of, m.order[m.next])
		m.order[m.next] = at
		m.next = (m.next + 1) % len(m.order)
	}
	m.of[at] = k
}
