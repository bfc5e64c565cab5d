package daemon

import (
	"context"

	"wickd/alerts/notify"
	"wickd/ingest/journal"
)

// notifierCheckpoint names what the notifier remembers in the journal. It rests
// on no message.
const notifierCheckpoint = "notifier"

// memory is the journal as the notifier's memory.
type memory struct{ j *journal.Journal }

var _ notify.Memory = memory{}

// Recall implements notify.Memory.
func (m memory) Recall(ctx context.Context) ([]byte, error) {
	c, _, err := m.j.Checkpoint(ctx, notifierCheckpoint)
	return c.Blob, err
}

// Remember implements notify.Memory.
func (m memory) Remember(ctx context.Context, data []byte) error {
	return m.j.Commit(ctx, journal.Update{Checkpoint: &journal.Checkpoint{Name: notifierCheckpoint, Blob: data}, Urgent: true})
}
