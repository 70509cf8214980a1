package matrixchat

import (
	"bytes"
	"crypto/ed25519"
	"encoding/pem"
	"testing"
)

// signingKey is a homeserver's key in dendrite's own form.
func signingKey(t testing.TB) []byte {
	t.Helper()
	_, private, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	err = pem.Encode(&out, &pem.Block{Type: "MATRIX PRIVATE KEY", Headers: map[string]string{"Key-ID": "ed25519:tests"}, Bytes: private.Seed()})
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
