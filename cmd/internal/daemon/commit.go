package daemon

import (
	"context"
	"fmt"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/ingest/journal"
	"wickd/model"
)

// commit writes what has gathered, with a checkpoint unless the core stands in
// the midst of a backlog: what it has of that would be taken in twice.
func (k *keeper) commit(ctx context.Context, checkpoint bool) error {
	checkpoint = checkpoint && !k.ahead
	u := journal.Update{Transitions: k.changes, Estimates: k.hours}
	deliveries, err := notify.Plan(k.core.Clock(), k.tellings, k.recipients)
	if err != nil {
		return fmt.Errorf("plan deliveries: %w", err)
	}
	u.Outbox = owed(deliveries, k.core.Clock())
	if checkpoint {
		if u.Checkpoint, err = k.checkpoint(); err != nil {
			return err
		}
	}
	if err := k.store.Commit(ctx, u); err != nil {
		return fmt.Errorf("commit what the core found: %w", err)
	}
	if checkpoint {
		k.saved = k.core.Clock()
	}
	k.announce(len(u.Outbox) > 0)
	return nil
}

func (k *keeper) announce(deliveries bool) {
	if k.found != nil && len(k.changes) > 0 {
		k.found(k.changes)
	}
	if k.told != nil && deliveries {
		k.told()
	}
	k.changes, k.tellings, k.hours = nil, nil, nil
}

func (k *keeper) checkpoint() (*journal.Checkpoint, error) {
	blob, err := k.core.Save()
	if err != nil {
		return nil, fmt.Errorf("save the core's state: %w", err)
	}
	return &journal.Checkpoint{Name: coreCheckpoint, Seq: k.through, At: k.core.Clock(), Blob: blob}, nil
}

func owed(deliveries []notify.Delivery, now time.Time) []journal.Message {
	out := make([]journal.Message, 0, len(deliveries))
	for _, d := range deliveries {
		m := journal.Message{Key: d.Key, Recipient: d.Recipient, Body: d.Body, Created: now}
		if d.NotBefore.After(now) {
			m.NotBefore = d.NotBefore
		} // else at once: the core's clock may be ahead of the one that it is sent by
		out = append(out, m)
	}
	return out
}

// publish lets readers see the newest state without the lock. Before the first
// evaluation they go on seeing what was known before the start.
func (k *keeper) publish() {
	if s := k.core.Snapshot(); !s.Time.IsZero() {
		k.snapshot.Store(&s)
	}
	open := k.core.Engine().Open()
	k.open.Store(&open)
	aside := k.core.Engine().Shelves()
	k.aside.Store(&aside)
}

// finish takes the last checkpoint. Where the journal does not take it, the one
// before stands, and the next start goes through the journal from there.
func (k *keeper) finish(ctx context.Context) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.core.Clock().IsZero() {
		return nil
	}
	if k.ahead {
		k.log.Info("stopped in the midst of a backlog; the next start takes the rest in from the journal")
		return nil
	}
	err := k.commit(ctx, true)
	if !passes(err) {
		return err
	}
	k.log.Warn("the last checkpoint could not be written; the next start goes through the journal since the one before", "at", k.saved, "err", err)
	return nil
}

// act lets a person change the alerts' state.
func (k *keeper) act(ctx context.Context, do func(e *alerts.Engine) ([]model.Transition, error)) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	changes, err := do(k.core.Engine())
	if err != nil {
		return err
	}
	k.Changed(changes)
	k.publish()
	return k.commit(ctx, true)
}
