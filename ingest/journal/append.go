package journal

import (
	"bytes"
	"context"
	"math"
	"time"

	"wickd/ingest"
	"wickd/model"
)

var _ ingest.Journal = (*Journal)(nil)

// Append commits all entries in one transaction, and says what became of each.
// An entry that is a redelivery adds no row. On error nothing was added.
func (j *Journal) Append(ctx context.Context, entries []ingest.Entry) ([]ingest.Appended, error) {
	appended := make([]ingest.Appended, len(entries))
	var next, open int64
	err := j.transact(ctx, "appending messages", func(ctx context.Context) error {
		next, open = j.next, j.open
		best := newest{}
		for i, e := range entries {
			seq, again, err := j.redelivery(ctx, e.Message)
			if err != nil {
				return err
			}
			if again {
				appended[i] = ingest.Appended{Seq: seq, Duplicate: true}
				continue
			}
			if e.Held && open == 0 {
				open = next
				if err := j.openBacklog(ctx, open); err != nil {
					return err
				}
			}
			appended[i] = ingest.Appended{Seq: next}
			if e.Held {
				appended[i].Backlog = open
			}
			if err := j.insert(ctx, appended[i], e, best); err != nil {
				return err
			}
			next++
		}
		return j.keepLatest(ctx, best)
	}, func() {
		if next > j.next {
			j.tail.set(mark{Seq: next - 1, Arrived: entries[len(entries)-1].Message.Arrived.UnixNano()})
		}
		j.next, j.open = next, open
	})
	if err != nil {
		return nil, err
	}
	return appended, nil
}

func (j *Journal) openBacklog(ctx context.Context, first int64) error {
	_, err := j.conn.ExecContext(ctx, `INSERT INTO backlogs (first, settled) VALUES (?, 0)`, first)
	return err
}

func (j *Journal) insert(ctx context.Context, a ingest.Appended, e ingest.Entry, best newest) error {
	m := e.Message
	if _, err := j.stmts.message.ExecContext(ctx, a.Seq, m.Arrived.UnixNano(), m.Topic, payload(m.Payload),
		m.QoS, m.PacketID, m.Session, m.Duplicate, m.Retained, gapColumn(e.Gaps), a.Backlog); err != nil {
		return err
	}
	return j.insertDecoded(ctx, a.Seq, e.Readings, e.Refusals, best)
}

// payload is never NULL in the database.
func payload(p []byte) []byte {
	if p == nil {
		return []byte{}
	}
	return p
}

func (j *Journal) insertDecoded(ctx context.Context, seq int64, readings []model.Reading, refusals []ingest.Refusal, best newest) error {
	for n, r := range readings {
		var value any
		if !math.IsNaN(r.Value) {
			value = r.Value
		}
		if _, err := j.stmts.reading.ExecContext(ctx, seq, n, string(r.Sensor), r.Time.UnixNano(), value, string(r.Verdict), r.Reconstructed); err != nil {
			return err
		}
		best.take(r)
	}
	for n, r := range refusals {
		if _, err := j.stmts.refusal.ExecContext(ctx, seq, n, string(r.Sensor), string(r.Reason), r.Detail); err != nil {
			return err
		}
	}
	return nil
}

// newest is the last good reading of each sensor in one transaction: one row
// of "latest" is written for each, not one for each reading.
type newest map[model.Subject]model.Reading

func (n newest) take(r model.Reading) {
	if r.Verdict != model.Good || math.IsNaN(r.Value) {
		return
	}
	if old, ok := n[r.Sensor]; !ok || !r.Time.Before(old.Time) {
		n[r.Sensor] = r
	}
}

func (j *Journal) keepLatest(ctx context.Context, best newest) error {
	for _, r := range best {
		if _, err := j.stmts.latest.ExecContext(ctx, string(r.Sensor), r.Time.UnixNano(), r.Value, r.Reconstructed); err != nil {
			return err
		}
	}
	return nil
}

// same says whether two deliveries carry the same message.
func same(topic string, payload []byte, m ingest.Message) bool {
	return topic == m.Topic && bytes.Equal(payload, m.Payload)
}

// instant turns a column into a time in UTC.
func instant(ns int64) time.Time { return time.Unix(0, ns).UTC() }
