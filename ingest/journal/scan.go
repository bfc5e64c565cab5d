package journal

import (
	"context"
	"database/sql"
	"fmt"
	"math"

	"wickd/ingest"
	"wickd/model"
)

const messageColumns = `seq, arrived, taken, topic, payload, qos, packet_id, session, duplicate, retained, gaps, backlog, place`

type scanner interface{ Scan(...any) error }

func scanMessage(row scanner) (ingest.Record, error) {
	var r ingest.Record
	var arrived int64
	var taken sql.NullInt64
	var gaps sql.NullString
	m := &r.Message
	err := row.Scan(&r.Seq, &arrived, &taken, &m.Topic, &m.Payload, &m.QoS, &m.PacketID, &m.Session,
		&m.Duplicate, &m.Retained, &gaps, &r.Backlog, &r.Place)
	if err != nil {
		return ingest.Record{}, err
	}
	m.Arrived = instant(arrived)
	if taken.Valid {
		m.Taken = instant(taken.Int64)
	}
	r.Gaps, err = scanGaps(gaps)
	return r, err
}

// collect scans all rows of a query.
func collect[T any](ctx context.Context, db *sql.DB, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, explain(err)
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := scan(rows)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil { // nothing was written that cannot be read
			return nil, fmt.Errorf("%w: %w", err, ErrDamaged)
		}
		out = append(out, v)
	}
	return out, explain(rows.Err())
}

type readingRow struct {
	seq int64
	model.Reading
}

func scanReading(row scanner) (r readingRow, err error) {
	var at int64
	var value sql.NullFloat64
	err = row.Scan(&r.seq, &r.Sensor, &at, &value, &r.Verdict, &r.Reconstructed)
	r.Time, r.Value = instant(at), value.Float64
	if !value.Valid {
		r.Value = math.NaN()
	}
	return r, err
}

type refusalRow struct {
	seq int64
	ingest.Refusal
}

func scanRefusal(row scanner) (r refusalRow, err error) {
	err = row.Scan(&r.seq, &r.Sensor, &r.Reason, &r.Detail)
	return r, err
}
