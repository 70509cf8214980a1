//go:build goolm

package matrixchat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto"
	"maunium.net/go/mautrix/id"
)

// An account has an identity of its own, by which it signs its devices; clients warn
// of devices that their owner did not sign. The bot makes itself one where the
// account has none, keeps its private keys in the key file, and signs its device.

const (
	identitySecret = id.Secret("sidewall.identity") // in the key file
	identityValue  = "identity"                     // the public key, among the values: it says later that the identity was ours
)

// errForeignIdentity says that the account has an identity that the bot did not make.
var errForeignIdentity = errors.New("the account has an identity that somebody else made, so that the bot cannot sign its device")

// identify signs the device with the account's identity.
func (v *keyVault) identify(ctx context.Context, a *Adapter) error {
	m := v.h.Machine()
	all, err := m.Client.QueryKeys(ctx, &mautrix.ReqQueryKeys{DeviceKeys: mautrix.DeviceKeysRequest{a.me: {}}})
	if err != nil {
		return fmt.Errorf("ask for the account's identity: %w", err)
	}
	master := all.MasterKeys[a.me]
	stands := master.FirstKey()
	mine, err := v.identity(ctx)
	if err != nil {
		return err
	}
	if mine == nil || mine.MasterKey.PublicKey() != stands {
		if err := a.mayReplace(ctx, stands); err != nil {
			return err
		}
		if mine, err = v.newIdentity(ctx, mine); err != nil {
			return err
		}
		if err := a.o.Values.SetValue(ctx, a.valueName(identityValue), []byte(mine.MasterKey.PublicKey())); err != nil {
			return fmt.Errorf("keep whose identity it is: %w", err)
		}
		if err := m.PublishCrossSigningKeys(ctx, mine, a.confirm); err != nil {
			return fmt.Errorf("publish an identity: %w", err)
		}
	}
	if err := m.ImportCrossSigningKeys(mine.Seeds()); err != nil {
		return fmt.Errorf("use the identity: %w", err)
	}
	own := all.DeviceKeys[a.me][m.Client.DeviceID]
	if own.Signatures[a.me][id.NewKeyID(id.KeyAlgorithmEd25519, mine.SelfSigningKey.PublicKey().String())] != "" {
		return nil
	}
	if err := m.SignOwnDevice(ctx, m.OwnIdentity()); err != nil {
		return fmt.Errorf("sign the device: %w", err)
	}
	return nil
}

// identity is what the key file has; nil for none.
func (v *keyVault) identity(ctx context.Context) (*crypto.CrossSigningKeysCache, error) {
	raw, err := v.h.Machine().CryptoStore.GetSecret(ctx, identitySecret)
	if err != nil || raw == "" {
		return nil, err
	}
	var s crypto.CrossSigningSeeds
	if err := json.Unmarshal([]byte(raw), &s); err != nil {
		return nil, fmt.Errorf("read the identity: %w", err)
	}
	k, err := s.Decode()
	if err != nil {
		return nil, fmt.Errorf("read the identity: %w", err)
	}
	return &k, nil
}

// mayReplace says whether the account has no identity yet, or one of an earlier bot
// whose key file is lost.
func (a *Adapter) mayReplace(ctx context.Context, stands id.Ed25519) error {
	if stands == "" {
		return nil
	}
	was, err := a.o.Values.Value(ctx, a.valueName(identityValue))
	if err != nil {
		return fmt.Errorf("read whose identity it is: %w", err)
	}
	if string(was) != string(stands) {
		return errForeignIdentity
	}
	return nil
}

// newIdentity makes one, unless an earlier run made it and did not come to publish
// it. It is kept first: a published one without its keys would be of no use.
func (v *keyVault) newIdentity(ctx context.Context, have *crypto.CrossSigningKeysCache) (*crypto.CrossSigningKeysCache, error) {
	if have != nil {
		return have, nil
	}
	m := v.h.Machine()
	k, err := m.GenerateCrossSigningKeys()
	if err != nil {
		return nil, fmt.Errorf("make an identity: %w", err)
	}
	raw, err := json.Marshal(k.Seeds())
	if err == nil {
		err = m.CryptoStore.PutSecret(ctx, identitySecret, string(raw))
	}
	if err != nil {
		return nil, fmt.Errorf("keep the identity: %w", err)
	}
	return k, nil
}

// confirm tells the homeserver the password once more, which most want before an
// account gets an identity.
func (a *Adapter) confirm(asked *mautrix.RespUserInteractive) any {
	if a.o.Password == "" {
		return nil
	}
	return &mautrix.ReqUIAuthLogin{BaseAuthData: mautrix.BaseAuthData{Type: mautrix.AuthTypePassword, Session: asked.Session},
		User: string(a.me), Password: a.o.Password}
}
