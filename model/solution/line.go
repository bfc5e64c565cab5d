package solution

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// line is y = mean + slope·(x − middle), fitted by least squares.
type line struct {
	mean, middle, slope, slopeSD float64
	scatter                      float64 // standard deviation about it
}

func fitLine(x, y []float64) line {
	l := line{middle: stat.Mean(x, nil), mean: stat.Mean(y, nil)}
	spread := 0.0
	for _, v := range x {
		spread += (v - l.middle) * (v - l.middle)
	}
	if spread <= 0 {
		l.slopeSD = math.Inf(1)
		return l
	}
	_, l.slope = stat.LinearRegression(x, y, nil, false)
	rest := 0.0
	for i := range x {
		r := y[i] - l.at(x[i])
		rest += r * r
	}
	l.scatter = math.Sqrt(rest / float64(max(1, len(x)-2)))
	l.slopeSD = l.scatter / math.Sqrt(spread)
	return l
}

func (l line) at(x float64) float64 { return l.mean + l.slope*(x-l.middle) }
