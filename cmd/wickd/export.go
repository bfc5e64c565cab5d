package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/ingest/journal"
)

type exportCommand struct {
	Data string `required:"" type:"path" placeholder:"DIR" help:"The daemon's data directory; it may be running."`
	From moment `placeholder:"TIME" help:"From this day or time on: 2026-06-01, '2026-06-01 08:30', or with a zone, 2026-06-01T08:30:00+02:00."`
	To   moment `placeholder:"TIME" help:"Up to this time, or to the end of this day."`
	Site string `type:"path" placeholder:"FILE" help:"The site file: dates and times without a zone are its own. Without it they are this machine's."`
}

func (e exportCommand) Run(ctx context.Context, c console) error {
	zone, err := e.zone(c)
	if err != nil {
		return err
	}
	from, to := e.From.from(zone), e.To.to(zone)
	if !from.IsZero() && !to.IsZero() && !to.After(from) {
		return usageError{errors.New("--to must be after --from")}
	}
	j, err := journal.OpenReadOnly(e.Data)
	if err != nil {
		return err
	}
	defer func() { _ = j.Close(ctx) }()
	w, n := capture.NewWriter(c.out), 0
	if err := j.Each(ctx, from, to, func(r ingest.Record) error { n++; return w.Write(r) }); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	if n == 0 {
		return e.nothing(ctx, j, zone, c)
	}
	return nil
}

// zone is the one that times without a zone are in.
func (e exportCommand) zone(c console) (*time.Location, error) {
	if e.Site == "" {
		return time.Local, nil
	}
	site, err := loadSite(e.Site, c)
	if err != nil {
		return nil, err
	}
	return site.Site.TimeZone, nil
}

// nothing says what there would have been.
func (e exportCommand) nothing(ctx context.Context, j *journal.Journal, zone *time.Location, c console) error {
	s, err := j.Stats(ctx)
	switch {
	case err != nil:
		return fmt.Errorf("export: %w", err)
	case s.LastSeq == 0:
		note(c, "nothing has been received yet")
	default:
		note(c, "nothing was received in that time; the journal holds messages from %s to %s",
			s.FirstTime.In(zone).Format(time.RFC3339), s.LastTime.In(zone).Format(time.RFC3339))
	}
	return nil
}
