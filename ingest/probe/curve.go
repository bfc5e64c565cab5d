package probe

import (
	"fmt"
	"math"
	"sort"

	"wickd/model"
)

// Curve is a calibration: linear between its points, and beyond the first and
// last along the line of the nearest two.
type Curve struct {
	points []model.CalibrationPoint
}

// NewCurve checks the points of a calibration: at least two, finite, rising in
// raw value, and never turning back in value, as a probe that gives one number
// for two truths cannot be calibrated. The points are copied.
func NewCurve(points []model.CalibrationPoint) (*Curve, error) {
	if len(points) < 2 {
		return nil, fmt.Errorf("calibration has %d point(s); two are the least, for example [[320, 0], [610, 60]]", len(points))
	}
	rising, falling := false, false
	for i, p := range points {
		if !finite(p.Raw) || !finite(p.Value) {
			return nil, fmt.Errorf("calibration point %d is not finite", i+1)
		}
		if i == 0 {
			continue
		}
		if p.Raw <= points[i-1].Raw {
			return nil, fmt.Errorf("calibration point %d: raw %g does not rise above %g; order the points by raw value, each once", i+1, p.Raw, points[i-1].Raw)
		}
		rising = rising || p.Value > points[i-1].Value
		falling = falling || p.Value < points[i-1].Value
	}
	if rising == falling {
		return nil, fmt.Errorf("calibration neither rises nor falls throughout; check the points for a typing mistake")
	}
	return &Curve{points: append([]model.CalibrationPoint(nil), points...)}, nil
}

// At is the calibrated value of raw.
func (c *Curve) At(raw float64) float64 {
	last := len(c.points) - 1
	i := sort.Search(last, func(i int) bool { return c.points[i].Raw > raw })
	i = min(max(i, 1), last)
	a, b := c.points[i-1], c.points[i]
	share := (raw - a.Raw) / (b.Raw - a.Raw)
	// This form meets both end points exactly.
	return a.Value*(1-share) + b.Value*share
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
