package daemon

import (
	"context"
	"errors"
	"fmt"

	"wickd/ingest"
	"wickd/model"
	"wickd/model/design"
)

// restore brings back the last checkpoint and goes through the journal since.
func (d *Daemon) restore(ctx context.Context, physics *design.Site) error {
	c, ok, err := d.journal.Checkpoint(ctx, coreCheckpoint)
	if err != nil {
		return err
	}
	k := d.keeper
	if ok {
		switch err := k.core.Load(c.Blob); {
		case errors.Is(err, errAnew):
			d.o.Log.Warn("what was learnt does not fit the site file; alerts stand as they stood", "err", err)
		case err != nil:
			d.o.Log.Warn("the saved state cannot be read; the model and the alerts begin anew with the next readings", "err", err)
			if k.core, err = NewCore(d.coreOptions(physics)); err != nil {
				return err
			}
		}
		k.through, k.saved = c.Seq, c.At
	}
	from := k.through
	k.through, err = ingest.Recover(ctx, d.journal, from, k)
	if err != nil {
		return fmt.Errorf("restore the state from the journal: %w", err)
	}
	k.mu.Lock()
	d.seen.resets = k.core.Resets() // of the process before: counters begin anew with each
	k.publish()
	if ok && k.core.Snapshot().Time.IsZero() {
		d.remember(physics, c.Blob)
	}
	k.mu.Unlock()
	k.room = d.room
	if w, ok, err := d.journal.Checkpoint(ctx, watchCheckpoint); err != nil {
		return err
	} else if ok {
		if err := d.watch.engine.RestoreState(w.Blob); err != nil {
			d.o.Log.Warn("the daemon's own alerts start anew", "err", err)
		}
	}
	return nil
}

// remember lets readers see what was known at the last checkpoint, until the
// first evaluation: within a minute, or when somebody listens again. A state
// that does not fit the site file any more shows nothing.
func (d *Daemon) remember(physics *design.Site, blob []byte) {
	then, err := NewCore(d.coreOptions(physics))
	if err != nil || then.Load(blob) != nil || then.Clock().IsZero() {
		return
	}
	s := then.look()
	d.keeper.snapshot.Store(&s)
}

func (d *Daemon) buildIntake() (err error) {
	ctx := context.Background()
	if d.decoder, err = newDecoder(d.o.Config.Site); err != nil {
		return err
	}
	d.decoder.report(d.counters, d.o.Log)
	last, err := d.journal.LastReadings(ctx)
	if err != nil {
		return err
	}
	d.decoder.probe.Restore(last)
	d.pipeline, err = ingest.New(ingest.Options{
		Decoder: d.decoder, Journal: patient{timed{d.journal, d.counters}, d.room}, Sink: d.keeper, Clock: d.o.Clock, Log: d.o.Log,
		Gaps: d.keeper.core.Gaps(), Listening: d.listening,
	})
	if err != nil {
		return err
	}
	_, deaf, err := d.journal.Last(ctx)
	if err != nil {
		return err
	}
	if clock := d.keeper.core.Clock(); !clock.IsZero() && !clock.Before(deaf) {
		deaf = clock.Add(1) // that mark has been evaluated
	}
	if d.source, err = newSource(d.o, d.pipeline, deaf, d.newAnswers(), d.newOversize()); err != nil {
		return err
	}
	d.room.check(ctx)
	return nil
}

// listening is asked by the pipeline, which there is before the source.
func (d *Daemon) listening() bool {
	_, _, listening := d.source.state()
	return listening
}

func (d *Daemon) newOversize() *oversize {
	sensors := map[string][]model.Subject{}
	for _, s := range d.o.Config.Site.AllSensors() {
		sensors[s.Topic] = append(sensors[s.Topic], s.ID)
	}
	return &oversize{log: d.o.Log, said: map[string]bool{}, count: func(topic string) {
		for _, id := range sensors[topic] {
			d.counters.MessagesRefused.WithLabelValues("too-large", string(id)).Inc()
		}
	}}
}

// filled is told when the journal takes nothing, and when it does again.
func (d *Daemon) filled(why error) { d.source.fill(why) }
