package climate_test

import (
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"wickd/model/climate"
)

// sight is what a site on one rung sees of a sample.
type sight func(climate.Weather) climate.Weather

func hide(temperature, humidity, radiation bool) sight {
	return func(w climate.Weather) climate.Weather {
		if temperature {
			w.Temperature = math.NaN()
		}
		if humidity {
			w.Humidity = math.NaN()
		}
		if radiation {
			w.Radiation = math.NaN()
		}
		return w
	}
}

var sights = map[climate.Rung]sight{
	climate.Full:             hide(false, false, false),
	climate.WithoutHumidity:  hide(false, true, false),
	climate.WithoutRadiation: hide(false, false, true),
	climate.RadiationOnly:    hide(true, true, false),
	climate.TemperatureOnly:  hide(false, true, true),
	climate.DateAndLatitude:  hide(true, true, true),
	climate.PlantLitres:      hide(true, true, true),
}

// toll is what a rung costs against all sensors, in day totals over a season:
// the mean error and the root mean square error as shares of the mean day.
type toll struct{ bias, scatter float64 }

// hargreavesRow is a guest in the table: FAO-56 eq 52 on the day's own
// extremes, which the ladder leaves out for what the table shows.
const hargreavesRow = climate.Rung(100)

// season runs every rung beside Full over an invented season, hour by hour, so
// that none sees what comes later. The first days fill the memories and do not
// count.
type season struct {
	t       *testing.T
	year    *inventedYear
	full    *climate.Demand
	onRung  map[climate.Rung]*climate.Demand
	truth   []float64
	results map[climate.Rung][]float64
}

const settling = 6 // days

func newSeason(t *testing.T, seed uint64, greenhouse bool) *season {
	y := newInventedYear(seed, greenhouse)
	s := &season{
		t: t, year: y,
		onRung:  map[climate.Rung]*climate.Demand{},
		results: map[climate.Rung][]float64{},
	}
	var err error
	s.full, err = climate.New(y.options())
	require.NoError(t, err)
	for rung := range sights {
		if rung == climate.Full {
			continue
		}
		o := y.options()
		if rung == climate.PlantLitres {
			o.PlantDay = climate.PlantDay{Litres: 1, Canopy: 1, Coefficient: 1}
		}
		s.onRung[rung], err = climate.New(o)
		require.NoError(t, err)
	}
	return s
}

func (s *season) tolls() map[climate.Rung]toll {
	for n := range s.year.days {
		s.day(n)
	}
	tolls := map[climate.Rung]toll{}
	for rung, got := range s.results {
		tolls[rung] = tollOf(s.truth, got, rung == climate.PlantLitres)
	}
	return tolls
}

func (s *season) day(n int) {
	samples := s.year.day(n)
	midnight := samples[0].at
	ahead, aheadRung := s.full.Rate(midnight, midnight.Add(24*time.Hour))
	sums := map[climate.Rung]float64{climate.RecentDays: ahead}
	total := 0.0
	for hour := range slices.Chunk(samples, 6) {
		total += s.hour(s.full, climate.Full, hour, n)
		for rung, d := range s.onRung {
			sums[rung] += s.hour(d, rung, hour, n)
		}
	}
	if n < settling {
		return
	}
	require.Equal(s.t, climate.RecentDays, aheadRung)
	sums[hargreavesRow] = s.hargreaves(samples)
	s.truth = append(s.truth, total)
	for rung, sum := range sums {
		s.results[rung] = append(s.results[rung], sum)
	}
}

func (s *season) hour(d *climate.Demand, want climate.Rung, samples []sample, n int) float64 {
	for _, sample := range samples {
		d.Observe(sample.at, sights[want](sample.weather))
	}
	mm, rung := d.Rate(samples[0].at, samples[0].at.Add(time.Hour))
	if n >= settling && rung != want {
		s.t.Fatalf("day %d stands on %v, want %v", n, rung, want)
	}
	return mm
}

