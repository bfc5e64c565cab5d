package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

const (
	// coreCheckpoint names the core's state in the journal.
	coreCheckpoint = "core"
	// checkpointEvery bounds what a restart has to go through again.
	checkpointEvery = 10 * time.Minute
)

// store is what a keeper needs of the journal.
type store interface {
	Commit(ctx context.Context, u journal.Update) error
}

// keeper drives the core and makes what it finds durable. It is the sink of
// the pipeline and the core's observer.
type keeper struct {
	store      store
	recipients []notify.Recipient
	told       func()                   // new deliveries are in the outbox
	found      func([]model.Transition) // for log, metrics and demo
	hourly     func(model.Snapshot)     // for demo
	log        *slog.Logger
	room       *room // nil, at the start: what finds no room is kept for the next commit
	snapshot   atomic.Pointer[model.Snapshot]
	open       atomic.Pointer[[]alerts.State]

	mu       sync.Mutex // guards all below
	core     *Core
	changes  []model.Transition
	tellings []notify.Telling // of the changes, of reminders and escalations
	hours    []journal.Estimate
	through  int64     // the journal's Seq that the core stands for
	saved    time.Time // the core's clock at the last checkpoint
	ahead    bool      // the core has taken records past through, in the midst of a backlog
}

// Changed implements Observer. The keeper's lock is held.
func (k *keeper) Changed(t []model.Transition) {
	k.changes = append(k.changes, t...)
	k.tellings = append(k.tellings, notify.Tell(t, k.core.Engine().Reach)...)
}

// Reminded implements Observer. The keeper's lock is held.
func (k *keeper) Reminded(t []model.Transition) {
	k.tellings = append(k.tellings, notify.Tell(t, k.core.Engine().Reach)...)
}

// Escalated implements EscalationObserver. The keeper's lock is held.
func (k *keeper) Escalated(due []alerts.Escalation) {
	k.tellings = append(k.tellings, notify.TellNext(due)...)
}

// Hour implements Observer. The keeper's lock is held.
func (k *keeper) Hour(s model.Snapshot) {
	for _, b := range s.Bags {
		k.keep(s.Time, "bag", b.Bag, bagRecord(b))
	}
	for _, r := range s.Reservoirs {
		k.keep(s.Time, "reservoir", r.Reservoir, reservoirRecord(r))
	}
	if k.hourly != nil {
		k.hourly(s)
	}
}

func (k *keeper) keep(at time.Time, kind, id string, record any) {
	body, err := json.Marshal(record)
	if err != nil {
		k.log.Error("estimate not kept", "kind", kind, "id", id, "err", err)
		return
	}
	k.hours = append(k.hours, journal.Estimate{At: at, Kind: kind, ID: id, Body: body})
}

// Accept implements ingest.Sink.
func (k *keeper) Accept(ctx context.Context, batch ingest.Batch) error {
	if something, err := k.apply(ctx, batch); err != nil || !something {
		return err
	}
	// The lock is not held from one try to the next: the page and the daemon's
	// own alerts go on.
	write := func() error {
		k.mu.Lock()
		defer k.mu.Unlock()
		return k.commit(ctx, batch.Through > 0)
	}
	if k.room != nil {
		return k.room.patiently(ctx, write)
	}
	if err := write(); !errors.Is(err, journal.ErrFull) {
		return err
	}
	return nil
}

// apply feeds the core, and says whether there is something to commit. The end
// of ctx cuts a long batch short; then the next start takes in the rest.
func (k *keeper) apply(ctx context.Context, batch ingest.Batch) (something bool, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, e := range batch.Events {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		k.core.Apply(e)
		k.ahead = k.ahead || e.Record != nil
	}
	if batch.Through > 0 {
		k.through, k.ahead = batch.Through, false
	}
	k.publish()
	due := k.core.Clock().Sub(k.saved) >= checkpointEvery && batch.Through > 0
	return due || len(k.changes)+len(k.tellings)+len(k.hours) > 0, nil
}

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
		out = append(out, journal.Message{Key: d.Key, Recipient: d.Recipient, Body: d.Body, Created: now, NotBefore: d.NotBefore})
	}
	return out
}

// publish lets readers see the newest state without the lock.
func (k *keeper) publish() {
	s := k.core.Snapshot()
	k.snapshot.Store(&s)
	open := k.core.Engine().Open()
	k.open.Store(&open)
}

// finish takes the last checkpoint. On a full disk the one before stands, and
// the next start goes through the journal from there.
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
	if err := k.commit(ctx, true); !errors.Is(err, journal.ErrFull) {
		return err
	}
	k.log.Warn("no room for the last checkpoint; the next start goes through the journal since the one before", "at", k.saved)
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

// latest is the newest snapshot; its Time is zero when there is none.
func (k *keeper) latest() model.Snapshot {
	if s := k.snapshot.Load(); s != nil {
		return *s
	}
	return model.Snapshot{}
}

func (k *keeper) alerts() []alerts.State {
	if open := k.open.Load(); open != nil {
		return *open
	}
	return nil
}

// resets counts how often a filter had to begin afresh.
func (k *keeper) resets() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.core.Resets()
}
