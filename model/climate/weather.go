package climate

import "math"

// Weather is the air at the canopy. NaN means not measured.
type Weather struct {
	Temperature float64 // °C
	Humidity    float64 // relative, 0..1
	Radiation   float64 // W/m², global short-wave inside the cover
	Wind        float64 // m/s at 2 m
}

// Unmeasured returns a Weather in which nothing was measured.
func Unmeasured() Weather {
	nan := math.NaN()
	return Weather{Temperature: nan, Humidity: nan, Radiation: nan, Wind: nan}
}

// quantity numbers the columns of Weather.
type quantity int

const (
	temperature quantity = iota
	humidity
	radiation
	wind
	quantities
)

// plausible is what a working instrument can show near the ground, with a
// little room: outside it a value counts as not measured. Judging sensors more
// finely is not this package's work.
func plausible(q quantity) (low, high float64) {
	switch q {
	case temperature:
		return -60, 70
	case humidity:
		return 0, 1.05
	case radiation:
		return -20, 1600 // a pyranometer reads a little below 0 at night
	default:
		return 0, 75
	}
}

// columns returns w as an array with everything implausible turned to NaN and
// the small excesses cut.
func (w Weather) columns() [quantities]float64 {
	c := [quantities]float64{w.Temperature, w.Humidity, w.Radiation, w.Wind}
	for q := range quantities {
		low, high := plausible(q)
		if !(c[q] >= low && c[q] <= high) {
			c[q] = math.NaN()
		}
	}
	if c[humidity] > 1 {
		c[humidity] = 1
	}
	if c[radiation] < 0 {
		c[radiation] = 0
	}
	return c
}

func fromColumns(c [quantities]float64) Weather {
	return Weather{
		Temperature: c[temperature], Humidity: c[humidity],
		Radiation: c[radiation], Wind: c[wind],
	}
}

func measured(v float64) bool { return !math.IsNaN(v) }
