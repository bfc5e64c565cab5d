package daemon

import (
	"context"
	"errors"
	"fmt"
	"time"

	"wickd/ingest/forward"
	"wickd/ingest/journal"
)

const (
	// defaultKeep spans a growing season and the same weeks of the last one.
	defaultKeep = 400 * 24 * time.Hour
	// leastKeep leaves what an export is asked for and what the digest and the
	// pictures look back on.
	leastKeep = 30 * 24 * time.Hour
	// tidyEvery is how often the journal is pruned. The first time comes soon:
	// a board that is switched off every night never gets to a day.
	tidyEvery = 24 * time.Hour
	tidyFirst = 2 * time.Minute
)

// tidy looks whether the journal's file is sound, and deletes from it what is
// older than Options.Keep. A failure is logged and tried again the next day: the
// space is not needed today.
func (d *Daemon) tidy(ctx context.Context) error {
	t := time.NewTimer(tidyFirst)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
			if d.sound(ctx) {
				d.prune(ctx)
			}
			t.Reset(tidyEvery)
		}
	}
}

// sound verifies the journal's file. A damaged one is said here and by the alert
// that the journal fails; the daemon goes on with what can be read, because a
// restart would not mend it.
func (d *Daemon) sound(ctx context.Context) bool {
	err := d.journal.Verify(ctx)
	switch {
	case err == nil:
		d.damaged.Store(nil)
	case ctx.Err() == nil:
		d.o.Log.Error("the journal's file was verified", "data", d.o.Data, "err", err)
		if errors.Is(err, journal.ErrDamaged) {
			text := err.Error()
			d.damaged.Store(&text)
		}
	}
	return err == nil
}

func (d *Daemon) prune(ctx context.Context) {
	before := d.o.Clock().Add(-d.o.Keep)
	n, err := d.journal.Prune(ctx, before)
	switch {
	case ctx.Err() != nil:
	case err != nil:
		d.o.Log.Error("old messages not deleted; tried again tomorrow", "before", before, "err", err)
	default:
		if n > 0 {
			d.o.Log.Info("old messages deleted", "before", before, "messages", n)
		}
		d.overdue(ctx, before)
	}
}

// overdue says, once a day, that the journal grows beyond what it is to keep:
// the database must not be waited for without a word until the disk is full.
func (d *Daemon) overdue(ctx context.Context, before time.Time) {
	s, err := d.journal.Stats(ctx)
	if err != nil || d.forward == nil || s.FirstSeq == 0 || !s.FirstTime.Before(before) {
		return
	}
	_, pending := d.forward.Behind()
	d.o.Log.Warn("old messages are kept, because InfluxDB has not had them: restore it, or take the influx section out of the site file",
		"oldest", s.FirstTime, "before", before, "pending", pending, "journal_bytes", s.Bytes)
}

// forget drops the cursors of a database that the site file no longer names,
// which would keep everything for it for ever.
func (d *Daemon) forget(ctx context.Context) error {
	if d.o.Config.Influx != nil {
		return nil
	}
	for _, name := range []string{forward.ReadingsCursor, estimatesCursor} {
		err := d.journal.DropCursor(ctx, name)
		if passes(err) {
			return nil // the next start forgets it
		}
		if err != nil {
			return fmt.Errorf("forget the database that is no longer there: %w", err)
		}
	}
	return nil
}
