package daemon

import (
	"context"

	"wickd/alerts/notify"
	"wickd/alerts/notify/alertmanager"
	"wickd/ingest/journal"
)

// The names of what is remembered in the journal: by the notifier, and by what
// hands alerts to an Alertmanager. Neither rests on a message.
const (
	notifierCheckpoint = "notifier"
	managerCheckpoint  = "alertmanager"
)

// memory is the journal as the memory of one of them.
type memory struct {
	j    *journal.Journal
	name string
}

var (
	_ notify.Memory       = memory{}
	_ alertmanager.Memory = memory{}
)

// Recall implements notify.Memory.
func (m memory) Recall(ctx context.Context) ([]byte, error) {
	c, _, err := m.j.Checkpoint(ctx, m.name)
	return c.Blob, err
}

// Remember implements notify.Memory.
func (m memory) Remember(ctx context.Context, data []byte) error {
	return m.j.Commit(ctx, journal.Update{Checkpoint: &journal.Checkpoint{Name: m.name, Blob: data}, Urgent: true})
}
