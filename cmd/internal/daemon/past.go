package daemon

import (
	"context"
	"encoding/json"
	"time"

	"wickd/cmd/internal/web"
	"wickd/ingest/journal"
)

// past reads series of the hourly estimates in the journal.
type past struct{ rows estimateRows }

// lookAhead is how many rows are read at once: two days of fifteen bags.
const lookAhead = 1000

// series implements web.History.
func (p past) series(ctx context.Context, s web.Series, from time.Time) ([]web.Point, error) {
	var points []web.Point
	err := p.each(ctx, from, func(e journal.Estimate) {
		if e.Kind != s.Kind || e.ID != s.ID {
			return
		}
		var body map[string]any
		if json.Unmarshal(e.Body, &body) != nil {
			return
		}
		if value, ok := body[s.Value].(float64); ok {
			sd, _ := body[s.SD].(float64)
			points = append(points, web.Point{Time: e.At, Value: value, SD: sd})
		}
	})
	return points, err
}

// each goes through all estimates from a time on.
func (p past) each(ctx context.Context, from time.Time, visit func(e journal.Estimate)) error {
	after, err := p.before(ctx, from)
	if err != nil {
		return err
	}
	for {
		list, err := p.rows.Estimates(ctx, after, lookAhead)
		if err != nil || len(list) == 0 {
			return err
		}
		for _, e := range list {
			after = e.Seq
			if !e.At.Before(from) {
				visit(e)
			}
		}
	}
}

// before finds the last Seq before a time. Seqs rise with time, so that it
// doubles its way up and then halves its way down, with some forty rows read
// of however many years.
func (p past) before(ctx context.Context, from time.Time) (int64, error) {
	// early reports whether a row lies behind seq that is from before the time.
	early := func(seq int64) (bool, error) {
		list, err := p.rows.Estimates(ctx, seq, 1)
		return err == nil && len(list) > 0 && list[0].At.Before(from), err
	}
	low, high := int64(0), int64(1)
	for {
		more, err := early(high)
		if err != nil {
			return 0, err
		}
		if !more {
			break
		}
		low, high = high, 2*high
	}
	for high-low > 1 {
		middle := low + (high-low)/2
		more, err := early(middle)
		if err != nil {
			return 0, err
		}
		if more {
			low = middle
		} else {
			high = middle
		}
	}
	return low, nil
}
