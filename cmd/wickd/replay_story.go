package main

import (
	"time"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/model"
	"wickd/model/design"
)

// audience tells several observers the same, in order.
type audience []daemon.Observer

var _ daemon.Observer = audience{}

// Changed implements daemon.Observer.
func (a audience) Changed(t []model.Transition) {
	for _, o := range a {
		o.Changed(t)
	}
}

// Reminded implements daemon.Observer.
func (a audience) Reminded(t []model.Transition) {
	for _, o := range a {
		o.Reminded(t)
	}
}

// Hour implements daemon.Observer.
func (a audience) Hour(s model.Snapshot) {
	for _, o := range a {
		o.Hour(s)
	}
}

// chronicle keeps what a replay found: the alerts that a person would have
// been sent and, for pictures, the estimates of every hour and the readings.
type chronicle struct {
	pictures bool
	physics  *design.Site // of the site that it is replayed for
	hours    []model.Snapshot
	raised   []model.Transition
	hidden   []model.Transition   // alerts that were raised and not sent, for another explains them
	cleared  map[string]time.Time // when, by occurrence
	readings map[model.Subject]*series
	last     model.Snapshot // at the last full hour
	resets   int            // how often the model had to begin afresh with a bag or a reservoir
}

// series are values over time.
type series struct {
	at     []time.Time
	values []float64
}

var _ daemon.Observer = (*chronicle)(nil)

func newChronicle(pictures bool) *chronicle {
	return &chronicle{pictures: pictures, cleared: map[string]time.Time{}, readings: map[model.Subject]*series{}}
}

// Changed implements daemon.Observer.
func (c *chronicle) Changed(transitions []model.Transition) {
	for _, t := range transitions {
		switch {
		case t.Kind == model.Cleared:
			c.cleared[t.Occurrence] = t.Time
		case t.Kind == model.Raised && t.Suppressed:
			c.hidden = append(c.hidden, t)
		case t.Kind == model.Raised:
			c.raised = append(c.raised, t)
		}
	}
}

// Reminded implements daemon.Observer: an alert told again is not another one.
func (c *chronicle) Reminded([]model.Transition) {}

// Hour implements daemon.Observer.
func (c *chronicle) Hour(s model.Snapshot) {
	s.Sensors = nil
	c.last = s
	if c.pictures {
		c.hours = append(c.hours, s)
	}
}

// hear keeps the readings of an event, as far as pictures need them.
func (c *chronicle) hear(e ingest.Event) {
	if !c.pictures || e.Record == nil {
		return
	}
	for _, r := range e.Record.Readings {
		if r.Verdict != model.Good {
			continue
		}
		s := c.readings[r.Sensor]
		if s == nil {
			s = &series{}
			c.readings[r.Sensor] = s
		}
		s.at = append(s.at, r.Time)
		s.values = append(s.values, r.Value)
	}
}
