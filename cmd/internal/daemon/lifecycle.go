package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"
)

// part is one long-running piece of the daemon with its own end.
type part struct {
	name string
	stop context.CancelFunc
	done chan struct{}
	err  error // once done is closed
}

// parts are what is running, in the order in which it was started.
type parts struct {
	log    *slog.Logger
	failed chan error // the first failure of any
	all    []*part
}

func newParts(log *slog.Logger) *parts { return &parts{log: log, failed: make(chan error, 1)} }

// start runs f until the part is stopped. If f ends before with an error, the
// daemon ends; one that ends without has done its work, as the intake has once it
// is drained.
func (p *parts) start(name string, f func(ctx context.Context) error) *part {
	ctx, cancel := context.WithCancel(context.Background())
	t := &part{name: name, stop: cancel, done: make(chan struct{})}
	p.all = append(p.all, t)
	go func() {
		defer close(t.done)
		err := f(ctx)
		if err != nil && !errors.Is(err, context.Canceled) {
			t.err = fmt.Errorf("%s: %w", name, err)
			select {
			case p.failed <- t.err:
			default:
			}
		}
	}()
	return t
}

// end asks a part to stop and waits for it, until ctx ends.
func (t *part) end(ctx context.Context) error {
	t.stop()
	return t.wait(ctx)
}

func (t *part) wait(ctx context.Context) error {
	select {
	case <-t.done:
		return t.err
	case <-ctx.Done():
		return fmt.Errorf("%s: did not stop in time", t.name)
	}
}

// step is one named step of the teardown.
type step struct {
	name string
	do   func(ctx context.Context) error
}

// teardown takes every step in order, whatever the steps before it did, within
// one deadline.
func teardown(log *slog.Logger, within time.Duration, steps []step) error {
	ctx, cancel := context.WithTimeout(context.Background(), within)
	defer cancel()
	var errs []error
	for _, s := range steps {
		if err := s.do(ctx); err != nil && !errors.Is(err, context.Canceled) {
			log.Error("stopping", "step", s.name, "err", err)
			errs = append(errs, fmt.Errorf("%s: %w", s.name, err))
		}
	}
	return errors.Join(errs...)
}
