package design

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"

	"wickd/model"
)

// Reservoir turns the level of a reservoir into the volume in it, and back.
type Reservoir struct {
	Reservoir model.Reservoir
	Top       float64 // level up to which the shape is known, mm; +Inf when it has no lid
	Standing  float64 // solution that stands in its channels beside it, L
	Area      float64 // mean area of the surface between empty and full, m²

	table *interp.PiecewiseLinear // of levels and volumes; nil: the shape has a formula
}

func newReservoir(r model.Reservoir) (*Reservoir, error) {
	out := &Reservoir{Reservoir: r, Top: math.Inf(1)}
	switch s := r.Shape; s.Kind {
	case model.Box, model.UprightCylinder:
	case model.LyingCylinder:
		out.Top = s.Diameter
	case model.Table:
		var err error
		if out.table, err = gauge(s.Table); err != nil {
			return nil, err
		}
		out.Top = s.Table[len(s.Table)-1].Level
	default:
		return nil, fmt.Errorf("shape %q is not known", s.Kind)
	}
	if r.Full > r.Empty {
		out.Area = (out.Volume(r.Full) - out.Volume(r.Empty)) / (r.Full - r.Empty)
	}
	return out, nil
}

// Volume is the volume at a level in mm, L. Levels below the floor count as 0;
// above a lid, as the lid's.
func (r *Reservoir) Volume(level float64) float64 {
	level = math.Max(0, math.Min(level, r.Top))
	s := r.Reservoir.Shape
	switch s.Kind {
	case model.Box:
		return s.Length * s.Width * level * 1e-6
	case model.UprightCylinder:
		return math.Pi / 4 * s.Diameter * s.Diameter * level * 1e-6
	case model.LyingCylinder:
		return segment(s.Diameter/2, level) * s.Length * 1e-6
	default:
		return r.table.Predict(level)
	}
}

// segment is the area of a circle of radius r, mm, filled to a height h, mm².
func segment(r, h float64) float64 {
	d := math.Max(-r, math.Min(r, r-h))
	return r*r*math.Acos(d/r) - d*math.Sqrt(math.Max(0, r*r-d*d))
}

// gauge fits the table of a vessel, which begins with an empty floor: L over mm.
func gauge(t []model.LevelVolume) (*interp.PiecewiseLinear, error) {
	if len(t) < 2 {
		return nil, errors.New("a table of levels needs at least two rows")
	}
	var level, volume []float64
	if t[0].Level > 0 {
		level, volume = append(level, 0), append(volume, 0)
	}
	for _, row := range t {
		if n := len(level); n > 0 && row.Level <= level[n-1] {
			return nil, fmt.Errorf("a table of levels has to rise; %g mm follows %g mm", row.Level, level[n-1])
		}
		level, volume = append(level, row.Level), append(volume, row.Volume)
	}
	var line interp.PiecewiseLinear
	return &line, line.Fit(level, volume)
}

// AreaAt is the area of the surface at a level, m²: litres per millimetre.
func (r *Reservoir) AreaAt(level float64) float64 {
	const step = 1.0 // mm
	low := math.Max(0, level-step)
	high := math.Min(r.Top, level+step)
	if high <= low {
		return r.Area
	}
	return math.Max(1e-6, (r.Volume(high)-r.Volume(low))/(high-low))
}

// Level is the level at a volume, mm: the inverse of Volume, by bisection
// (every shape rises with level).
func (r *Reservoir) Level(volume float64) float64 {
	low, high := 0.0, r.Top
	if math.IsInf(high, 1) {
		high = math.Max(1, 2*r.Reservoir.Full)
		for r.Volume(high) < volume && high < 1e6 {
			high *= 2
		}
	}
	for range 60 {
		mid := (low + high) / 2
		if r.Volume(mid) < volume {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// Empty and Full are the volumes at the marks, L; Usable lies between them.
func (r *Reservoir) Empty() float64  { return r.Volume(r.Reservoir.Empty) }
func (r *Reservoir) Full() float64   { return r.Volume(r.Reservoir.Full) }
func (r *Reservoir) Usable() float64 { return r.Full() - r.Empty() }
