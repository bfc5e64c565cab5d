package daemon

import "context"

// Accepted is how many messages are in the journal since the start.
func (d *Daemon) Accepted() uint64 { return d.pipeline.Stats().Accepted }

// Prune deletes what is old, as the daemon does once a day.
func (d *Daemon) Prune(ctx context.Context) { d.prune(ctx) }

// Sound looks once whether the journal's file is, as the tidier does every day.
func (d *Daemon) Sound(ctx context.Context) bool { return d.sound(ctx) }
