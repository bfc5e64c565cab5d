package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// Wick stands in the solution and lifts it into a bag.
type Wick struct {
	Material Material
	Section  float64 // cm², of one wick, across the flow
	Count    int     // wicks in the bag
	Lift     float64 // cm, from the free surface to the bag base
}

// minLift is one millimetre: below it the bag stands in the water and the wick
// decides nothing.
const minLift = 0.1

// Validate names every figure that is out of range, with a hint.
func (w Wick) Validate() error {
	var errs []error
	if err := checkMaterial(w.Material); err != nil {
		errs = append(errs, err)
	}
	if !(w.Section > 0 && w.Section <= 1e6) {
		errs = append(errs, fmt.Errorf("section %g cm²: must be above 0, for example 6", w.Section))
	}
	if w.Count < 1 {
		errs = append(errs, fmt.Errorf("count %d: a bag needs at least one wick", w.Count))
	}
	if !(w.Lift >= minLift && w.Lift <= 1000) {
		errs = append(errs, fmt.Errorf("lift %g cm: must lie in %g to 1000 cm above the water; a bag that stands in the water needs no wick", w.Lift, minLift))
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("wick: %w", err)
	}
	return nil
}

// supplyNodes is chosen so that the table errs by less than 1e-5 of the
// greatest flux. It ends at DriestSuction: K falls faster than s⁻², so what the
// flux could still gain beyond is of the order K(s)·s.
const supplyNodes = 260

// Supply is the steady flux a wick lifts against the suction at the bag base,
// tabulated once. It is immutable and safe for concurrent use.
type Supply struct {
	wick  Wick
	area  float64 // cm², all wicks
	ks    float64
	max   float64
	table *curve // flux over ln(1+s), s ≥ 0
}

// NewSupply solves and tabulates the wick.
func NewSupply(w Wick) (*Supply, error) {
	if err := w.Validate(); err != nil {
		return nil, fmt.Errorf("wick supply: %w", err)
	}
	s := &Supply{wick: w, area: w.Section * float64(w.Count), ks: w.Material.Conductivity(0)}
	if err := s.tabulate(); err != nil {
		return nil, fmt.Errorf("wick supply: %w; check the wick's retention and conductivity", err)
	}
	return s, nil
}

// supplyAxis is the table's suctions: equal steps of ln(1+s), and the lift
// itself, so that the flux there is zero exactly.
func supplyAxis(lift float64) []float64 {
	end := math.Log1p(DriestSuction)
	at := math.Log1p(lift)
	step := end / float64(supplyNodes-1)
	x := make([]float64, 0, supplyNodes+1)
	for i := range supplyNodes {
		u := step * float64(i)
		if math.Abs(u-at) < step/4 && i > 0 {
			continue
		}
		if len(x) > 0 && x[len(x)-1] < at && at < u {
			x = append(x, at)
		}
		x = append(x, u)
	}
	return x
}

func (s *Supply) tabulate() error {
	p := steady{s.wick.Material, newIntegrator(1e-9)}
	x := supplyAxis(s.wick.Lift)
	y, d := make([]float64, len(x)), make([]float64, len(x))
	at, q := math.Log1p(s.wick.Lift), 0.0
	for i, u := range x {
		suction := math.Expm1(u)
		if u == at {
			suction, q = s.wick.Lift, 0
			_, fall := p.height(suction, 0)
			y[i], d[i] = 0, (suction+1)/fall
			continue
		}
		var slope float64
		q, slope = p.flux(suction, s.wick.Lift, q)
		y[i], d[i] = q, slope*(suction+1)
		// On the plateau the quadrature's error shows as a fall.
		if i > 0 && y[i] < y[i-1] && y[i-1]-y[i] < 1e-7*(s.ks+math.Abs(y[i])) {
			y[i] = y[i-1]
		}
	}
	s.max = y[len(y)-1]
	var err error
	s.table, err = newCurve(x, y, d)
	return err
}

// Flux is cm/h upward through the wick at suction s, cm, at the bag base: 0 at
// s = lift, negative below it (the bag drains back), Max as s → ∞. With free
// water in the bag (s ≤ 0) it is Darcy's law for a saturated wick,
// Ks(s/lift − 1).
func (s *Supply) Flux(suction float64) float64 {
	if suction <= 0 {
		return s.ks * (suction/s.wick.Lift - 1)
	}
	return s.table.at(math.Log1p(suction))
}

// Slope is dq/ds, 1/h.
func (s *Supply) Slope(suction float64) float64 {
	if suction <= 0 {
		return s.ks / s.wick.Lift
	}
	return s.table.slope(math.Log1p(suction)) / (1 + suction)
}

// Flow is cm³/h through all wicks.
func (s *Supply) Flow(suction float64) float64 { return s.area * s.Flux(suction) }

// Max is the greatest flux, cm/h, that this wick can lift over this height,
// however dry the bag.
func (s *Supply) Max() float64 { return s.max }

// Area is the section of all wicks together, cm².
func (s *Supply) Area() float64 { return s.area }

// Wick is what was tabulated.
func (s *Supply) Wick() Wick { return s.wick }
