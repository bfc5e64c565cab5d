package journal

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"time"
)

// Cursor is how far a consumer has come; 0: it has not begun.
func (j *Journal) Cursor(ctx context.Context, name string) (int64, error) {
	var seq int64
	err := j.read.QueryRowContext(ctx, `SELECT seq FROM cursors WHERE name = ?`, name).Scan(&seq)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("journal: reading the cursor %q: %w", name, err)
	}
	return seq, nil
}

// SetCursor says that a consumer needs nothing up to seq any more. It also
// registers the consumer: Prune keeps what it has not taken. It waits for
// another process that holds the database.
func (j *Journal) SetCursor(ctx context.Context, name string, seq int64) error {
	return waiting(ctx, func() error {
		return j.urgently(ctx, "moving a cursor", func(ctx context.Context) error {
			_, err := j.conn.ExecContext(ctx, `INSERT INTO cursors (name, seq) VALUES (?, ?)
				ON CONFLICT (name) DO UPDATE SET seq = excluded.seq`, name, seq)
			return err
		})
	})
}

// DropCursor forgets a consumer that is no longer configured, so that Prune
// does not wait for it.
func (j *Journal) DropCursor(ctx context.Context, name string) error {
	return j.urgently(ctx, "dropping a cursor", func(ctx context.Context) error {
		_, err := j.conn.ExecContext(ctx, `DELETE FROM cursors WHERE name = ?`, name)
		return err
	})
}

// Checkpoint is a consumer's state after everything up to Seq. A Seq of 0 says
// that it rests on no message, and Prune does not wait for it.
type Checkpoint struct {
	Name string
	Seq  int64
	At   time.Time
	Blob []byte
}

func (c Checkpoint) sum() []byte {
	h := sha256.New()
	_ = binary.Write(h, binary.BigEndian, []int64{int64(len(c.Name)), c.Seq, c.At.UnixNano()})
	h.Write([]byte(c.Name))
	h.Write(c.Blob)
	return h.Sum(nil)
}

// kept is how many checkpoints of a name are kept, should the newest be
// damaged.
const kept = 2

func (j *Journal) putCheckpoint(ctx context.Context, c Checkpoint) error {
	if _, err := j.conn.ExecContext(ctx, `INSERT INTO checkpoints (name, seq, at, blob, sum) VALUES (?, ?, ?, ?, ?)`,
		c.Name, c.Seq, c.At.UnixNano(), payload(c.Blob), c.sum()); err != nil {
		return err
	}
	_, err := j.conn.ExecContext(ctx, `DELETE FROM checkpoints WHERE name = ?1 AND id NOT IN
		(SELECT id FROM checkpoints WHERE name = ?1 ORDER BY id DESC LIMIT ?2)`, c.Name, kept)
	return err
}

// Checkpoint gives the newest checkpoint of a name that is not damaged; false:
// there is none. A damaged one is logged.
func (j *Journal) Checkpoint(ctx context.Context, name string) (Checkpoint, bool, error) {
	type stored struct {
		Checkpoint
		sum []byte
	}
	all, err := collect(ctx, j.read, func(row scanner) (c stored, err error) {
		var at int64
		err = row.Scan(&c.Name, &c.Seq, &at, &c.Blob, &c.sum)
		c.At = instant(at)
		return c, err
	}, `SELECT name, seq, at, blob, sum FROM checkpoints WHERE name = ? ORDER BY id DESC`, name)
	if err != nil {
		return Checkpoint{}, false, fmt.Errorf("journal: reading the checkpoint %q: %w", name, err)
	}
	for _, c := range all {
		if bytes.Equal(c.sum, c.Checkpoint.sum()) {
			return c.Checkpoint, true, nil
		}
		j.log.Warn("a checkpoint is damaged and will not be used", "name", name, "seq", c.Seq, "at", c.At)
	}
	return Checkpoint{}, false, nil
}
