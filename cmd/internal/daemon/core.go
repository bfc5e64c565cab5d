package daemon

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"wickd/alerts"
	"wickd/ingest"
	"wickd/ingest/payload"
	"wickd/ingest/probe"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/estimate"
)

const (
	// gridEvery is the pace of evaluation: every minute on the minute.
	gridEvery = time.Minute
	// soonEvery is the finer grid on which readings are evaluated: what came is
	// judged at its next mark, so that a dry bag need not wait for the minute.
	soonEvery = 5 * time.Second
)

// Observer is told what the core finds, in order, from the core's goroutine.
type Observer interface {
	// Changed gives the transitions of one evaluation.
	Changed(transitions []model.Transition)
	// Reminded gives the alerts that are to be told again.
	Reminded(reminders []model.Transition)
	// Hour gives everything that is known at a full hour.
	Hour(s model.Snapshot)
}

// EscalationObserver is an Observer that is also told which alerts are due to
// be told to the next people.
type EscalationObserver interface {
	Escalated(due []alerts.Escalation)
}

// Core is the one deterministic heart that run, demo and replay share: events
// in, estimates and alerts out. Its clock is the events' own; equal events
// give equal results, bit for bit. It is not safe for concurrent use.
type Core struct {
	design    *design.Site
	estimator *estimate.Estimator
	health    *probe.Health
	engine    *alerts.Engine
	observer  Observer
	judge     func(s model.Snapshot) // decides the alerts of one evaluation and tells the observer

	clock time.Time // the last mark of the grid that was evaluated
	soon  time.Time // a mark that readings ask for; zero: none
	stuck map[model.Subject]bool
	gaps  []ingest.Gap // since the last record
	order waiting
	last  model.Snapshot
}

// CoreOptions are what a Core is made of.
type CoreOptions struct {
	Site      *model.Site
	Design    *design.Site
	Horizon   time.Duration
	Overrides map[model.Condition]alerts.Override
	Reminders map[model.Priority]time.Duration
	// Escalations are how long an alert may stand unanswered before the next
	// people are told.
	Escalations []time.Duration
	Observer    Observer
}

// NewCore makes a core that has seen nothing.
func NewCore(o CoreOptions) (*Core, error) {
	e, err := estimate.New(estimate.Options{Design: o.Design})
	if err != nil {
		return nil, err
	}
	h, err := probe.NewHealth(probe.HealthOptions{Sensors: o.Site.AllSensors()})
	if err != nil {
		return nil, err
	}
	engine, err := alerts.New(alerts.Options{Site: o.Site, Horizon: o.Horizon, Overrides: o.Overrides, Reminders: o.Reminders, Escalations: o.Escalations})
	if err != nil {
		return nil, err
	}
	c := &Core{design: o.Design, estimator: e, health: h, engine: engine, observer: o.Observer, stuck: map[model.Subject]bool{}}
	c.judge = c.decide
	return c, nil
}

// Apply takes the next event. Marks of the grid that lie before the event are
// evaluated first; one at its very time waits until the clock has passed it,
// so that all readings of that moment are in. The clock begins with the first
// record or gap, which a recording holds, and not with a tick, which it does
// not.
func (c *Core) Apply(e ingest.Event) {
	switch {
	case e.Gap != nil:
		c.gap(*e.Gap)
		return
	case c.clock.IsZero() && e.Record == nil:
		return
	}
	if c.resumes(e) {
		// What it brings is of the time before: judged without it, that time would be
		// taken for one in which nothing was measured.
		c.clock = e.At.Add(-1)
	}
	c.passTo(e.At)
	if e.Record != nil {
		c.record(e.At, *e.Record)
	}
}

// resumes says that an event is the first of a backlog that fills the gap before it.
func (c *Core) resumes(e ingest.Event) bool {
	return e.Record != nil && e.Record.Backlog != 0 && len(c.gaps) > 0 && c.clock.Before(e.At)
}

// Finish evaluates what is due up to and including t: the end of a recording.
// What waits for others waits no longer.
func (c *Core) Finish(t time.Time) {
	c.takeWaiting()
	c.passTo(t.Add(1))
}

func (c *Core) takeWaiting() {
	for _, r := range c.order.release() {
		c.take(r)
	}
}

func (c *Core) record(at time.Time, r ingest.Record) {
	c.gaps = nil
	for _, reading := range r.Readings {
		before, dated := c.health.Heard(reading.Sensor)
		reading = c.health.Observe(reading, r.Message.Arrived)
		if !dated || r.Backlog != 0 || !c.order.takes(reading, r.Message.Arrived, before) {
			c.take(reading)
		}
	}
	for _, refusal := range r.Refusals {
		c.health.Refuse(refusal.Sensor, payload.Reason(refusal.Reason), r.Message.Arrived)
	}
	if len(r.Readings) > 0 && c.soon.IsZero() {
		c.soon = at.Truncate(soonEvery).Add(soonEvery)
	}
}

