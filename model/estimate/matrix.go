package estimate

import "math"

const states = 4

// The state vector of a bag; the package comment has its legend.
const (
	iStorage = iota
	iHealth
	iDemand
	iOffset
)

type vector [states]float64

type matrix [states][states]float64

// propagate returns F·P·Fᵀ + Q for the diagonal q.
func (p matrix) propagate(f matrix, q vector) matrix {
	var fp, out matrix
	for i := range states {
		for j := range states {
			for k := range states {
				fp[i][j] += f[i][k] * p[k][j]
			}
		}
	}
	for i := range states {
		for j := range states {
			for k := range states {
				out[i][j] += fp[i][k] * f[j][k]
			}
		}
		out[i][i] += q[i]
	}
	return out.symmetric()
}

// update fuses one scalar measurement with row h, innovation variance s and
// measurement variance r in Joseph's form, which keeps P positive whatever the
// gain's rounding: (I−KH)·P·(I−KH)ᵀ + K·r·Kᵀ.
func (p matrix) update(h vector, s, r float64) (gain vector, out matrix) {
	for i := range states {
		for j := range states {
			gain[i] += p[i][j] * h[j]
		}
		gain[i] /= s
	}
	var a matrix
	for i := range states {
		for j := range states {
			a[i][j] = -gain[i] * h[j]
		}
		a[i][i]++
	}
	out = p.propagate(a, vector{})
	for i := range states {
		for j := range states {
			out[i][j] += gain[i] * r * gain[j]
		}
	}
	return gain, out.symmetric()
}

// quadratic returns hᵀ·P·h.
func (p matrix) quadratic(h vector) float64 {
	var sum float64
	for i := range states {
		for j := range states {
			sum += h[i] * p[i][j] * h[j]
		}
	}
	return sum
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

// propagate is the same for the states of a reservoir.
func (p rmatrix) propagate(f rmatrix, q rvector) rmatrix {
	var fp, out rmatrix
	for i := range reservoirStates {
		for j := range reservoirStates {
			for k := range reservoirStates {
				fp[i][j] += f[i][k] * p[k][j]
			}
		}
	}
	for i := range reservoirStates {
		for j := range i + 1 {
			for k := range reservoirStates {
				out[i][j] += fp[i][k] * f[j][k]
			}
			out[j][i] = out[i][j]
		}
		out[i][i] += q[i]
	}
	return out
}
