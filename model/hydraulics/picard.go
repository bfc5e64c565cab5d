package hydraulics

import "math"

// picard holds the working arrays of the iteration, so that stepping does not
// allocate.
type picard struct {
	h, theta, capacity, conduct []float64 // latest iterate
	due                         []float64 // θ of the iterate by the system just solved
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
		h: a(n), due: a(n), theta: a(n), capacity: a(n), conduct: a(n), junction: a(n),
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

// evaluate fills θ, C and K at the iterate.
func (c *Column) evaluate(newton bool) {
	w := &c.work
	for i := range c.cells {
		cell := &c.cells[i]
		w.theta[i], w.capacity[i], w.conduct[i] = stateOf(cell.Material, w.h[i])
		switch {
		case w.h[i] > 0:
			w.theta[i] += elasticity * w.h[i]
			w.capacity[i] = elasticity
		case w.h[i] > -drainingHead:
			// A steep curve is flat here; a cell cut off from the others
			// would have no equation.
			w.capacity[i] = math.Max(w.capacity[i], elasticity)
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
		// capacity on one side, or within a hair of it, says nothing of the
		// other.
		if old > -drainingHead/4 && w.h[i] < -drainingHead || old < -drainingHead && w.h[i] > 0 {
			w.h[i] = -drainingHead / 2
			change = 1
		}
		w.due[i] = w.theta[i] + w.capacity[i]*w.rhs[i]
	}
	c.evaluate(newton)
	for i, cell := range c.cells {
		volume := cell.Area * cell.Thickness
		missing += volume * math.Abs(w.theta[i]-w.due[i])
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
