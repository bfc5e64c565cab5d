package daemon

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

// watchCheckpoint names the state of the daemon's own alerts in the journal.
const watchCheckpoint = "watch"

// watchEvery is how often the daemon looks at itself, unless it is told.
const watchEvery = 5 * time.Second

// watch decides the alerts about the daemon itself. They rest on the world
// outside the recording — is the broker there, is the database — so they have
// an engine of their own, apart from the core that a replay must reproduce.
type watch struct {
	store      store
	recipients []notify.Recipient
	told       func()
	found      func([]model.Transition)

	mu       sync.Mutex // guards all below
	engine   *alerts.Engine
	changes  []model.Transition // not committed yet
	tellings []notify.Telling   // of them, of reminders and escalations
}

// look takes one look at the daemon's health.
func (w *watch) look(ctx context.Context, now time.Time, h model.DaemonHealth) error {
	return w.change(ctx, now, false, func(e *alerts.Engine) ([]model.Transition, []notify.Telling, error) {
		changes := e.Step(now, model.Snapshot{Time: now, Daemon: h})
		due := notify.Tell(append(slices.Clone(changes), e.Remind(now)...), e.Reach)
		return changes, append(due, notify.TellNext(e.Escalate(now))...), nil
	})
}

// act changes the alerts' state as a person asks, and commits it: what is put aside
// beforehand changes no alert, and is to be kept all the same.
func (w *watch) act(ctx context.Context, now time.Time, do func(e *alerts.Engine) ([]model.Transition, error)) error {
	return w.change(ctx, now, true, func(e *alerts.Engine) ([]model.Transition, []notify.Telling, error) {
		changes, err := do(e)
		return changes, notify.Tell(changes, e.Reach), err
	})
}

func (w *watch) change(ctx context.Context, now time.Time, always bool, do func(e *alerts.Engine) ([]model.Transition, []notify.Telling, error)) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	changes, tellings, err := do(w.engine)
	if err != nil {
		return err
	}
	w.changes, w.tellings = append(w.changes, changes...), append(w.tellings, tellings...)
	if !always && len(w.changes)+len(w.tellings) == 0 {
		return nil
	}
	return w.commit(ctx, now)
}

// commit writes what has gathered. One that fails is made up for by the next.
func (w *watch) commit(ctx context.Context, now time.Time) error {
	deliveries, err := notify.Plan(now, w.tellings, w.recipients)
	if err != nil {
		return fmt.Errorf("plan deliveries: %w", err)
	}
	blob, err := w.engine.MarshalState()
	if err != nil {
		return err
	}
	u := journal.Update{
		Transitions: w.changes, Outbox: owed(deliveries, now),
		Checkpoint: &journal.Checkpoint{Name: watchCheckpoint, At: now, Blob: blob},
		Urgent:     true, // that the disk is full, for one
	}
	if err := w.store.Commit(ctx, u); err != nil {
		return fmt.Errorf("commit the daemon's alerts: %w", err)
	}
	w.changes, w.tellings = nil, nil
	if len(u.Transitions) > 0 {
		w.found(u.Transitions)
	}
	if len(u.Outbox) > 0 {
		w.told()
	}
	return nil
}

func (w *watch) open() []alerts.State {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.engine.Open()
}

func (w *watch) shelves() []alerts.Shelf {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.engine.Shelves()
}

// clockSlack is how far the wall clock may be behind the stamps before it
// counts as wrong: a time server steps a clock by less.
const clockSlack = 10 * time.Second

// clockSet is before any day on which this program can run: a clock before it
// has never been set.
var clockSet = time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)

// clockHealth says what is wrong with the clock, if anything.
func clockHealth(now time.Time, s ingest.Stats) (evidence string, wrong bool) {
	switch {
	case now.Before(clockSet):
		return fmt.Sprintf("it says %s, which is long past", now.UTC().Format(time.DateOnly)), true
	case s.ClockBehind > clockSlack:
		return fmt.Sprintf("it was set back by %s; wickd counts on from the time before, a little slower, until the clock has caught up", s.ClockBehind.Round(time.Second)), true
	}
	return "", false
}
