package journal

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"wickd/ingest"
	"wickd/model"
)

// settledOnly keeps away the rows of a backlog that is still arriving.
const settledOnly = `seq < (SELECT ifnull(min(first), 9223372036854775807) FROM backlogs WHERE settled = 0)`

// Read gives up to limit rows after a Seq, by Seq, with what was decoded from
// them; none: there are no more. It stops before a backlog that is not
// settled.
func (j *Journal) Read(ctx context.Context, after int64, limit int) ([]ingest.Record, error) {
	return j.records(ctx, "reading messages",
		`SELECT `+messageColumns+` FROM messages WHERE seq > ? AND `+settledOnly+` ORDER BY seq LIMIT ?`, after, limit)
}

// Unsettled gives the rows of the backlog that is not settled, by Seq.
func (j *Journal) Unsettled(ctx context.Context) ([]ingest.Record, error) {
	return j.records(ctx, "reading a backlog",
		`SELECT `+messageColumns+` FROM messages WHERE seq >= (SELECT min(first) FROM backlogs WHERE settled = 0) ORDER BY seq`)
}

// Fetch gives the rows with these Seqs, in this order. All must be there.
func (j *Journal) Fetch(ctx context.Context, seqs []int64) ([]ingest.Record, error) {
	if len(seqs) == 0 {
		return nil, nil
	}
	const op = "reading messages"
	stmt, err := j.read.PrepareContext(ctx, `SELECT `+messageColumns+` FROM messages WHERE seq = ?`)
	if err != nil {
		return nil, fmt.Errorf("journal: %s: %w", op, err)
	}
	defer stmt.Close()
	records := make([]ingest.Record, len(seqs))
	for i, seq := range seqs {
		if records[i], err = scanMessage(stmt.QueryRowContext(ctx, seq)); err != nil {
			return nil, fmt.Errorf("journal: %s: row %d: %w", op, seq, err)
		}
	}
	if err := j.attach(ctx, records); err != nil {
		return nil, fmt.Errorf("journal: %s: %w", op, err)
	}
	return records, nil
}

// records runs a query of messageColumns and attaches readings and refusals.
func (j *Journal) records(ctx context.Context, op, query string, args ...any) ([]ingest.Record, error) {
	records, err := collect(ctx, j.read, scanMessage, query, args...)
	if err == nil {
		err = j.attach(ctx, records)
	}
	if err != nil {
		return nil, fmt.Errorf("journal: %s: %w", op, err)
	}
	return records, nil
}

// attach reads what was decoded from the records, in two queries.
func (j *Journal) attach(ctx context.Context, records []ingest.Record) error {
	if len(records) == 0 {
		return nil
	}
	index := make(map[int64]int, len(records))
	first, last := records[0].Seq, records[0].Seq
	for i, r := range records {
		index[r.Seq] = i
		first, last = min(first, r.Seq), max(last, r.Seq)
	}
	// The rows asked for may lie far apart, in a backlog: then one by one.
	spans := [][2]int64{{first, last}}
	if last-first > 4*int64(len(records)) {
		spans = spans[:0]
		for _, r := range records {
			spans = append(spans, [2]int64{r.Seq, r.Seq})
		}
	}
	for _, span := range spans {
		if err := j.attachSpan(ctx, records, index, span[0], span[1]); err != nil {
			return err
		}
	}
	return nil
}

func (j *Journal) attachSpan(ctx context.Context, records []ingest.Record, index map[int64]int, first, last int64) error {
	readings, err := collect(ctx, j.read, scanReading,
		`SELECT seq, sensor, time, value, verdict, reconstructed FROM readings WHERE seq BETWEEN ? AND ? ORDER BY seq, n`, first, last)
	if err != nil {
		return err
	}
	for _, r := range readings {
		if i, ok := index[r.seq]; ok {
			records[i].Readings = append(records[i].Readings, r.Reading)
		}
	}
	refusals, err := collect(ctx, j.read, scanRefusal,
		`SELECT seq, sensor, reason, detail FROM refusals WHERE seq BETWEEN ? AND ? ORDER BY seq, n`, first, last)
	if err != nil {
		return err
	}
	for _, r := range refusals {
		if i, ok := index[r.seq]; ok {
			records[i].Refusals = append(records[i].Refusals, r.Refusal)
		}
	}
	return nil
}

// Last is the newest row, settled or not; 0 and the zero time: there is none.
func (j *Journal) Last(ctx context.Context) (seq int64, arrived time.Time, err error) {
	var ns int64
	err = j.read.QueryRowContext(ctx, `SELECT seq, arrived FROM messages ORDER BY seq DESC LIMIT 1`).Scan(&seq, &ns)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, time.Time{}, nil
	case err != nil:
		return 0, time.Time{}, fmt.Errorf("journal: reading the newest message: %w", explain(err))
	}
	return seq, instant(ns), nil
}

// LastReadings gives the last good reading of each sensor, by sensor.
func (j *Journal) LastReadings(ctx context.Context) ([]model.Reading, error) {
	last, err := collect(ctx, j.read, func(row scanner) (r model.Reading, err error) {
		var at int64
		err = row.Scan(&r.Sensor, &at, &r.Value, &r.Reconstructed)
		r.Time, r.Verdict = instant(at), model.Good
		return r, err
	}, `SELECT sensor, time, value, reconstructed FROM latest`)
	if err != nil {
		return nil, fmt.Errorf("journal: reading the last readings: %w", err)
	}
	slices.SortFunc(last, func(a, b model.Reading) int { return cmp.Compare(a.Sensor, b.Sensor) })
	return last, nil
}
