package daemon

import (
	"context"
	"encoding/json"
	"sort"
	"time"

	"wickd/ingest/forward"
	"wickd/ingest/journal"
)

// estimateRows is what the history of estimates is read from.
type estimateRows interface {
	Estimates(ctx context.Context, after int64, limit int) ([]journal.Estimate, error)
	PendingEstimates(ctx context.Context, after int64) (n int64, since time.Time, err error)
}

// estimatesCursor counts the estimates that InfluxDB has.
const estimatesCursor = journal.EstimatesCursor + "influxdb"

// estimateStream forwards the hourly estimates: a point of the measurement
// "bag" or "reservoir" with the tag "id" and every number of the record as a
// field, under the record's own names and units.
func estimateStream(rows estimateRows) forward.Stream {
	return forward.Stream{
		Cursor: estimatesCursor,
		Next: func(ctx context.Context, after int64, limit int) ([]forward.Point, int64, error) {
			list, err := rows.Estimates(ctx, after, limit)
			if err != nil {
				return nil, after, err
			}
			points := make([]forward.Point, 0, len(list))
			for _, e := range list {
				after = e.Seq
				if p := estimatePoint(e); len(p.Fields) > 0 {
					points = append(points, p)
				}
			}
			return points, after, nil
		},
		Pending: rows.PendingEstimates,
	}
}

func estimatePoint(e journal.Estimate) forward.Point {
	p := forward.Point{Measurement: e.Kind, Tags: []forward.Tag{{Key: "id", Value: e.ID}}, Time: e.At}
	var body map[string]any
	if json.Unmarshal(e.Body, &body) != nil {
		return p
	}
	for name, v := range body {
		if number, ok := v.(float64); ok {
			p.Fields = append(p.Fields, forward.Field{Key: name, Value: number})
		}
	}
	sort.Slice(p.Fields, func(i, j int) bool { return p.Fields[i].Key < p.Fields[j].Key })
	return p
}
