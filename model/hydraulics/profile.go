package hydraulics

import "math"

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
