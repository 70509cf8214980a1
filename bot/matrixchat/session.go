package matrixchat

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// Bounds of requests.
const (
	longPoll = 30 * time.Second
	pollEnds = longPoll + 15*time.Second // a long poll that did not come back by then is dead
	request  = 20 * time.Second
)

// bearer puts the token of now into requests: a client holds the one that it was
// made with, and workers use it while the loop logs in again.
type bearer struct {
	a    *Adapter
	next http.RoundTripper
}

func (b bearer) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.Header.Set("Authorization", "Bearer "+*b.a.token.Load())
	return b.next.RoundTrip(r)
}

func (a *Adapter) transport() (http.RoundTripper, func()) {
	if a.o.HTTP != nil && a.o.HTTP.Transport != nil {
		return a.o.HTTP.Transport, a.o.HTTP.CloseIdleConnections
	}
	t := &http.Transport{
		Proxy:               http.ProxyFromEnvironment,
		DialContext:         (&net.Dialer{Timeout: 10 * time.Second, KeepAlive: 15 * time.Second}).DialContext,
		ForceAttemptHTTP2:   true,
		TLSHandshakeTimeout: 10 * time.Second,
		MaxIdleConnsPerHost: 16, // the bot's workers, the poll and what goes aside
		IdleConnTimeout:     90 * time.Second,
	}
	return t, t.CloseIdleConnections
}

func (a *Adapter) newClient(rt http.RoundTripper) (*mautrix.Client, error) {
	cli, err := mautrix.NewClient(a.o.Homeserver, a.me, *a.token.Load())
	if err != nil {
		return nil, err
	}
	cli.Client = &http.Client{Transport: rt, Timeout: pollEnds}
	cli.UserAgent = "sidewall"
	cli.IgnoreRateLimit = true // waiting is the bot's, so that nobody else waits along
	return cli, nil
}

// fatal is a failure that no waiting mends.
type fatal struct{ err error }

func (f fatal) Error() string { return f.err.Error() }
func (f fatal) Unwrap() error { return f.err }

// login gets a token for a password, with the same device each time, or asks who
// the token is.
func (a *Adapter) login(ctx context.Context, rt http.RoundTripper) (id.DeviceID, error) {
	ctx, cancel := context.WithTimeout(ctx, request)
	defer cancel()
	if a.o.Token != "" {
		return a.whoami(ctx, rt)
	}
	cli, err := a.newClient(rt)
	if err != nil {
		return "", err
	}
	device, err := a.device(ctx)
	if err != nil {
		return "", err
	}
	resp, err := cli.Login(ctx, &mautrix.ReqLogin{
		Type:                     mautrix.AuthTypePassword,
		Identifier:               mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: string(a.me)},
		Password:                 a.o.Password,
		DeviceID:                 device,
		InitialDeviceDisplayName: "Sidewall",
	})
	if err != nil {
		return "", loginFailed(err)
	}
	if resp.DeviceID != device {
		if err := a.o.Values.SetValue(ctx, a.valueName("device"), []byte(resp.DeviceID)); err != nil {
			return "", fmt.Errorf("keep the device: %w", err)
		}
	}
	a.token.Store(&resp.AccessToken)
	return resp.DeviceID, nil
}

// device is the one to log in as; "" makes a new one. With encryption the keys say
// which; a lost key file means a new device.
func (a *Adapter) device(ctx context.Context) (id.DeviceID, error) {
	if a.o.Encryption {
		return a.keyDevice(ctx)
	}
	raw, err := a.o.Values.Value(ctx, a.valueName("device"))
	if err != nil {
		return "", fmt.Errorf("read the device: %w", err)
	}
	return id.DeviceID(raw), nil
}

func (a *Adapter) whoami(ctx context.Context, rt http.RoundTripper) (id.DeviceID, error) {
	cli, err := a.newClient(bearer{a, rt})
	if err != nil {
		return "", err
	}
	who, err := cli.Whoami(ctx)
	switch {
	case err != nil:
		return "", loginFailed(err)
	case who.UserID != a.me:
		return "", fatal{fmt.Errorf("%w: the access token is %s's, not %s's", ErrRefused, who.UserID, a.me)}
	}
	return who.DeviceID, nil
}

// ErrRefused says that the homeserver does not take the account's password or token.
var ErrRefused = errors.New("the homeserver does not let the bot in")

// loginFailed tells a refusal from a homeserver that is away.
func loginFailed(err error) error {
	err = fmt.Errorf("log in to the homeserver: %w", err)
	for _, no := range []error{mautrix.MForbidden, mautrix.MUnknownToken, mautrix.MUserDeactivated, mautrix.MInvalidParam} {
		if errors.Is(err, no) {
			return fatal{fmt.Errorf("%w: %w", ErrRefused, err)}
		}
	}
	return err
}

// patiently tries until something goes well, or until waiting cannot mend it.
func (a *Adapter) patiently(ctx context.Context, what string, f func() error) error {
	for n := 0; ; n++ {
		err := f()
		var no fatal
		if err == nil || errors.As(err, &no) {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		d := max(pause(n), a.again(err).After)
		a.log.Warn("the homeserver does not do it yet", "what", what, "after", d, "error", err)
		if err := a.wait(ctx, d); err != nil {
			return err
		}
	}
}

// start logs in, opens the key file, and reads what the loop has to know.
func (a *Adapter) start(ctx context.Context, rt http.RoundTripper) (*mautrix.Client, error) {
	var device id.DeviceID
	err := a.patiently(ctx, "log in", func() (err error) {
		device, err = a.login(ctx, rt)
		return err
	})
	if err != nil {
		return nil, err
	}
	cli, err := a.newClient(bearer{a, rt})
	if err != nil {
		return nil, err
	}
	cli.DeviceID = device
	if a.o.Encryption {
		err := a.patiently(ctx, "publish the device's keys", func() (err error) {
			a.vault, err = a.openVault(ctx, cli)
			if err != nil && !a.again(err).Retry {
				return fatal{err}
			}
			return err
		})
		if err != nil {
			return nil, err
		}
		one, cancel := context.WithTimeout(ctx, request)
		if err := a.vault.identify(one, a); err != nil {
			a.log.Warn("clients will show the bot's device as not verified", "error", err)
		}
		cancel()
	}
	err = a.patiently(ctx, "read the direct rooms", func() error {
		var direct event.DirectChatsEventContent
		if err := cli.GetAccountData(ctx, event.AccountDataDirectChats.Type, &direct); err != nil && !gone(err) {
			return err
		}
		a.setDirect(direct)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if at := id.RoomID(a.o.AdminRoom); at != "" {
		if _, err := a.room(ctx, cli, at); err != nil {
			a.log.Warn("the admin room cannot be read; nobody is an admin by it", "error", err)
		}
	}
	return cli, nil
}
