package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model/climate"
)

// A house whose draw follows the reference to a few parts in a hundred teaches
// just that, however far off the reference is on the whole.
func TestDailyLearnsTheHouse(t *testing.T) {
	tests := map[string]struct {
		rung    climate.Rung
		scatter float64 // relative, from one day to the next
		bias    float64
		within  [2]float64
	}{
		"steady house, every sensor":   {climate.Full, 0.02, 1.4, [2]float64{0.01, 0.035}},
		"restless house, every sensor": {climate.Full, 0.15, 0.8, [2]float64{0.09, 0.20}},
		"no sensors, changing sky":     {climate.RecentDays, 0.25, 1, [2]float64{0.18, 0.33}},
		"no sensors, settled weather":  {climate.RecentDays, 0.05, 1, [2]float64{0.05, 0.16}},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 4))
			var d daily
			drawn, asked := 0.0, 0.0
			for day := range 15 {
				d.observe(after(float64(day)), drawn, asked, 12, test.rung, true)
				wanted := 8 + 8*rng.Float64()
				asked += wanted
				drawn += wanted * test.bias * math.Exp(test.scatter*rng.NormFloat64())
			}
			got := d.sd(test.rung)
			assert.Greater(t, got, test.within[0])
			assert.Less(t, got, test.within[1])
		})
	}
}

// A leak that begins between two days, a day without sun or draw, and a gap are
// no departures of the plants.
func TestDailyPassesOverWhatIsNoDay(t *testing.T) {
	steady := func(odd func(day int, d *daily, drawn, asked float64) (float64, float64)) float64 {
		var d daily
		drawn, asked := 0.0, 0.0
		for day := range 10 {
			d.observe(after(float64(day)), drawn, asked, 12, climate.Full, true)
			took, wanted := odd(day, &d, 12, 12)
			drawn, asked = drawn+took, asked+wanted
		}
		return d.sd(climate.Full)
	}
	usual := steady(func(_ int, _ *daily, d, a float64) (float64, float64) { return d, a })
	leak := steady(func(day int, _ *daily, d, a float64) (float64, float64) {
		if day >= 6 {
			d += 12
		}
		return d, a
	})
	still := steady(func(day int, _ *daily, d, a float64) (float64, float64) {
		if day == 5 {
			return 0.1, a
		}
		return d, a
	})
	gap := steady(func(day int, d *daily, took, a float64) (float64, float64) {
		if day == 5 {
			d.At = d.At.Add(-time.Hour)
		}
		return took, a
	})
	assert.Less(t, leak, 2*usual, "bounded")
	assert.InDelta(t, usual, still, 0.01)
	assert.InDelta(t, usual, gap, 0.01)
	assert.Less(t, usual, rungDaily(climate.Full))
}

// The level over a float valve says nothing of the draw, however often it is read.
func TestAFloatValveTellsNothingOfADay(t *testing.T) {
	site := small(2, 70)
	site.Reservoirs[0].FloatValve = true
	s := newScene(t, site, 7)
	s.live(days(5))
	r := s.e.reservoirs[0]
	assert.Positive(t, r.Readings)
	assert.Zero(t, r.Daily.Days)
}

// The first pair of days is bounded by what was expected of it before: 3 sd of the
// prior, whose variance is one.
func TestDailyBoundsAPairByWhatWasKnownBefore(t *testing.T) {
	var d daily
	for day, drawn := range []float64{0, 12, 12 + 36} {
		d.observe(after(float64(day)), drawn, 12*float64(day), 12, climate.Full, true)
	}
	assert.Equal(t, 1, d.Days)
	assert.InDelta(t, 9, d.Ratio, 1e-9)
}
