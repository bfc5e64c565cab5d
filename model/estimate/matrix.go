package estimate

import "math"

// states is the length of both filters' states.
const states = 5

// The state vector of a bag; the package comment has its legend.
const (
	iStorage = iota
	iHealth
	iDemand
	iOffset
	iWarm
)

type vector [states]float64

type matrix [states][states]float64

// transition is the linear part of a step of either filter: the first state
// takes from all of them by first, each of the others keeps its share of
// itself. keep[0] is not used.
type transition struct{ first, keep vector }

// propagate returns F·P·Fᵀ + Q for the diagonal q.
func (p matrix) propagate(f transition, q vector) (out matrix) {
	row := p.times(f.first)
	for i := 1; i < states; i++ {
		out[0][i] = f.keep[i] * row[i]
		out[i][0] = out[0][i]
		for j := 1; j <= i; j++ {
			out[i][j] = f.keep[i] * f.keep[j] * p[i][j]
			out[j][i] = out[i][j]
		}
	}
	out[0][0] = row.dot(f.first)
	for i := range states {
		out[i][i] += q[i]
	}
	return out
}

// carry returns F·v.
func (f transition) carry(v vector) vector {
	out := vector{f.first.dot(v)}
	for i := 1; i < states; i++ {
		out[i] = f.keep[i] * v[i]
	}
	return out
}

// shrink brings the variance of a state down to v, and what hangs on it.
func (p matrix) shrink(i int, v float64) matrix {
	h := vector{}
	h[i] = 1
	r := brings(p[i][i], v)
	_, out := p.update(h, p[i][i]+r, r)
	return out
}

// brings is the variance of a measurement that brings a variance down to another; it is
// negative where that is larger: then a measurement is taken out.
func brings(from, to float64) float64 { return 1 / (1/to - 1/from) }

// update fuses one scalar measurement with row h, innovation variance s and
// measurement variance r.
func (p matrix) update(h vector, s, r float64) (gain vector, out matrix) {
	gain = p.times(h)
	for i := range states {
		gain[i] /= s
	}
	return gain, p.joseph(h, gain, r)
}

// joseph is the covariance after a measurement with row h and variance r was fused by
// a gain, whatever the gain: (I−KH)·P·(I−KH)ᵀ + K·r·Kᵀ.
func (p matrix) joseph(h, gain vector, r float64) (out matrix) {
	ph := p.times(h)
	for i := range states {
		for j := range states {
			out[i][j] = p[i][j] - gain[i]*ph[j] // (I−KH)·P
		}
	}
	right := out.times(h)
	for i := range states {
		for j := range states {
			out[i][j] += (gain[i]*r - right[i]) * gain[j]
		}
	}
	return out.symmetric()
}

// set makes the first state a measurement of its own, of which the row h was
// read with a variance: what is known of the others stays, and their
// uncertainty is shared by it. scale is the first state for one of h's.
func (p matrix) set(h vector, scale, variance float64) matrix {
	h[0] = 0
	rest := p.times(h)
	p[0][0] = (rest.dot(h) + variance) * scale * scale
	for i := 1; i < states; i++ {
		p[0][i] = -rest[i] * scale
		p[i][0] = p[0][i]
	}
	return p
}

// times returns P·v.
func (p matrix) times(v vector) (out vector) {
	for i := range states {
		out[i] = v.dot(p[i])
	}
	return out
}

func (v vector) dot(o vector) (sum float64) {
	for i := range states {
		sum += v[i] * o[i]
	}
	return sum
}

// less returns v − k·o.
func (v vector) less(k float64, o vector) vector {
	for i := range states {
		v[i] -= k * o[i]
	}
	return v
}

// quadratic returns hᵀ·P·h.
func (p matrix) quadratic(h vector) float64 { return p.times(h).dot(h) }

// forget makes a state one that nothing is known of but that variance, which it shares
// with no other.
func (p matrix) forget(i int, variance float64) matrix {
	for j := range states {
		p[i][j], p[j][i] = 0, 0
	}
	p[i][i] = variance
	return p
}

func (p matrix) symmetric() matrix {
	for i := range states {
		for j := range i {
			m := (p[i][j] + p[j][i]) / 2
			p[i][j], p[j][i] = m, m
		}
	}
	return p
}

// sound reports that P can be a covariance: finite, with variances that are
// not negative and correlations that are at most one.
func (p matrix) sound() bool {
	for i := range states {
		if !(p[i][i] >= 0) || math.IsInf(p[i][i], 0) {
			return false
		}
		for j := range i {
			if c := p[i][j]; math.IsNaN(c) || c*c > p[i][i]*p[j][j]*(1+1e-6)+1e-30 {
				return false
			}
		}
	}
	return true
}
