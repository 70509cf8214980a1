//go:build !goolm

package matrixchat

import (
	"context"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/id"
)

const canEncrypt = false

func (a *Adapter) openVault(context.Context, *mautrix.Client) (vault, error) {
	return nil, ErrNoEncryption
}

func (a *Adapter) keyDevice(context.Context) (id.DeviceID, error) { return "", ErrNoEncryption }
