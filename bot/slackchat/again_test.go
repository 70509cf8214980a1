package slackchat

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

func TestAgain(t *testing.T) {
	named := func(s string) error { return slack.SlackErrorResponse{Err: s} }
	tests := []struct {
		name string
		err  error
		want bot.Again
	}{
		{"rate limited", &slack.RateLimitedError{RetryAfter: 7 * time.Second}, bot.Again{Retry: true, After: 7 * time.Second}},
		{"rate limited by name", named("ratelimited"), bot.Again{Retry: true, After: time.Second}},
		{"a server's trouble", slack.StatusCodeError{Code: 503}, bot.Again{Retry: true, Unknown: true}},
		{"an odd status", slack.StatusCodeError{Code: 404}, bot.Again{}},
		{"slack's own trouble", named("internal_error"), bot.Again{Retry: true, Unknown: true}},
		{"no channel", named("channel_not_found"), bot.Again{}},
		{"archived", named("is_archived"), bot.Again{}},
		{"not in the channel", named("not_in_channel"), bot.Again{}},
		{"too long", named("msg_too_long"), bot.Again{}},
		{"bad blocks", named("invalid_blocks"), bot.Again{}},
		{"a revoked token", named("token_revoked"), bot.Again{Retry: true, After: time.Minute}},
		{"a scope", named("missing_scope"), bot.Again{Retry: true, After: time.Minute}},
		{"nobody there", &url.Error{Op: "Post", Err: &net.OpError{Op: "dial", Err: errors.New("refused")}}, bot.Again{Retry: true}},
		{"broken while waiting", &url.Error{Op: "Post", Err: &net.OpError{Op: "read", Err: errors.New("reset")}}, bot.Again{Retry: true, Unknown: true}},
		{"over time", context.DeadlineExceeded, bot.Again{Retry: true, Unknown: true}},
		{"not an answer of slack's", errors.New("invalid character '<'"), bot.Again{Retry: true, Unknown: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, err := range []error{tt.err, fmt.Errorf("wrapped: %w", tt.err)} {
				got, out := verdict("try", err)
				if got != tt.want {
					t.Errorf("got %+v, want %+v", got, tt.want)
				}
				if out == nil {
					t.Error("the error is gone")
				}
			}
		})
	}
	if got, err := verdict("try", nil); err != nil || got != (bot.Again{}) {
		t.Errorf("success gives %+v, %v", got, err)
	}
}

func TestCleanHidesAddresses(t *testing.T) {
	err := fmt.Errorf("failed to post: %w", &url.Error{Op: "Post", URL: "https://hooks.example.org/T1/secret", Err: context.DeadlineExceeded})
	got := clean(err)
	if strings.Contains(got.Error(), "secret") {
		t.Errorf("%v gives the address away", got)
	}
	if !errors.Is(got, context.DeadlineExceeded) {
		t.Errorf("%v has lost its cause", got)
	}
}
