package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// ErrNotConverged is returned when a column's iteration fails even at its
// smallest step.
var ErrNotConverged = errors.New("Richards iteration did not converge")

// picard holds the working arrays of the iteration, so that stepping does not
// allocate.
type picard struct {
	h, theta, capacity, conduct []float64 // latest iterate
	lower, diag, upper, rhs     []float64 // tridiagonal system for its change
	sink                        []float64 // cm³/h
	junction                    []float64 // head on the face below cell i where the material changes
	face                        []face    // face[i] lies below cell i
	newton                      bool      // slopes are in use
	bottom, top                 float64   // flow in through the ends after the change, cm³/h
}

func newPicard(n int) picard {
	a := func(n int) []float64 { return make([]float64, n) }
	return picard{
		h: a(n), theta: a(n), capacity: a(n), conduct: a(n), junction: a(n),
		lower: a(n), diag: a(n), upper: a(n), rhs: a(n), sink: a(n), face: make([]face, n+1),
	}
}

const (
	maxIterations = 24
	picardFirst   = 2
	drainingHead  = 0.1 // cm below saturation at which a cell first drains
	// elasticity, 1/cm, is how much more a saturated cell holds per cm of
	// pressure: of the order of a soft medium's in a film (1e-3 of its volume
	// per bar or so). Without it a flooded bag has no equation for its pressure.
	elasticity = 1e-6
)

// Advance carries the column dt hours forward under constant forcing.
func (c *Column) Advance(dt float64, f Forcing) (Balance, error) {
	var total Balance
	if !(dt >= 0) || bad(dt+f.Bottom.Value+f.Top.Value+f.Demand+f.Contact) || f.Demand < 0 || f.Contact < 0 {
		return total, fmt.Errorf("advance column: step %g h, forcing %+v: all must be finite, demand and contact not negative", dt, f)
	}
	before := c.Storage()
	for left := dt; left > 0; {
		h := math.Min(c.step, left)
		if left-h < 1e-3*h {
			h = left
		}
		b, iterations, err := c.attempt(h, f)
		if err != nil {
			if h <= c.minStep {
				return total, fmt.Errorf("advance column: %w at step %g h; check the materials and the initial heads", err, h)
			}
			c.step = math.Max(c.minStep, h/3)
			continue
		}
		total.Bottom += b.Bottom
		total.Top += b.Top
		total.TakenUp += b.TakenUp
		total.Steps++
		left -= h
		c.accept(h, iterations)
	}
	total.Stored = c.Storage() - before
	return total, nil
}

// accept takes the iterate as the new state and chooses the next step: by the
// truncation error of this one, and shorter when the iteration laboured.
func (c *Column) accept(h float64, iterations int) {
	w := &c.work
	worst := 0.0
	for i := range w.h {
		rate := (w.theta[i] - c.theta[i]) / h
		if c.rated {
			worst = math.Max(worst, 0.5*h*math.Abs(rate-c.rate[i]))
		}
		c.rate[i] = rate
	}
	c.rated = true
	copy(c.h, w.h)
	copy(c.theta, w.theta)
	grow := 0.9 * math.Sqrt(c.tolerance/math.Max(worst, 1e-12))
	grow = math.Max(0.3, math.Min(grow, 1.8))
	if iterations > 12 {
		grow = math.Min(grow, 0.7)
	}
	// A step cut short by the end of the call says nothing against the longer
	// one.
	next := h * grow
	if h < c.step && grow >= 1 {
		next = math.Max(next, c.step)
	}
	c.step = math.Max(c.minStep, math.Min(next, c.maxStep))
}

// attempt iterates one backward Euler step of h hours: modified Picard first,
// then with the slope of K as well (Newton), which converges where K falls so
// steeply that lagging it rings (Paniconi & Putti 1994, Water Resour. Res.
// 30:3357).
func (c *Column) attempt(h float64, f Forcing) (Balance, int, error) {
	w := &c.work
	copy(w.h, c.h)
	c.evaluate(false)
	for iteration := 1; iteration <= maxIterations; iteration++ {
		c.faces(f)
		c.sinks(f)
		c.assemble(h)
		if !w.solve() {
			return Balance{}, iteration, ErrNotConverged
		}
		w.ends()
		change, missing := c.update(iteration >= picardFirst)
		if bad(change) {
			return Balance{}, iteration, ErrNotConverged
		}
		if change <= 1e-5 && missing <= 1e-11 {
			return c.balance(h), iteration, nil
		}
	}
	return Balance{}, maxIterations, ErrNotConverged
}

