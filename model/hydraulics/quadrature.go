package hydraulics

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// rule is a Gauss–Legendre rule on [−1, 1].
type rule struct{ x, w []float64 }

func newRule(n int) rule {
	r := rule{make([]float64, n), make([]float64, n)}
	quad.Legendre{}.FixedLocations(r.x, r.w, -1, 1)
	return r
}

func (r rule) over(f func(float64) float64, a, b float64) float64 {
	half, mid, sum := 0.5*(b-a), 0.5*(a+b), 0.0
	for i, x := range r.x {
		sum += r.w[i] * f(mid+half*x)
	}
	return sum * half
}

// pair is two integrals taken at the same places.
type pair struct{ first, second float64 }

func (r rule) pairOver(f func(float64) pair, a, b float64) pair {
	half, mid := 0.5*(b-a), 0.5*(a+b)
	var sum pair
	for i, x := range r.x {
		p := f(mid + half*x)
		sum.first += r.w[i] * p.first
		sum.second += r.w[i] * p.second
	}
	return pair{sum.first * half, sum.second * half}
}

// integrator is adaptive Gauss–Legendre quadrature: an interval is halved
// until the rule over it and the same rule over its halves agree in both
// integrals.
type integrator struct {
	rule     rule
	relative float64 // of the magnitude gathered so far
	depth    int
}

// widest is the widest interval over which agreement counts: a step of the
// integrand that falls between the places of both rules makes them agree by
// chance.
const widest = 3.0

func newIntegrator(relative float64) integrator {
	return integrator{rule: newRule(10), relative: relative, depth: 40}
}

func (g integrator) integrate(f func(float64) pair, a, b float64) pair {
	whole := g.rule.pairOver(f, a, b)
	return g.refine(f, a, b, whole, pair{}, g.depth)
}

func (g integrator) refine(f func(float64) pair, a, b float64, whole pair, scale pair, depth int) pair {
	mid := 0.5 * (a + b)
	left, right := g.rule.pairOver(f, a, mid), g.rule.pairOver(f, mid, b)
	both := pair{left.first + right.first, left.second + right.second}
	scale = pair{math.Max(scale.first, math.Abs(both.first)), math.Max(scale.second, math.Abs(both.second))}
	agree := b-a <= widest && math.Abs(both.first-whole.first) <= g.relative*scale.first && math.Abs(both.second-whole.second) <= g.relative*scale.second
	// What is no number agrees with nothing, and halving it makes none of it.
	lost := math.IsNaN(both.first+both.second) || math.IsInf(both.first+both.second, 0)
	if depth == 0 || agree || lost || mid == a || mid == b {
		return both
	}
	l := g.refine(f, a, mid, left, scale, depth-1)
	r := g.refine(f, mid, b, right, scale, depth-1)
	return pair{l.first + r.first, l.second + r.second}
}
