package main

import (
	"context"
	"sync"
	"time"
)

// demoClock runs faster than life and never ahead of what the sensors have
// published: on a slow machine the demo slows down, and no sensor falls silent
// for it.
type demoClock struct {
	speed float64

	mu    sync.Mutex // guards all below
	base  time.Time  // virtual time of the last step
	since time.Time  // wall clock at it
}

func newDemoClock(start time.Time, speed float64) *demoClock {
	return &demoClock{speed: speed, base: start, since: time.Now()}
}

func (c *demoClock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	passed := time.Duration(float64(time.Since(c.since)) * c.speed)
	return c.base.Add(min(passed, demoStep-time.Millisecond))
}

// step says that everything up to a virtual time has been published.
func (c *demoClock) step(to time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.base, c.since = to, time.Now()
}

// wait sleeps until the next step is due; false: ctx has ended.
func (c *demoClock) wait(ctx context.Context) bool {
	c.mu.Lock()
	due := c.since.Add(time.Duration(float64(demoStep) / c.speed))
	c.mu.Unlock()
	t := time.NewTimer(time.Until(due))
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
		return true
	}
}
