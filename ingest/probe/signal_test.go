package probe_test

import (
	"math"
	"math/rand/v2"
	"time"

	"wickd/model"
)

// signal is a made-up live sensor: a day's course, a slow walk that returns to
// its mean, noise and a resolution. It is no model of a house; it only has to
// move, rest and repeat like one.
type signal struct {
	quantity   model.Quantity
	mean, day  float64 // amplitude of the day's course
	wander     float64 // of the walk, standard deviation
	noise      float64
	resolution float64
	nightRest  bool // stands still from 20 to 6 h, as a level does while nothing drinks

	rng  *rand.Rand
	walk float64
	held float64
}

const walkDays = 2.0 // in which the walk forgets

// at is the value at a time; calls go forward by step.
func (s *signal) at(t time.Time, step time.Duration) float64 {
	keep := math.Exp(-step.Hours() / 24 / walkDays)
	s.walk = s.walk*keep + s.wander*math.Sqrt(1-keep*keep)*s.rng.NormFloat64()
	hour := float64(t.Hour()) + float64(t.Minute())/60
	sun := math.Sin(math.Pi * (hour - 6) / 12)
	night := hour < 6 || hour >= 20
	if !s.nightRest || !night || s.held == 0 {
		s.held = s.mean + s.walk + s.day*sun + s.noise*s.rng.NormFloat64()
	}
	x := math.Round(s.held/s.resolution) * s.resolution
	switch s.quantity {
	case model.Humidity:
		return min(max(x, 0), 1)
	case model.Radiation:
		return max(x, 0)
	}
	return x
}

// signals of sensors as they are sold, and some coarser.
func signals(rng *rand.Rand) map[string]*signal {
	all := map[string]*signal{
		"moisture, 0.1 %":      {quantity: model.Moisture, mean: 0.52, day: 0.01, wander: 0.02, noise: 0.005, resolution: 0.001},
		"moisture, quiet":      {quantity: model.Moisture, mean: 0.52, day: 0.01, wander: 0.02, noise: 0.0005, resolution: 0.001},
		"moisture, 1 %":        {quantity: model.Moisture, mean: 0.52, day: 0.01, wander: 0.02, noise: 0.002, resolution: 0.01},
		"moisture, 5 %":        {quantity: model.Moisture, mean: 0.52, day: 0.01, wander: 0.05, noise: 0.002, resolution: 0.05},
		"level, 1 mm":          {quantity: model.Level, mean: 200, day: 3, wander: 40, noise: 0.8, resolution: 1},
		"level, rests":         {quantity: model.Level, mean: 200, day: 3, wander: 40, noise: 0.8, resolution: 1, nightRest: true},
		"EC, 0.01 mS/cm":       {quantity: model.EC, mean: 1.4, day: 0.02, wander: 0.05, noise: 0.005, resolution: 0.01},
		"pH, 0.01":             {quantity: model.PH, mean: 5.8, day: 0.05, wander: 0.1, noise: 0.01, resolution: 0.01},
		"pH, 0.1":              {quantity: model.PH, mean: 5.8, day: 0.05, wander: 0.1, noise: 0.01, resolution: 0.1},
		"temperature, 1/16 °C": {quantity: model.Temperature, mean: 19, day: 1.5, wander: 1, noise: 0.02, resolution: 0.0625},
		"temperature, 0.5 °C":  {quantity: model.Temperature, mean: 19, day: 1, wander: 1, noise: 0.05, resolution: 0.5},
		"humidity, wet nights": {quantity: model.Humidity, mean: 0.9, day: -0.2, wander: 0.05, noise: 0.01, resolution: 0.01},
		"radiation":            {quantity: model.Radiation, mean: 0, day: 700, wander: 50, noise: 20, resolution: 1},
	}
	for _, s := range all {
		s.rng = rng
	}
	return all
}
