package main

import (
	"context"
	"fmt"
	"time"

	"wickd/cmd/internal/web"
)

type ackCommand struct {
	daemonAddress
	Alert string `arg:"" help:"The alert, as wickd status names it, or what it is about, for example p2."`
	By    string `placeholder:"NAME" help:"Who has seen it; without it, the user of this machine."`
}

func (a ackCommand) Run(ctx context.Context, c console) error {
	by := a.By
	if by == "" {
		by = operatorName()
	}
	r, err := ask(ctx, a.client())
	if err != nil {
		return err
	}
	meant, err := r.named(a.Alert)
	if err != nil {
		return err
	}
	if err := a.client().Acknowledge(ctx, meant.Occurrence, by); err != nil {
		return r.explain(err, a.Alert)
	}
	if meant.By != "" {
		_, err = fmt.Fprintf(c.out, "it was acknowledged already, by %s\n", meant.By)
		return err
	}
	_, err = fmt.Fprintf(c.out, "acknowledged by %s\n", by)
	return err
}

// defaultShelf is a night, or a working day.
const defaultShelf = 8 * time.Hour

type shelveCommand struct {
	daemonAddress
	Alert string   `arg:"" help:"The alert, as wickd status names it, or what it is about: bag/p2 is all of that bag, and what comes."`
	For   spanFlag `placeholder:"DURATION" xor:"until" help:"How long, for example 90m, 8h or 2d; a week at most, and 8h without it."`
	Off   bool     `xor:"until" help:"Take it up again now."`
}

func (s shelveCommand) Run(ctx context.Context, c console) error {
	span := defaultShelf
	if s.For.given {
		span = s.For.Duration
	}
	if span > web.MaxShelf {
		return usageError{fmt.Errorf("--for %s: an alert can be put aside for 7d at most, so that nobody forgets it; to leave a condition out for good, say so in the site file (alerts: {conditions: {NAME: {enabled: false}}})", s.For.text)}
	}
	r, err := ask(ctx, s.client())
	if err != nil {
		return err
	}
	target, err := r.shelved(s.Alert)
	if err != nil {
		return err
	}
	if s.Off {
		if err := s.client().Unshelve(ctx, target); err != nil {
			return r.explain(err, s.Alert)
		}
		_, err := fmt.Fprintln(c.out, "taken up again")
		return err
	}
	until := r.doc.Now.Add(span) // by its clock, which may not be this machine's
	if err := s.client().Shelve(ctx, target, until); err != nil {
		return r.explain(err, s.Alert)
	}
	_, err = fmt.Fprintf(c.out, "put aside until %s (%s)\n", r.moment(until), r.zone)
	return err
}
