package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	sqlite3 "modernc.org/sqlite/lib"
)

// transact runs fn in one transaction, and then the functions in done, still
// under the lock. An error of fn undoes it; an error of the commit, or of the
// disk, is final. It needs more room than the reserve (see urgently).
//
// The context is looked at once: a transaction that has begun is not broken
// off half-way, so that its outcome is never in doubt.
func (j *Journal) transact(ctx context.Context, op string, fn func(context.Context) error, done ...func()) error {
	return j.locked(ctx, func(ctx context.Context) error {
		if err := j.room(op); err != nil {
			return err
		}
		return j.transaction(ctx, op, fn, done...)
	})
}

// urgently is transact for what is small and must be written when the disk is
// full too: the reserve is given up for it.
func (j *Journal) urgently(ctx context.Context, op string, fn func(context.Context) error, done ...func()) error {
	return j.locked(ctx, func(ctx context.Context) error {
		err := j.transaction(ctx, op, fn, done...)
		if errors.Is(err, ErrFull) && j.reserve.release() {
			err = j.transaction(ctx, op, fn, done...)
		}
		return err
	})
}

func (j *Journal) locked(ctx context.Context, write func(context.Context) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	switch {
	case j.conn == nil:
		return ErrReadOnly
	case j.failed != nil:
		return j.failed
	}
	return write(context.WithoutCancel(ctx))
}

// transaction must be called under the lock.
func (j *Journal) transaction(ctx context.Context, op string, fn func(context.Context) error, done ...func()) error {
	if _, err := j.conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return j.broken(op, err)
	}
	if err := fn(ctx); err != nil {
		j.rollback(ctx)
		if code(err) == 0 {
			return fmt.Errorf("journal: %s: %w", op, err)
		}
		return j.broken(op, err)
	}
	if err := j.commit(ctx, op); err != nil {
		j.rollback(ctx)
		return j.broken(op, err)
	}
	j.busy = false
	for _, f := range done {
		f()
	}
	return nil
}

// waiting repeats a write for as long as another process holds the database and
// ctx lasts. Others get their turn between two tries.
func waiting(ctx context.Context, write func() error) error {
	for {
		err := write()
		if !errors.Is(err, ErrBusy) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(writerPatience):
		}
	}
}

// free looks whether another process still holds the database, if it did at the
// last write. It must be called under the lock.
func (j *Journal) free(ctx context.Context, op string) error {
	if !j.busy || j.conn == nil {
		return nil
	}
	if _, err := j.conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return j.broken(op, err)
	}
	j.rollback(ctx)
	j.busy = false
	return nil
}

// errInjected marks a fault that Hooks.Commit made, which is treated as a disk
// that failed to write.
var errInjected = errors.New("commit failed")

func (j *Journal) commit(ctx context.Context, op string) error {
	if j.hooks.Commit != nil {
		if err := j.hooks.Commit(op); err != nil {
			return fmt.Errorf("%w: %w", errInjected, err)
		}
	}
	_, err := j.conn.ExecContext(ctx, "COMMIT")
	return err
}

// rollback undoes the open transaction. SQLite has done so itself after some
// errors, and then says that there is none.
func (j *Journal) rollback(ctx context.Context) {
	_, _ = j.conn.ExecContext(ctx, "ROLLBACK")
}

// broken makes an error of the disk final. Not so one after which nothing is in
// doubt: it ran full, or another process held the database for too long.
func (j *Journal) broken(op string, err error) error {
	switch code(err) {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		j.busy = true
		return busy(op, err)
	}
	if isFull(err) {
		return full(op, err)
	}
	j.failed = failed(op, err)
	return j.failed
}

// statements are prepared once for the writing connection.
type statements struct {
	message, reading, refusal, latest, packet *sql.Stmt
}

func (s *statements) prepare(ctx context.Context, conn *sql.Conn) error {
	for query, into := range map[string]**sql.Stmt{
		`INSERT INTO messages (seq, arrived, taken, topic, payload, qos, packet_id, session, duplicate, retained, gaps, backlog)
		 VALUES (?, ?, NULL, ?, ?, ?, ?, ?, ?, ?, ?, ?)`: &s.message,
		`INSERT INTO readings (seq, n, sensor, time, value, verdict, reconstructed) VALUES (?, ?, ?, ?, ?, ?, ?)`: &s.reading,
		`INSERT INTO refusals (seq, n, sensor, reason, detail) VALUES (?, ?, ?, ?, ?)`:                            &s.refusal,
		`INSERT INTO latest (sensor, time, value, reconstructed) VALUES (?, ?, ?, ?)
		 ON CONFLICT (sensor) DO UPDATE SET time = excluded.time, value = excluded.value, reconstructed = excluded.reconstructed
		 WHERE excluded.time >= latest.time`: &s.latest,
		`SELECT seq, topic, payload FROM messages WHERE session = ? AND packet_id = ? AND packet_id <> 0 ORDER BY seq DESC LIMIT 1`: &s.packet,
	} {
		stmt, err := conn.PrepareContext(ctx, query)
		if err != nil {
			return err
		}
		*into = stmt
	}
	return nil
}

func (s *statements) close() {
	for _, stmt := range []*sql.Stmt{s.message, s.reading, s.refusal, s.latest, s.packet} {
		if stmt != nil {
			_ = stmt.Close()
		}
	}
}
