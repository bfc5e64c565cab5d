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

// outAndBack has a probe hang in the air for an hour, and read so much more after it.
func outAndBack(probe model.Subject, more float64) func(model.Reading) float64 {
	return func(r model.Reading) float64 {
		switch {
		case r.Sensor != probe || r.Time.Before(after(4)):
			return 0
		case r.Time.Before(after(4).Add(time.Hour)):
			return -0.4
		}
		return more
	}
}

// A probe that was put back in another spot is believed after a day and its night, with
// another offset, and nothing is booked for the days in between but what was drunk.
func TestAProbeInAnotherSpot(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 3)
	const probe = model.Subject("bag/a1/moisture")
	s.skew = outAndBack(probe, -0.045)
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

// A probe that was out of its bag and is put back nearly where it was is believed as far
// as the bag is not known better: what it reads less is no water that wicks fail to bring.
func TestAProbePutBackNearby(t *testing.T) {
	long(t)
	t.Parallel()
	for _, seed := range []uint64{1, 2, 3} {
		s := newScene(t, small(3, 70), seed)
		const probe = model.Subject("bag/a1/moisture")
		s.skew = outAndBack(probe, -0.025)
		s.each = func(e model.Snapshot, _ sim.Truth) {
			assert.Empty(t, e.Bags[0].Cause, "seed %d at %s: %s", seed, e.Time, e.Bags[0].Evidence)
		}
		s.live(days(7))
		require.False(t, s.e.bags[0].Lost, "seed %d", seed)
		e := s.e.Snapshot(s.sim.Now(), nil).Bags[0]
		assert.InDelta(t, s.sim.Truth().Bags[0].WaterContent, e.WaterContent.Value, 0.015, "seed %d", seed)
	}
}

// A probe is followed at another height for a day and its night, without a gap.
func TestElsewhereFollows(t *testing.T) {
	m := elsewhere{}
	for i := range 60 {
		at := after(0).Add(time.Duration(i) * time.Hour)
		assert.Equal(t, i >= 24, m.follows(at, -0.05, sq(0.01)), i)
	}
	assert.False(t, m.follows(after(3), 0.05, sq(0.01)), "and now at another height")
	assert.False(t, m.follows(after(5), 0.05, sq(0.01)))
	assert.Equal(t, after(5), m.Since, "nobody knows what it read meanwhile")
}

// Contact that is lost takes a fifth of the reading and more, however long.
func TestLostContactIsNoOtherSpot(t *testing.T) {
	for name, test := range map[string]struct {
		moved, offset, y float64
		want             bool
	}{
		"drier by a tenth":              {-0.03, 0, 0.27, true},
		"wetter":                        {0.06, 0, 0.36, true},
		"a fifth is gone":               {-0.06, 0, 0.24, false},
		"a fifth is gone of a wet bag":  {-0.08, 0, 0.32, false},
		"and before, some":              {-0.03, -0.03, 0.24, false},
		"back to where it was":          {0.04, -0.04, 0.30, true},
		"drier, after it read too much": {-0.03, 0.03, 0.30, true},
		"in the air":                    {-0.25, 0, 0.05, false},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, test.want, anotherSpot(test.moved, test.offset, test.y))
		})
	}
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

// However long nobody hears of them, they drink a third or threefold.
func TestPlantsThatMayDrinkAgainAreNotAnything(t *testing.T) {
	b := fresh(t, small(3, 70)).bags[0]
	b.begin(after(0))
	b.Cause = model.CauseNotDrinking
	s := b.advance(b.Base, after(5), driftHealth)
	assert.Greater(t, s.P[iDemand][iDemand], 0.5)
	s = b.advance(s, after(90), driftHealth)
	assert.Less(t, math.Sqrt(s.P[iDemand][iDemand]), 1.3)
}

// What a bag drank between a reading that came late and the estimate is booked once.
func TestALateReadingOfAProbeThatIsBelievedAgain(t *testing.T) {
	s := newScene(t, small(3, 70), 3)
	s.live(days(2.5))
	b := s.e.bags[0]
	last := b.Heard
	b.Suspect.add(last, 0.1, true)
	b.lose()
	b.roll(last.Add(8 * time.Hour))
	before := b.Roll
	h := b.row(before.Time)
	for i := range agreeToTrust {
		b.observe(last.Add(time.Duration(i+1)*10*time.Minute), h.dot(b.Base.X))
	}
	require.False(t, b.Lost)
	b.roll(before.Time)
	assert.Greater(t, before.Uptake-b.Base.Uptake, 0.1, "a morning's")
	assert.InDelta(t, before.Uptake, b.Roll.Uptake, 0.02)
}
