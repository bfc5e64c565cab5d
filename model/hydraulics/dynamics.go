package hydraulics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// dynamics is what flow does to the profile above the bag base, tabulated.
//
// While water rises from the wicks to roots all over the bag, the suction
// there exceeds the hydrostatic one, so at a given storage the base is wetter
// than hydrostatics says, and the wick lifts less; and the roots at the top
// stand drier than those at the base. The profile is taken as that of a steady
// flow Q entering at the base and taken up evenly through the medium,
//
//	ds/dz = 1 + Q·(1 − V(z)/V) / (K(s)·A(z))
//
// which is also the flow at which an evenly refilling or draining bag moves as
// one. Since Q = health·flow(s at the base), one profile per base suction and
// health gives storage, inflow and stress together, with nothing to solve for.
type dynamics struct {
	step    float64   // of the axis of [Store], ln cm
	healths []float64 // on the axis of health, see healthAxis
	// By health, then storage: how far the base lies on the wet side of the
	// hydrostatic axis, and the share of the demand met.
	loss, stress [][]float64
}

const (
	dynamicsNodes   = 320
	dynamicsHealths = 12
	dynamicsBases   = 180 // base suctions followed
	dynamicsLayers  = 24
	// largestHealth ends the table: beyond it the profile is that of
	// largestHealth.
	largestHealth = 4.0
	// daytime is how long, h, a demand acts before the profile counts as
	// formed: the hours around noon in which half a day's water is drunk lie
	// within ±2.5 h, and 3 h gives the smallest error against the reference
	// where stress begins. Fitted, see the table in the package doc.
	daytime = 3.0
)

// healthAxis spreads the small healths, where a failing wick is watched.
func healthAxis(health float64) float64 { return math.Log1p(health / 0.1) }

func (b *Bag) tabulate(roots func(float64) float64) error {
	p, err := newPotential(b.Store.material)
	if err != nil {
		return fmt.Errorf("conductivity of the medium: %w", err)
	}
	layers := b.layers(roots)
	d := &dynamics{step: b.Store.axis(DriestSuction) / (dynamicsNodes - 1)}
	for k := range dynamicsHealths {
		a := healthAxis(largestHealth) * float64(k) / (dynamicsHealths - 1)
		health := 0.1 * math.Expm1(a)
		loss, stress, err := b.rows(p, layers, health, d.step)
		if err != nil {
			return fmt.Errorf("profiles at health %.3g: %w", health, err)
		}
		d.healths = append(d.healths, a)
		d.loss = append(d.loss, loss)
		d.stress = append(d.stress, stress)
	}
	b.dynamics = d
	return nil
}

// rows follows base suctions from full to dry at one health and lays what
// they give out over the axis of storage.
func (b *Bag) rows(p *potential, layers []layer, health, step float64) (loss, stress []float64, err error) {
	x, y := make([]float64, 0, dynamicsBases+1), make([]float64, 0, dynamicsBases+1)
	met := make([]float64, 0, dynamicsBases+1)
	rest := b.Store.axis(b.Supply.wick.Lift)
	add := func(base float64) {
		storage, share := b.profile(p, layers, b.Store.suctionAt(base), health)
		at := b.Store.released.solve(b.Store.max - storage)
		if len(x) > 0 && at <= x[len(x)-1]+1e-9 {
			return
		}
		x, y, met = append(x, at), append(y, base), append(met, share)
	}
	for i := range dynamicsBases {
		base := step * float64(i) * (dynamicsNodes - 1) / (dynamicsBases - 1)
		if base > rest && (len(y) == 0 || y[len(y)-1] < rest) {
			add(rest)
		}
		add(base)
	}
	base, err := newCurve(x, y, secants(x, y))
	if err != nil {
		return nil, nil, err
	}
	var shares interp.PiecewiseLinear
	if err := shares.Fit(x, met); err != nil {
		return nil, nil, err
	}
	for i := range dynamicsNodes {
		at := step * float64(i)
		formed := b.formed(at)
		_, still := b.profile(p, layers, b.Store.suctionAt(at), 0)
		loss = append(loss, formed*(at-base.at(at)))
		stress = append(stress, still+formed*(shares.Predict(at)-still))
	}
	return loss, stress, nil
}

// at is a table's value at a storage axis x and a health, and its slope in x.
func (d *dynamics) at(table [][]float64, x, health float64) (value, slope float64) {
	k, v := cell(healthAxis(math.Min(health, largestHealth))/(d.healths[1]-d.healths[0]), len(d.healths))
	i, u := cell(x/d.step, dynamicsNodes)
	a0, a1 := table[k][i], table[k][i+1]
	b0, b1 := table[k+1][i], table[k+1][i+1]
	lo, hi := a0+(b0-a0)*v, a1+(b1-a1)*v
	return lo + (hi-lo)*u, (hi - lo) / d.step
}

// cell splits a place on an axis of n nodes into its interval and the share of
// it.
func cell(place float64, n int) (int, float64) {
	i := int(math.Max(0, math.Min(place, float64(n-2))))
	return i, math.Max(0, math.Min(1, place-float64(i)))
}
