package journal

import (
	"context"
	"fmt"

	"wickd/ingest"
	"wickd/model"
)

// Settle gives the rows of a backlog their places, the times they were laid
// out at and their readings, in one transaction. decode is called for each in
// the order of places.
func (j *Journal) Settle(ctx context.Context, backlog int64, places []ingest.Placement, decode func(ingest.Message) ([]model.Reading, []ingest.Refusal)) error {
	return j.transact(ctx, "settling a backlog", func(ctx context.Context) error {
		update, err := j.conn.PrepareContext(ctx, `UPDATE messages SET taken = ?, place = ? WHERE seq = ? AND backlog = ?`)
		if err != nil {
			return err
		}
		defer update.Close()
		best := newest{}
		for i, place := range places {
			var taken any
			if !place.Taken.IsZero() {
				taken = place.Taken.UnixNano()
			}
			result, err := update.ExecContext(ctx, taken, i+1, place.Seq, backlog)
			if err != nil {
				return err
			}
			if n, err := result.RowsAffected(); err != nil || n != 1 {
				return fmt.Errorf("row %d is not in backlog %d", place.Seq, backlog)
			}
			if err := j.settleRow(ctx, place.Seq, decode, best); err != nil {
				return err
			}
		}
		if err := j.keepLatest(ctx, best); err != nil {
			return err
		}
		return j.markSettled(ctx, backlog, len(places))
	}, func() { j.open = 0 })
}

func (j *Journal) settleRow(ctx context.Context, seq int64, decode func(ingest.Message) ([]model.Reading, []ingest.Refusal), best newest) error {
	row, err := scanMessage(j.conn.QueryRowContext(ctx, `SELECT `+messageColumns+` FROM messages WHERE seq = ?`, seq))
	if err != nil {
		return err
	}
	readings, refusals := decode(row.Message)
	return j.insertDecoded(ctx, seq, readings, refusals, best)
}

// markSettled refuses to leave rows of the backlog without a place: they
// would never be handed on.
func (j *Journal) markSettled(ctx context.Context, backlog int64, placed int) error {
	var rows int
	if err := j.conn.QueryRowContext(ctx, `SELECT count(*) FROM messages WHERE seq >= ? AND backlog = ?`, backlog, backlog).Scan(&rows); err != nil {
		return err
	}
	if rows != placed {
		return fmt.Errorf("backlog %d has %d rows, %d were placed", backlog, rows, placed)
	}
	_, err := j.conn.ExecContext(ctx, `UPDATE backlogs SET settled = 1 WHERE first = ?`, backlog)
	return err
}
