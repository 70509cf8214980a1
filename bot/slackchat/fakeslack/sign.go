package fakeslack

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"strconv"
	"time"
)

// Sign is the X-Slack-Signature of a body.
func Sign(secret string, ts time.Time, body []byte) string {
	h := hmac.New(sha256.New, []byte(secret))
	_, _ = fmt.Fprintf(h, "v0:%d:", ts.Unix())
	_, _ = h.Write(body)
	return "v0=" + hex.EncodeToString(h.Sum(nil))
}

// Signed is a request as Slack would sign it at a time, for tests of what has to
// be refused.
func (s *Server) Signed(url, contentType string, body []byte, at time.Time) (*http.Request, error) {
	r, err := http.NewRequest(http.MethodPost, url, bytes.NewReader(body))
	if err != nil {
		return nil, fmt.Errorf("making a signed request: %w", err)
	}
	r.Header.Set("User-Agent", "Slackbot 1.0 (+https://api.slack.com/robots)")
	r.Header.Set("Content-Type", contentType)
	r.Header.Set("X-Slack-Request-Timestamp", strconv.FormatInt(at.Unix(), 10))
	r.Header.Set("X-Slack-Signature", Sign(s.o.SigningSecret, at, body))
	return r, nil
}
