package daemon

import (
	"context"
	"encoding/json"
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
	aside      atomic.Pointer[[]alerts.Shelf]

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
	if err := write(); !passes(err) {
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

func (k *keeper) shelves() []alerts.Shelf {
	if aside := k.aside.Load(); aside != nil {
		return *aside
	}
	return nil
}

// resets counts how often a filter had to begin afresh.
func (k *keeper) resets() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.core.Resets()
}
