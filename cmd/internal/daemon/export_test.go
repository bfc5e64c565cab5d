package daemon

// Accepted is how many messages are in the journal since the start.
func (d *Daemon) Accepted() uint64 { return d.pipeline.Stats().Accepted }
