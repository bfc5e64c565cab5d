package hydraulics

import "math"

const (
	// stepTolerance is what one substep may err by, as a share of the bag's
	// volume.
	stepTolerance   = 6e-6
	shortestSubstep = 1e-6 // h
	// patience is how many substeps are tried before the rest of the step is
	// made implicitly. A bag of growing medium needs ten or so; one that gives
	// up hardly any water before it is dry has no slope to go by.
	patience = 200
)

// advance makes one exponential Rosenbrock–Euler substep from rates r: exact
// for the right-hand side linearised at its start (Hochbruck & Ostermann 2010,
// Acta Numerica 19:209), so a stiff bag near saturation cannot ring. It gives
// the rates at its end and whether the linearisation held until then.
func (b *Bag) advance(storage float64, r rates, demand, health, h float64) (Step, rates, bool) {
	f, j := r.net(), r.slope()
	p1, p2 := phi(j * h)
	next := b.within(storage + h*p1*f)
	taken := math.Max(0, math.Min(h*r.uptake+h*h*p2*r.dUptake*f, demand*h))
	end := b.rates(next, demand, health)
	// The error of the rate at the end acts for the shorter of the substep and
	// the relaxation time.
	miss := math.Abs(end.net()-f*math.Exp(j*h)) * h / (1 - j*h)
	step := Step{Storage: next, Wicked: next - storage + taken, TakenUp: taken}
	return step, end, miss <= stepTolerance*b.Store.volume
}

// implicit makes one backward Euler substep. The balance falls with storage, so
// its root is bracketed by the bounds of storage and found by bisection.
func (b *Bag) implicit(storage, demand, health, h float64) (Step, rates) {
	lo, hi := b.Store.min, b.Store.max
	for range 60 {
		mid := 0.5 * (lo + hi)
		if storage+h*b.rates(mid, demand, health).net() > mid {
			lo = mid
		} else {
			hi = mid
		}
	}
	next := 0.5 * (lo + hi)
	end := b.rates(next, demand, health)
	taken := h * end.uptake
	return Step{Storage: next, Wicked: next - storage + taken, TakenUp: taken}, end
}

// phi are φ₁(x) = (eˣ−1)/x and φ₂(x) = (φ₁−1)/x for x ≤ 0.
func phi(x float64) (p1, p2 float64) {
	if x > -1e-4 {
		return 1 + x/2 + x*x/6, 0.5 + x/6 + x*x/24
	}
	p1 = math.Expm1(x) / x
	return p1, (p1 - 1) / x
}

func positive(x float64) float64 {
	if bad(x) || x < 0 {
		return 0
	}
	return x
}
