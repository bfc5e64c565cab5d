package hydraulics

import (
	"errors"
	"fmt"
	"math"
	"reflect"
)

// Cell is one layer of a [Column].
type Cell struct {
	Thickness float64 // cm, along the height
	Area      float64 // cm², across it
	Material  Material
	Roots     float64 // share of the demand taken from this cell; all sum to 1, or all are 0
	Wick      bool    // conducts in proportion to Forcing.Contact
}

// BoundaryKind says what an end of a column is held at.
type BoundaryKind int

const (
	// FixedFlux lets Value cm/h pass upward, over the end cell's area. The
	// zero Boundary is a sealed end.
	FixedFlux BoundaryKind = iota
	// FixedHead holds the end face at pressure head Value, cm.
	FixedHead
)

// Boundary is the state of one end of a column.
type Boundary struct {
	Kind  BoundaryKind
	Value float64
}

// Forcing is what acts on a column during a step.
type Forcing struct {
	Bottom, Top Boundary
	Demand      float64 // cm³/h that roots would take from moist medium
	Contact     float64 // conductivity of wick cells as a share of their material's; matters only where cells are wicks
}

// ColumnOptions describe a column, bottom cell first.
type ColumnOptions struct {
	Cells   []Cell
	Initial []float64 // pressure head of each cell, cm
	// Stress is the share of the demand met where the suction is s, cm; nil
	// means all of it.
	Stress func(s float64) float64
	// MaxStep and MinStep bound the time step, h; 0 means 10 min and 1 µs.
	MaxStep, MinStep float64
	// Tolerance is the error in θ that one time step may make, by the
	// difference between the backward Euler step and the trapezoidal rule;
	// 0 means 2e-4.
	Tolerance float64
}

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

func (o ColumnOptions) validate() error {
	if len(o.Cells) < 2 {
		return errors.New("needs at least two cells")
	}
	if len(o.Initial) != len(o.Cells) {
		return fmt.Errorf("%d initial heads for %d cells", len(o.Initial), len(o.Cells))
	}
	roots := 0.0
	for i, c := range o.Cells {
		if !(c.Thickness > 0) || !(c.Area > 0) || bad(c.Thickness) || bad(c.Area) {
			return fmt.Errorf("cell %d: thickness %g cm and area %g cm² must be above 0", i, c.Thickness, c.Area)
		}
		if !(c.Roots >= 0 && c.Roots <= 1) {
			return fmt.Errorf("cell %d: root share %g must lie in 0 to 1", i, c.Roots)
		}
		if bad(o.Initial[i]) {
			return fmt.Errorf("cell %d: initial head %g is not a number", i, o.Initial[i])
		}
		if err := checkMaterial(c.Material); err != nil {
			return fmt.Errorf("cell %d: %w", i, err)
		}
		roots += c.Roots
	}
	if roots != 0 && math.Abs(roots-1) > 1e-6 {
		return fmt.Errorf("root shares sum to %g, not 1", roots)
	}
	if o.MaxStep < 0 || o.MinStep < 0 || o.Tolerance < 0 || bad(o.MaxStep+o.MinStep+o.Tolerance) {
		return errors.New("steps and tolerance must not be negative")
	}
	return nil
}

// Heads is a copy of the cells' pressure heads, cm, bottom first.
func (c *Column) Heads() []float64 { return append([]float64(nil), c.h...) }

// Thetas is a copy of the cells' water contents, without the elastic share of
// a saturated cell.
func (c *Column) Thetas() []float64 {
	out := make([]float64, len(c.theta))
	for i, cell := range c.cells {
		out[i] = math.Min(c.theta[i], cell.Material.Saturated())
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
