package climate_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/climate"
)

var kestrelYard = climate.Place{Latitude: 47, Longitude: 8, Elevation: 310}

func newDemand(t testing.TB, o climate.Options) *climate.Demand {
	t.Helper()
	d, err := climate.New(o)
	require.NoError(t, err)
	return d
}

func TestRateOfExample19(t *testing.T) {
	// FAO-56 example 19 again, whole: what was observed from 14 to 15 h local,
	// 0.63 mm [P]. Six steps of ten minutes see the clearness change within the
	// hour, worth less than 1 %.
	d := newDemand(t, climate.Options{Place: ndiaye})
	t0 := instant(2025, time.October, 1, 15, 0)
	d.Observe(t0, climate.Weather{
		Temperature: 38, Humidity: 0.52, Radiation: 2.450e6 / 3600, Wind: 3.3,
	})
	mm, rung := d.Rate(t0, t0.Add(time.Hour))
	assert.Equal(t, climate.Full, rung)
	assert.InEpsilon(t, 0.626927, mm, 0.01)
}

func TestNewReportsEveryFault(t *testing.T) {
	_, err := climate.New(climate.Options{
		Place:          climate.Place{Latitude: 91, Longitude: math.NaN(), Elevation: 9000},
		Transmission:   1.2,
		LongwaveShield: -0.1,
		Wind:           -1,
		Temperature:    90,
		KRs:            2,
		DewDepression:  -1,
		MaxAge:         time.Minute,
		Days:           40,
		PlantDay:       climate.PlantDay{Litres: 0.3},
	})
	require.Error(t, err)
	for _, part := range []string{
		"latitude 91", "longitude NaN", "elevation 9000", "transmission 1.2", "shield -0.1",
		"wind -1", "temperature 90", "kRs 2", "dew depression -1", "age limit",
		"days to remember 40", "canopy 0", "crop coefficient 0",
	} {
		assert.ErrorContains(t, err, part)
	}
}

func TestRateOfNoTime(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	t0 := instant(2025, time.June, 1, 12, 0)
	for _, t1 := range []time.Time{t0, t0.Add(-time.Hour)} {
		mm, rung := d.Rate(t0, t1)
		assert.Zero(t, mm)
		assert.Equal(t, climate.Full, rung)
	}
}

func TestRateStepsDownTheLadder(t *testing.T) {
	nan := math.NaN()
	everything := climate.Weather{Temperature: 24, Humidity: 0.6, Radiation: 500, Wind: 1}
	noon := instant(2025, time.June, 21, 12, 0)
	plants := climate.PlantDay{Litres: 0.4, Canopy: 0.1, Coefficient: 0.85}
	tests := map[string]struct {
		see     climate.Weather
		after   time.Duration
		options climate.Options
		want    climate.Rung
	}{
		"all":                   {everything, 0, climate.Options{}, climate.Full},
		"wind does not matter":  {climate.Weather{Temperature: 24, Humidity: 0.6, Radiation: 500, Wind: nan}, 0, climate.Options{}, climate.Full},
		"still fresh":           {everything, 80 * time.Minute, climate.Options{}, climate.Full},
		"too old on day one":    {everything, 110 * time.Minute, climate.Options{}, climate.DateAndLatitude},
		"a longer limit":        {everything, 110 * time.Minute, climate.Options{MaxAge: 3 * time.Hour}, climate.Full},
		"next day":              {everything, 24 * time.Hour, climate.Options{}, climate.RecentDays},
		"a month is too far":    {everything, 31 * 24 * time.Hour, climate.Options{}, climate.DateAndLatitude},
		"no humidity":           {climate.Weather{Temperature: 24, Humidity: nan, Radiation: 500, Wind: 1}, 0, climate.Options{}, climate.WithoutHumidity},
		"no radiation":          {climate.Weather{Temperature: 24, Humidity: 0.6, Radiation: nan, Wind: 1}, 0, climate.Options{}, climate.WithoutRadiation},
		"light only":            {climate.Weather{Temperature: nan, Humidity: nan, Radiation: 500, Wind: 1}, 0, climate.Options{}, climate.RadiationOnly},
		"temperature, no night": {climate.Weather{Temperature: 24, Humidity: nan, Radiation: nan, Wind: nan}, 0, climate.Options{}, climate.DateAndLatitude},
		"humidity only":         {climate.Weather{Temperature: nan, Humidity: 0.6, Radiation: nan, Wind: 1}, 0, climate.Options{}, climate.DateAndLatitude},
		"nothing but litres":    {climate.Unmeasured(), 0, climate.Options{PlantDay: plants}, climate.PlantLitres},
		"nonsense is no value":  {climate.Weather{Temperature: 900, Humidity: 55, Radiation: 500, Wind: 1}, 0, climate.Options{}, climate.RadiationOnly},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			test.options.Place = kestrelYard
			d := newDemand(t, test.options)
			d.Observe(noon, test.see)
			t0 := noon.Add(test.after)
			mm, rung := d.Rate(t0, t0.Add(10*time.Minute))
			assert.Equal(t, test.want, rung)
			assert.Greater(t, mm, 0.0, "midsummer noon")
			assert.Less(t, mm, 0.25)
		})
	}
}