// evaluate fills θ, C and K at the iterate.
func (c *Column) evaluate(newton bool) {
	w := &c.work
	for i := range c.cells {
		cell := &c.cells[i]
		w.theta[i], w.capacity[i], w.conduct[i] = stateOf(cell.Material, w.h[i])
		if w.h[i] > 0 {
			w.theta[i] += elasticity * w.h[i]
			w.capacity[i] = elasticity
		}
	}
	w.newton = newton
}

// sinks fills what roots take at the iterate.
func (c *Column) sinks(f Forcing) {
	w := &c.work
	for i := range c.cells {
		w.sink[i] = c.cells[i].Roots * f.Demand
		if c.stress != nil && w.sink[i] > 0 {
			w.sink[i] *= c.stress(-w.h[i])
		}
	}
}

// update applies the solved change. It returns the largest change of head,
// relative to 1 cm + |h|, and the water, as a share of the column's pore
// space, by which θ departs from its linearisation.
func (c *Column) update(newton bool) (change, missing float64) {
	w := &c.work
	pores := 0.0
	for i := range w.h {
		change = math.Max(change, math.Abs(w.rhs[i])/(1+math.Abs(w.h[i])))
		old := w.h[i]
		w.h[i] += w.rhs[i]
		// Crossing saturation, stop a little beyond it and look again: the
		// capacity on one side says nothing of the other.
		if old >= 0 && w.h[i] < -drainingHead || old < -drainingHead && w.h[i] > 0 {
			w.h[i] = -drainingHead / 2
			change = 1
		}
		// Keep what θ was expected to become for the comparison below.
		w.lower[i] = w.theta[i] + w.capacity[i]*w.rhs[i]
	}
	c.evaluate(newton)
	for i, cell := range c.cells {
		volume := cell.Area * cell.Thickness
		missing += volume * math.Abs(w.theta[i]-w.lower[i])
		pores += volume * cell.Material.Saturated()
	}
	return change, missing / pores
}

// assemble writes the system for the change δ of head: volume·(θ + Cδ − θ₀)/dt
// = flow in − flow out − sink, flows taken at h + δ.
func (c *Column) assemble(dt float64) {
	w := &c.work
	n := len(c.cells)
	for i := range c.cells {
		volume := c.cells[i].Area * c.cells[i].Thickness
		in, out := &w.face[i], &w.face[i+1]
		w.diag[i] = volume*w.capacity[i]/dt - in.above + out.below
		w.rhs[i] = in.flow - out.flow - volume*(w.theta[i]-c.theta[i])/dt - w.sink[i]
		w.lower[i], w.upper[i] = -in.below, out.above
	}
	w.lower[0], w.upper[n-1] = 0, 0
}

// ends takes the flow in through the end faces after the change just solved,
// to the order to which the system took it.
func (w *picard) ends() {
	n := len(w.h)
	w.bottom = w.face[0].flow + w.face[0].above*w.rhs[0]
	w.top = -w.face[n].flow - w.face[n].below*w.rhs[n-1]
}

// balance is what passed during the step just converged.
func (c *Column) balance(dt float64) Balance {
	b := Balance{Bottom: dt * c.work.bottom, Top: dt * c.work.top}
	for _, s := range c.work.sink {
		b.TakenUp += dt * s
	}
	return b
}

// solve is the Thomas algorithm; the system is diagonally dominant but for
// the slopes of K, and a pivot that is not positive fails the step. The change
// of head replaces rhs.
func (w *picard) solve() bool {
	n := len(w.diag)
	for i := 1; i < n; i++ {
		if w.diag[i-1] <= 0 {
			return false
		}
		r := w.lower[i] / w.diag[i-1]
		w.diag[i] -= r * w.upper[i-1]
		w.rhs[i] -= r * w.rhs[i-1]
	}
	if w.diag[n-1] <= 0 {
		return false
	}
	w.rhs[n-1] /= w.diag[n-1]
	for i := n - 2; i >= 0; i-- {
		w.rhs[i] = (w.rhs[i] - w.upper[i]*w.rhs[i+1]) / w.diag[i]
	}
	return true
}
