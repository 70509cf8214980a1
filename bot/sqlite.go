package bot

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlitelib "modernc.org/sqlite/lib"
)

// SQLite is a Store in one file.
//
// One connection writes, and others read, so that writers queue in the process
// and never wait for SQLite's lock. Every commit is synced: an event whose
// platform was told "received" outlives a power cut too.
type SQLite struct {
	write, read *sql.DB
	lost        string
	stmts       map[string]*sql.Stmt
}

// OpenSQLite opens the state file and brings it up to date. A file that is no
// database or is damaged is set aside under another name, which Lost gives, and
// a new one is begun: the bot has to answer on game day. now names that file.
func OpenSQLite(ctx context.Context, path string, now time.Time) (*SQLite, error) {
	s, err := openSQLite(ctx, path)
	if err == nil || !damaged(err) {
		return s, err
	}
	lost := path + ".broken-" + now.UTC().Format("20060102T150405")
	for i := 2; exists(lost); i++ {
		lost = fmt.Sprintf("%s.broken-%s-%d", path, now.UTC().Format("20060102T150405"), i)
	}
	for _, ext := range []string{"-wal", "-shm", ""} { // the file itself last: a crash in between finds it broken again
		if !exists(path + ext) {
			continue
		}
		if err := os.Rename(path+ext, lost+ext); err != nil {
			return nil, fmt.Errorf("set the broken state file aside: %w", err)
		}
	}
	if s, err = openSQLite(ctx, path); err != nil {
		return nil, err
	}
	s.lost = lost
	return s, nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// ErrBroken is what the check of the file's content gives.
var ErrBroken = errors.New("the file is damaged")

func damaged(err error) bool {
	var e *sqlite.Error
	if errors.As(err, &e) {
		switch e.Code() & 0xff {
		case sqlitelib.SQLITE_CORRUPT, sqlitelib.SQLITE_NOTADB:
			return true
		}
	}
	return errors.Is(err, ErrBroken)
}

func openSQLite(ctx context.Context, path string) (_ *SQLite, err error) {
	if path == "" {
		return nil, errors.New("open the state: no file is named")
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open the state: %w", err)
	}
	if !exists(abs) { // who may read it is decided before anything is in it
		f, err := os.OpenFile(abs, os.O_CREATE|os.O_RDWR, 0o600)
		if err != nil {
			return nil, fmt.Errorf("open the state: %w", err)
		}
		if err := f.Close(); err != nil {
			return nil, fmt.Errorf("open the state: %w", err)
		}
	}
	s := &SQLite{stmts: map[string]*sql.Stmt{}}
	defer func() {
		if err != nil {
			_ = s.Close() // the error that is told is the first one
		}
	}()
	source := (&url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(abs)}).String() +
		"?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_pragma=secure_delete(1)"
	if s.write, err = sql.Open("sqlite", source+"&_pragma=synchronous(FULL)&_txlock=immediate"); err != nil {
		return nil, fmt.Errorf("open the state: %w", err)
	}
	s.write.SetMaxOpenConns(1)
	s.write.SetMaxIdleConns(1)
	var ok string
	if err := s.write.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&ok); err != nil {
		return nil, fmt.Errorf("check the state file %s: %w", path, err)
	}
	if ok != "ok" {
		return nil, fmt.Errorf("check the state file %s: %w: %s", path, ErrBroken, ok)
	}
	if err := s.migrate(ctx); err != nil {
		return nil, fmt.Errorf("bring the state file %s up to date: %w", path, err)
	}
	if s.read, err = sql.Open("sqlite", source+"&_pragma=query_only(1)"); err != nil {
		return nil, fmt.Errorf("open the state: %w", err)
	}
	s.read.SetMaxOpenConns(4)
	s.read.SetMaxIdleConns(4)
	if err := s.prepare(ctx); err != nil {
		return nil, err
	}
	return s, nil
}

