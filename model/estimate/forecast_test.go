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
// rests on adds half of its own, 3/days, at most ½; what wanders by σ per √d adds σ²n/3,
// the variance of the mean of a Wiener process over n days [D].
func TestRelativeError(t *testing.T) {
	r := &reservoir{Hours: make([]hourDraw, 240)}
	own := 3.0 / 10 / 2
	for days, share := range map[float64]float64{0.3: 1, 1: 1, 2: 0.75, 3: 11.0 / 18} {
		wanders := sq(driftDraw) * days / 3
		assert.InDelta(t, share+own+wanders, sq(r.relative(1, trend{}, days)), 1e-9, "%g days", days)
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
	usual, ok := r.usualDay(r.trend())
	require.True(t, ok)
	assert.InDelta(t, 1, r.departure(usual), 1e-9)
	for i := len(r.Hours) - 6; i < len(r.Hours); i++ {
		r.Hours[i].Lifted = 2
	}
	usual, _ = r.usualDay(r.trend())
	// The six hours carry (1−e^−¾)/(1−e^−3) = 0.555 of the weight, and have
	// raised what is usual at those hours by 1/Σe^−d/6 = 0.2715: 1.555/1.151 [D].
	assert.InDelta(t, 1.351, r.departure(usual), 0.002, "six hours of twice the draw")
}

func TestNoForecastWithoutALevel(t *testing.T) {
	r := tank(t)
	r.Readings = 0
	assert.Nil(t, r.emptyAt(noon, course{}))
}

// thirsty is a site whose bags are dry within two days without a supply.
func thirsty() *model.Site {
	s := small(2, 70)
	for i := range s.Bags {
		s.Bags[i].Canopy *= 2
	}
	return s
}

// A bag that is fed well dries from when its reservoir is empty on. A tank that nobody
// refills tells of it days ahead, by the truth of Richards' bags; one that lasts tells
// nothing, and what is poured in takes it back at once.
func TestDrynessAfterTheReservoirIsEmpty(t *testing.T) {
	long(t)
	site := thirsty()
	site.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 500, Width: 400}
	s := newScene(t, site, 3)
	var err error
	s.sim, err = sim.New(sim.Options{Site: site, Seed: 3, Start: begin, Step: pace, Refill: sim.RefillNever})
	require.NoError(t, err)
	type told struct {
		at time.Time
		q  model.Quantiles
	}
	var all []told
	var dried time.Time
	limit := s.e.bags[0].physics.DryLimit
	s.each = func(e model.Snapshot, truth sim.Truth) {
		if b := e.Bags[0]; e.Time.Equal(e.Time.Truncate(time.Hour)) && dried.IsZero() && b.Dry.P50 != nil {
			all = append(all, told{e.Time, b.Dry})
		}
		if dried.IsZero() && truth.Bags[0].WaterContent < limit {
			dried = e.Time
		}
	}
	s.live(days(12))
	require.False(t, dried.IsZero())
	ahead, held, judged := 0.0, 0, 0
	for _, f := range all {
		left := dried.Sub(f.at).Hours()
		if left < 3 || f.at.Before(after(4)) {
			continue
		}
		ahead = max(ahead, left)
		judged++
		if !f.q.P05.After(dried) && (f.q.P95 == nil || !f.q.P95.Before(dried)) {
			held++
		}
	}
	assert.Greater(t, ahead, 48.0, "h")
	assert.Greater(t, float64(held), 0.85*float64(judged), "of %d", judged)
}

func TestARefillTakesDrynessBack(t *testing.T) {
	s := newScene(t, thirsty(), 4)
	s.live(days(1.5))
	r, now := s.e.reservoirs[0], s.sim.Now()
	require.Nil(t, s.e.beliefs[0].Dry.P50)
	stands := func(at time.Time, level float64) {
		for range 3 {
			s.e.Observe(model.Reading{Sensor: "reservoir/tank/level", Time: at, Value: level, Verdict: model.Good})
			at, level = at.Add(10*time.Minute), level-0.1
		}
		s.e.Advance(at)
	}
	stands(now.Add(time.Minute), r.physics.Reservoir.Empty+2)
	require.NotNil(t, s.e.beliefs[0].Dry.P50)
	stands(now.Add(35*time.Minute), r.physics.Reservoir.Full)
	assert.Nil(t, s.e.beliefs[0].Dry.P50)
}

// A tank whose level nobody reads is empty by the model one day, whoever fills it: its
// bags are as their probes say.
func TestADeadLevelSensorDriesNoBag(t *testing.T) {
	long(t)
	site := thirsty()
	s := newScene(t, site, 3)
	s.deaf = func(id model.Subject, at time.Time) bool {
		return id == "reservoir/tank/level" && at.After(after(4))
	}
	emptied := false
	s.each = func(e model.Snapshot, truth sim.Truth) {
		at := e.Reservoirs[0].EmptyAt
		if e.Time.Before(after(6)) || at == nil || at.P50 == nil || at.P50.After(e.Time) {
			return
		}
		emptied = true
		if b := e.Bags[0]; truth.Bags[0].WaterContent > b.DryLimit+0.2 {
			require.Nil(t, b.Dry.P50)
		}
	}
	s.live(days(24))
	assert.True(t, emptied, "by the model")
}

// Whoever is told that a wick failed or a channel is dry is told how long there is, at
// whatever minute it was found.
func TestAFaultThatIsFoundSaysHowLongThereIs(t *testing.T) {
	for cause, fault := range map[model.Cause]sim.Fault{
		model.CauseWickLostContact: {Kind: sim.WickLostContact, Subject: "bag/a2", Size: 0.12},
		model.CauseChannelDry:      {Kind: sim.ChannelDry, Subject: "channel/a"},
	} {
		t.Run(string(cause), func(t *testing.T) {
			fault.Start = after(4.35)
			site := small(3, 70)
			for i := range site.Bags {
				site.Bags[i].Canopy *= 2
			}
			s := newScene(t, site, 3, fault)
			var found time.Time
			s.each = func(e model.Snapshot, _ sim.Truth) {
				b := e.Bags[1]
				if !found.IsZero() || b.Cause != cause {
					return
				}
				found = e.Time
				require.NotEqual(t, e.Time.Truncate(time.Hour), e.Time, "the hour forecasts anyway")
				require.NotNil(t, b.Dry.P05)
				require.WithinRange(t, *b.Dry.P05, found, found.Add(days(3)))
			}
			s.live(days(7))
			require.False(t, found.IsZero())
		})
	}
}
