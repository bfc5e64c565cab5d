package sim

import (
	"math"

	"wickd/model/hydraulics"
)

// How finely a bag is cut. Against twice as many cells the water content moves
// by less than 0.001 (a test holds it), at half the cost.
const (
	bagCells  = 14
	wickCells = 10
)

// column is a bag over its wicks, cut into cells: the wicks as one conductor
// from the water surface to the base of the bag, then the bag in layers as wide
// as it lies.
type column struct {
	*hydraulics.Column
	topArea float64 // of the uppermost layer, cm²
	pores   float64 // of the bag, cm³
}

// cut says how a column is cut.
type cut struct{ bag, wick int }

func newColumn(t hydraulics.Tube, medium hydraulics.Material, wick hydraulics.Wick, f hydraulics.Feddes, roots func(relative float64) float64, n cut) (column, error) {
	var o hydraulics.ColumnOptions
	o.Stress = f.Factor
	z := 0.0
	// Thin towards the bag, where the wick is driest and its head steepest.
	for _, d := range layers(wick.Lift, n.wick, 0.9) {
		o.Cells = append(o.Cells, hydraulics.Cell{Thickness: d, Area: wick.Section * float64(wick.Count), Material: wick.Material, Wick: true})
		o.Initial = append(o.Initial, -(z + d/2))
		z += d
	}
	section := t.Section()
	base, height, total := z, section.Height(), 0.0
	var area float64
	for _, d := range layers(height, n.bag, 1/0.94) {
		low, high := z-base, math.Min(z-base+d, height)
		area = (section.Area(high) - section.Area(low)) / d * t.Length
		share := roots((low+d/2)/height) * area * d
		o.Cells = append(o.Cells, hydraulics.Cell{Thickness: d, Area: area, Material: medium, Roots: share})
		o.Initial = append(o.Initial, -(z + d/2))
		total += share
		z += d
	}
	for i := n.wick; i < len(o.Cells); i++ {
		o.Cells[i].Roots /= total
	}
	c, err := hydraulics.NewColumn(o)
	if err != nil {
		return column{}, err
	}
	return column{Column: c, topArea: area, pores: medium.Saturated() * t.Volume()}, nil
}

// layers cuts a length into n, each ratio times as thick as the one before.
func layers(length float64, n int, ratio float64) []float64 {
	out := make([]float64, n)
	d := length * (1 - ratio) / (1 - math.Pow(ratio, float64(n)))
	for i := range out {
		out[i] = d
		d *= ratio
	}
	return out
}
