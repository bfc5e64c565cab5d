package estimate

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// Who picks or weeds touches a probe, and from then on it reads some points less in a bag
// that goes on as it was: no wicks failed, whatever the hour, and the bag is known as well
// as before.
func TestAProbeThatIsTouched(t *testing.T) {
	long(t)
	t.Parallel()
	for _, size := range []float64{0.03, 0.045, 0.06} {
		for _, hour := range []float64{2, 10, 17} {
			for _, seed := range []uint64{2, 5} {
				start := after(3).Add(time.Duration(hour * float64(time.Hour)))
				s := newScene(t, small(3, 120), seed)
				s.skew = func(r model.Reading) float64 {
					if r.Sensor != "bag/a2/moisture" || r.Time.Before(start) {
						return 0
					}
					return -size
				}
				s.each = func(e model.Snapshot, _ sim.Truth) {
					assert.Empty(t, e.Bags[1].Cause, "%.3f at %v, seed %d: %s: %s", size, start, seed, e.Time, e.Bags[1].Evidence)
				}
				s.live(days(7))
				b := s.e.bags[1]
				assert.False(t, b.Lost)
				assert.InDelta(t, s.sim.Truth().Bags[1].WaterContent, b.Base.X[iStorage]/b.volume(), 0.016, "%.3f at %v, seed %d", size, start, seed)
				assert.InDelta(t, -size, b.Base.X[iOffset], 0.016, "%.3f at %v, seed %d", size, start, seed)
				for i, h := range b.History.Hours[1:] {
					assert.Greater(t, h.Uptake, b.History.Hours[i].Uptake-0.05, "%.3f at %v, seed %d: what was drunk by %s", size, start, seed, h.At)
				}
				uptake := s.sim.Truth().Bags[1].Uptake
				assert.InEpsilon(t, uptake, b.Base.Uptake, 0.2, "%.3f at %v, seed %d", size, start, seed)
			}
		}
	}
}

// Where it is found while its readings are held back, the hours of those are booked once.
func TestReadingsHeldBackAreBookedOnce(t *testing.T) {
	s := newScene(t, small(3, 120), 2)
	s.live(days(3) + 9*time.Hour)
	b := s.e.bags[1]
	was, truth := b.Base, b.asIs(b.Base.Time)
	for i := range 6 {
		at := was.Time.Add(time.Duration(i+1) * pace)
		truth = b.carry(truth, at)
		b.roll(at)
		b.observe(at, b.reads(truth)-0.046)
	}
	require.False(t, b.Touched.IsZero())
	assert.InDelta(t, truth.Taken.Uptake, b.Roll.Uptake-was.Uptake, 0.01)
	assert.InDelta(t, truth.S, b.Roll.X[iStorage], 0.005*b.volume())
	assert.InDelta(t, truth.Offset-0.046, b.Roll.X[iOffset], 0.005)
}

// A hand touches one probe: where another bag falls, too, it is the supply. A bag that
// nobody hears has no voice.
func TestAKnockIsAlone(t *testing.T) {
	s := newScene(t, small(3, 120), 2)
	s.live(days(2))
	b, o := s.e.bags[1], s.e.bags[0]
	for _, each := range s.e.bags {
		each.Rivals = nil
	}
	assert.True(t, b.fallsAlone())
	o.Rivals = []rival{{Kind: model.CauseWickLostContact, LLR: decisive / 2, Start: o.Base.Time, At: o.Base.Time}}
	assert.False(t, b.fallsAlone())
	o.Lost = true
	assert.True(t, b.fallsAlone())
	o.Lost, o.Spoke = false, o.Spoke.Add(-days(10))
	assert.True(t, b.fallsAlone())
}

// Wicks that fail at the moment when the probe is touched are found as well.
func TestWicksThatFailUnderATouchedProbe(t *testing.T) {
	long(t)
	t.Parallel()
	start := after(3).Add(10 * time.Hour)
	for _, seed := range []uint64{1, 2, 3} {
		s := newScene(t, small(4, 120), seed, sim.Fault{Kind: sim.WickLostContact, Subject: "bag/a2", Size: 0.12, Start: start})
		s.skew = func(r model.Reading) float64 {
			if r.Sensor != "bag/a2/moisture" || r.Time.Before(start) {
				return 0
			}
			return -0.03
		}
		s.live(days(5))
		assert.True(t, s.e.bags[1].failing(), "seed %d", seed)
	}
}

