package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// A probe that was put back in another spot is believed after a day and its night, with
// another offset, and nothing is booked for the days in between but what was drunk.
func TestAProbeInAnotherSpot(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 3)
	const probe = model.Subject("bag/a1/moisture")
	s.skew = func(r model.Reading) float64 {
		switch {
		case r.Sensor != probe || r.Time.Before(after(4)):
			return 0
		case r.Time.Before(after(4).Add(time.Hour)):
			return -0.4 // in the air
		}
		return -0.055
	}
	s.live(days(4.5))
	b := s.e.bags[0]
	require.True(t, b.Lost)
	before := b.Roll.Uptake
	leap := 0.0
	s.each = func(e model.Snapshot, _ sim.Truth) {
		leap = max(leap, e.Bags[0].Uptake-before)
		before = e.Bags[0].Uptake
	}
	s.live(days(1.5))
	assert.False(t, b.Lost)
	assert.Less(t, leap, 0.1, "L within a step")
	truth := s.sim.Truth().Bags[0]
	e := s.e.Snapshot(s.sim.Now(), nil).Bags[0]
	assert.InDelta(t, truth.WaterContent, e.WaterContent.Value, 0.015)
}

// Contact that is lost for good reads less by far, however long.
func TestLostContactIsNoOtherSpot(t *testing.T) {
	m := elsewhere{}
	for i := range 60 {
		at := after(0).Add(time.Duration(i) * time.Hour)
		assert.False(t, m.follows(at, -0.12, sq(0.01)))
	}
	m = elsewhere{}
	for i := range 60 {
		at := after(0).Add(time.Duration(i) * time.Hour)
		assert.Equal(t, i >= 24, m.follows(at, -0.05, sq(0.01)), i)
	}
	assert.False(t, m.follows(after(3), 0.05, sq(0.01)), "and now at another height")
}

// Plants that were found not to drink, and do, are known to within two weeks.
func TestPlantsThatDrinkAgain(t *testing.T) {
	long(t)
	s := newScene(t, small(4, 100), 3)
	s.live(days(5))
	b := s.e.bags[0]
	b.Cause, b.Since, b.Dips = model.CauseNotDrinking, s.sim.Now(), nil
	b.Base.X[iDemand], b.Base.P = -3, b.Base.P.forget(iDemand, sq(0.3))
	b.Roll = b.Base
	s.live(days(14))
	assert.Empty(t, b.Cause)
}