func (s *SQLite) migrate(ctx context.Context) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // does nothing once it is committed
	var version int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	if version > len(migrations) {
		return fmt.Errorf("it is of version %d, written by a newer program; this one knows versions up to %d", version, len(migrations))
	}
	for i := version; i < len(migrations); i++ {
		if _, err := tx.ExecContext(ctx, migrations[i]); err != nil {
			return fmt.Errorf("step %d: %w", i+1, err)
		}
	}
	if version == len(migrations) {
		return nil
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", len(migrations))); err != nil {
		return err
	}
	return tx.Commit()
}

const (
	answeredColumns = "key, conversation, platform, channel, message, extra, private, lang, person, offered, at"
	turnColumns     = "conversation, key, part, ord, text, person, verdict, lang, at"
	missedColumns   = "source, why, text, lang, topic, division, person, at"
)

// The statements of the hot path, prepared once; w is for the writing connection.
var statements = map[string]string{
	"w accept": `INSERT INTO events (key, state, conversation, person, payload, at) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (key) DO NOTHING`,
	"w state":  `SELECT state, ord FROM events WHERE key = ?`,
	"w finish": `INSERT INTO events (key, state, conversation, person, payload, at) VALUES (?, ?, '', '', NULL, ?)
		ON CONFLICT (key) DO UPDATE SET state = excluded.state, payload = NULL, at = excluded.at`,
	"w answered": `INSERT OR REPLACE INTO answered (` + answeredColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
	"w turn":     `INSERT OR REPLACE INTO turns (` + turnColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
	"w unturn":   `DELETE FROM turns WHERE key = ?`,
	"w miss":     `INSERT INTO missed (` + missedColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (source) DO NOTHING`,
	"w found":    `DELETE FROM missed WHERE source = ?`,

	"r state":    `SELECT state, ord FROM events WHERE key = ?`,
	"r answered": `SELECT ` + answeredColumns + ` FROM answered WHERE key = ?`,
	"r at":       `SELECT ` + answeredColumns + ` FROM answered WHERE platform = ? AND channel = ? AND message = ? ORDER BY at DESC LIMIT 1`,
	"r turns": `SELECT ` + turnColumns + ` FROM turns WHERE conversation = ?1
		AND (SELECT max(at) FROM turns WHERE conversation = ?1) >= ?2 ORDER BY ord, part`,
	"r binding": `SELECT division, position, by, at FROM bindings WHERE name = ?`,
	"r value":   `SELECT value FROM "values" WHERE name = ?`,
}

func (s *SQLite) prepare(ctx context.Context) error {
	for name, text := range statements {
		db := s.read
		if name[0] == 'w' {
			db = s.write
		}
		st, err := db.PrepareContext(ctx, text)
		if err != nil {
			return fmt.Errorf("prepare %q: %w", name, err)
		}
		s.stmts[name] = st
	}
	return nil
}

// Lost says where a broken file was set aside; "" where none was.
func (s *SQLite) Lost() string { return s.lost }

// Close closes the file.
func (s *SQLite) Close() error {
	var errs []error
	for _, st := range s.stmts {
		errs = append(errs, st.Close())
	}
	for _, db := range []*sql.DB{s.read, s.write} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("close the state: %w", err)
	}
	return nil
}

// tx runs f in one transaction on the writing connection.
func (s *SQLite) tx(ctx context.Context, what string, f func(tx *sql.Tx) error) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if err := f(tx); err != nil {
		_ = tx.Rollback() // the error that is told is the first one
		return fmt.Errorf("%s: %w", what, err)
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// Accept satisfies Store.
func (s *SQLite) Accept(ctx context.Context, p *Pending) (State, error) {
	payload, err := json.Marshal(p.Event)
	if err != nil {
		return Unseen, fmt.Errorf("accept an event: %w", err)
	}
	state := Unseen
	err = s.tx(ctx, "accept an event", func(tx *sql.Tx) error {
		res, err := tx.StmtContext(ctx, s.stmts["w accept"]).ExecContext(ctx, p.Key, InHand, p.Conversation, p.Person, payload, stamp(p.At))
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil {
			return err
		} else if n == 1 {
			p.Ord, err = res.LastInsertId()
			return err
		}
		return tx.StmtContext(ctx, s.stmts["w state"]).QueryRowContext(ctx, p.Key).Scan(&state, &p.Ord)
	})
	return state, err
}

// State satisfies Store.
func (s *SQLite) State(ctx context.Context, key string) (State, error) {
	var state State
	var ord int64
	err := s.stmts["r state"].QueryRowContext(ctx, key).Scan(&state, &ord)
	if errors.Is(err, sql.ErrNoRows) {
		return Unseen, nil
	}
	if err != nil {
		return Unseen, fmt.Errorf("look for an event: %w", err)
	}
	return state, nil
}

// Unfinished satisfies Store.
func (s *SQLite) Unfinished(ctx context.Context) ([]Pending, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT ord, key, conversation, person, payload, at FROM events WHERE state = 1 ORDER BY ord`)
	return collect(rows, err, "list the events in hand", func(rows *sql.Rows) (p Pending, err error) {
		var payload []byte
		var at int64
		if err = rows.Scan(&p.Ord, &p.Key, &p.Conversation, &p.Person, &payload, &at); err != nil {
			return p, err
		}
		p.At = unstamp(at)
		return p, json.Unmarshal(payload, &p.Event)
	})
}

