package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/id"

	"sidewall/bot"
	"sidewall/bot/matrixchat"
	"sidewall/bot/slackchat"
	"sidewall/config"
)

// slackCures are what to do about the errors that Slack names.
var slackCures = []struct {
	names []string
	todo  string
}{
	{[]string{"invalid_auth", "not_authed"}, "Copy the token anew: the bot token is under OAuth & Permissions, the app-level token under Basic Information."},
	{[]string{"account_inactive", "token_revoked", "token_expired"}, "Install the app to the workspace again, and copy the new token."},
	{[]string{"not_allowed_token_type"}, "The two tokens are mixed up, or this one is of another kind: slack.bot_token begins with xoxb-, slack.app_token with xapp-."},
	{[]string{"missing_scope", "no_permission"}, "The app-level token needs the scope connections:write; the bot's scopes are in config/slack-manifest.yaml. Install the app again after a change."},
}

func examineSlack(ctx context.Context, s *config.Settings) []finding {
	f := finding{what: "slack"}
	overHTTP := s.Slack.Mode == config.HTTPMode
	who, err := slackchat.Check(ctx, slackchat.Options{
		BotToken: s.Slack.BotToken.Reveal(), AppToken: s.Slack.AppToken.Reveal(), SigningSecret: s.Slack.SigningSecret.Reveal(),
		HTTP: overHTTP, APIURL: s.Slack.APIURL,
	})
	if err != nil {
		f.grade, f.says = bad, err.Error()
		var e *slackchat.CheckError
		if errors.As(err, &e) {
			f.todo = slackCure(e.Name, s)
		}
		return []finding{f}
	}
	f.says = fmt.Sprintf("%s in the workspace %s; ", who.User, who.Workspace)
	if !overHTTP {
		f.says += "Slack would open a connection"
		return []finding{f}
	}
	f.says += "the signing secret is tried when Slack calls"
	return []finding{f, examineListen(ctx, s, "slack", "slack.listen", s.Slack.Listen)}
}

func slackCure(name string, s *config.Settings) string {
	for _, c := range slackCures {
		if slices.Contains(c.names, name) {
			return c.todo
		}
	}
	if name != "" {
		return "Slack documents this error under the method that is named; wait a little where it is Slack's own trouble."
	}
	if s.Slack.APIURL != "" {
		return unreached(s.Slack.APIURL)
	}
	return unreached("slack.com")
}

func examineMatrix(ctx context.Context, s *config.Settings) []finding {
	f := finding{what: "matrix"}
	wrong := func(err error, todo string) []finding {
		f.grade, f.says, f.todo = bad, err.Error(), todo
		return []finding{f}
	}
	// Made and never run: it looks at its options, and at what this build can do.
	_, err := matrixchat.New(matrixchat.Options{Homeserver: s.Matrix.Homeserver, User: s.Matrix.User, Password: s.Matrix.Password.Reveal(),
		Token: s.Matrix.AccessToken.Reveal(), Values: noValues{}, Encryption: s.Matrix.Encryption, KeyFile: matrixKeys(s)})
	if err != nil {
		return wrong(err, "Put matrix.* right, or use a build that can do it.")
	}
	cli, err := mautrix.NewClient(s.Matrix.Homeserver, id.UserID(s.Matrix.User), s.Matrix.AccessToken.Reveal())
	if err != nil {
		return wrong(err, "Put matrix.homeserver right.")
	}
	cli.Client = &http.Client{Transport: matrixTransport(), Timeout: examined}
	defer cli.Client.CloseIdleConnections()
	cli.IgnoreRateLimit = true
	if _, err := cli.Versions(ctx); err != nil {
		return wrong(fmt.Errorf("ask the homeserver for its versions: %w", err), unreached(s.Matrix.Homeserver)+" matrix.homeserver is the address that apps use, with https://.")
	}
	if s.Matrix.AccessToken.Empty() {
		err = tryPassword(ctx, cli, s)
	} else {
		err = tryToken(ctx, cli, s)
	}
	switch {
	case errors.Is(err, mautrix.MForbidden), errors.Is(err, mautrix.MUserDeactivated):
		return wrong(err, "Check matrix.user and matrix.password; try them in any Matrix app.")
	case errors.Is(err, mautrix.MUnknownToken), errors.Is(err, mautrix.MMissingToken):
		return wrong(err, "The token is not valid any more: log in anew and set matrix.access_token, or set matrix.password instead.")
	case errors.Is(err, mautrix.MLimitExceeded):
		return wrong(err, "The homeserver wants to be left alone for a while; try again later.")
	case errors.Is(err, errOtherUser):
		return wrong(err, "Set matrix.user to whom the token belongs, or get a token of this account.")
	case err != nil:
		return wrong(err, unreached(s.Matrix.Homeserver))
	}
	f.says = fmt.Sprintf("%s at %s", s.Matrix.User, s.Matrix.Homeserver)
	out := []finding{f}
	if len(s.Matrix.Allow) == 0 {
		out = append(out, finding{grade: warning, what: "matrix", says: "matrix.allow is empty: no invitation will be taken",
			todo: "Name the servers or people whose invitations it takes in matrix.allow."})
	}
	return out
}

var errOtherUser = errors.New("the access token belongs to somebody else")

func tryToken(ctx context.Context, cli *mautrix.Client, s *config.Settings) error {
	who, err := cli.Whoami(ctx)
	if err != nil {
		return fmt.Errorf("ask who the access token is: %w", err)
	}
	if string(who.UserID) != s.Matrix.User {
		return fmt.Errorf("%w: %s, not %s", errOtherUser, who.UserID, s.Matrix.User)
	}
	return nil
}

// tryPassword logs in as a device of its own, and out again: the bot's own device
// may be in use.
func tryPassword(ctx context.Context, cli *mautrix.Client, s *config.Settings) error {
	_, err := cli.Login(ctx, &mautrix.ReqLogin{
		Type:                     mautrix.AuthTypePassword,
		Identifier:               mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: s.Matrix.User},
		Password:                 s.Matrix.Password.Reveal(),
		InitialDeviceDisplayName: "Sidewall doctor",
		StoreCredentials:         true,
	})
	if err != nil {
		return fmt.Errorf("log in to the homeserver: %w", err)
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if _, err := cli.Logout(ctx); err != nil {
		return fmt.Errorf("log out of the homeserver again: %w", err)
	}
	return nil
}

// noValues keeps nothing.
type noValues struct{}

func (noValues) Value(context.Context, string) ([]byte, error)           { return nil, nil }
func (noValues) Answered(context.Context, string) (*bot.Answered, error) { return nil, bot.ErrUnknown }
func (noValues) SetValue(context.Context, string, []byte) error          { return nil }
