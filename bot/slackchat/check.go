package slackchat

import (
	"context"
	"errors"

	"github.com/slack-go/slack"
)

// Checked is what Slack says of the tokens.
type Checked struct{ Workspace, User string }

// CheckError is why a token does not do. Name is Slack's own word for it; "" where
// Slack could not be asked.
type CheckError struct {
	App  bool // the app-level token, not the bot token
	Name string
	Err  error
}

func (e *CheckError) Error() string {
	which := "the bot token"
	if e.App {
		which = "the app-level token"
	}
	return which + ": " + e.Err.Error()
}

func (e *CheckError) Unwrap() error { return e.Err }

// Check asks Slack who the tokens are, and whether a connection would be opened. It
// opens none and posts nothing.
func Check(ctx context.Context, o Options) (Checked, error) {
	a, err := New(o)
	if err != nil {
		return Checked{}, err
	}
	defer a.http.CloseIdleConnections()
	me, err := a.api.AuthTestContext(ctx)
	if err != nil {
		return Checked{}, &CheckError{Name: errorName(err), Err: clean(err)}
	}
	who := Checked{Workspace: me.Team, User: me.User}
	if o.HTTP {
		return who, nil
	}
	if _, _, err := a.api.StartSocketModeContext(ctx); err != nil {
		return who, &CheckError{App: true, Name: errorName(err), Err: clean(err)}
	}
	return who, nil
}

// errorName is Slack's own word for an error; "" where Slack did not say one.
func errorName(err error) string {
	var named slack.SlackErrorResponse
	if errors.As(err, &named) {
		return named.Err
	}
	return ""
}
