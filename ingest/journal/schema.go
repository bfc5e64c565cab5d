package journal

import (
	"context"
	"database/sql"
	"fmt"
)

// applicationID marks the file as a journal: "wick" in ASCII.
const applicationID = 0x7769636b

// migrations lead from one schema to the next; the schema's version is how
// many have been applied. A migration that has been released never changes.
var migrations = []string{schema1}

// Times are nanoseconds since 1970 UTC.
const schema1 = `
CREATE TABLE messages (
	seq       INTEGER PRIMARY KEY,
	arrived   INTEGER NOT NULL,
	taken     INTEGER,                    -- where a backlog was laid out
	topic     TEXT    NOT NULL,
	payload   BLOB    NOT NULL,
	qos       INTEGER NOT NULL,
	packet_id INTEGER NOT NULL,
	session   TEXT    NOT NULL,
	duplicate INTEGER NOT NULL,
	retained  INTEGER NOT NULL,
	gaps      TEXT,                       -- [[from, to], …] in which nobody was listening before it
	backlog   INTEGER NOT NULL DEFAULT 0, -- seq of the backlog's first row
	place     INTEGER NOT NULL DEFAULT 0  -- in the backlog, from 1
) STRICT;
-- The newest row of a packet id, for redeliveries.
CREATE INDEX messages_packet ON messages (session, packet_id, seq) WHERE packet_id <> 0;

CREATE TABLE readings (
	seq           INTEGER NOT NULL,
	n             INTEGER NOT NULL,
	sensor        TEXT    NOT NULL,
	time          INTEGER NOT NULL,
	value         REAL,                   -- NULL: not a number
	verdict       TEXT    NOT NULL,
	reconstructed INTEGER NOT NULL,
	PRIMARY KEY (seq, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE refusals (
	seq    INTEGER NOT NULL,
	n      INTEGER NOT NULL,
	sensor TEXT    NOT NULL,
	reason TEXT    NOT NULL,
	detail TEXT    NOT NULL,
	PRIMARY KEY (seq, n)
) STRICT, WITHOUT ROWID;

-- The last good reading of each sensor; it outlives Prune.
CREATE TABLE latest (
	sensor        TEXT    PRIMARY KEY,
	time          INTEGER NOT NULL,
	value         REAL    NOT NULL,
	reconstructed INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE backlogs (
	first   INTEGER PRIMARY KEY,
	settled INTEGER NOT NULL
) STRICT;

CREATE TABLE cursors (
	name TEXT    PRIMARY KEY,
	seq  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE checkpoints (
	id   INTEGER PRIMARY KEY AUTOINCREMENT,
	name TEXT    NOT NULL,
	seq  INTEGER NOT NULL,
	at   INTEGER NOT NULL,
	blob BLOB    NOT NULL,
	sum  BLOB    NOT NULL                 -- SHA-256 of name, seq, at and blob
) STRICT;

CREATE TABLE transitions (
	id         INTEGER PRIMARY KEY,
	time       INTEGER NOT NULL,
	occurrence TEXT    NOT NULL,
	condition  TEXT    NOT NULL,
	subject    TEXT    NOT NULL,
	kind       TEXT    NOT NULL,
	body       BLOB    NOT NULL,          -- the transition as JSON
	UNIQUE (occurrence, kind, time)
) STRICT;
CREATE INDEX transitions_time ON transitions (time);

CREATE TABLE estimates (
	seq  INTEGER PRIMARY KEY AUTOINCREMENT,
	at   INTEGER NOT NULL,
	kind TEXT    NOT NULL,
	id   TEXT    NOT NULL,
	body BLOB    NOT NULL,                -- JSON
	UNIQUE (at, kind, id)
) STRICT;

CREATE TABLE outbox (
	id         INTEGER PRIMARY KEY AUTOINCREMENT,
	key        TEXT    NOT NULL UNIQUE,
	recipient  TEXT    NOT NULL,
	body       BLOB    NOT NULL,
	created    INTEGER NOT NULL,
	attempts   INTEGER NOT NULL DEFAULT 0,
	not_before INTEGER NOT NULL,
	sent_at    INTEGER,
	dropped_at INTEGER,
	reason     TEXT    NOT NULL DEFAULT '' -- of the last failure
) STRICT;
CREATE INDEX outbox_due ON outbox (not_before, id) WHERE sent_at IS NULL AND dropped_at IS NULL;
`

// migrate brings the database to the newest schema, one transaction each.
func migrate(ctx context.Context, conn *sql.Conn, steps []string) error {
	version, err := checkVersion(ctx, conn, len(steps))
	if err != nil {
		return err
	}
	for ; version < len(steps); version++ {
		script := fmt.Sprintf("BEGIN IMMEDIATE;\n%s;\nPRAGMA application_id = %d;\nPRAGMA user_version = %d;\nCOMMIT;",
			steps[version], applicationID, version+1)
		if _, err := conn.ExecContext(ctx, script); err != nil {
			_, _ = conn.ExecContext(ctx, "ROLLBACK")
			return fmt.Errorf("migrating schema %d to %d: %w", version, version+1, err)
		}
	}
	return nil
}

// checkVersion gives the schema's version, if this is a journal that we know.
func checkVersion(ctx context.Context, conn *sql.Conn, known int) (int, error) {
	var version, application, tables int
	for query, into := range map[string]*int{
		"PRAGMA user_version":                &version,
		"PRAGMA application_id":              &application,
		"SELECT count(*) FROM sqlite_schema": &tables,
	} {
		if err := conn.QueryRowContext(ctx, query).Scan(into); err != nil {
			return 0, err
		}
	}
	switch {
	case tables > 0 && application != applicationID:
		return 0, ErrForeign
	case version > known:
		return 0, fmt.Errorf("it has schema %d, this wickd knows up to %d: %w", version, known, ErrNewer)
	}
	return version, nil
}