// take hands a reading to the model.
func (c *Core) take(r model.Reading) {
	if !c.stuck[r.Sensor] {
		c.estimator.Observe(r)
	}
}

// gap passes over a time in which nobody listened: nothing is evaluated in
// it, and no sensor's silence is counted. One that the clock has passed is
// told again after a restart.
func (c *Core) gap(g ingest.Gap) {
	if !c.clock.IsZero() && !g.To.After(c.clock) {
		return
	}
	c.gaps = append(c.gaps, g)
	c.passTo(g.From)
	c.health.Pause(g.From, g.To)
	c.engine.Pause(g.To)
	if c.clock.Before(g.To) {
		c.clock = g.To
	}
	c.soon = time.Time{}
}

// passTo evaluates every mark strictly before t.
func (c *Core) passTo(t time.Time) {
	if c.clock.IsZero() {
		c.clock = t
		return
	}
	for {
		mark := c.clock.Truncate(gridEvery).Add(gridEvery)
		if !c.soon.IsZero() && !mark.Before(c.soon) {
			mark = c.soon
		}
		if !mark.Before(t) {
			return
		}
		if !mark.Before(c.soon) {
			c.soon = time.Time{}
		}
		c.clock = mark
		c.evaluate(mark)
	}
}

func (c *Core) evaluate(now time.Time) {
	c.health.Tick(now)
	if c.order.due(now) {
		c.takeWaiting()
	}
	c.estimator.Advance(now)
	sensors := c.health.Snapshot(now)
	for _, s := range sensors {
		if s.Stuck {
			c.stuck[s.Sensor] = true
		} else {
			delete(c.stuck, s.Sensor)
		}
	}
	c.last = c.estimator.Snapshot(now, sensors)
	c.judge(c.last)
}

// Clock is the last mark that was evaluated.
func (c *Core) Clock() time.Time { return c.clock }

// Gaps are those since the last record: the next one has to record them, so
// that a replay is told of them too.
func (c *Core) Gaps() []ingest.Gap { return c.gaps }

// Snapshot is what was known at that mark.
func (c *Core) Snapshot() model.Snapshot { return c.last }

// Engine gives the alerts' state to those who acknowledge and shelve.
func (c *Core) Engine() *alerts.Engine { return c.engine }

// Resets counts how often a filter had to begin afresh.
func (c *Core) Resets() int { return c.estimator.Resets() }

// coreState is a core as it is kept in a checkpoint.
type coreState struct {
	Version   int
	Clock     time.Time
	Soon      time.Time
	Stuck     []model.Subject
	Gaps      []ingest.Gap
	Order     waiting
	Estimator json.RawMessage
	Health    probe.State
	Alerts    json.RawMessage
}

// coreVersion is raised when older checkpoints can no longer be read.
const coreVersion = 1

// Save writes the state.
func (c *Core) Save() ([]byte, error) {
	a, err := c.engine.MarshalState()
	if err != nil {
		return nil, err
	}
	e, err := json.Marshal(c.estimator)
	if err != nil {
		return nil, err
	}
	s := coreState{Version: coreVersion, Clock: c.clock, Soon: c.soon, Gaps: c.gaps, Order: c.order, Estimator: e, Health: c.health.State(), Alerts: a}
	s.Stuck = slices.Sorted(maps.Keys(c.stuck))
	return json.Marshal(s)
}

// errAnew says that the model begins anew, and that the rest was restored.
var errAnew = errors.New("the model begins anew with the next readings")

// Load restores a state that Save wrote. Where the estimates in it are of no part
// of this site, or of another version, the error is errAnew; on another one the
// core must be thrown away.
func (c *Core) Load(data []byte) error {
	var s coreState
	if err := json.Unmarshal(data, &s); err != nil {
		return fmt.Errorf("restore the state: %w", err)
	}
	if s.Version != coreVersion {
		return fmt.Errorf("restore the state: it is of version %d, this wickd reads %d", s.Version, coreVersion)
	}
	if err := c.engine.RestoreState(s.Alerts); err != nil {
		return fmt.Errorf("restore the state: %w", err)
	}
	c.health.Restore(s.Health)
	c.clock, c.soon, c.gaps, c.order = s.Clock, s.Soon, s.Gaps, s.Order
	for _, id := range s.Stuck {
		c.stuck[id] = true
	}
	if err := json.Unmarshal(s.Estimator, c.estimator); err != nil {
		fresh, failed := estimate.New(estimate.Options{Design: c.design})
		if failed != nil {
			return failed
		}
		c.estimator = fresh
		return fmt.Errorf("%w: %w", errAnew, err)
	}
	return nil
}

// look is what a core that was just loaded knew at its clock.
func (c *Core) look() model.Snapshot {
	return c.estimator.Snapshot(c.clock, c.health.Snapshot(c.clock))
}
