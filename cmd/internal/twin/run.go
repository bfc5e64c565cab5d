package twin

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/model/design"
	"wickd/model/sim"
)

// apart is between two messages of one moment: no two arrive at once.
const apart = 20 * time.Millisecond

// horizon of the warnings, as a site file has it by default.
const horizon = 48 * time.Hour

// Run tries one thing on one bench under one seed.
func Run(ctx context.Context, b Bench, t Trial, seed uint64) (Outcome, error) {
	site := b.site()
	physics, err := design.Build(site)
	if err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	rng := rand.New(rand.NewPCG(seed, 0x7417))
	at := start().Add(faultDay*24*time.Hour + time.Duration(rng.IntN(6*faultSpread))*10*time.Minute)
	var faults []sim.Fault
	if t.Faults != nil {
		faults = t.Faults(site, at, rng)
	}
	for i := range faults {
		if t.Mended > 0 {
			faults[i].End = faults[i].Start.Add(t.Mended)
		}
	}
	truth, err := sim.New(sim.Options{
		Site: site, Seed: seed, Start: start(), Step: b.Every, Faults: faults,
		Loss: b.Loss, Refill: t.Refill, Fill: t.Fill,
	})
	if err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	w := &witness{site: site, physics: physics, at: at, faults: faults, every: b.heardEvery(), loss: b.Loss, heard: map[string][]time.Time{}, unheard: map[int]bool{}, over: map[string]time.Time{}, limits: map[string]float64{}}
	for _, p := range physics.Bags {
		w.limits[p.Bag.ID] = p.DryLimit
	}
	core, err := daemon.NewCore(daemon.CoreOptions{Site: site, Design: physics, Horizon: horizon, Observer: w})
	if err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	end := start().Add(time.Duration(t.Days) * 24 * time.Hour)
	if err := feed(ctx, b, truth, core, w, end); err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	core.Finish(end)
	if w.consistency, err = consistencyOf(core); err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	o, err := w.judge(t)
	if err != nil {
		return Outcome{}, fmt.Errorf("twin: %w", err)
	}
	return o, nil
}

// feed lets the site live until end, and tells the core what its sensors send.
func feed(ctx context.Context, b Bench, truth *sim.Sim, core *daemon.Core, w *witness, end time.Time) error {
	decoder, err := daemon.NewDecoder(w.site)
	if err != nil {
		return err
	}
	seq := int64(0)
	var waiting []sim.Message
	var last time.Time
	next := func() (ingest.Record, bool, error) {
		for len(waiting) == 0 {
			if !truth.Now().Before(end) {
				return ingest.Record{}, false, truth.Err()
			}
			_, waiting = truth.Advance()
			w.truth = append(w.truth, truth.Truth())
		}
		m := waiting[0]
		waiting = waiting[1:]
		seq++
		payload, arrived := b.handed(m)
		if last = last.Add(apart); last.Before(arrived) {
			last = arrived.Add(apart)
		}
		w.heard[m.Topic] = append(w.heard[m.Topic], last)
		return ingest.Record{Seq: seq, Message: ingest.Message{Arrived: last, Topic: m.Topic, Payload: payload}}, true, nil
	}
	return ingest.Replay(ctx, next, decoder, ingest.SinkFunc(func(ctx context.Context, b ingest.Batch) error {
		for _, e := range b.Events {
			core.Apply(e)
		}
		return ctx.Err()
	}))
}
