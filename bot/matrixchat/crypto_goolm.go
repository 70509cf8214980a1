//go:build goolm

package matrixchat

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto"
	"maunium.net/go/mautrix/crypto/cryptohelper"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
	_ "modernc.org/sqlite" // the driver of the key file
)

const canEncrypt = true

type keyVault struct {
	h  *cryptohelper.CryptoHelper
	db *dbutil.Database
}

// openKeys opens the key file. What guards it is its permissions: the pickle key,
// the account's name, is no secret.
func (a *Adapter) openKeys() (*dbutil.Database, error) {
	f, err := os.OpenFile(a.o.KeyFile, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("open the key file: %w", err)
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("open the key file: %w", err)
	}
	name := (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: a.o.KeyFile}).EscapedPath()}).String()
	raw, err := sql.Open("sqlite", name+"?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=busy_timeout(10000)&_txlock=immediate")
	if err != nil {
		return nil, fmt.Errorf("open the key file: %w", err)
	}
	db, err := dbutil.NewWithDB(raw, "sqlite")
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the key file: %w", err), raw.Close())
	}
	return db, nil
}

// keyDevice is the device that the key file belongs to; "" for a new one. A login
// as another device could not use its keys.
func (a *Adapter) keyDevice(ctx context.Context) (device id.DeviceID, err error) {
	db, err := a.openKeys()
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	store := crypto.NewSQLCryptoStore(db, nil, "", "", []byte(a.o.User))
	if err := store.DB.Upgrade(ctx); err != nil {
		return "", fmt.Errorf("bring the key file up to date: %w", err)
	}
	device, err = store.FindDeviceID(ctx)
	if err != nil {
		return "", fmt.Errorf("read the key file: %w", err)
	}
	return device, nil
}

// openVault opens the key file, and makes the client write encrypted rooms.
func (a *Adapter) openVault(ctx context.Context, cli *mautrix.Client) (vault, error) {
	db, err := a.openKeys()
	if err != nil {
		return nil, err
	}
	h, err := cryptohelper.NewCryptoHelper(cli, []byte(a.o.User), db)
	if err == nil {
		err = h.Init(ctx)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("make the device's keys: %w", err), db.Close())
	}
	cli.Crypto = h
	return &keyVault{h, db}, nil
}

func (v *keyVault) take(ctx context.Context, batch *mautrix.RespSync, since string) {
	v.h.Machine().ProcessSyncResponse(ctx, batch, since)
}

func (v *keyVault) state(ctx context.Context, ev *event.Event) {
	mautrix.UpdateStateStore(ctx, v.h.Machine().Client.StateStore, ev)
	switch ev.Type {
	case event.StateMember:
		v.h.Machine().HandleMemberEvent(ctx, ev)
	case event.StateHistoryVisibility:
		v.h.Machine().HandleHistoryVisibility(ctx, ev)
	}
}

func (v *keyVault) open(ctx context.Context, ev *event.Event) (*event.Event, error) {
	out, err := v.h.Decrypt(ctx, ev)
	if errors.Is(err, cryptohelper.NoSessionFound) {
		return nil, errNoKey
	}
	return out, err
}

// keyRequest bounds a request for a key; its answer comes with a later batch.
const keyRequest = 10 * time.Second

func (v *keyVault) request(ctx context.Context, ev *event.Event) {
	ctx, cancel := context.WithTimeout(ctx, keyRequest)
	defer cancel()
	c := ev.Content.AsEncrypted()
	v.h.RequestSession(ctx, ev.RoomID, c.SenderKey, c.SessionID, ev.Sender, "") // of all their devices
}

func (v *keyVault) close() error { return v.db.Close() }
