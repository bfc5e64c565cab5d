package hydraulics

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Tube is a sealed length of plastic tube filled with medium.
type Tube struct {
	Diameter float64 // cm, of the round tube: perimeter / π
	Length   float64 // cm, filled, between the seals
	Fill     float64 // share of the round section that is filled, 0 < Fill ≤ 1
}

// LayFlat is the tube sold by its width w when flat: perimeter 2w, diameter
// 2w/π.
func LayFlat(width, length, fill float64) Tube {
	return Tube{Diameter: 2 * width / math.Pi, Length: length, Fill: fill}
}

// minFill keeps the section thick enough for a root zone to be spoken of.
const minFill = 0.05

// Validate names every figure that is out of range, with a hint.
func (t Tube) Validate() error {
	var errs []error
	if !(t.Diameter > 0 && t.Diameter <= 1000) {
		errs = append(errs, fmt.Errorf("diameter %g cm: must be above 0 and at most 1000 cm, for example 13", t.Diameter))
	}
	if !(t.Length > 0 && t.Length <= 1e5) {
		errs = append(errs, fmt.Errorf("length %g cm: must be above 0 and at most 1 km, for example 80", t.Length))
	}
	if !(t.Fill >= minFill && t.Fill <= 1) {
		errs = append(errs, fmt.Errorf("fill %g: must be a share from %g to 1, for example 0.97 (not per cent)", t.Fill, minFill))
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("tube: %w", err)
	}
	return nil
}

// Volume is the filled volume, cm³: π/4·D²·length·fill.
func (t Tube) Volume() float64 {
	return math.Pi / 4 * t.Diameter * t.Diameter * t.Length * t.Fill
}

// Section is the cross-section as laid. See [Section].
func (t Tube) Section() Section {
	r := aspect(t.Fill)
	// Area π·a·b = fill·πD²/4 with b = r·a.
	a := t.Diameter / 2 * math.Sqrt(t.Fill/r)
	return Section{HalfWidth: a, HalfHeight: r * a}
}

// Height is the height of the bag as laid, cm.
func (t Tube) Height() float64 { return t.Section().Height() }

// Width is the width of the bag as laid, cm, at height z above its base; 0
// outside it. Where many heights are wanted, keep the Section.
func (t Tube) Width(z float64) float64 { return t.Section().Width(z) }

// Section is the ellipse a soft tube of given perimeter and given filled area
// lies as. A film that carries no bending encloses the area it is given with
// the perimeter it has; of the shapes that do, the ellipse is the one with two
// figures to fix, and exactly one ellipse has both the perimeter πD and the
// area fill·πD²/4. At fill 1 it is the circle. Real bags flatten a little
// more where they touch the support.
type Section struct {
	HalfWidth, HalfHeight float64 // semi-axes, cm
}

// Height is the minor axis, cm.
func (s Section) Height() float64 { return 2 * s.HalfHeight }

// Width is the chord at height z above the base, cm.
func (s Section) Width(z float64) float64 {
	u := z/s.HalfHeight - 1
	return 2 * s.HalfWidth * math.Sqrt(math.Max(0, 1-u*u))
}

// Area is the area below height z, cm².
func (s Section) Area(z float64) float64 {
	u := math.Max(-1, math.Min(1, z/s.HalfHeight-1))
	return s.HalfWidth * s.HalfHeight * (u*math.Sqrt(1-u*u) + math.Asin(u) + math.Pi/2)
}

// aspect is b/a of the ellipse whose area is fill times that of the circle of
// equal perimeter. With a = 1: area πr, perimeter 4E(1−r²), so the
// isoperimetric quotient 4π·area/perimeter² = π²r/(4E²) must equal fill; it
// rises with r, reaching 1 at the circle.
func aspect(fill float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		r := 0.5 * (lo + hi)
		e := mathext.CompleteE(1 - r*r)
		if math.Pi*math.Pi*r/(4*e*e) < fill {
			lo = r
		} else {
			hi = r
		}
	}
	return 0.5 * (lo + hi)
}
