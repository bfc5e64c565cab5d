package journal

import (
	"context"
	"fmt"
	"sort"
	"time"

	"wickd/ingest"
)

// page is how many rows Each reads at a time: a long query would keep the
// daemon from recycling the write-ahead log.
const page = 1000

// Each calls fn with every message that arrived in [from, to), by Seq, without
// readings; a zero from or to leaves that side open. Rows of a backlog that is
// not settled come too, without places. An error of fn ends it and is
// returned as it is.
func (j *Journal) Each(ctx context.Context, from, to time.Time, fn func(ingest.Record) error) error {
	after, err := j.before(ctx, from)
	if err != nil {
		return fmt.Errorf("journal: looking for %s: %w", from.Format(time.RFC3339), err)
	}
	for {
		records, err := collect(ctx, j.read, scanMessage,
			`SELECT `+messageColumns+` FROM messages WHERE seq > ? ORDER BY seq LIMIT ?`, after, page)
		if err != nil {
			return fmt.Errorf("journal: reading messages: %w", err)
		}
		if len(records) == 0 {
			return nil
		}
		for _, r := range records {
			if !to.IsZero() && !r.Message.Arrived.Before(to) {
				return nil
			}
			if err := fn(r); err != nil {
				return err
			}
			after = r.Seq
		}
	}
}

// before is the Seq before the first row that arrived at t or later. Arrivals
// rise with Seq, so bisection does without an index on them, which would cost
// a write for each message.
func (j *Journal) before(ctx context.Context, t time.Time) (int64, error) {
	if t.IsZero() {
		return 0, nil
	}
	var first, last int64
	if err := j.read.QueryRowContext(ctx, `SELECT ifnull(min(seq), 1), ifnull(max(seq), 0) FROM messages`).Scan(&first, &last); err != nil {
		return 0, err
	}
	var failed error
	n := sort.Search(int(last-first+1), func(i int) bool {
		var arrived int64
		err := j.read.QueryRowContext(ctx, `SELECT arrived FROM messages WHERE seq >= ? ORDER BY seq LIMIT 1`, first+int64(i)).Scan(&arrived)
		if err != nil {
			failed = err
		}
		return arrived >= t.UnixNano()
	})
	return first + int64(n) - 1, failed
}
