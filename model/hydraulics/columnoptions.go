package hydraulics

import (
	"errors"
	"fmt"
	"math"
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