func (s *season) hargreaves(samples []sample) float64 {
	high, low := math.Inf(-1), math.Inf(1)
	for _, sample := range samples {
		high, low = max(high, sample.weather.Temperature), min(low, sample.weather.Temperature)
	}
	ra := climate.ExtraterrestrialDaily(s.year.place.Latitude, samples[0].at.YearDay())
	if s.year.greenhouse {
		ra = climate.Inside(ra, coverPasses)
	}
	return climate.Hargreaves((high+low)/2, high, low, ra)
}

// tollOf compares day totals. A grower's litres are taken to be right over the
// season, so there the scale is removed.
func tollOf(truth, got []float64, scaled bool) toll {
	scale := 1.0
	if scaled {
		scale = floats.Sum(truth) / floats.Sum(got)
	}
	var squares float64
	for i := range truth {
		squares += (scale*got[i] - truth[i]) * (scale*got[i] - truth[i])
	}
	n := float64(len(truth))
	mean := floats.Sum(truth) / n
	return toll{
		bias:    scale*floats.Sum(got)/floats.Sum(truth) - 1,
		scatter: math.Sqrt(squares/n) / mean,
	}
}

// TestLadderCosts measures the table of the package's documentation and the
// standard errors the rungs state.
func TestLadderCosts(t *testing.T) {
	const drawing = 4
	covered, open := newSeason(t, drawing, true).tolls(), newSeason(t, drawing, false).tolls()
	doc, err := os.ReadFile("doc.go")
	require.NoError(t, err)

	rungs := []climate.Rung{hargreavesRow}
	for rung := climate.WithoutHumidity; rung <= climate.PlantLitres; rung++ {
		rungs = append(rungs, rung)
	}
	for _, rung := range rungs {
		c, o := covered[rung], open[rung]
		t.Logf("//\t%-24s%4.0f %%  (%+.0f)%8.0f %%  (%+.0f)", label(rung),
			100*c.scatter, 100*c.bias, 100*o.scatter, 100*o.bias)
		assertRow(t, string(doc), label(rung), c, o)
		if rung != hargreavesRow {
			assertStatedError(t, rung, max(c.scatter, o.scatter))
		}
	}
}

func label(r climate.Rung) string {
	if r == hargreavesRow {
		return "Hargreaves' eq 52"
	}
	return r.String()
}

func assertRow(t *testing.T, doc, name string, covered, open toll) {
	const points = 1.1 // rounding, and other processors' last bits
	row := regexp.MustCompile(`(?m)^//\t` + regexp.QuoteMeta(name) + `\s+(\d+) %\s+\(([+-]\d+)\)\s+(\d+) %\s+\(([+-]\d+)\)$`)
	found := row.FindStringSubmatch(doc)
	if !assert.NotNil(t, found, "no row %q in doc.go", name) {
		return
	}
	for i, want := range []float64{covered.scatter, covered.bias, open.scatter, open.bias} {
		printed, err := strconv.ParseFloat(found[i+1], 64)
		require.NoError(t, err)
		assert.InDelta(t, 100*want, printed, points, "%s, column %d", name, i+1)
	}
}

// assertStatedError wants the stated figure to be the rung's own cost on top of
// the method's, neither rosier nor much darker.
func assertStatedError(t *testing.T, rung climate.Rung, cost float64) {
	want := math.Hypot(climate.Full.RelativeError(), cost)
	assert.Greater(t, rung.RelativeError(), want-0.005, "%v", rung)
	assert.Less(t, rung.RelativeError(), want+0.03, "%v", rung)
}

func TestLadderGrowsDearer(t *testing.T) {
	for rung := climate.Full; rung < climate.PlantLitres; rung++ {
		assert.LessOrEqual(t, rung.RelativeError(), (rung + 1).RelativeError(), "%v", rung)
		assert.NotEqual(t, rung.String(), (rung + 1).String())
	}
	assert.Equal(t, "rung 42", climate.Rung(42).String())
}
