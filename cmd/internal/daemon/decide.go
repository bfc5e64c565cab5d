package daemon

import (
	"time"

	"wickd/model"
)

// decide takes the alerts one step on, and tells the observer what came of it.
func (c *Core) decide(s model.Snapshot) {
	now := s.Time
	if changes := c.engine.Step(now, s); len(changes) > 0 {
		c.observer.Changed(changes)
	}
	if again := c.engine.Remind(now); len(again) > 0 {
		c.observer.Reminded(again)
	}
	if due := c.engine.Escalate(now); len(due) > 0 {
		if o, ok := c.observer.(EscalationObserver); ok {
			o.Escalated(due)
		}
	}
	if now.Equal(now.Truncate(time.Hour)) {
		c.observer.Hour(s)
	}
}

// Apart lets alerts be decided, and the observer be told, in a goroutine of
// their own, in the same order: nothing that the core does depends on them. It
// is for a replay, which asks for no alert's state and saves nothing before
// join, after which all is as before.
func (c *Core) Apart() (join func()) {
	const ahead = 256 // evaluations: four hours of a quiet site
	work, done := make(chan model.Snapshot, ahead), make(chan struct{})
	c.judge = func(s model.Snapshot) { work <- s }
	go func() {
		defer close(done)
		for s := range work {
			c.decide(s)
		}
	}()
	return func() {
		close(work)
		<-done
		c.judge = c.decide
	}
}
