package main

import "context"

type demoCommand struct{}

func (demoCommand) Run(ctx context.Context, c console) error { return nil }
