package journal

import (
	"context"
	"fmt"
)

// Verify reads the whole database and says whether its pages hold together:
// ErrDamaged if not. It takes seconds for each 100 MB, and writers go on
// meanwhile.
func (j *Journal) Verify(ctx context.Context) error {
	var found string
	err := j.read.QueryRowContext(ctx, `PRAGMA quick_check(1)`).Scan(&found)
	if err != nil {
		return fmt.Errorf("journal: verifying the database: %w", explain(err))
	}
	if found != "ok" {
		return fmt.Errorf("journal: verifying the database: %s: %w", found, ErrDamaged)
	}
	return nil
}

// fold writes what the write-ahead log holds into the database. A damaged frame
// costs everything after it, so that the log is not left to grow to the size at
// which SQLite does so itself: on a small site that takes an hour. What goes
// wrong here is met again, and said, by the next write.
func (j *Journal) fold() {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.conn == nil || j.failed != nil || j.busy {
		return
	}
	_, _ = j.conn.ExecContext(context.Background(), `PRAGMA wal_checkpoint(PASSIVE)`)
}
