package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"wickd/ingest"
)

// redelivery says whether a message is already journalled, and as which row.
//
// A packet id may be used for another message only after the acknowledgement
// of the one before has reached the sender [MQTT-2.2.1-3 in 3.1.1: an id that
// is not in use]. A delivery with DUP and id p is therefore either
//
//   - the message of our newest row with p, committed, whose ack was lost:
//     topic and payload are equal; or
//   - a message that came after that row's ack had reached the sender, was
//     delivered once and lost with us before its commit: the sender cannot
//     know that nothing of it is on disk.
//
// Topic and payload tell the two apart, unless a message of the second kind
// happens to equal the one before with its id. Brokers that count ids up come
// back to an id after 65,535 messages; one that always takes the lowest free
// id may repeat at once, and then one of two equal values in a row is lost if
// the crash hit between its delivery and its commit: a few milliseconds.
//
// A message without DUP is never a redelivery, whatever its id: equal values
// sent a moment apart are two readings, and after a new session ids start
// again. A row of an older use of the id is never looked at, only the newest.
func (j *Journal) redelivery(ctx context.Context, m ingest.Message) (seq int64, again bool, err error) {
	if !m.Duplicate || m.PacketID == 0 {
		return 0, false, nil
	}
	var topic string
	var body []byte
	err = j.stmts.packet.QueryRowContext(ctx, m.Session, m.PacketID).Scan(&seq, &topic, &body)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, false, nil
	case err != nil:
		return 0, false, err
	}
	return seq, same(topic, body, m), nil
}

// Redelivered says which messages Append would find to be redeliveries.
func (j *Journal) Redelivered(ctx context.Context, messages []ingest.Message) ([]bool, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.conn == nil {
		return nil, ErrReadOnly
	}
	type packet struct {
		session string
		id      uint16
	}
	newer := map[packet]ingest.Message{} // earlier in the slice, so newer than any row
	again := make([]bool, len(messages))
	for i, m := range messages {
		key := packet{m.Session, m.PacketID}
		if before, ok := newer[key]; ok {
			again[i] = m.Duplicate && m.PacketID != 0 && same(before.Topic, before.Payload, m)
		} else {
			var err error
			if _, again[i], err = j.redelivery(ctx, m); err != nil {
				return nil, fmt.Errorf("journal: looking for a redelivery: %w", err)
			}
		}
		newer[key] = m
	}
	return again, nil
}
