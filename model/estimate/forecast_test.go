package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

// The mean of n neighbours that correlate by ρ^|i−j|: for ρ = ½ its variance is
// ¾ of one's for n = 2, 11/18 for n = 3 [D]. The mean that the expectation
// rests on adds half of its own, 3/days, at most ½.
func TestRelativeError(t *testing.T) {
	r := &reservoir{Hours: make([]hourDraw, 240)}
	own := 3.0 / 10 / 2
	for days, share := range map[float64]float64{0.3: 1, 1: 1, 2: 0.75, 3: 11.0 / 18} {
		assert.InDelta(t, share+own, sq(r.relative(1, days)), 1e-9, "%g days", days)
	}
}

func tank(t *testing.T) *reservoir {
	t.Helper()
	site := sim.DemoSite()
	site.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 1000, Width: 500}
	site.Reservoirs[0].Full, site.Reservoirs[0].Empty = 400, 100
	d, err := design.Build(site)
	require.NoError(t, err)
	require.InDelta(t, 200, d.Reservoirs[0].Full(), 1e-9)
	require.InDelta(t, 50, d.Reservoirs[0].Empty(), 1e-9)
	return &reservoir{physics: d.Reservoirs[0], Readings: 1}
}

// A tank of 500 L/m at 100 L above its empty mark that gives 24 L a day, one
// each hour: empty after 100 hours, whatever the hour.
func TestEmptyAt(t *testing.T) {
	r := tank(t)
	r.X[jVolume] = 150
	for range 120 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	q := r.emptyAt(noon, course{})
	require.NotNil(t, q)
	require.NotNil(t, q.P50)
	assert.WithinDuration(t, noon.Add(100*time.Hour), *q.P50, time.Minute)
	assert.True(t, q.P05.Before(*q.P50) && q.P95.After(*q.P50))

	r.X[jUnexplained] = 1
	q = r.emptyAt(noon, course{})
	assert.WithinDuration(t, noon.Add(50*time.Hour), *q.P50, time.Minute, "a leak as large as the draw halves the time")

	r.X[jUnexplained], r.X[jVolume] = 0, 500
	assert.Nil(t, r.emptyAt(noon, course{}).P95, "beyond the horizon")
}

func TestDepartureFollowsTheLastHours(t *testing.T) {
	r := tank(t)
	for range 120 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	usual, ok := r.usualDay()
	require.True(t, ok)
	assert.InDelta(t, 1, r.departure(usual), 1e-9)
	for i := len(r.Hours) - 6; i < len(r.Hours); i++ {
		r.Hours[i].Lifted = 2
	}
	usual, _ = r.usualDay()
	// The six hours carry (1−e^−¾)/(1−e^−3) = 0.555 of the weight, and have
	// raised what is usual at those hours by 1/Σe^−d/6 = 0.2715: 1.555/1.151 [D].
	assert.InDelta(t, 1.351, r.departure(usual), 0.002, "six hours of twice the draw")
}

func TestNoForecastWithoutALevel(t *testing.T) {
	r := tank(t)
	r.Readings = 0
	assert.Nil(t, r.emptyAt(noon, course{}))
}
