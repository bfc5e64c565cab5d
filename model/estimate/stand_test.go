package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// A float that jams and still trembles is not believed: its bags are known to drink on,
// and the volume goes by what they drink. Once it is free it is taken at its word.
func TestALevelThatStandsIsDisbelieved(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	const at = 5.0
	var held, freed, n float64
	s.skew = func(r model.Reading) float64 {
		if r.Sensor != "reservoir/tank/level" || r.Time.Before(after(at)) || freed > 0 {
			return 0
		}
		if held == 0 {
			held = r.Value
		}
		n++
		return held + math.Sin(2.4*n) - r.Value // it trembles
	}
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
	freed = 1
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
