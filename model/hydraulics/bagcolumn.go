package hydraulics

import (
	"fmt"
	"math"
)

// BagColumnOptions say how a bag and its wicks are cut into cells. The zero
// value is fit for judging the quick model.
type BagColumnOptions struct {
	BagCells, WickCells int // 0 means 24 and 24
	// Suction, cm, at the bag base from which the column starts, the bag in
	// hydrostatic equilibrium above it. Zero means at rest over the water
	// table; negative, with free water standing in the bag.
	Suction float64
	// Roots is the density of water-drawing roots at relative height 0 to 1
	// above the bag base, per volume of medium; nil means even.
	Roots func(relative float64) float64
	// Stress is the share of the demand met at a suction; nil means all.
	Stress func(s float64) float64
	// Coarse multiplies the time tolerance; 0 means 1.
	Coarse float64
}

// BagColumn cuts a bag over its wicks into a quasi-one-dimensional column: the
// wicks as one conductor of their total section from the water surface to the
// bag base, then the bag as layers as wide as it lies. Hold it with
// Forcing{Bottom: Boundary{FixedHead, 0}, Contact: 1} for a healthy wick in a
// full channel; lower the head by as many cm as the water falls; seal the
// bottom when the channel is dry.
func BagColumn(t Tube, m Material, w Wick, o BagColumnOptions) (*Column, error) {
	if err := t.Validate(); err != nil {
		return nil, fmt.Errorf("bag column: %w", err)
	}
	if err := w.Validate(); err != nil {
		return nil, fmt.Errorf("bag column: %w", err)
	}
	o = o.defaults(w)
	var c ColumnOptions
	c.Stress, c.Tolerance = o.Stress, 2e-4*o.Coarse
	z := 0.0
	for _, d := range graded(w.Lift, o.WickCells, 0.9) {
		mid := z + d/2
		c.Cells = append(c.Cells, Cell{Thickness: d, Area: w.Section * float64(w.Count), Material: w.Material, Wick: true})
		c.Initial = append(c.Initial, -o.Suction*mid/w.Lift)
		z += d
	}
	c.bag(t, m, o)
	return NewColumn(c)
}

func (o BagColumnOptions) defaults(w Wick) BagColumnOptions {
	if o.BagCells == 0 {
		o.BagCells = 24
	}
	if o.WickCells == 0 {
		o.WickCells = 24
	}
	if o.Suction == 0 {
		o.Suction = w.Lift
	}
	if o.Coarse == 0 {
		o.Coarse = 1
	}
	return o
}

// bag appends the bag's layers: thinner towards the base, where the flow from
// the wicks spreads.
func (c *ColumnOptions) bag(t Tube, m Material, o BagColumnOptions) {
	section := t.Section()
	height := section.Height()
	layers := graded(height, o.BagCells, 1/0.94)
	z, total := 0.0, 0.0
	first := len(c.Cells)
	for i, d := range layers {
		top := z + d
		if i == len(layers)-1 {
			top = height
		}
		area := (section.Area(top) - section.Area(z)) / d * t.Length
		density := 1.0
		if o.Roots != nil {
			density = math.Max(0, o.Roots((z+d/2)/height))
		}
		c.Cells = append(c.Cells, Cell{Thickness: d, Area: area, Material: m, Roots: density * area * d})
		c.Initial = append(c.Initial, -(o.Suction + z + d/2))
		total += density * area * d
		z = top
	}
	for i := first; i < len(c.Cells) && total > 0; i++ {
		c.Cells[i].Roots /= total
	}
}

// graded cuts a length into n cells whose thickness changes by ratio from one
// to the next.
func graded(length float64, n int, ratio float64) []float64 {
	sum, d := 0.0, 1.0
	out := make([]float64, n)
	for i := range out {
		out[i] = d
		sum += d
		d *= ratio
	}
	for i := range out {
		out[i] *= length / sum
	}
	return out
}
