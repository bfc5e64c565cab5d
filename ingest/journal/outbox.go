package journal

import (
	"context"
	"fmt"
	"time"
)

// Owed is a message of the outbox that has not been sent.
type Owed struct {
	Message
	ID       int64
	Attempts int
	Reason   string // of the last failure
}

// Due gives up to limit messages that may be sent now, oldest first.
func (j *Journal) Due(ctx context.Context, now time.Time, limit int) ([]Owed, error) {
	list, err := collect(ctx, j.read, func(row scanner) (o Owed, err error) {
		var created, notBefore int64
		err = row.Scan(&o.ID, &o.Key, &o.Recipient, &o.Body, &created, &notBefore, &o.Attempts, &o.Reason)
		o.Created, o.NotBefore = instant(created), instant(notBefore)
		return o, err
	}, `SELECT id, key, recipient, body, created, not_before, attempts, reason FROM outbox
		WHERE sent_at IS NULL AND dropped_at IS NULL AND not_before <= ? ORDER BY id LIMIT ?`, now.UnixNano(), limit)
	if err != nil {
		return nil, fmt.Errorf("journal: reading the outbox: %w", err)
	}
	return list, nil
}

// MarkSent records that a message was delivered.
func (j *Journal) MarkSent(ctx context.Context, id int64, at time.Time) error {
	return j.mark(ctx, "recording a delivery", `UPDATE outbox SET attempts = attempts + 1, sent_at = ?
		WHERE id = ? AND sent_at IS NULL`, at.UnixNano(), id)
}

// MarkFailed records a failed attempt, and when the next may be made.
func (j *Journal) MarkFailed(ctx context.Context, id int64, reason string, notBefore time.Time) error {
	return j.mark(ctx, "recording a failed delivery", `UPDATE outbox SET attempts = attempts + 1, reason = ?, not_before = ?
		WHERE id = ? AND sent_at IS NULL`, reason, notBefore.UnixNano(), id)
}

// Drop gives a message up.
func (j *Journal) Drop(ctx context.Context, id int64, reason string, at time.Time) error {
	return j.mark(ctx, "dropping a message", `UPDATE outbox SET dropped_at = ?, reason = ?
		WHERE id = ? AND sent_at IS NULL`, at.UnixNano(), reason, id)
}

func (j *Journal) mark(ctx context.Context, op, query string, args ...any) error {
	return j.urgently(ctx, op, func(ctx context.Context) error {
		_, err := j.conn.ExecContext(ctx, query, args...)
		return err
	})
}
