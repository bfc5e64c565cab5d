package journal

import (
	"context"
	"fmt"
	"time"
)

// Owing is what the outbox owes to one recipient.
type Owing struct {
	Recipient string
	Messages  int64     // neither sent nor dropped
	Failed    int64     // of these, tried at least once
	Since     time.Time // when the oldest that was tried was created; zero: none was
	Reason    string    // why the newest that was tried could not be sent
}

// Owing lists the recipients to whom something is owed, by name.
func (j *Journal) Owing(ctx context.Context) ([]Owing, error) {
	list, err := collect(ctx, j.read, func(row scanner) (o Owing, err error) {
		var since int64
		err = row.Scan(&o.Recipient, &o.Messages, &o.Failed, &since, &o.Reason)
		if o.Failed > 0 {
			o.Since = instant(since)
		}
		return o, err
	}, `SELECT recipient, count(*), sum(attempts > 0), ifnull(min(CASE WHEN attempts > 0 THEN created END), 0),
		ifnull((SELECT reason FROM outbox AS tried WHERE tried.recipient = outbox.recipient AND attempts > 0
			AND sent_at IS NULL AND dropped_at IS NULL ORDER BY id DESC LIMIT 1), '')
		FROM outbox WHERE sent_at IS NULL AND dropped_at IS NULL GROUP BY recipient ORDER BY recipient`)
	if err != nil {
		return nil, fmt.Errorf("journal: reading what the outbox owes: %w", err)
	}
	return list, nil
}
