package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
	"wickd/model/sim"
)

// A float valve keeps the level whatever is drawn: it must show neither a leak,
// nor a run-out, nor a refill, and the draw is then what physics makes of the
// bags. The level itself stays known, since it falls when the valve fails.
func TestAFloatValveHidesTheDraw(t *testing.T) {
	long(t)
	t.Parallel()
	site := small(2, 70)
	for i := range site.Reservoirs {
		site.Reservoirs[i].FloatValve = true
	}
	// The simulated tank leaks as much as the bags drink; the valve makes good
	// what the sensor is then not told of.
	s := newScene(t, site, 7, sim.Fault{Kind: sim.Leak, Subject: theTank, Start: after(1), Size: 0.2})
	level := theTank.Sensor(model.Level)
	s.deaf = func(id model.Subject, _ time.Time) bool { return id == level }
	kept := site.Reservoirs[0].Full - 20
	s.each = func(now model.Snapshot, _ sim.Truth) {
		s.e.Observe(model.Reading{Sensor: level, Time: now.Time, Value: kept, Verdict: model.Good})
	}
	s.live(days(4))
	r := s.reservoirNow()
	assert.Equal(t, model.Fresh, r.Level.Quality)
	assert.InDelta(t, kept, r.Level.Value, 0.5)
	assert.Equal(t, model.Unknown, r.Unexplained.Quality)
	assert.Nil(t, r.EmptyAt)
	assert.Empty(t, r.Cause)
	assert.True(t, r.LastRefill.IsZero())
	assert.Equal(t, model.Stale, r.DrawPerDay.Quality)
	assert.Positive(t, r.DrawPerDay.Value)
}
