package journal

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// Stats describes a journal for metrics.
type Stats struct {
	Bytes        int64 // of the database and its write-ahead log
	FirstSeq     int64 // 0: empty
	LastSeq      int64
	FirstTime    time.Time // arrival of the first message
	LastTime     time.Time
	OutboxOwed   int64  // messages neither sent nor dropped
	OldestReason string // why the oldest of them could not be sent at the last attempt
}

// Stats reads a few rows and the sizes of the files.
func (j *Journal) Stats(ctx context.Context) (Stats, error) {
	var s Stats
	var first, last int64
	err := j.read.QueryRowContext(ctx, `SELECT
		ifnull((SELECT min(seq) FROM messages), 0),
		ifnull((SELECT max(seq) FROM messages), 0),
		ifnull((SELECT arrived FROM messages ORDER BY seq LIMIT 1), 0),
		ifnull((SELECT arrived FROM messages ORDER BY seq DESC LIMIT 1), 0),
		count(*), ifnull((SELECT reason FROM outbox
			WHERE sent_at IS NULL AND dropped_at IS NULL ORDER BY id LIMIT 1), '')
		FROM outbox WHERE sent_at IS NULL AND dropped_at IS NULL`).
		Scan(&s.FirstSeq, &s.LastSeq, &first, &last, &s.OutboxOwed, &s.OldestReason)
	if err != nil {
		return Stats{}, fmt.Errorf("journal: reading its state: %w", err)
	}
	if s.FirstSeq > 0 {
		s.FirstTime, s.LastTime = instant(first), instant(last)
	}
	for _, name := range []string{"journal.db", "journal.db-wal"} {
		if info, err := os.Stat(filepath.Join(j.dir, name)); err == nil {
			s.Bytes += info.Size()
		}
	}
	return s, nil
}

// Pending is what lies after a Seq: how many messages, and when the first of
// them arrived. It counts Seqs, so it is quick.
func (j *Journal) Pending(ctx context.Context, after int64) (n int64, since time.Time, err error) {
	var first, last, arrived int64
	err = j.read.QueryRowContext(ctx, `SELECT
		ifnull((SELECT seq FROM messages WHERE seq > ?1 ORDER BY seq LIMIT 1), 0),
		ifnull((SELECT arrived FROM messages WHERE seq > ?1 ORDER BY seq LIMIT 1), 0),
		ifnull((SELECT max(seq) FROM messages), 0)`, after).Scan(&first, &arrived, &last)
	if err != nil || first == 0 {
		return 0, time.Time{}, err
	}
	return last - first + 1, instant(arrived), nil
}

// PendingEstimates is Pending for the history of estimates and their Seqs.
func (j *Journal) PendingEstimates(ctx context.Context, after int64) (n int64, since time.Time, err error) {
	var at int64
	err = j.read.QueryRowContext(ctx, `SELECT count(*), ifnull(min(at), 0) FROM estimates WHERE seq > ?`, after).Scan(&n, &at)
	if err != nil || n == 0 {
		return 0, time.Time{}, err
	}
	return n, instant(at), nil
}