// Finish satisfies Store.
func (s *SQLite) Finish(ctx context.Context, d *Done) error {
	return s.tx(ctx, "record what became of an event", func(tx *sql.Tx) error {
		do := func(name string, args ...any) error {
			_, err := tx.StmtContext(ctx, s.stmts[name]).ExecContext(ctx, args...)
			return err
		}
		if err := do("w finish", d.Key, d.State, stamp(d.At)); err != nil {
			return err
		}
		if a := d.Answered; a != nil {
			offered, err := json.Marshal(a.Offered)
			if err != nil {
				return err
			}
			if err := do("w answered", a.Key, a.Conversation, a.Platform, a.Ref.Channel, a.Ref.Message, a.Ref.Extra,
				a.Private, a.Lang, a.Person, string(offered), stamp(a.At)); err != nil {
				return err
			}
		}
		if t := d.Turn; t != nil {
			if d.Rewrite {
				if err := do("w unturn", t.Key); err != nil {
					return err
				}
			}
			if err := do("w turn", t.Conversation, t.Key, t.Part, t.Ord, t.Text, t.Person, t.Verdict, t.Lang, stamp(t.At)); err != nil {
				return err
			}
		}
		if d.Found != "" {
			if err := do("w found", d.Found); err != nil {
				return err
			}
		}
		if m := d.Missed; m != nil {
			if err := do("w miss", m.Source, m.Why, m.Text, m.Lang, m.Topic, m.Division, m.Person, stamp(m.At)); err != nil {
				return err
			}
		}
		if d.Withdraw == "" {
			return nil
		}
		// The mark stays behind, so that a late retry of the message is not answered.
		if err := do("w finish", d.Withdraw, Withdrew, stamp(d.At)); err != nil {
			return err
		}
		for _, q := range []string{"DELETE FROM answered WHERE key = ?", "DELETE FROM turns WHERE key = ?", "DELETE FROM missed WHERE source = ?"} {
			if _, err := tx.ExecContext(ctx, q, d.Withdraw); err != nil {
				return err
			}
		}
		return nil
	})
}

// Answered satisfies Store.
func (s *SQLite) Answered(ctx context.Context, key string) (*Answered, error) {
	return scanAnswered(s.stmts["r answered"].QueryRowContext(ctx, key))
}

// AnsweredAt satisfies Store.
func (s *SQLite) AnsweredAt(ctx context.Context, platform string, at Ref) (*Answered, error) {
	if at.Message == "" {
		return nil, ErrUnknown
	}
	return scanAnswered(s.stmts["r at"].QueryRowContext(ctx, platform, at.Channel, at.Message))
}

func scanAnswered(row *sql.Row) (*Answered, error) {
	var a Answered
	var offered string
	var at int64
	err := row.Scan(&a.Key, &a.Conversation, &a.Platform, &a.Ref.Channel, &a.Ref.Message, &a.Ref.Extra, &a.Private, &a.Lang, &a.Person, &offered, &at)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, ErrUnknown
	}
	if err == nil {
		err = json.Unmarshal([]byte(offered), &a.Offered)
	}
	if err != nil {
		return nil, fmt.Errorf("look for an answer: %w", err)
	}
	a.At = unstamp(at)
	return &a, nil
}

