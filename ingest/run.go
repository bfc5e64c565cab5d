package ingest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"
)

// watch is how often an open backlog is looked at when nothing arrives.
const watch = 250 * time.Millisecond

// Run takes what is submitted until ctx is done, Drain has emptied the queue
// or the journal or the sink fails. What is committed and not handed on at the
// end is for Recover at the next start. Call it once.
func (p *Pipeline) Run(ctx context.Context) error {
	defer close(p.closed)
	if err := p.resume(ctx); err != nil {
		return fmt.Errorf("ingest: continuing the journal: %w", err)
	}
	close(p.ready)
	for {
		group, more := p.gather(ctx)
		if err := p.process(ctx, group); err != nil {
			if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
				return nil
			}
			return err
		}
		if !more {
			return nil
		}
		p.report()
	}
}

// gather waits for the next items and takes all that are there, up to
// MaxBatch. It gives none when an open backlog has to be looked at.
func (p *Pipeline) gather(ctx context.Context) (group []item, more bool) {
	var look <-chan time.Time
	if p.backlog.Open() {
		timer := time.NewTimer(watch)
		defer timer.Stop()
		look = timer.C
	}
	select {
	case it := <-p.queue:
		return p.fill(append(group, it)), true
	case <-look:
		return nil, true
	case <-ctx.Done():
		return nil, false
	case <-p.drain:
	}
	select {
	case it := <-p.queue:
		return p.fill(append(group, it)), true
	default:
		return nil, false
	}
}

func (p *Pipeline) fill(group []item) []item {
	for len(group) < p.opts.MaxBatch {
		select {
		case it := <-p.queue:
			group = append(group, it)
			continue
		default:
		}
		if len(group) >= p.crowd {
			break
		}
		return p.linger(group)
	}
	p.crowd = len(group)
	return group
}

// linger waits up to MaxDelay for a group as large as the one before: several
// senders that wait for their acks come back together, so a commit right away
// would cost each of them a disk flush. A sender alone never waits.
func (p *Pipeline) linger(group []item) []item {
	timer := time.NewTimer(p.opts.MaxDelay)
	defer timer.Stop()
	for len(group) < min(p.crowd, p.opts.MaxBatch) {
		select {
		case it := <-p.queue:
			group = append(group, it)
			continue
		case <-timer.C:
		}
		break
	}
	p.crowd = len(group)
	return group
}

// process commits and hands on items in order. While a backlog is open they
// are taken in short steps of time, so that its end is seen where it is.
func (p *Pipeline) process(ctx context.Context, group []item) error {
	for {
		if err := p.settleIfOver(ctx, group); err != nil {
			return err
		}
		if len(group) == 0 {
			return nil
		}
		n := len(group)
		if p.backlog.Open() {
			for n = 1; n < len(group) && group[n].at.Sub(group[0].at) < watch; n++ {
			}
		}
		if err := p.commit(ctx, group[:n]); err != nil {
			return err
		}
		group = group[n:]
	}
}

func (p *Pipeline) settleIfOver(ctx context.Context, group []item) error {
	if !p.backlog.Open() {
		return nil
	}
	now := later(p.opts.Clock(), p.arrived)
	if len(group) > 0 {
		now = group[0].at
	}
	switch {
	case !p.backlog.Over(now):
		return nil
	case !p.backlog.full(now) && p.expecting(group):
		return nil
	}
	return p.settle(ctx, now)
}

// expecting says that the rest of a backlog has not had its chance to come: the
// connection is down, or has just been made.
func (p *Pipeline) expecting(group []item) bool {
	return !p.opts.Listening() || len(group) == 0 && len(p.queue) > 0 ||
		slices.ContainsFunc(group, func(it item) bool { return it.gap != nil })
}

// report logs once when the wall clock has fallen behind the stamps, and once
// when it has caught up.
func (p *Pipeline) report() {
	by := time.Duration(p.count.clockBehind.Load())
	behind := by > time.Second
	if behind == p.behind {
		return
	}
	p.behind = behind
	if behind {
		p.opts.Log.Warn("the clock stepped back: times of arrival count on from the time before, a little slower, until it has caught up", "by", by)
		return
	}
	p.opts.Log.Info("the clock has caught up with the times of arrival")
}
