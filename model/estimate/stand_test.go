package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

// A float that jams and still trembles is not believed: its bags are known to drink on,
// and the volume goes by what they drink. Once it is free it is taken at its word.
func TestALevelThatStandsIsDisbelieved(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	const at = 5.0
	free := jamAt(s, at)
	r := s.e.reservoirs[0]
	var found time.Time
	s.each = func(e model.Snapshot, _ sim.Truth) {
		if found.IsZero() && r.Stand.Jammed {
			found = e.Time
		}
	}
	s.live(days(at))
	then := s.e.Snapshot(s.sim.Now(), nil)
	was := s.sim.Truth()
	s.live(days(5))
	require.WithinRange(t, found, after(at+1.5), after(at+3))
	health := []model.SensorHealth{{Sensor: "reservoir/tank/level"}}
	now, is := s.e.Snapshot(s.sim.Now(), health), s.sim.Truth()
	assert.True(t, now.Sensors[0].Implausible)
	assert.Contains(t, now.Sensors[0].Evidence, "a float that jams")
	assert.Equal(t, model.Stale, now.Reservoirs[0].Level.Quality)
	assert.InDelta(t, is.Reservoirs[0].Volume, now.Reservoirs[0].Volume.Value, 0.15*(was.Reservoirs[0].Volume-is.Reservoirs[0].Volume), "L, by what was drunk")
	assert.Less(t, math.Abs(now.Reservoirs[0].Unexplained.Value), 1.0, "L/d")
	for i, b := range now.Bags {
		took := is.Bags[i].Uptake - was.Bags[i].Uptake
		assert.InEpsilon(t, took, b.Uptake-then.Bags[i].Uptake, 0.35, "of bag %s", b.Bag)
	}
	free()
	s.live(3 * time.Hour)
	assert.False(t, r.Stand.Jammed)
	assert.InDelta(t, s.sim.Truth().Reservoirs[0].Volume, r.X[jVolume], 2, "L")
}

// What stands because nobody drinks much, or because it is empty, is believed.
func TestALevelThatHardlyFallsIsBelieved(t *testing.T) {
	long(t)
	for name, faults := range map[string][]sim.Fault{
		"plants that drink a sixth": {{Kind: sim.DemandChange, Start: begin, Size: 1.0 / 6}},
		"crop cut by two thirds":    {{Kind: sim.DemandChange, Start: after(4), Size: 1.0 / 3}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t, small(2, 70), 2, faults...)
			s.each = func(e model.Snapshot, _ sim.Truth) {
				require.False(t, s.e.reservoirs[0].Stand.Jammed, "%v", e.Time)
			}
			s.live(days(9))
		})
	}
	t.Run("empty", func(t *testing.T) {
		s := newScene(t, thirsty(), 4)
		var err error
		s.sim, err = sim.New(sim.Options{Site: s.site, Seed: 4, Start: begin, Step: pace, Fill: 0.3, Refill: sim.RefillNever})
		require.NoError(t, err)
		emptied := false
		s.each = func(e model.Snapshot, truth sim.Truth) {
			emptied = emptied || s.e.reservoirs[0].exhausted()
			require.False(t, s.e.reservoirs[0].Stand.Jammed, "%v", e.Time)
		}
		s.live(days(14))
		assert.True(t, emptied)
	})
}

// A float valve that fails is found by the level that it should have kept: below the low
// mark the run-out is forecast.
func TestAFloatValveThatFails(t *testing.T) {
	site := small(3, 70)
	site.Reservoirs[0].FloatValve = true
	s := newScene(t, site, 3)
	var err error
	s.sim, err = sim.New(sim.Options{Site: site, Seed: 3, Start: begin, Step: pace, Fill: 0.35, Refill: sim.RefillNever})
	require.NoError(t, err)
	low := site.Reservoirs[0].Low
	told := 0
	s.each = func(e model.Snapshot, truth sim.Truth) {
		switch level := truth.Reservoirs[0].Level; {
		case level > low+5:
			require.Nil(t, e.Reservoirs[0].EmptyAt)
		case level < low-10 && level > site.Reservoirs[0].Empty+10:
			require.NotNil(t, e.Reservoirs[0].EmptyAt)
			told++
		}
	}
	s.live(days(8))
	assert.Positive(t, told)
}

// A bag without a probe has no supply when its reservoir is empty, which a probe would
// show by itself.
func TestABagWithoutAProbeOverAnEmptyTank(t *testing.T) {
	s := newScene(t, small(2, 70), 1)
	s.live(days(1))
	b, r := s.e.bags[0], s.e.reservoirs[0]
	assert.InDelta(t, 1, b.health(0), 1e-12)
	r.X[jVolume] = r.physics.Empty()
	assert.InDelta(t, 1, b.health(0), 1e-12, "its probe says what it has")
	b.Readings = 0
	assert.InDelta(t, dryShare, b.health(0), 1e-12)
}

// A crop that grew up under the canopy of its seedlings drinks ten times as much as the
// site file makes expect, and the house's factor can say so.
func TestACropThatOutgrewItsCanopy(t *testing.T) {
	s := newScene(t, small(2, 70), 1)
	s.live(days(1))
	r := s.e.reservoirs[0]
	r.X[jHouse] = math.Log(10)
	r.advance(r.Time.Add(time.Hour))
	assert.InDelta(t, math.Log(10), r.X[jHouse], 1e-9)
	r.X[jHouse] = math.Log(100)
	r.advance(r.Time.Add(time.Hour))
	assert.InDelta(t, maxLnHouse, r.X[jHouse], 1e-9)
}

// A thick bag's height feigns a dip, a usual one's does not: common practice is tubes of
// 100 to 150 mm.
func TestWhatTheHeightOfABagFeigns(t *testing.T) {
	feigned := func(diameter float64) float64 {
		b := &bag{physics: &design.Bag{Bag: model.Bag{Diameter: diameter}}}
		return b.feignedByHeight()
	}
	assert.Zero(t, feigned(100))
	assert.Less(t, feigned(130), leastNoise/50)
	assert.InDelta(t, dipTallest, feigned(250), 1e-12)
	assert.Greater(t, feigned(200), feigned(160))
}

// That the others are fed is said where another probe tells it.
func TestALoneProbeSaysNothingOfOthers(t *testing.T) {
	s := newScene(t, small(2, 70), 1)
	s.live(days(1))
	b := s.e.bags[0]
	b.Cause = model.CauseWickLostContact
	var out model.BagEstimate
	b.explain(&out)
	assert.Contains(t, out.Evidence, "while the other bags on the channel are fed")
	s.e.bags[1].Lost = true
	b.explain(&out)
	assert.Contains(t, out.Evidence, "no other probe on its channel")
}
