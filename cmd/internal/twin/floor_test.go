package twin

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

// steady is a bench of n plain bags that drink 0.05 L/h each for six days, of whose
// readings a share is lost.
func steady(t *testing.T, n int, loss float64) *witness {
	t.Helper()
	site := plain()
	site.Bags = site.Bags[:n]
	physics, err := design.Build(site)
	require.NoError(t, err)
	w := &witness{site: site, physics: physics, every: 10 * time.Minute, loss: loss}
	for k := range 6*24*6 + 1 {
		at := start().Add(time.Duration(k) * w.every)
		hours := at.Sub(start()).Hours()
		now := sim.Truth{Time: at, Air: sim.Air{Temperature: 20}, Reservoirs: []sim.ReservoirTruth{{Volume: 100 - 0.5*hours}}}
		for _, b := range site.Bags {
			now.Bags = append(now.Bags, sim.BagTruth{ID: b.ID, Demand: 0.05, Uptake: 0.05 * hours, WickHealth: 1, Fed: true})
		}
		w.truth = append(w.truth, now)
		if k%6 == 0 {
			w.hours = append(w.hours, model.Snapshot{Time: at})
		}
	}
	return w
}

// cutOff takes the supply of a bag away from a step on.
func (w *witness) cutOff(bag, from int) {
	for k := from; k < len(w.truth); k++ {
		w.truth[k].Bags[bag].Fed = false
	}
}

func leastOf(t *testing.T, w *witness, bags int) []float64 {
	t.Helper()
	fed := make([]fed, bags)
	for i := range fed {
		fed[i].bag = i
	}
	least, err := w.least(fed, followsWarmth)
	require.NoError(t, err)
	return least
}

// Without readings there is what was known before: the scatter of n independent
// shares of a known sum is √(1 − 1/n) of that of each, and the mean of a normal
// error √(2/π) of its standard deviation (any textbook).
func TestWithoutReadingsTheFloorIsWhatWasKnown(t *testing.T) {
	known := sim.TypicalScatter()
	for _, n := range []int{2, 4, 12} {
		for _, got := range leastOf(t, steady(t, n, 1), n) {
			assert.InEpsilon(t, math.Sqrt(2/math.Pi)*math.Hypot(known.Demand, known.Canopy)*math.Sqrt(1-1/float64(n)), got, 0.01, "of %d bags, all well fed", n)
		}
	}
}

// A bag without supply loses what it drinks: by then its demand is known as well as a
// straight line through so many readings has a slope, σ·√(12/N)/T.
func TestWithoutSupplyTheFloorIsThatOfALine(t *testing.T) {
	w := steady(t, 4, 0)
	const from = 6 * 24 * 5 // the fifth day's midnight
	w.cutOff(0, from)
	got := leastOf(t, w, 4)
	p := w.physics.Bags[0]
	slope := sim.MoistureNoise * math.Sqrt(12/float64(len(w.truth)-from)) / 24 // m³/m³ per h
	want := slope * p.Volume() / 0.05                                          // of 0.05 L/h
	assert.InEpsilon(t, math.Sqrt(2/math.Pi)*want, got[0], 0.5, "its offset is known from before, its plants may suffer")
	assert.Less(t, got[0], got[1]/5)
	assert.False(t, w.alwaysFed(0))
	assert.True(t, w.alwaysFed(1))
}

// The floor falls with the readings, and is lower for a probe that is known not to
// follow its warmth.
func TestTheFloorFallsWithReadings(t *testing.T) {
	w := steady(t, 4, 0)
	for k := range w.truth {
		hour := w.truth[k].Time.Sub(start()).Hours()
		day := math.Sin(2 * math.Pi * (hour - 9) / 24)
		w.truth[k].Air.Temperature += 6 * day
		for i := range w.truth[k].Bags {
			w.truth[k].Bags[i].Demand *= 1 + day
		}
	}
	all := leastOf(t, w, 4)
	w.loss = 0.9
	few := leastOf(t, w, 4)
	w.loss = 0
	cool, err := w.least([]fed{{bag: 0}, {bag: 1}, {bag: 2}, {bag: 3}}, followsNothing)
	require.NoError(t, err)
	assert.Less(t, all[0], few[0])
	assert.Less(t, cool[0], all[0])
}

// Whoever lets the last days go on misses nothing where every day is alike, and all
// of it where the draw doubles.
func TestPersistence(t *testing.T) {
	w := steady(t, 1, 0)
	now, at := start().Add(96*time.Hour), start().Add(120*time.Hour)
	miss, ok := w.persists(0, now, at)
	require.True(t, ok)
	assert.InDelta(t, 0, miss, 1e-9)
	for k := range w.truth {
		if over := w.truth[k].Time.Sub(now).Hours(); over > 0 {
			w.truth[k].Reservoirs[0].Volume -= 0.5 * over
		}
	}
	miss, ok = w.persists(0, now, at)
	require.True(t, ok)
	assert.InDelta(t, 1, miss, 1e-9)
}
