package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

// roomAgain is how often a write is tried again on a full disk.
const roomAgain = time.Second

// room knows whether the journal's disk is full. While it is, nothing is
// acknowledged and the model stands still, as if nobody listened; what is held
// up goes on when there is room, without a restart.
type room struct {
	look   func(ctx context.Context) error // journal.ErrFull: there is none
	clock  func() time.Time
	log    *slog.Logger
	dir    string
	again  time.Duration
	filled func(full bool) // told when it changes

	mu    sync.Mutex // guards all below
	since time.Time  // zero: there is room
	held  int        // writes that wait
}

// patiently repeats a write for as long as the disk is full and ctx lasts.
func (r *room) patiently(ctx context.Context, write func() error) error {
	err := write()
	if !errors.Is(err, journal.ErrFull) {
		return err
	}
	r.hold(1)
	defer r.hold(-1)
	for errors.Is(err, journal.ErrFull) {
		r.full(err)
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(r.again):
		}
		err = write()
	}
	return err
}

func (r *room) hold(n int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.held += n
}

// full notes that the disk is full, and says so once.
func (r *room) full(err error) {
	now := r.clock()
	r.mu.Lock()
	fresh := r.since.IsZero()
	if fresh {
		r.since = now
	}
	r.mu.Unlock()
	if fresh {
		r.log.Error("the disk is full: messages are neither kept nor acknowledged until there is room; free some space",
			"data", r.dir, "err", err)
		r.filled(true)
	}
}

// check looks whether the disk is full, and whether it has room again. Only
// when nothing waits any more, for what waits is the better test.
func (r *room) check(ctx context.Context) {
	err := r.look(ctx)
	if errors.Is(err, journal.ErrFull) {
		r.full(err)
		return
	}
	r.mu.Lock()
	freed := err == nil && !r.since.IsZero() && r.held == 0
	if freed {
		r.since = time.Time{}
	}
	r.mu.Unlock()
	if freed {
		r.log.Info("the disk has room again: messages are kept and acknowledged", "data", r.dir)
		r.filled(false)
	}
}

// wanted says what is wrong; nil: there is room.
func (r *room) wanted() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.since.IsZero() {
		return nil
	}
	return fmt.Errorf("the disk that holds %s is full since %s; free some space, and wickd goes on by itself: %w",
		r.dir, r.since.UTC().Format(time.RFC3339), journal.ErrFull)
}

// patient is the journal as the pipeline sees it: on a full disk it waits.
type patient struct {
	timed
	room *room
}

var _ ingest.Journal = patient{}

// Append implements ingest.Journal.
func (p patient) Append(ctx context.Context, entries []ingest.Entry) (appended []ingest.Appended, err error) {
	err = p.room.patiently(ctx, func() error {
		appended, err = p.timed.Append(ctx, entries)
		return err
	})
	return appended, err
}

// Settle implements ingest.Journal. A decoder remembers what it has seen, so
// that each message is decoded once, however often the write is tried.
func (p patient) Settle(ctx context.Context, backlog int64, places []ingest.Placement, decode func(ingest.Message) ([]model.Reading, []ingest.Refusal)) error {
	type decoded struct {
		readings []model.Reading
		refusals []ingest.Refusal
	}
	var done []decoded
	return p.room.patiently(ctx, func() error {
		next := 0
		return p.timed.Settle(ctx, backlog, places, func(m ingest.Message) ([]model.Reading, []ingest.Refusal) {
			if next == len(done) {
				readings, refusals := decode(m)
				done = append(done, decoded{readings, refusals})
			}
			next++
			return done[next-1].readings, done[next-1].refusals
		})
	})
}
