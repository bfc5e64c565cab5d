package climate_test

import (
	"math"
	"math/rand/v2"
	"time"

	"wickd/model/climate"
)

// inventedYear is demonstration weather, not a record of any place: a year of
// ten-minute weather at 47° N drawn from a seed. What it has to get right for
// the ladder is what the steps lean on: the clearness of the sky persists over
// days and flickers within them, bright days have wider ranges of temperature,
// dew points lie near the night's lowest temperature, each with scatter.
type inventedYear struct {
	place       climate.Place
	start       time.Time
	days        int
	greenhouse  bool
	random      *rand.Rand
	cloudDay    float64 // persistent states, standard normal
	warmDay     float64
	dewDay      float64
	cloudFlurry float64
}

const coverPasses = 0.65

// sample is one ten-minute observation.
type sample struct {
	at      time.Time
	weather climate.Weather
}

func newInventedYear(seed uint64, greenhouse bool) *inventedYear {
	return &inventedYear{
		place:      climate.Place{Latitude: 47, Longitude: 8, Elevation: 310},
		start:      instant(2025, time.March, 20, 0, 0),
		days:       195,
		greenhouse: greenhouse,
		random:     rand.New(rand.NewPCG(seed, 56)),
	}
}

func (y *inventedYear) persist(state *float64, memory float64) float64 {
	*state = memory**state + math.Sqrt(1-memory*memory)*y.random.NormFloat64()
	return *state
}

// day draws the samples of the n-th day.
func (y *inventedYear) day(n int) []sample {
	midnight := y.start.AddDate(0, 0, n)
	sunshine := 1 / (1 + math.Exp(-0.2-1.4*y.persist(&y.cloudDay, 0.5)))
	season := -math.Cos(2 * math.Pi * float64(midnight.YearDay()-20) / 365)
	mean := 10 + 9*season + 3*y.persist(&y.warmDay, 0.7)
	spread := max(1.5, 4+9*sunshine+1.5*y.random.NormFloat64())
	dew := mean - spread/2 - 0.5 + 1.5*y.persist(&y.dewDay, 0.5)
	breeze := 2 * math.Exp(0.35*y.random.NormFloat64())

	samples := make([]sample, 0, 144)
	for i := range 144 {
		at := midnight.Add(time.Duration(i) * 10 * time.Minute)
		samples = append(samples, sample{at, y.moment(at, sunshine, mean, spread, dew, breeze)})
	}
	return samples
}

func (y *inventedYear) moment(at time.Time, sunshine, mean, spread, dew, breeze float64) climate.Weather {
	ra := climate.Extraterrestrial(y.place, at, at.Add(10*time.Minute)) / 600 * 1e6
	flicker := min(1, max(0, sunshine+0.25*y.persist(&y.cloudFlurry, 0.9)))
	outside := (0.25 + 0.5*flicker) * ra
	hour := at.Sub(at.Truncate(24 * time.Hour)).Hours()
	temperature := mean + spread/2*math.Cos(2*math.Pi*(hour-14.5)/24)
	vapour := climate.SaturationVapourPressure(dew)
	w := climate.Weather{Temperature: temperature, Radiation: outside, Wind: breeze * (0.6 + 0.4*math.Sin(math.Pi*hour/24))}
	if y.greenhouse {
		// The cover keeps the place frost free, warms it by the sun and holds
		// back some of the plants' own vapour.
		w.Temperature = max(9, temperature+1) + 0.009*outside
		w.Radiation = climate.Inside(outside, coverPasses)
		w.Wind = math.NaN()
		vapour += 0.15 + 0.0009*outside
	}
	w.Humidity = min(0.98, vapour/climate.SaturationVapourPressure(w.Temperature))
	return w
}

func (y *inventedYear) options() climate.Options {
	o := climate.Options{Place: y.place}
	if y.greenhouse {
		o.Transmission = coverPasses
	}
	return o
}
