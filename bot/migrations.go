package bot

// migrations bring the state file from one version to the next; the version is
// SQLite's user_version. One that has been released never changes.
var migrations = [...]string{
	`CREATE TABLE "values" (name TEXT PRIMARY KEY, value BLOB NOT NULL) WITHOUT ROWID;
	CREATE TABLE events (
		ord INTEGER PRIMARY KEY AUTOINCREMENT,
		key TEXT NOT NULL UNIQUE,
		state INTEGER NOT NULL,
		conversation TEXT NOT NULL,
		person TEXT NOT NULL,
		payload BLOB,
		at INTEGER NOT NULL);
	CREATE INDEX events_in_hand ON events (ord) WHERE state = 1;
	CREATE INDEX events_at ON events (at);
	CREATE TABLE answered (
		key TEXT PRIMARY KEY,
		conversation TEXT NOT NULL,
		platform TEXT NOT NULL,
		channel TEXT NOT NULL,
		message TEXT NOT NULL,
		extra TEXT NOT NULL,
		private INTEGER NOT NULL,
		lang TEXT NOT NULL,
		person TEXT NOT NULL,
		offered TEXT NOT NULL,
		at INTEGER NOT NULL) WITHOUT ROWID;
	CREATE INDEX answered_where ON answered (platform, channel, message);
	CREATE INDEX answered_at ON answered (at);
	CREATE TABLE turns (
		key TEXT NOT NULL,
		part INTEGER NOT NULL,
		conversation TEXT NOT NULL,
		ord INTEGER NOT NULL,
		text TEXT NOT NULL,
		person TEXT NOT NULL,
		verdict TEXT NOT NULL,
		lang TEXT NOT NULL,
		at INTEGER NOT NULL,
		PRIMARY KEY (key, part)) WITHOUT ROWID;
	CREATE INDEX turns_conversation ON turns (conversation, ord, part);
	CREATE INDEX turns_at ON turns (at);
	CREATE TABLE bindings (
		name TEXT PRIMARY KEY,
		division TEXT NOT NULL,
		position TEXT NOT NULL,
		by TEXT NOT NULL,
		at INTEGER NOT NULL) WITHOUT ROWID;
	CREATE TABLE missed (
		source TEXT PRIMARY KEY,
		why TEXT NOT NULL,
		text TEXT NOT NULL,
		lang TEXT NOT NULL,
		topic TEXT NOT NULL,
		division TEXT NOT NULL,
		person TEXT NOT NULL,
		at INTEGER NOT NULL) WITHOUT ROWID;
	CREATE INDEX missed_at ON missed (at);`,
}
