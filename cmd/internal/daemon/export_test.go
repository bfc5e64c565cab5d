package daemon

import "context"

// Accepted is how many messages are in the journal since the start.
func (d *Daemon) Accepted() uint64 { return d.pipeline.Stats().Accepted }

// Prune deletes what is old, as the daemon does once a day.
func (d *Daemon) Prune(ctx context.Context) { d.prune(ctx) }
