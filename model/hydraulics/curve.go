package hydraulics

import (
	"errors"
	"math"
	"sort"

	"gonum.org/v1/gonum/interp"
)

// curve is a strictly increasing function known at nodes with its slope:
// a cubic Hermite interpolant whose slopes are limited after Fritsch & Carlson
// (1980, SIAM J. Numer. Anal. 17:238), so that it never overshoots and always
// inverts. Outside the nodes it is held.
type curve struct {
	x, y, d []float64 // nodes, values, limited slopes
	cubic   interp.PiecewiseCubic
}

var errNotMonotone = errors.New("table is not increasing")

// newCurve fits the nodes. y may stay level where double precision can no
// longer tell its values apart; it may not fall.
func newCurve(x, y, slope []float64) (*curve, error) {
	d := append([]float64(nil), slope...)
	for i := range x {
		if math.IsNaN(y[i]) || math.IsInf(y[i], 0) || math.IsNaN(d[i]) {
			return nil, errNotMonotone
		}
		if i > 0 && (x[i] <= x[i-1] || y[i] < y[i-1]) {
			return nil, errNotMonotone
		}
	}
	for i := range x[1:] {
		secant := (y[i+1] - y[i]) / (x[i+1] - x[i])
		// 3·secant bounds each slope: the square inscribed in Fritsch and
		// Carlson's region of monotony.
		for j := i; j <= i+1; j++ {
			d[j] = math.Max(0, math.Min(d[j], 3*secant))
		}
	}
	c := &curve{x: x, y: y, d: d}
	c.cubic.FitWithDerivatives(x, y, d)
	return c, nil
}

func (c *curve) at(x float64) float64 { return c.cubic.Predict(x) }

func (c *curve) slope(x float64) float64 {
	if x < c.x[0] || x > c.x[len(c.x)-1] {
		return 0
	}
	return c.cubic.PredictDerivative(x)
}

// solve inverts the curve: Newton's method on the cubic between the bracketing
// nodes, with bisection where it would leave them.
func (c *curve) solve(y float64) float64 {
	last := len(c.y) - 1
	switch {
	case y <= c.y[0]:
		return c.x[0]
	case y >= c.y[last]:
		return c.x[last]
	}
	i := sort.SearchFloat64s(c.y, y) - 1
	// y − yᵢ = ((a₃t + a₂)t + a₁)t with t from 0 to 1.
	width, rise := c.x[i+1]-c.x[i], c.y[i+1]-c.y[i]
	a1 := c.d[i] * width
	a2 := 3*rise - 2*a1 - c.d[i+1]*width
	a3 := -2*rise + a1 + c.d[i+1]*width
	goal := y - c.y[i]
	lo, hi, t := 0.0, 1.0, goal/rise
	for range 60 {
		f := ((a3*t+a2)*t+a1)*t - goal
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		next := t - f/((3*a3*t+2*a2)*t+a1)
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		done := math.Abs(next-t) <= 1e-13
		t = next
		if done {
			break
		}
	}
	return c.x[i] + width*t
}

// secants are the slopes of a Fritsch–Carlson curve through points whose own
// slopes are not known: the weighted harmonic mean of the secants beside each.
func secants(x, y []float64) []float64 {
	n := len(x)
	d := make([]float64, n)
	secant := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
	if n < 2 {
		return d
	}
	d[0], d[n-1] = secant(0), secant(n-2)
	for i := 1; i < n-1; i++ {
		a, b := secant(i-1), secant(i)
		if a > 0 && b > 0 {
			h0, h1 := x[i]-x[i-1], x[i+1]-x[i]
			d[i] = 3 * (h0 + h1) / ((2*h1+h0)/a + (h1+2*h0)/b)
		}
	}
	return d
}
