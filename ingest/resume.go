package ingest

import (
	"context"
)

// learnFrom is how many of the newest rows the pipeline reads when it starts,
// to know what is usual for each topic: some days of a small site, some hours
// of a large one, read in about a second on a small board.
const learnFrom = 10_000

// resume continues the stamps, learns what is usual and reopens a backlog that
// was arriving when the daemon stopped.
func (p *Pipeline) resume(ctx context.Context) error {
	seq, arrived, err := p.opts.Journal.Last(ctx)
	if err != nil {
		return err
	}
	p.stamper = NewStamper(arrived)
	p.stamper.elapsed = p.opts.Elapsed
	p.through = seq
	if err := p.learn(ctx, seq-learnFrom); err != nil {
		return err
	}
	rows, err := p.opts.Journal.Unsettled(ctx)
	if err != nil || len(rows) == 0 {
		return err
	}
	p.through = rows[0].Seq - 1
	p.id = rows[0].Backlog
	gaps := gapsOf(rows)
	for _, gap := range gaps {
		p.held = p.held.Join(gap)
	}
	if err := p.give(ctx, Batch{Events: gapEvents(gaps)}); err != nil {
		return err
	}
	p.backlog.Reopen(p.held, later(p.opts.Clock(), arrived))
	for _, r := range rows {
		p.hold(r.Seq, r.Message)
	}
	p.opts.Log.Info("continuing a backlog that was arriving at the last stop", "messages", len(rows))
	return nil
}

func (p *Pipeline) learn(ctx context.Context, after int64) error {
	next := pages(ctx, p.opts.Journal, max(0, after))
	for {
		r, ok, err := next()
		if err != nil || !ok {
			return err
		}
		if r.Backlog != 0 {
			p.backlog.Pass(r.Message)
			continue
		}
		p.backlog.Observe(r.Message)
	}
}
