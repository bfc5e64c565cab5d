package hydraulics

import (
	"fmt"
	"math"
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

// layer is a slice of the bag.
type layer struct {
	thickness, middle, volume float64 // cm, cm above base, cm³
	conveys                   float64 // share of Q that passes its middle
	roots                     float64 // share of the demand
}

func (b *Bag) layers(roots func(float64) float64) []layer {
	s := b.Store
	thick := graded(s.section.Height(), dynamicsLayers, 1/0.92)
	out := make([]layer, len(thick))
	z, below, total := 0.0, 0.0, 0.0
	for i, d := range thick {
		v := (s.section.Area(math.Min(z+d, s.section.Height())) - s.section.Area(z)) * s.tube.Length
		density := 1.0
		if roots != nil {
			density = positive(roots((z + d/2) / s.section.Height()))
		}
		out[i] = layer{d, z + d/2, v, 1 - (below+v/2)/s.volume, density * v}
		total += density * v
		below += v
		z += d
	}
	for i := range out {
		out[i].roots /= math.Max(total, 1e-300)
	}
	return out
}

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
	for i := range dynamicsNodes {
		at := step * float64(i)
		formed := b.formed(at)
		_, still := b.profile(p, layers, b.Store.suctionAt(at), 0)
		loss = append(loss, formed*(at-base.at(at)))
		stress = append(stress, still+formed*(linear(x, met, at)-still))
	}
	return loss, stress, nil
}

// formed is the share of the flow profile that a day's demand has time to
// form: 1 − exp(−daytime/τ) with τ = H²/(π² D) the slowest relaxation time of a
// layer of height H closed at both ends and D = K/C at its middle. A moist bag
// re-forms in minutes; in a nearly dry one water hardly moves from layer to
// layer within the day, and the profile stays what it was.
func (b *Bag) formed(axis float64) float64 {
	h := b.Store.section.Height()
	_, c, k := stateOf(b.Store.material, -math.Max(1e-6, b.Store.suctionAt(axis)+h/2))
	if c <= 0 {
		return 1
	}
	return -math.Expm1(-daytime * math.Pi * math.Pi * k / (c * h * h))
}

// profile is the storage, cm³, and the share of the demand met when the base
// is at a suction and the wicks of a health feed it. Each layer is passed in
// three parts: half its height of gravity, its whole resistance by the matric
// flux potential, half its height of gravity.
func (b *Bag) profile(p *potential, layers []layer, base, health float64) (storage, met float64) {
	q := health * b.Supply.Flow(base)
	storage = b.Store.Storage(base)
	m, s := b.Store.material, base
	for _, l := range layers {
		loss := q * l.conveys / l.volume * l.thickness * l.thickness / 2 // cm²/h over half the layer
		s = p.climb(s+l.thickness/2, loss)
		// The difference from the hydrostatic profile, so that at rest the
		// storage is the Store's to the last digit.
		storage += l.volume * (m.Theta(-s) - m.Theta(-(base + l.middle)))
		met += l.roots * b.stress(s)
		s = p.climb(s, loss) + l.thickness/2
	}
	return math.Max(b.Store.min, math.Min(b.Store.max, storage)), met
}

// climb is the suction reached when a flux times a distance, cm²/h, is passed
// from suction s on: Φ falls by it. Where it falls to nothing the medium
// cannot pass so much and is dry.
func (p *potential) climb(s, loss float64) float64 {
	if loss == 0 {
		return s
	}
	phi := p.at(-s) - loss
	switch {
	case phi >= p.wet:
		return -(phi - p.wet) / p.ks
	case phi <= 0:
		return DriestSuction
	}
	return math.Exp(p.table.solve(-math.Log(phi)))
}

// secants are the slopes of a Fritsch–Carlson curve through points whose own
// slopes are not known: the weighted harmonic mean of the secants beside each.
func secants(x, y []float64) []float64 {
	n := len(x)
	d := make([]float64, n)
	secant := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
	if n < 2 {
		return d
	}
	d[0], d[n-1] = secant(0), secant(n-2)
	for i := 1; i < n-1; i++ {
		a, b := secant(i-1), secant(i)
		if a > 0 && b > 0 {
			h0, h1 := x[i]-x[i-1], x[i+1]-x[i]
			d[i] = 3 * (h0 + h1) / ((2*h1+h0)/a + (h1+2*h0)/b)
		}
	}
	return d
}

// linear interpolates between points, held beyond them.
func linear(x, y []float64, at float64) float64 {
	n := len(x)
	if at <= x[0] {
		return y[0]
	}
	for i := 1; i < n; i++ {
		if at <= x[i] {
			return y[i-1] + (y[i]-y[i-1])*(at-x[i-1])/(x[i]-x[i-1])
		}
	}
	return y[n-1]
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
