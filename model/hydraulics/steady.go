package hydraulics

import "math"

// steady is the height a steady flux q reaches: with Darcy–Buckingham's law
// q = K(s)(ds/dz − 1),
//
//	z(s, q) = ∫₀ˢ ds' / (1 + q/K(s'))
//
// (Gardner 1958, Soil Sci. 85:228). q is positive upward.
type steady struct {
	material Material
	quad     integrator
}

// height is z(s, q) and, with it, −∂z/∂q, both by the same quadrature in the
// variable u = ln(1 + s').
func (p steady) height(s, q float64) (z, fall float64) {
	if s <= 0 {
		ks := p.material.Conductivity(0)
		return s / (1 + q/ks), s / ks / ((1 + q/ks) * (1 + q/ks))
	}
	both := p.quad.integrate(func(u float64) pair {
		x := math.Exp(u)
		k := math.Max(p.material.Conductivity(1-x), leastConductivity)
		part := k / (k + q) * x
		return pair{part, part / (k + q)}
	}, 0, math.Log1p(s))
	return both.first, both.second
}

// leastConductivity, cm/h, is that of a material through which no water moves: less would
// be lost in the quotients of the integrand.
const leastConductivity = 1e-150

// flux solves z(s, q) = lift for q, cm/h, and gives dq/ds. z falls with q and
// is convex in it, so Newton's method from the left cannot overshoot; a
// bracket guards it all the same.
func (p steady) flux(s, lift, guess float64) (q, slope float64) {
	ks := p.material.Conductivity(0)
	if s <= 0 {
		return ks * (s/lift - 1), ks / lift
	}
	k := math.Max(p.material.Conductivity(-s), leastConductivity)
	lo, hi := 0.0, ks*(s/lift-1)
	if s < lift {
		// Downward flow: a profile draining at −q lies where K > −q.
		lo, hi = -k*(1-1e-10), 0
	}
	q = math.Max(lo, math.Min(hi, guess))
	fall := 0.0
	for range 200 {
		var z float64
		z, fall = p.height(s, q)
		f := z - lift
		if f > 0 {
			lo = q
		} else {
			hi = q
		}
		next := q + f/fall
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		done := math.Abs(next-q) <= 1e-12*(math.Abs(q)+1e-300) || hi-lo <= 1e-12*(math.Abs(lo)+math.Abs(hi))
		q = next
		if done {
			break
		}
	}
	return q, k / (k + q) / fall
}