// Turns satisfies Store.
func (s *SQLite) Turns(ctx context.Context, conversation string, since time.Time) ([]Turn, error) {
	rows, err := s.stmts["r turns"].QueryContext(ctx, conversation, stamp(since))
	return collect(rows, err, "read a conversation", scanTurn)
}

// Latest satisfies Store.
func (s *SQLite) Latest(ctx context.Context, place string, since time.Time) (string, error) {
	var c string
	err := s.read.QueryRowContext(ctx, `SELECT conversation FROM turns WHERE conversation >= ?1 AND conversation < ?2 AND at >= ?3
		ORDER BY at DESC, ord DESC LIMIT 1`, place+"/", place+"0", stamp(since)).Scan(&c) // 0 follows / in ASCII
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("look for the last conversation: %w", err)
	}
	return c, nil
}

// Idle satisfies Store.
func (s *SQLite) Idle(ctx context.Context, since time.Time) ([]Turn, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT `+turnColumns+` FROM (
			SELECT *, row_number() OVER (PARTITION BY conversation ORDER BY ord DESC, part DESC) AS back, max(at) OVER (PARTITION BY conversation) AS last FROM turns)
		WHERE back = 1 AND last < ? ORDER BY ord`, stamp(since))
	return collect(rows, err, "list the idle conversations", scanTurn)
}

func scanTurn(rows *sql.Rows) (t Turn, err error) {
	var at int64
	err = rows.Scan(&t.Conversation, &t.Key, &t.Part, &t.Ord, &t.Text, &t.Person, &t.Verdict, &t.Lang, &at)
	t.At = unstamp(at)
	return t, err
}

// Binding satisfies Store.
func (s *SQLite) Binding(ctx context.Context, of string) (Binding, error) {
	var b Binding
	var at int64
	err := s.stmts["r binding"].QueryRowContext(ctx, of).Scan(&b.Division, &b.Position, &b.By, &at)
	if errors.Is(err, sql.ErrNoRows) {
		return b, ErrUnknown
	}
	if err != nil {
		return b, fmt.Errorf("look for a binding: %w", err)
	}
	b.At = unstamp(at)
	return b, nil
}

// Bind satisfies Store.
func (s *SQLite) Bind(ctx context.Context, of string, b Binding) error {
	return s.exec(ctx, "keep a binding", `INSERT OR REPLACE INTO bindings (name, division, position, by, at) VALUES (?, ?, ?, ?, ?)`,
		of, b.Division, b.Position, b.By, stamp(b.At))
}

// Unbind satisfies Store.
func (s *SQLite) Unbind(ctx context.Context, of string) error {
	return s.exec(ctx, "drop a binding", `DELETE FROM bindings WHERE name = ?`, of)
}

func (s *SQLite) exec(ctx context.Context, what, query string, args ...any) error {
	if _, err := s.write.ExecContext(ctx, query, args...); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// Miss satisfies Store.
func (s *SQLite) Miss(ctx context.Context, m Missed) error {
	return s.exec(ctx, "keep an open question", statements["w miss"], m.Source, m.Why, m.Text, m.Lang, m.Topic, m.Division, m.Person, stamp(m.At))
}

// Missed satisfies Store.
func (s *SQLite) Missed(ctx context.Context, since time.Time) ([]Missed, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT `+missedColumns+` FROM missed WHERE at >= ? ORDER BY at, source`, stamp(since))
	return collect(rows, err, "list the open questions", func(rows *sql.Rows) (m Missed, err error) {
		var at int64
		err = rows.Scan(&m.Source, &m.Why, &m.Text, &m.Lang, &m.Topic, &m.Division, &m.Person, &at)
		m.At = unstamp(at)
		return m, err
	})
}

// Value satisfies Store.
func (s *SQLite) Value(ctx context.Context, name string) ([]byte, error) {
	var v []byte
	err := s.stmts["r value"].QueryRowContext(ctx, name).Scan(&v)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look for a value: %w", err)
	}
	return v, nil
}

