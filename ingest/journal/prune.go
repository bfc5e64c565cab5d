package journal

import (
	"context"
	"fmt"
	"time"
)

// pruneStep is how many rows go in one transaction, so that messages that
// arrive meanwhile wait for milliseconds.
const pruneStep = 2000

// EstimatesCursor is the prefix of the names of cursors that count estimates
// and not messages.
const EstimatesCursor = "estimates/"

// Prune deletes what is older than before: messages with what was decoded from
// them, estimates, transitions, messages sent or dropped. It keeps whatever a
// cursor has not passed or a kept checkpoint does not stand for, a backlog
// that is not settled, and the newest message. It returns how many messages
// went, and waits for another process that holds the database. The file does not shrink; the space is used again.
func (j *Journal) Prune(ctx context.Context, before time.Time) (int64, error) {
	limit, err := j.pruneLimit(ctx, before)
	if err != nil {
		return 0, fmt.Errorf("journal: pruning: %w", err)
	}
	var total int64
	for {
		var n int64
		err := waiting(ctx, func() (err error) { n, err = j.pruneMessages(ctx, limit); return err })
		total += n
		if err != nil {
			return total, err
		}
		if n < pruneStep {
			return total, waiting(ctx, func() error { return j.pruneHistory(ctx, before) })
		}
	}
}

// pruneLimit is the first Seq that must stay.
func (j *Journal) pruneLimit(ctx context.Context, before time.Time) (int64, error) {
	old, err := j.before(ctx, before)
	if err != nil {
		return 0, err
	}
	var limit int64
	err = j.read.QueryRowContext(ctx, `SELECT min(
		?1 + 1,
		ifnull((SELECT max(seq) FROM messages), 0),
		ifnull((SELECT min(seq) FROM cursors WHERE name NOT LIKE ?2 || '%'), ?1) + 1,
		ifnull((SELECT min(seq) FROM checkpoints WHERE seq > 0), ?1) + 1,
		ifnull((SELECT min(first) FROM backlogs WHERE settled = 0), ?1 + 1))`, old, EstimatesCursor).Scan(&limit)
	return limit, err
}

func (j *Journal) pruneMessages(ctx context.Context, limit int64) (n int64, err error) {
	err = j.urgently(ctx, "pruning messages", func(ctx context.Context) error {
		var last int64
		err := j.conn.QueryRowContext(ctx, `SELECT ifnull(max(seq), 0) FROM
			(SELECT seq FROM messages WHERE seq < ? ORDER BY seq LIMIT ?)`, limit, pruneStep).Scan(&last)
		if err != nil {
			return err
		}
		for _, table := range []string{"readings", "refusals"} {
			if _, err := j.conn.ExecContext(ctx, `DELETE FROM `+table+` WHERE seq <= ?`, last); err != nil {
				return err
			}
		}
		if _, err := j.conn.ExecContext(ctx, `DELETE FROM backlogs WHERE first <= ? AND settled = 1`, last); err != nil {
			return err
		}
		result, err := j.conn.ExecContext(ctx, `DELETE FROM messages WHERE seq <= ?`, last)
		if err != nil {
			return err
		}
		n, err = result.RowsAffected()
		return err
	})
	return n, err
}

func (j *Journal) pruneHistory(ctx context.Context, before time.Time) error {
	at := before.UnixNano()
	return j.urgently(ctx, "pruning history", func(ctx context.Context) error {
		if _, err := j.conn.ExecContext(ctx, `DELETE FROM transitions WHERE time < ?`, at); err != nil {
			return err
		}
		if _, err := j.conn.ExecContext(ctx, `DELETE FROM outbox WHERE coalesce(sent_at, dropped_at) < ?`, at); err != nil {
			return err
		}
		_, err := j.conn.ExecContext(ctx, `DELETE FROM estimates WHERE at < ? AND seq <=
			ifnull((SELECT min(seq) FROM cursors WHERE name LIKE ? || '%'), 9223372036854775807)`, at, EstimatesCursor)
		return err
	})
}
