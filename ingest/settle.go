package ingest

import (
	"context"
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

// hold adds a journalled message to the open backlog.
func (p *Pipeline) hold(seq int64, m Message) {
	p.backlog.Add(seq, m, ownTime(p.opts.Decoder, m))
	p.arrived = m.Arrived
	p.count.waiting.Add(1)
}

// settle closes the backlog: its rows get their places and readings in one
// transaction, and only then are they handed on. A crash before that
// transaction leaves the rows unsettled, and the next Run continues the
// backlog with them; a crash after it leaves rows that Recover hands on in
// their places.
func (p *Pipeline) settle(ctx context.Context, now time.Time) error {
	places := p.backlog.Settle(now)
	if err := p.opts.Journal.Settle(ctx, p.id, places, p.decode); err != nil {
		return fmt.Errorf("ingest: settling a backlog of %d messages: %w", len(places), err)
	}
	laid := 0
	for _, place := range places {
		if !place.Taken.IsZero() {
			laid++
		}
	}
	p.count.reconstructed.Add(uint64(laid))
	p.count.waiting.Store(0)
	p.opts.Log.Info("a backlog has arrived", "messages", len(places), "laid_out", laid, "gap", p.held.Length())
	return p.release(ctx, places)
}

func (p *Pipeline) decode(m Message) ([]model.Reading, []Refusal) {
	readings, refusals := decode(p.opts.Decoder, m)
	p.count.refused.Add(uint64(len(refusals)))
	return readings, refusals
}

// release hands on a settled backlog, in pieces, and what it held back. Gaps
// that ended while it was arriving go before it if one of its rows records
// them, as they do in a replay.
func (p *Pipeline) release(ctx context.Context, places []Placement) error {
	// Those that no row records yet are the last ones; where a backlog goes on after a
	// restart there may be more of them than ended while it was arriving.
	at, recorded := p.arrived, max(0, len(p.late)-len(p.gaps))
	out, rest := gapEvents(p.late[:recorded]), gapEvents(p.late[recorded:])
	if !p.clock.IsZero() {
		rest = append(rest, Event{At: p.clock})
	}
	p.held, p.late, p.clock, p.id = Gap{}, nil, time.Time{}, 0
	for chunk := range slices.Chunk(places, p.opts.MaxBatch) {
		seqs := make([]int64, len(chunk))
		for i, place := range chunk {
			seqs[i] = place.Seq
			p.through = max(p.through, place.Seq)
		}
		records, err := p.opts.Journal.Fetch(ctx, seqs)
		if err != nil {
			return fmt.Errorf("ingest: reading a settled backlog: %w", err)
		}
		batch := Batch{Events: append(out, recordEvents(records, at)...)}
		if places = places[len(chunk):]; len(places) == 0 {
			batch.Through = p.through
		}
		if err := p.give(ctx, batch); err != nil {
			return err
		}
		out = nil
	}
	if len(rest) == 0 {
		return nil
	}
	return p.give(ctx, Batch{Events: rest, Through: p.through})
}