// SetValue satisfies Store.
func (s *SQLite) SetValue(ctx context.Context, name string, value []byte) error {
	return s.exec(ctx, "keep a value", `INSERT OR REPLACE INTO "values" (name, value) VALUES (?, ?)`, name, value)
}

// Sweep satisfies Store. Turns go by conversation, so that none is left with its
// beginning lost.
func (s *SQLite) Sweep(ctx context.Context, b Before) error {
	return s.tx(ctx, "sweep the state", func(tx *sql.Tx) error {
		for _, q := range []struct {
			text string
			at   time.Time
		}{
			{`DELETE FROM events WHERE state <> 1 AND at < ?`, b.Events},
			{`DELETE FROM turns WHERE conversation IN (SELECT conversation FROM turns GROUP BY conversation HAVING max(at) < ?)`, b.Threads},
			{`DELETE FROM answered WHERE at < ?`, b.Answers},
			{`DELETE FROM missed WHERE at < ?`, b.Missed},
		} {
			if _, err := tx.ExecContext(ctx, q.text, stamp(q.at)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Forget satisfies Store. Where an answer stands stays known, without whose it
// is: a deleted question still has to take its answer with it.
func (s *SQLite) Forget(ctx context.Context, person string) (int, error) {
	total := 0
	err := s.tx(ctx, "forget a person", func(tx *sql.Tx) error {
		for _, q := range []string{
			`DELETE FROM turns WHERE person = ?1`,
			`DELETE FROM missed WHERE person = ?1`,
			`DELETE FROM bindings WHERE name = 'person/' || ?1`,
			`UPDATE bindings SET by = '' WHERE by = ?1`,
			`UPDATE answered SET person = '' WHERE person = ?1`,
			`UPDATE events SET person = '', payload = NULL, state = CASE state WHEN 1 THEN 3 ELSE state END WHERE person = ?1`,
		} {
			res, err := tx.ExecContext(ctx, q, person)
			if err != nil {
				return err
			}
			n, err := res.RowsAffected()
			if err != nil {
				return err
			}
			total += int(n)
		}
		return nil
	})
	return total, err
}

func collect[T any](rows *sql.Rows, err error, what string, scan func(*sql.Rows) (T, error)) ([]T, error) {
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	defer func() { _ = rows.Close() }() // rows.Err tells what went wrong
	var out []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", what, err)
		}
		out = append(out, v)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return out, nil
}

func stamp(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func unstamp(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

var _ Store = (*SQLite)(nil)

// personName is the name under which a person's default is bound.
func personName(hashed string) string { return "person/" + hashed }

// channelName is the name under which a channel is bound.
func channelName(e *Event) string {
	return "channel/" + strings.Join([]string{e.Platform, e.Workspace, e.Channel}, "/")
}

// CheckSQLite looks whether a state file can be used as it is, and changes nothing
// of what it holds: OpenSQLite would set a broken one aside and bring an old one
// up to date. A bot may have it open.
func CheckSQLite(ctx context.Context, path string) (err error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("check the state file: %w", err)
	}
	f, err := os.OpenFile(abs, os.O_RDWR, 0) // it is not made where there is none
	if err != nil {
		return fmt.Errorf("check the state file: %w", err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("check the state file: %w", err)
	}
	source := (&url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(abs)}).String() + "?_pragma=busy_timeout(5000)&_pragma=query_only(1)"
	db, err := sql.Open("sqlite", source)
	if err != nil {
		return fmt.Errorf("check the state file: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	var ok string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&ok); err != nil {
		if damaged(err) {
			err = fmt.Errorf("%w: %w", ErrBroken, err)
		}
		return fmt.Errorf("check the state file: %w", err)
	}
	if ok != "ok" {
		return fmt.Errorf("check the state file: %w: %s", ErrBroken, ok)
	}
	var version int
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return fmt.Errorf("check the state file: %w", err)
	}
	if version > len(migrations) {
		return fmt.Errorf("check the state file: it is of version %d, written by a newer program; this one knows versions up to %d", version, len(migrations))
	}
	return nil
}
