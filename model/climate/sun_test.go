package climate_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"wickd/model/climate"
)

func instant(year int, month time.Month, day, hour, minute int) time.Time {
	return time.Date(year, month, day, hour, minute, 0, 0, time.UTC)
}

func TestExtraterrestrialOfExample8(t *testing.T) {
	// [D] FAO-56 example 8, 3 September at 20° S, printed 32.2; example 9,
	// printed 11.7 h.
	j := instant(2025, time.September, 3, 0, 0).YearDay()
	assert.InDelta(t, 0.984829, climate.InverseDistance(j), 1e-6)
	assert.InDelta(t, 0.119655, climate.Declination(j), 1e-6)
	assert.InDelta(t, 1.527022, climate.SunsetHourAngle(-20, j), 1e-6)
	assert.InDelta(t, 32.1940, climate.ExtraterrestrialDaily(-20, j), 1e-4)
	assert.InDelta(t, 11.6656, climate.DaylightHours(-20, j), 1e-4)
}

func TestExtraterrestrialOfAnnex2(t *testing.T) {
	// [M] FAO-56 annex 2, table 2.6, 15th of each month, MJ/m²/d.
	tests := map[string]struct {
		latitude float64
		months   [12]float64
	}{
		"equator": {0, [12]float64{36.2, 37.5, 37.9, 36.8, 34.8, 33.4, 33.9, 35.7, 37.2, 37.4, 36.3, 35.6}},
		"40 N":    {40, [12]float64{15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6}},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			for i, want := range test.months {
				j := instant(2025, time.Month(i+1), 15, 0, 0).YearDay()
				assert.InEpsilon(t, want, climate.ExtraterrestrialDaily(test.latitude, j), 0.02, "month %d", i+1)
			}
		})
	}
}

// ndiaye is FAO-56 example 19's place: 16°13′N 16°15′W.
var ndiaye = climate.Place{Latitude: 16 + 13.0/60, Longitude: -(16 + 15.0/60), Elevation: 8}

func TestExtraterrestrialOfExample19(t *testing.T) {
	// FAO-56 example 19: 14 to 15 h on the clock of longitude 15° W, which is
	// UTC less one hour. [P] Sc 0.1889 h, Ra 3.543 MJ/m²/h.
	t0 := instant(2025, time.October, 1, 15, 0)
	assert.InDelta(t, 0.1889, climate.EquationOfTime(t0.YearDay()), 0.00006)
	assert.InDelta(t, 3.543, climate.Extraterrestrial(ndiaye, t0, t0.Add(time.Hour)), threeDecimals)

	// The same instant told on another clock is the same sun.
	east := time.FixedZone("ten hours east", 10*3600)
	assert.Equal(t,
		climate.Extraterrestrial(ndiaye, t0, t0.Add(time.Hour)),
		climate.Extraterrestrial(ndiaye, t0.In(east), t0.Add(time.Hour).In(east)))
}

func TestEquationOfTimeAgainstTheAlmanac(t *testing.T) {
	// [M] Almanac: -14.2 min about 11 February, +16.4 about 3 November, nil about
	// 15 April, 13 June, 1 September and 25 December; a minute for the leap year's
	// play and for FAO-56's three-term fit.
	for day, want := range map[time.Time]float64{
		instant(2025, time.February, 11, 0, 0): -14.2,
		instant(2025, time.April, 15, 0, 0):    0,
		instant(2025, time.June, 13, 0, 0):     0,
		instant(2025, time.September, 1, 0, 0): 0,
		instant(2025, time.November, 3, 0, 0):  16.4,
		instant(2025, time.December, 25, 0, 0): 0,
	} {
		assert.InDelta(t, want, 60*climate.EquationOfTime(day.YearDay()), 1, day.Format(time.DateOnly))
	}
}

func anyPlace(t *rapid.T) climate.Place {
	return climate.Place{
		Latitude:  rapid.Float64Range(-90, 90).Draw(t, "latitude"),
		Longitude: rapid.Float64Range(-180, 180).Draw(t, "longitude"),
		Elevation: rapid.Float64Range(-400, 5000).Draw(t, "elevation"),
	}
}

func anyInstant(t *rapid.T) time.Time {
	seconds := rapid.Int64Range(0, 10*366*86400).Draw(t, "seconds")
	return instant(2020, time.January, 1, 0, 0).Add(time.Duration(seconds) * time.Second)
}

func TestExtraterrestrialIntegratesTheSunsHeight(t *testing.T) {
	// Numerical quadrature of Gsc·dr·max(0, sin β), which knows nothing of hour
	// angle limits, over intervals within one day.
	rapid.Check(t, func(t *rapid.T) {
		p, t0 := anyPlace(t), anyInstant(t)
		hours := rapid.Float64Range(0.05, 24).Draw(t, "hours")
		t1 := t0.Add(time.Duration(hours * float64(time.Hour)))
		solar := func(at time.Time) int {
			return at.Add(time.Duration(p.Longitude / 15 * float64(time.Hour))).YearDay()
		}
		want := quad.Fixed(func(h float64) float64 {
			at := t0.Add(time.Duration(h * float64(time.Hour)))
			return 60 * 0.0820 * climate.InverseDistance(solar(at)) * max(0, climate.SunElevation(p, at))
		}, 0, hours, 2000, quad.Legendre{}, 1)
		assert.InDelta(t, want, climate.Extraterrestrial(p, t0, t1), 0.01+1e-3*want)
	})
}

func TestExtraterrestrialHoursAddUpToTheDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, t0 := anyPlace(t), anyInstant(t)
		p.Longitude = 0
		day := t0.Truncate(24 * time.Hour)
		sum := 0.0
		for h := range 24 {
			at := day.Add(time.Duration(h) * time.Hour)
			sum += climate.Extraterrestrial(p, at, at.Add(time.Hour))
		}
		assert.InDelta(t, climate.ExtraterrestrialDaily(p.Latitude, day.YearDay()), sum, 0.02)
	})
}

func TestExtraterrestrialOfNoTime(t *testing.T) {
	t0 := instant(2025, time.June, 1, 12, 0)
	assert.Zero(t, climate.Extraterrestrial(ndiaye, t0, t0))
	assert.Zero(t, climate.Extraterrestrial(ndiaye, t0, t0.Add(-time.Hour)))
}

func TestSunElevationAtKnownMoments(t *testing.T) {
	// At solar noon the sun stands 90° − latitude + declination high; within
	// 0.5° for the day's grain of declination. Solar noon is 12 h UTC less
	// longitude and equation of time.
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlace(t)
		day := anyInstant(t).Truncate(24 * time.Hour)
		shift := 12 - p.Longitude/15 - climate.EquationOfTime(day.YearDay())
		noon := day.Add(time.Duration(shift * float64(time.Hour)))
		height := math.Pi/2 - math.Abs(p.Latitude*math.Pi/180-climate.Declination(day.YearDay()))
		assert.InDelta(t, math.Sin(height), climate.SunElevation(p, noon), 0.0087)
	})
}
