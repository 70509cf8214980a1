package slackchat

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

// What Slack names its own troubles, which pass; the call may have had its effect.
var troubles = []string{"internal_error", "fatal_error", "service_unavailable", "request_timeout", "team_added_to_org", "update_failed"}

// What an admin has to put right. It is tried again slowly: a question that was
// taken in keeps its answer while somebody installs the app anew.
var refusals = []string{"invalid_auth", "not_authed", "account_inactive", "token_revoked", "token_expired", "missing_scope", "not_allowed_token_type", "no_permission", "access_denied"}

const refusedPause = time.Minute

// verdict says what may be done after a call that failed, and cleans its error.
func verdict(doing string, err error) (bot.Again, error) {
	if err == nil {
		return bot.Again{}, nil
	}
	return again(err), fmt.Errorf("%s: %w", doing, clean(err))
}

func again(err error) bot.Again {
	var (
		limited *slack.RateLimitedError
		status  slack.StatusCodeError
		named   slack.SlackErrorResponse
		dial    *net.OpError
	)
	switch {
	case errors.As(err, &limited):
		return bot.Again{Retry: true, After: limited.RetryAfter}
	case errors.As(err, &status):
		return bot.Again{Retry: status.Code >= 500, Unknown: status.Code >= 500}
	case errors.As(err, &named):
		switch {
		case slices.Contains(troubles, named.Err):
			return bot.Again{Retry: true, Unknown: true}
		case named.Err == "ratelimited" || named.Err == "rate_limited":
			return bot.Again{Retry: true, After: time.Second}
		case slices.Contains(refusals, named.Err):
			return bot.Again{Retry: true, After: refusedPause}
		}
		return bot.Again{}
	case errors.As(err, &dial) && dial.Op == "dial":
		return bot.Again{Retry: true} // nothing was sent
	case errors.Is(err, slack.ErrParametersMissing):
		return bot.Again{}
	}
	// The connection broke while waiting, the time was over, or what came back
	// was no answer of Slack's.
	return bot.Again{Retry: true, Unknown: true}
}

// isError says whether Slack gave one of these errors.
func isError(err error, names ...string) bool {
	var named slack.SlackErrorResponse
	return errors.As(err, &named) && slices.Contains(names, named.Err)
}

// refused says that a token is no good.
func refused(err error) bool {
	return isError(err, "invalid_auth", "not_authed", "account_inactive", "token_revoked", "token_expired", "not_allowed_token_type")
}

// clean is an error without the address that was called: a response address is as
// good as a token.
func clean(err error) error {
	var at *url.Error
	if errors.As(err, &at) {
		return fmt.Errorf("%s: %w", at.Op, at.Err)
	}
	return err
}
