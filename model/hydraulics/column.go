package hydraulics

import (
	"fmt"
	"math"
	"reflect"
)

// Balance is what passed in one call of Advance, cm³.
type Balance struct {
	Bottom  float64 // in through the bottom face
	Top     float64 // in through the top face
	TakenUp float64 // out through roots
	Stored  float64 // change of storage
	Steps   int     // time steps made
}

// Error is the water that went missing, cm³.
func (b Balance) Error() float64 { return b.Stored - (b.Bottom + b.Top - b.TakenUp) }

// Column solves Richards' equation in its mixed form, with cross-section A(z)
// and a root sink,
//
//	A ∂θ/∂t = ∂/∂z [A K (∂h/∂z + 1)] − sink
//
// by cell-centred finite volumes, backward Euler in time and the modified
// Picard iteration of Celia, Bouloutas & Zarba (1990, Water Resour. Res.
// 26:1483), which conserves mass by construction once converged. It is the
// judge of the quick model and not meant to be quick itself. A Column is not
// safe for concurrent use.
type Column struct {
	cells     []Cell
	stress    func(float64) float64
	minStep   float64
	maxStep   float64
	tolerance float64

	step       float64   // next time step to try, h
	h, theta   []float64 // state at the present time
	rate       []float64 // dθ/dt over the last step, 1/h
	rated      bool
	work       picard
	uniform    []bool       // uniform[i]: cells i−1 and i are of one material
	potentials []*potential // of each cell's material
}

// NewColumn checks the options and stands the column up.
func NewColumn(o ColumnOptions) (*Column, error) {
	if err := o.validate(); err != nil {
		return nil, fmt.Errorf("column: %w", err)
	}
	n := len(o.Cells)
	c := &Column{
		cells: append([]Cell(nil), o.Cells...), stress: o.Stress,
		minStep: o.MinStep, maxStep: o.MaxStep, tolerance: o.Tolerance,
		h: append([]float64(nil), o.Initial...), theta: make([]float64, n), rate: make([]float64, n),
		work: newPicard(n), uniform: make([]bool, n), potentials: make([]*potential, n),
	}
	if c.maxStep == 0 {
		c.maxStep = 1.0 / 6
	}
	if c.minStep == 0 {
		c.minStep = 1e-6 / 3600
	}
	if c.tolerance == 0 {
		c.tolerance = 2e-4
	}
	c.step = math.Min(c.maxStep, 1e-3)
	for i, cell := range c.cells {
		c.theta[i] = cell.Material.Theta(c.h[i]) + elasticity*math.Max(0, c.h[i])
		c.uniform[i] = i > 0 && cell.Wick == c.cells[i-1].Wick && same(cell.Material, c.cells[i-1].Material)
		if c.uniform[i] {
			c.potentials[i] = c.potentials[i-1]
			continue
		}
		p, err := newPotential(cell.Material)
		if err != nil {
			return nil, fmt.Errorf("column: cell %d: conductivity: %w", i, err)
		}
		c.potentials[i] = p
	}
	return c, nil
}

// same tells whether two materials are one; those whose type cannot be compared
// count as different.
func same(a, b Material) bool {
	return reflect.ValueOf(a).Comparable() && reflect.ValueOf(b).Comparable() && a == b
}

// Heads is a copy of the cells' pressure heads, cm, bottom first.
func (c *Column) Heads() []float64 { return append([]float64(nil), c.h...) }

// Thetas is a copy of the cells' water contents, without the elastic share of
// a saturated cell.
func (c *Column) Thetas() []float64 {
	out := make([]float64, len(c.theta))
	for i, cell := range c.cells {
		out[i] = math.Max(cell.Material.Residual(), math.Min(c.theta[i], cell.Material.Saturated()))
	}
	return out
}

// Heights is the height of each cell's centre above the bottom face, cm.
func (c *Column) Heights() []float64 {
	z, out := 0.0, make([]float64, len(c.cells))
	for i, cell := range c.cells {
		out[i] = z + cell.Thickness/2
		z += cell.Thickness
	}
	return out
}

// Storage is the water in the column, cm³.
func (c *Column) Storage() float64 {
	return c.storage(func(Cell) bool { return true })
}

// BagStorage is the water in the cells that are not wick, cm³.
func (c *Column) BagStorage() float64 {
	return c.storage(func(cell Cell) bool { return !cell.Wick })
}

func (c *Column) storage(of func(Cell) bool) float64 {
	sum := 0.0
	for i, cell := range c.cells {
		if of(cell) {
			sum += cell.Area * cell.Thickness * c.theta[i]
		}
	}
	return sum
}
