package forward

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Run forwards until ctx is done. It returns an error only if the journal
// does; the server's errors hold the flow.
func (f *Forwarder) Run(ctx context.Context) error {
	defer f.client.Close()
	if err := f.register(ctx); err != nil {
		return ended(ctx, err)
	}
	retry := backoff{max: f.opts.MaxDelay, rand: f.opts.Rand}
	for {
		moved, err := f.round(ctx)
		var held *holdError
		wait := f.opts.Interval
		switch {
		case ctx.Err() != nil:
			return nil
		case errors.As(err, &held):
			wait = retry.next(held.after)
			f.hold(held.err, wait)
		case err != nil:
			return err
		default:
			retry.reset()
			f.flow()
			if moved {
				continue
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
	}
}

// ended hides the error that the end of ctx caused.
func ended(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

// register makes the streams' cursors known to the journal, so that it keeps
// what they have not passed.
func (f *Forwarder) register(ctx context.Context) error {
	for _, s := range f.opts.Streams {
		at, err := f.opts.Cursors.Cursor(ctx, s.Cursor)
		if err != nil {
			return err
		}
		if at == 0 {
			if err := f.opts.Cursors.SetCursor(ctx, s.Cursor, 0); err != nil {
				return err
			}
		}
	}
	return nil
}

// round takes one step with each stream, and says whether any moved.
func (f *Forwarder) round(ctx context.Context) (moved bool, err error) {
	defer func() {
		if look := f.look(ctx); err == nil {
			err = look
		}
	}()
	for _, s := range f.opts.Streams {
		step, err := f.step(ctx, s)
		if err != nil {
			return moved, err
		}
		moved = moved || step
	}
	return moved, nil
}

func (f *Forwarder) step(ctx context.Context, s Stream) (moved bool, err error) {
	at, err := f.opts.Cursors.Cursor(ctx, s.Cursor)
	if err != nil {
		return false, err
	}
	points, through, err := s.Next(ctx, at, f.opts.Batch)
	if err != nil || through == at {
		return false, err
	}
	if err := f.send(ctx, points); err != nil {
		return false, err
	}
	if err := f.opts.Cursors.SetCursor(ctx, s.Cursor, through); err != nil {
		return false, fmt.Errorf("forward: %w", err)
	}
	return true, nil
}

// look counts what is left to forward.
func (f *Forwarder) look(ctx context.Context) error {
	var pending int64
	var since time.Time
	for _, s := range f.opts.Streams {
		at, err := f.opts.Cursors.Cursor(ctx, s.Cursor)
		if err != nil {
			return err
		}
		n, first, err := s.Pending(ctx, at)
		if err != nil {
			return fmt.Errorf("forward: counting what is pending: %w", err)
		}
		if pending += n; n > 0 && (since.IsZero() || first.Before(since)) {
			since = first
		}
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stats.Pending, f.since = pending, since
	return nil
}
