package climate_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/climate"
)

func TestLampsMean(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Zurich")
	require.NoError(t, err)
	const h = time.Hour
	evening := climate.Lamps{Radiation: 80, Zone: zone, Hours: []climate.Hours{{From: 5 * h, To: 8 * h}, {From: 22 * h, To: 2*h + 30*time.Minute}}}
	local := func(day, hour, minute int) time.Time { return time.Date(2026, 1, day, hour, minute, 0, 0, zone) }
	for name, test := range map[string]struct {
		from, to time.Time
		want     float64
	}{
		"dark":                 {local(10, 12, 0), local(10, 13, 0), 0},
		"lit":                  {local(10, 22, 0), local(10, 23, 0), 80},
		"past midnight":        {local(11, 0, 0), local(11, 1, 0), 80},
		"half of the hour":     {local(11, 2, 0), local(11, 3, 0), 40},
		"until it is lit":      {local(11, 4, 50), local(11, 5, 0), 0},
		"in another time zone": {local(11, 5, 0).UTC(), local(11, 6, 0).UTC(), 80},
		"a day":                {local(11, 0, 0), local(12, 0, 0), 80 * 7.5 / 24},
		"no time":              {local(11, 6, 0), local(11, 6, 0), 0},
		"backwards":            {local(11, 7, 0), local(11, 6, 0), 0},
	} {
		t.Run(name, func(t *testing.T) { assert.InDelta(t, test.want, evening.Mean(test.from, test.to), 1e-9) })
	}
	always := climate.Lamps{Radiation: 80, Zone: zone, Hours: []climate.Hours{{To: 24 * h}}}
	for at := local(28, 23, 30).AddDate(0, 2, 0); at.Before(local(30, 1, 0).AddDate(0, 2, 0)); at = at.Add(h) { // the night of 23 hours
		assert.InDelta(t, 80, always.Mean(at, at.Add(h)), 1e-9, at)
	}
	assert.InDelta(t, 80, always.Mean(local(11, 7, 0), local(12, 7, 0)), 1e-9, "all day")
	assert.Zero(t, climate.Lamps{}.Mean(local(1, 0, 0), local(1, 1, 0)))

	// Clocks go forward on 29 March 2026 at two: the lamps follow the clock.
	summer := time.Date(2026, 3, 30, 4, 30, 0, 0, time.UTC) // 6:30
	assert.InDelta(t, 80, evening.Mean(summer, summer.Add(h)), 1e-9)
	assert.InDelta(t, 0, evening.Mean(summer.Add(2*h), summer.Add(3*h)), 1e-9)
}

// hourBy is the depth of an hour by FAO-56 eq 53, written out: under a net radiation, in
// MJ/m², of which a tenth goes into the ground.
func hourBy(temperature, humidity, net float64) float64 {
	full := 0.6108 * math.Exp(17.27*temperature/(temperature+237.3))
	slope := 4098 * full / math.Pow(temperature+237.3, 2)
	gamma := 0.665e-3 * 101.3
	return (0.408*slope*0.9*net + gamma*37/(temperature+273)*0.5*full*(1-humidity)) / (slope + gamma*(1+0.34*0.5))
}

func TestLampsAreAddedToTheSun(t *testing.T) {
	const h = time.Hour
	night := time.Date(2026, 1, 10, 22, 0, 0, 0, time.UTC)
	lamps := climate.Lamps{Radiation: 150, Hours: []climate.Hours{{From: 21 * h, To: 23 * h}}}
	// The whole long-wave loss is stopped, so that the lamps are all the net radiation.
	base := climate.Options{Place: climate.Place{Latitude: 47}, LongwaveShield: 1}
	depth := func(o climate.Options, w climate.Weather) float64 {
		d, err := climate.New(o)
		require.NoError(t, err)
		d.Observe(night, w)
		d.Observe(night.Add(-24*h), w)
		mm, _ := d.Rate(night, night.Add(10*time.Minute))
		return 6 * mm
	}
	air := climate.Weather{Temperature: 18, Humidity: 0.7, Radiation: math.NaN(), Wind: math.NaN()}
	lit, below, above := base, base, base
	lit.Lamps = lamps
	below.Lamps, below.LampsMeasured = lamps, true
	above.Lamps = lamps
	want := hourBy(18, 0.7, 0.77*150*0.0036)
	assert.InEpsilon(t, want, depth(lit, air), 1e-6, "nobody measures the light")
	air.Radiation = 0
	assert.InEpsilon(t, want, depth(above, air), 1e-6, "a sensor above the lamps")
	air.Radiation = 150
	assert.InEpsilon(t, want, depth(below, air), 1e-6, "a sensor below them")
	assert.InEpsilon(t, want, depth(base, air), 1e-6, "the same of a site that does not state them")
	air.Radiation = 0
	assert.Less(t, depth(below, air), want/2, "a sensor below them that says that they are out")
}

// What the grower says a plant drinks is shared out by the light of both.
func TestLampsShareOutADay(t *testing.T) {
	o := climate.Options{
		Place: climate.Place{Latitude: 47}, Transmission: 0.7,
		PlantDay: climate.PlantDay{Litres: 0.6, Canopy: 0.2, Coefficient: 1},
		Lamps:    climate.Lamps{Radiation: 60, Hours: []climate.Hours{{From: 18 * time.Hour, To: 22 * time.Hour}}},
	}
	d, err := climate.New(o)
	require.NoError(t, err)
	day := time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC)
	all, _ := d.Rate(day, day.Add(24*time.Hour))
	assert.InDelta(t, 3, all, 0.02, "0.6 L over 0.2 m²")
	evening, rung := d.Rate(day.Add(18*time.Hour), day.Add(22*time.Hour))
	assert.Equal(t, climate.PlantLitres, rung)
	sun := 0.5 * 0.7 * climate.ExtraterrestrialDaily(47, 10)
	lit := 60 * 4 * 0.0036
	assert.InEpsilon(t, lit/(lit+sun), evening/3, 0.01)
}

func TestLampsAreValidated(t *testing.T) {
	_, err := climate.New(climate.Options{Lamps: climate.Lamps{Radiation: -1}})
	assert.ErrorContains(t, err, "radiation of lamps")
	_, err = climate.New(climate.Options{Lamps: climate.Lamps{Radiation: 50, Hours: []climate.Hours{{From: 30 * time.Hour}}}})
	assert.ErrorContains(t, err, "hour at which lamps are lit")
}
