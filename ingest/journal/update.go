package journal

import (
	"context"
	"encoding/json"
	"time"

	"wickd/model"
)

// Update is what a step of the core leaves behind, committed as one: an alert
// is never raised without its message being owed, nor is a checkpoint taken
// of a state whose alerts were not recorded.
type Update struct {
	Checkpoint  *Checkpoint
	Transitions []model.Transition
	Estimates   []Estimate
	Outbox      []Message
	// Urgent says that it must be written on a full disk too: that it is full.
	Urgent bool
}

// Estimate is one row of the history of estimates. Seq is given by the
// journal.
type Estimate struct {
	Seq  int64
	At   time.Time
	Kind string // "bag", "reservoir"
	ID   string
	Body []byte // JSON
}

// Message is something owed to a recipient. A Key that is already there, sent
// or not, makes the message a repetition: it is left out, so that the same
// step taken again after a crash notifies nobody twice.
type Message struct {
	Key       string
	Recipient string
	Body      []byte
	Created   time.Time
	NotBefore time.Time // zero: at once
}

// Commit makes an Update durable in one transaction. Transitions, estimates
// and messages that are already there are left as they are.
func (j *Journal) Commit(ctx context.Context, u Update) error {
	write := j.transact
	if u.Urgent {
		write = j.urgently
	}
	if u.Checkpoint != nil && u.Checkpoint.Seq > 0 {
		defer j.fold()
	}
	return write(ctx, "committing a step", func(ctx context.Context) error {
		for _, t := range u.Transitions {
			if err := j.putTransition(ctx, t); err != nil {
				return err
			}
		}
		for _, e := range u.Estimates {
			if _, err := j.conn.ExecContext(ctx, `INSERT INTO estimates (at, kind, id, body) VALUES (?, ?, ?, ?)
				ON CONFLICT DO NOTHING`, e.At.UnixNano(), e.Kind, e.ID, payload(e.Body)); err != nil {
				return err
			}
		}
		for _, m := range u.Outbox {
			if err := j.putMessage(ctx, m); err != nil {
				return err
			}
		}
		if u.Checkpoint != nil {
			return j.putCheckpoint(ctx, *u.Checkpoint)
		}
		return nil
	})
}

func (j *Journal) putTransition(ctx context.Context, t model.Transition) error {
	body, err := json.Marshal(t)
	if err != nil {
		return err
	}
	_, err = j.conn.ExecContext(ctx, `INSERT INTO transitions (time, occurrence, condition, subject, kind, body)
		VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		t.Time.UnixNano(), t.Occurrence, string(t.Condition), string(t.Subject), string(t.Kind), body)
	return err
}

func (j *Journal) putMessage(ctx context.Context, m Message) error {
	var notBefore int64 // at once, whatever the clock says that it is set to later
	if !m.NotBefore.IsZero() {
		notBefore = m.NotBefore.UnixNano()
	}
	_, err := j.conn.ExecContext(ctx, `INSERT INTO outbox (key, recipient, body, created, not_before)
		VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		m.Key, m.Recipient, payload(m.Body), m.Created.UnixNano(), notBefore)
	return err
}
