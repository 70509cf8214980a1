package config

import (
	"fmt"
	"io"
	"log/slog"
)

const hidden = "***"

// Secret is a token or password. However it is printed, logged or encoded it
// shows as ***; only Reveal gives it away.
type Secret struct{ value string }

// NewSecret keeps a value secret.
func NewSecret(value string) Secret { return Secret{value} }

// Reveal is the secret itself, for the one who has to send it.
func (s Secret) Reveal() string { return s.value }

// Empty says whether there is none.
func (s Secret) Empty() bool { return s.value == "" }

// String hides the secret; one that is not set is an empty string.
func (s Secret) String() string {
	if s.Empty() {
		return ""
	}
	return hidden
}

// Format hides the secret from every verb, %#v and %x too.
func (s Secret) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, s.String()) }

// MarshalText hides the secret from JSON, YAML and their like.
func (s Secret) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// LogValue hides the secret from logs.
func (s Secret) LogValue() slog.Value { return slog.StringValue(s.String()) }
