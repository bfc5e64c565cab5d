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

const (
	// roomAgain is how often a write that cannot be made is tried again.
	roomAgain = time.Second
	// busyTries are how often it is tried, while another process holds the
	// database, before somebody hears of it: a few seconds, in which that process
	// may just be writing something of its own.
	busyTries = 4
)

// room knows whether the journal takes what is written: the disk may be full,
// or another process may hold the database. While it does not, nothing is
// acknowledged and the model stands still, as if nobody listened; what is held
// up goes on when it can, without a restart.
type room struct {
	look   func(ctx context.Context) error // an error that passes says that it still does not
	clock  func() time.Time                // in the zone that people read
	log    *slog.Logger
	dir    string
	again  time.Duration
	filled func(why error) // told when it changes; nil: the journal takes things again
	ending chan struct{}   // closed by giveUp; nil: never

	mu    sync.Mutex // guards all below
	since time.Time  // zero: there is room
	cause error      // why there is none
	held  int        // writes that wait
}

// passes says that an error of the journal is over some day, by itself or by
// somebody's doing, and that nothing is in doubt after it.
func passes(err error) bool {
	return errors.Is(err, journal.ErrFull) || errors.Is(err, journal.ErrBusy)
}

// patiently repeats a write for as long as the journal does not take it, ctx
// lasts and nobody gives up.
func (r *room) patiently(ctx context.Context, write func() error) error {
	err := write()
	if !passes(err) {
		return err
	}
	r.hold(1)
	defer r.hold(-1)
	for tries := 1; passes(err); tries++ {
		if tries >= busyTries || !errors.Is(err, journal.ErrBusy) {
			r.full(err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-r.ending:
			return context.Canceled
		case <-time.After(r.again):
		}
		err = write()
	}
	return err
}

// giveUp ends all waiting: what was not written is not acknowledged, and comes
// again. Call it once.
func (r *room) giveUp(context.Context) error {
	close(r.ending)
	return nil
}

func (r *room) hold(n int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.held += n
}

// full notes that the journal takes nothing, and says so once.
func (r *room) full(err error) {
	now := r.clock()
	r.mu.Lock()
	fresh := r.since.IsZero()
	if fresh {
		r.since, r.cause = now, err
	}
	r.mu.Unlock()
	if !fresh {
		return
	}
	if errors.Is(err, journal.ErrBusy) {
		r.log.Error("another process holds the journal's database: messages are neither kept nor acknowledged until it lets go; end what it does there",
			"data", r.dir, "err", err)
	} else {
		r.log.Error("the disk is full: messages are neither kept nor acknowledged until there is room; free some space",
			"data", r.dir, "err", err)
	}
	r.filled(err)
}

// check looks whether the disk is full, and whether the journal takes things
// again. Only when nothing waits any more, for what waits is the better test.
func (r *room) check(ctx context.Context) {
	err := r.look(ctx)
	if errors.Is(err, journal.ErrFull) {
		r.full(err)
		return
	}
	r.mu.Lock()
	freed := err == nil && !r.since.IsZero() && r.held == 0
	now := "the disk has room again"
	if errors.Is(r.cause, journal.ErrBusy) {
		now = "the journal's database is free again"
	}
	if freed {
		r.since, r.cause = time.Time{}, nil
	}
	r.mu.Unlock()
	if freed {
		r.log.Info(now+": messages are kept and acknowledged", "data", r.dir)
		r.filled(nil)
	}
}

// wanted says what is wrong; nil: the journal takes things.
func (r *room) wanted() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	since := r.since.Format(moment)
	switch {
	case r.since.IsZero():
		return nil
	case errors.Is(r.cause, journal.ErrBusy):
		return stalled{fmt.Sprintf("another process has held the journal in %s since %s; end what it does there, and wickd goes on by itself", r.dir, since), journal.ErrBusy}
	}
	return stalled{fmt.Sprintf("the disk that holds %s has been full since %s; free some space, and wickd goes on by itself", r.dir, since), journal.ErrFull}
}

// stalled says in its own words what its cause says too.
type stalled struct {
	text  string
	cause error
}

func (s stalled) Error() string { return s.text }
func (s stalled) Unwrap() error { return s.cause }

// evidence is what the alert says; empty: the journal takes things.
func (r *room) evidence() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	switch {
	case r.since.IsZero():
		return ""
	case errors.Is(r.cause, journal.ErrBusy):
		return "another process holds the journal in " + r.dir
	}
	return fmt.Sprintf("the disk that holds %s is full", r.dir)
}

// patient is the journal as the pipeline sees it: it waits where the journal does.
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
