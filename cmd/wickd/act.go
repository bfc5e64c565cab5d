package main

import (
	"context"
	"fmt"
	"time"
)

type ackCommand struct {
	daemonAddress
	Occurrence string `arg:"" help:"The alert, as wickd status names it."`
	By         string `placeholder:"NAME" help:"Who has seen it; without it, the user of this machine."`
}

func (a ackCommand) Run(ctx context.Context, c console) error {
	by := a.By
	if by == "" {
		by = operatorName()
	}
	if err := a.client().Acknowledge(ctx, a.Occurrence, by); err != nil {
		return err
	}
	_, err := fmt.Fprintf(c.out, "acknowledged by %s\n", by)
	return err
}

// defaultShelf is a night, or a working day.
const defaultShelf = 8 * time.Hour

type shelveCommand struct {
	daemonAddress
	Occurrence string         `arg:"" help:"The alert, as wickd status names it."`
	For        *time.Duration `placeholder:"DURATION" xor:"until" help:"How long, for example 90m or 8h; a week at most, and 8h without it."`
	Off        bool           `xor:"until" help:"Take it up again now."`
}

func (s shelveCommand) Run(ctx context.Context, c console) error {
	if s.Off {
		if err := s.client().Unshelve(ctx, s.Occurrence); err != nil {
			return err
		}
		_, err := fmt.Fprintln(c.out, "taken up again")
		return err
	}
	span := defaultShelf
	if s.For != nil {
		span = *s.For
	}
	if span <= 0 {
		return usageError{fmt.Errorf("--for %s: give a time to come, for example 8h", span)}
	}
	until := time.Now().Add(span)
	if err := s.client().Shelve(ctx, s.Occurrence, until); err != nil {
		return err
	}
	_, err := fmt.Fprintf(c.out, "put aside until %s\n", until.Format(time.DateTime))
	return err
}
