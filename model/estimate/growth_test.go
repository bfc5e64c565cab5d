package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// grew is a reservoir that drew so many times what was expected on each of its days, the
// last at last.
func grew(t *testing.T, times ...float64) *reservoir {
	r := fresh(t, small(3, 70)).reservoirs[0]
	r.begin(after(0))
	for _, more := range times {
		for h := range 24 {
			wanted := math.Max(0, math.Sin(math.Pi*float64(h-6)/12))
			r.Hours = append(r.Hours, hourDraw{Lifted: more * wanted, Wanted: math.Max(leastWanted, wanted)})
		}
	}
	r.Daily.Days, r.Daily.Ratio = dailyMemory, 0.01 // a steady house
	return r
}

// growing is what a house draws that grows by a share every day.
func growing(perDay float64, days int) (out []float64) {
	for day := range days {
		out = append(out, math.Pow(1+perDay, float64(day)))
	}
	return out
}

// The slope of a line through ten days, x from −9.5 to −0.5, has the variance σ²/82.5
// (any text on statistics), and counts against its prior by the inverse of it.
func TestTrendIsTheSlopeOfALine(t *testing.T) {
	r := grew(t, growing(0.05, 10)...)
	w := r.trend()
	_, rung := r.weather.reference(r.Time.Add(-24*time.Hour), r.Time)
	told := 82.5 / sq(r.Daily.sd(rung)) / 3
	assert.InDelta(t, math.Log(1.05)*told/(told+2500), w.Growth, 1e-6)
	assert.InDelta(t, 1/(told+2500), w.Variance, 1e-9)
}

func TestDaysToComeOfPlantsThatGrow(t *testing.T) {
	r := grew(t, growing(0.05, 10)...)
	w := r.trend()
	usual, ok := r.usualDay(w)
	require.True(t, ok)
	sum := 0.0
	for _, litres := range usual {
		sum += litres
	}
	last := 0.0
	for _, h := range r.Hours[216:] {
		last += h.Lifted
	}
	assert.InEpsilon(t, last*math.Pow(1.05, 0.5), sum, 0.06, "as of now, half a day after the middle of the last one")
	assert.InEpsilon(t, math.Exp(w.Growth*growthLasts), w.ahead(1000), 1e-6, "no plant grows for ever")
	assert.InEpsilon(t, 1+w.Growth, w.ahead(1), 0.1)
	assert.InDelta(t, 1, w.ahead(0), 1e-9)
	assert.InDelta(t, 1, r.departure(usual), 0.05, "they grow, and the day is as usual")

	still := grew(t, growing(0, 10)...).trend()
	assert.Zero(t, still.Growth)
	assert.InDelta(t, 1, still.since(9), 1e-9)
}

// Plants that were cut back do not shrink on from day to day.
func TestDaysToComeOfPlantsThatWereCut(t *testing.T) {
	r := grew(t, 1, 1, 1, 1, 1, 1, 0.6, 0.6, 0.6, 0.6)
	w := r.trend()
	assert.Zero(t, w.Growth)
	usual, _ := r.usualDay(w)
	noon := 0.0
	for _, litres := range usual {
		noon = max(noon, litres)
	}
	assert.InDelta(t, 0.6, noon, 0.06, "and the days before tell of them as they were")
}

// What is not known of a day says nothing: its house drew nothing, or it was kept by an
// older version.
func TestTrendOfDaysThatAreNotKnown(t *testing.T) {
	r := grew(t, 1, 1, 0, 1, 1)
	r.Hours[100].Wanted = 0
	w := r.trend()
	require.Len(t, w.Days, 5)
	assert.True(t, math.IsNaN(w.Days[0]))
	assert.True(t, math.IsNaN(w.Days[2]))
	assert.InDelta(t, 0, w.Days[1], 1e-6)
	assert.InDelta(t, 1, w.since(0), 1e-6)
	w = grew(t, 1, 2).trend()
	assert.Zero(t, w.Growth)
	assert.Equal(t, sq(priorGrowth), w.Variance, "as well as of any house")
	assert.Equal(t, 1.0, w.since(1), "two days are none")
}

// A house that draws just what climate and crops make expect has a level like any other,
// ln 1 = 0: its days are carried on to it.
func TestTrendOfAHouseAsExpected(t *testing.T) {
	w := trend{Days: []float64{0, math.Log(0.5), math.NaN()}, Known: true}
	assert.Equal(t, 1.0, w.since(0))
	assert.InDelta(t, 2, w.since(1), 1e-12, "it draws twice as much as then")
	assert.Equal(t, 1.0, w.since(2), "which nobody knows")
}

// A level that wanders as much as a day errs has the steady gain (√5 − 1)/2 [D].
func TestTrendLevel(t *testing.T) {
	w := trend{Days: []float64{1, 0, math.NaN()}}
	gain := (math.Sqrt(5) - 1) / 2
	assert.InDelta(t, 1/(2-gain), w.level(1), 1e-9)
}

// Wicks that are laid anew are no growth.
func TestTrendOfABagThatIsMended(t *testing.T) {
	r := fresh(t, small(3, 70)).reservoirs[0]
	r.begin(after(0))
	wants := func() float64 {
		before := r.Wanted
		r.draw(0.3, 1)
		return r.Wanted - before
	}
	all := wants()
	r.bags[0].Cause = model.CauseWickLostContact
	assert.InEpsilon(t, all*float64(len(r.bags)-1)/float64(len(r.bags)), wants(), 1e-6)
}