func TestRateReportsThePoorestRung(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	noon := instant(2025, time.June, 21, 12, 0)
	d.Observe(noon, climate.Weather{Temperature: 24, Humidity: 0.6, Radiation: 500, Wind: 1})
	_, rung := d.Rate(noon, noon.Add(3*time.Hour))
	assert.Equal(t, climate.DateAndLatitude, rung)
}

func TestPlantLitresAreDrunk(t *testing.T) {
	// The grower's litres come back out over a day, whatever the season, shaped
	// by the sun: nothing at midnight, most at noon.
	plants := climate.PlantDay{Litres: 0.4, Canopy: 0.1, Coefficient: 0.85}
	d := newDemand(t, climate.Options{Place: kestrelYard, PlantDay: plants})
	for _, day := range []time.Time{instant(2025, time.June, 21, 0, 0), instant(2025, time.December, 21, 0, 0)} {
		mm, _ := d.Rate(day, day.Add(24*time.Hour))
		assert.InEpsilon(t, 0.4, mm*plants.Canopy*plants.Coefficient, 0.01)
		night, _ := d.Rate(day, day.Add(time.Hour))
		assert.Zero(t, night)
		noon, _ := d.Rate(day.Add(11*time.Hour), day.Add(12*time.Hour))
		morning, _ := d.Rate(day.Add(8*time.Hour), day.Add(9*time.Hour))
		assert.Greater(t, noon, morning)
	}
}

func TestPolarNightWithoutSensors(t *testing.T) {
	day := instant(2025, time.December, 21, 0, 0)
	north := climate.Place{Latitude: 80}
	d := newDemand(t, climate.Options{Place: north, PlantDay: climate.PlantDay{Litres: 0.24, Canopy: 1, Coefficient: 1}})
	mm, _ := d.Rate(day, day.Add(24*time.Hour))
	assert.InDelta(t, 0.24, mm, 1e-9, "evenly, there is no sun to go by")

	d = newDemand(t, climate.Options{Place: north, Temperature: -10})
	mm, rung := d.Rate(day, day.Add(24*time.Hour))
	assert.Equal(t, climate.DateAndLatitude, rung)
	assert.InDelta(t, 0, mm, 0.3)
}

func TestShieldStopsTheLongwaveLoss(t *testing.T) {
	// Under glass the canopy keeps what it would radiate to the sky: a bright
	// hour loses about 0.3 MJ/m², which evaporates about 0.07 mm at 25 °C
	// (Stefan–Boltzmann, eq 39).
	at := instant(2025, time.June, 21, 12, 0)
	w := climate.Weather{Temperature: 25, Humidity: 0.6, Radiation: 800, Wind: 0.5}
	depth := func(shield float64) float64 {
		d := newDemand(t, climate.Options{Place: kestrelYard, LongwaveShield: shield})
		d.Observe(at, w)
		mm, _ := d.Rate(at, at.Add(10*time.Minute))
		return 6 * mm
	}
	assert.InDelta(t, 0.07, depth(1)-depth(0), 0.03)
}

func TestForecastIsTheMeanOfRecentDays(t *testing.T) {
	// Three days alike must be forecast alike.
	d := newDemand(t, climate.Options{Place: kestrelYard, Days: 3})
	start := instant(2025, time.June, 10, 0, 0)
	for i := range 3 * 144 {
		at := start.Add(time.Duration(i) * 10 * time.Minute)
		h := at.Sub(at.Truncate(24 * time.Hour)).Hours()
		d.Observe(at, climate.Weather{
			Temperature: 18 - 6*math.Cos(math.Pi*(h-3)/12),
			Humidity:    0.7,
			Radiation:   max(0, 600*math.Sin(math.Pi*(h-5)/14)),
			Wind:        0.5,
		})
	}
	seen, rung := d.Rate(start.AddDate(0, 0, 2), start.AddDate(0, 0, 3))
	assert.Equal(t, climate.Full, rung)
	assert.InDelta(t, 4, seen, 1.5, "a fair June day inside")
	for ahead := 4; ahead < 10; ahead++ {
		got, rung := d.Rate(start.AddDate(0, 0, ahead), start.AddDate(0, 0, ahead+1))
		assert.Equal(t, climate.RecentDays, rung)
		assert.InEpsilon(t, seen, got, 0.03, "%d days ahead", ahead)
	}
}
