package daemon

import (
	"context"
	"errors"
	"time"
)

// stopWithin bounds the whole teardown.
const stopWithin = 1800 * time.Millisecond

// drainWithin bounds how long the end waits for what was received to be taken
// in; what is not is in the journal, and the next start takes it in.
const drainWithin = 700 * time.Millisecond

// Run works until ctx ends or a part fails, then takes everything down in
// order. Call it once.
func (d *Daemon) Run(ctx context.Context) error {
	p := newParts(d.o.Log)
	serving := p.start("web", d.web.Serve)
	intake := p.start("intake", d.pipeline.Run)
	var telling, forwarding *part
	if d.notify != nil {
		telling = p.start("notifier", d.notify.Run)
	}
	if d.manager != nil {
		telling = p.start("alertmanager", d.manager.Run)
	}
	if d.forward != nil {
		forwarding = p.start("forwarder", d.forward.Run)
	}
	var answering *part
	if d.source.answers != nil {
		answering = p.start("answers", d.source.answers.run)
	}
	listening := p.start("listener", d.source.run)
	ticking := p.start("clock", d.tick)
	watching := p.start("watch", d.selfWatch)
	tidying := p.start("tidier", d.tidy)
	var beating, counting *part
	if h := d.newHeartbeat(); h != nil {
		beating = p.start("heartbeat", h.run)
	}
	if d.notify != nil && d.o.Config.Notify.Weekly != nil {
		counting = p.start("calendar", d.calendar)
	}
	d.running.Store(true)
	d.o.Log.Info("wickd is up", "site", d.o.Config.Site.Name, "bags", len(d.o.Config.Site.Bags), "web", d.Addr(), "version", d.o.Version)

	var failed error
	select {
	case <-ctx.Done():
	case failed = <-p.failed:
		d.o.Log.Error("a part failed; stopping", "err", failed)
	}
	d.running.Store(false)
	err := teardown(d.o.Log, stopWithin, []step{
		{"give up waiting for the disk", d.room.giveUp},
		{"stop the clock", ticking.end},
		{"stop tidying", tidying.end},
		{"stop the heartbeat", ending(beating)},
		{"stop the calendar", ending(counting)},
		{"stop watching", watching.end},
		{"stop listening", listening.end},
		{"stop taking answers", ending(answering)},
		{"drain and commit", func(ctx context.Context) error {
			if d.room.wanted() != nil {
				return intake.end(ctx) // what waits for room is not acknowledged: it comes again
			}
			d.pipeline.Drain()
			drained, cancel := context.WithTimeout(ctx, drainWithin)
			defer cancel()
			if intake.wait(drained) == nil {
				return nil
			}
			return intake.end(ctx)
		}},
		{"last checkpoint", func(ctx context.Context) error {
			if failed != nil {
				return nil // the journal may be what failed; the last checkpoint stands
			}
			return d.keeper.finish(ctx)
		}},
		{"stop notifying", ending(telling)},
		{"stop forwarding", ending(forwarding)},
		{"close the journal", d.journal.Close},
		{"stop serving", serving.end},
	})
	d.o.Log.Info("wickd is down")
	return errors.Join(failed, err)
}

func ending(t *part) func(ctx context.Context) error {
	return func(ctx context.Context) error {
		if t == nil {
			return nil
		}
		return t.end(ctx)
	}
}

// tick hands the clock on to the core.
func (d *Daemon) tick(ctx context.Context) error {
	return every(ctx, d.o.TickEvery, func() error { return d.source.tick(ctx) })
}

// selfWatch looks at the daemon's own health.
func (d *Daemon) selfWatch(ctx context.Context) error {
	return every(ctx, d.o.WatchEvery, func() error {
		d.sample(ctx)
		d.lookAtSelf(ctx)
		return nil
	})
}

// every does something again and again, until ctx ends or it fails.
func every(ctx context.Context, pause time.Duration, do func() error) error {
	t := time.NewTicker(pause)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
			if err := do(); err != nil {
				return err
			}
		}
	}
}

// lookAtSelf decides the daemon's own alerts. That it could not is said in
// /healthz, and in the log when the reason is new; the journal itself decides
// whether it can go on.
func (d *Daemon) lookAtSelf(ctx context.Context) {
	d.room.check(ctx)
	err := d.watch.look(ctx, d.o.Clock(), d.health())
	if passes(err) {
		d.room.full(err) // a restart would not help: /readyz says it
		err = nil
	}
	if err == nil || ctx.Err() != nil {
		d.failing.Store(nil)
		return
	}
	text := err.Error()
	if before := d.failing.Swap(&text); before == nil || *before != text {
		d.o.Log.Error("daemon's own alerts", "err", err)
	}
}
