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

type shelveCommand struct {
	daemonAddress
	Occurrence string        `arg:"" help:"The alert, as wickd status names it."`
	For        time.Duration `default:"8h" placeholder:"DURATION" help:"How long, for example 90m or 8h (${default}); a week at most."`
}

func (s shelveCommand) Run(ctx context.Context, c console) error {
	if s.For <= 0 {
		return usageError{fmt.Errorf("--for %s: give a time to come, for example 8h", s.For)}
	}
	until := time.Now().Add(s.For)
	if err := s.client().Shelve(ctx, s.Occurrence, until); err != nil {
		return err
	}
	_, err := fmt.Fprintf(c.out, "put aside until %s\n", until.Format(time.DateTime))
	return err
}
