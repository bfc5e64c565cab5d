package main

import (
	"context"
	"fmt"
	"time"

	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/ingest/journal"
)

type exportCommand struct {
	Data string    `required:"" type:"path" placeholder:"DIR" help:"The daemon's data directory; it may be running."`
	From time.Time `placeholder:"TIME" help:"From this time on, for example 2026-06-01T00:00:00Z."`
	To   time.Time `placeholder:"TIME" help:"Up to this time."`
}

func (e exportCommand) Run(ctx context.Context, c console) error {
	if !e.From.IsZero() && !e.To.IsZero() && !e.To.After(e.From) {
		return usageError{fmt.Errorf("--to must be after --from")}
	}
	j, err := journal.OpenReadOnly(e.Data)
	if err != nil {
		return err
	}
	defer func() { _ = j.Close(ctx) }()
	w := capture.NewWriter(c.out)
	if err := j.Each(ctx, e.From, e.To, func(r ingest.Record) error { return w.Write(r) }); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	return w.Flush()
}
