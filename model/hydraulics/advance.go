package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// ErrNotConverged is returned when a column's iteration fails even at its
// smallest step.
var ErrNotConverged = errors.New("iterating Richards' equation did not converge")

// triesPerHour bounds the time steps tried in an hour, ten times and more what the
// hardest bag needs.
const triesPerHour = 5000

const (
	changeAllowed = 1e-5 // of head in the last iteration, relative to 1 cm + |h|
	// missingAllowed is the water, as a share of the pore space, by which the
	// heads may disagree with what passed.
	missingAllowed = 1e-11
)

// Advance carries the column dt hours forward under constant forcing.
func (c *Column) Advance(dt float64, f Forcing) (Balance, error) {
	var total Balance
	if !(dt >= 0) || bad(dt+f.Bottom.Value+f.Top.Value+f.Demand+f.Contact) || f.Demand < 0 || f.Contact < 0 {
		return total, fmt.Errorf("advance column: step %g h, forcing %+v: all must be finite, demand and contact not negative", dt, f)
	}
	before := c.Storage()
	tries := 0
	for left := dt; left > 0; {
		// A column that creeps is refused, not waited for.
		if tries++; tries > triesPerHour*(1+int(dt)) {
			return total, fmt.Errorf("advance column: %w within %d tries; its steps have shrunk to %g h", ErrNotConverged, tries-1, c.step)
		}
		h := math.Min(c.step, left)
		if left-h < 1e-3*h {
			h = left
		}
		b, iterations, err := c.attempt(h, f, picardFirst)
		if err != nil {
			// Close to saturation the slope of K has no bound where n < 2 and
			// misleads Newton; do without it.
			b, iterations, err = c.attempt(h, f, maxIterations+1)
		}
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
		rate := (w.due[i] - c.theta[i]) / h
		if c.rated {
			worst = math.Max(worst, 0.5*h*math.Abs(rate-c.rate[i]))
		}
		c.rate[i] = rate
	}
	c.rated = true
	copy(c.h, w.h)
	// What is owed by the flows, not what the heads hold: the difference is
	// made good by the next step instead of adding up.
	copy(c.theta, w.due)
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
func (c *Column) attempt(h float64, f Forcing, newtonFrom int) (Balance, int, error) {
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
		change, missing := c.update(iteration >= newtonFrom)
		if bad(change) {
			return Balance{}, iteration, ErrNotConverged
		}
		if change <= changeAllowed && missing <= missingAllowed {
			return c.balance(h), iteration, nil
		}
	}
	return Balance{}, maxIterations, ErrNotConverged
}
