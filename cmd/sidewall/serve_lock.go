package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"

	"modernc.org/sqlite"
	sqlitelib "modernc.org/sqlite/lib"
)

// errServed says that another process serves from a state file. Two of them would
// each take the other's events in hand for those of one that died.
var errServed = errors.New("another sidewall serve uses it")

// holdState keeps other processes from serving from the state file until release
// is called, or the process ends, however it ends. The lock is SQLite's own, on a
// file beside the state file: it works on each system that the state file works
// on, and leaves nothing behind that has to be cleaned up.
func holdState(ctx context.Context, state string) (release func(), err error) {
	path, err := filepath.Abs(lockFile(state))
	if err != nil {
		return nil, fmt.Errorf("lock the state file: %w", err)
	}
	source := (&url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path)}).String() + "?_pragma=busy_timeout(0)"
	db, err := sql.Open("sqlite", source)
	if err != nil {
		return nil, fmt.Errorf("lock the state file: %w", err)
	}
	db.SetMaxOpenConns(1)
	c, err := db.Conn(ctx)
	if err == nil {
		// Nothing is ever written to it, so that a full disk is no hindrance.
		_, err = c.ExecContext(ctx, "BEGIN EXCLUSIVE")
	}
	if err != nil {
		_ = db.Close() // the error that is told is the first one
		var e *sqlite.Error
		if errors.As(err, &e) && e.Code()&0xff == sqlitelib.SQLITE_BUSY {
			return nil, errServed
		}
		return nil, fmt.Errorf("lock the state file: %w", err)
	}
	return func() {
		_ = c.Close() // the lock goes with the connection
		_ = db.Close()
	}, nil
}

func lockFile(state string) string { return state + "-lock" }