// What departs at once and stays is told from what departs little by little.
func TestAKnockIsSteady(t *testing.T) {
	at := func(miss func(hours float64) float64) knock {
		k := knock{Held: rival{Start: after(0), At: after(0).Add(5 * time.Hour)}}
		for i := range 15 {
			hours := float64(i+1) / 3
			const w = 100.0
			k.Sum += w
			k.Miss += w * miss(hours)
			k.Hours += w * hours
			k.Hours2 += w * hours * hours
			k.Rise += w * hours * miss(hours)
			if hours < 1.5 {
				k.Early += w
				k.EarlyMiss += w * miss(hours)
			}
		}
		return k
	}
	for name, c := range map[string]struct {
		steady bool
		miss   func(hours float64) float64
	}{
		"a step":                      {true, func(float64) float64 { return -0.03 }},
		"that a dry day lets grow":    {true, func(h float64) float64 { return -0.03 - 0.002*h }},
		"that is mended":              {true, func(h float64) float64 { return -0.04 + 0.005*h }},
		"a bag that dries":            {false, func(h float64) float64 { return -0.01 * h }},
		"one that began with a start": {false, func(h float64) float64 { return -0.015 - 0.007*h }},
		"one that dried until dusk":   {false, func(h float64) float64 { return -0.03 * math.Min(1, h/3) }},
		"a probe that reads more":     {false, func(float64) float64 { return 0.03 }},
	} {
		k := at(c.miss)
		assert.Equal(t, c.steady, k.steady(), name)
	}
	assert.False(t, (&knock{Held: rival{Start: after(0), At: after(0)}, Sum: 1, Miss: -1, Hours: 1, Hours2: 1, Rise: -1, Early: 1, EarlyMiss: -1}).steady(), "one reading tells no course")
	assert.Equal(t, -knockRare, (&knock{}).llr())
}

// Few falls are weighed at once, one that is held back once, and none for long; a bag
// that is known to fail has none.
func TestFallsThatAreFelt(t *testing.T) {
	s := newScene(t, small(3, 120), 1)
	s.live(days(2))
	b := s.e.bags[1]
	b.Knocks = nil
	falls := b.LastY - 2*math.Sqrt(2*b.Noise.Variance)
	now := b.Base.Time
	b.feel(now, b.LastY)
	assert.Empty(t, b.Knocks, "no fall")
	for range 2 {
		b.feel(now, falls)
		assert.Len(t, b.Knocks, 1, "readings that are held back fall from the same state")
	}
	for i := range 3 * mostKnocks {
		b.Base.Time = now.Add(time.Duration(i+1) * time.Minute)
		b.feel(b.Base.Time, falls)
	}
	assert.Len(t, b.Knocks, mostKnocks)
	assert.Equal(t, b.Base.Time, b.Knocks[mostKnocks-1].Held.Start, "the newest is among them")
	b.feel(b.Base.Time.Add(rivalLife+time.Hour), b.LastY)
	assert.Empty(t, b.Knocks)
	b.Cause = model.CauseWickLostContact
	b.feel(now, falls)
	assert.Empty(t, b.Knocks)
}

// What was weighed goes on from a checkpoint, and what the house learns of all its plants
// moves it, too.
func TestAKnockOutlivesARestart(t *testing.T) {
	s := newScene(t, small(3, 120), 2)
	s.live(days(3))
	s.skew = func(r model.Reading) float64 {
		if r.Sensor != "bag/a2/moisture" {
			return 0
		}
		return -0.03
	}
	s.live(time.Hour)
	b := s.e.bags[1]
	require.NotEmpty(t, b.Knocks)
	kept, err := json.Marshal(s.e)
	require.NoError(t, err)
	again := fresh(t, s.site)
	require.NoError(t, json.Unmarshal(kept, again))
	assert.Equal(t, b.Knocks, again.bags[1].Knocks)
	before := b.Knocks[0]
	b.favour(0.1)
	assert.InDelta(t, before.Held.LnDemand+0.1, b.Knocks[0].Held.LnDemand, 1e-12)
	assert.InDelta(t, before.Before.X[iDemand]+0.1, b.Knocks[0].Before.X[iDemand], 1e-12)
}
