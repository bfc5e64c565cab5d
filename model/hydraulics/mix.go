package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// TypicalShrink is the share of the summed bulk volumes that is lost when media
// of different grain are mixed, because the fine fills the gaps of the coarse.
// Mixing is not additive (Acta Horticulturae 819:215, 2009); how much is lost
// depends on the grains, and this figure is common practice for potting mixes,
// where 5 to 15 % is met with. A grower measures it: mix known volumes, tap,
// read the volume.
const TypicalShrink = 0.08

// Part is one ingredient of a mix.
type Part struct {
	Name     string
	Fraction float64 // of the summed bulk volumes of all parts, before mixing
	Material Material
}

// MixOptions say what is known of the mix. The zero value takes typical
// figures.
type MixOptions struct {
	// Shrink is the share of the summed volumes lost to interstitial filling.
	// It counts when MeasuredShrink is set or when it is not zero; otherwise
	// TypicalShrink is taken, scaled by how mixed the mix is.
	Shrink         float64
	MeasuredShrink bool
	// Ks is the mix's measured saturated conductivity, cm/h; 0 estimates it.
	Ks float64
}

// Mixture is the composite medium of a mix. It is immutable and safe for
// concurrent use.
//
// Retention is the volume-weighted sum of the parts' curves, less the
// interstitial pores that filling destroyed, over the volume that remains:
//
//	θ(h) = [Σ fᵢ θᵢ(h) − Σ xᵢ Eᵢ(h)] / (1 − x),  Σ xᵢ = x
//
// with Eᵢ the part's effective saturation and xᵢ the pore volume it lost. The
// pores between the coarsest grains are those that fill, so the loss is taken
// from the part that drains first, up to half its drainable pores, then from
// the next. Solids are conserved: the mix's pore space is
// 1 − Σ fᵢ(1 − θsᵢ)/(1 − x).
//
// Conductivity is Mualem's integral on that composite curve, taken
// numerically, so that a two-humped pore space gives a two-humped K:
//
//	K = Ks Se^L [∫₀^Se dSe/s ÷ ∫₀¹ dSe/s]²
//
// with L = [DefaultConnectivity] and, unless measured, Ks the geometric mean
// of the parts' weighted by volume.
type Mixture struct {
	parts           []Part
	weight          []float64 // span of each part in the mix, cm³/cm³
	saturated       float64
	residual        float64
	shrink          float64
	typicalShrink   bool
	estimatedKs     bool
	conductivity    *curve // −ln(K/Ks) over ln s
	ks              float64
	driest, wettest float64 // ends of the table, ln s
}

var _ Material = (*Mixture)(nil)

// Mix makes the composite of parts whose fractions sum to one.
func Mix(parts []Part, o MixOptions) (*Mixture, error) {
	if err := checkParts(parts, o); err != nil {
		return nil, fmt.Errorf("mix: %w", err)
	}
	m := &Mixture{parts: append([]Part(nil), parts...), ks: o.Ks, shrink: o.Shrink}
	m.typicalShrink = !o.MeasuredShrink && o.Shrink == 0
	if m.typicalShrink {
		m.shrink = math.Min(TypicalShrink*diversity(parts), fillable(parts))
	}
	if m.ks == 0 {
		m.ks, m.estimatedKs = geometricKs(parts), true
	}
	if err := m.fill(); err != nil {
		return nil, fmt.Errorf("mix: %w", err)
	}
	if err := m.tabulate(); err != nil {
		return nil, fmt.Errorf("mix: conductivity: %w", err)
	}
	return m, nil
}

func checkParts(parts []Part, o MixOptions) error {
	if len(parts) == 0 {
		return errors.New("no parts; give at least one, for example perlite 50 %, coir 50 %")
	}
	sum := 0.0
	for _, p := range parts {
		if !(p.Fraction > 0 && p.Fraction <= 1) {
			return fmt.Errorf("part %q: fraction %g must be above 0 and at most 1", p.Name, p.Fraction)
		}
		if err := checkMaterial(p.Material); err != nil {
			return fmt.Errorf("part %q: %w", p.Name, err)
		}
		sum += p.Fraction
	}
	if math.Abs(sum-1) > 1e-6 {
		return fmt.Errorf("fractions sum to %.4g, not 1; give each part's share of the volumes measured before mixing", sum)
	}
	if !(o.Shrink >= 0 && o.Shrink < 0.5) {
		return fmt.Errorf("shrink %g: must be at least 0 and below 0.5; 0.05 to 0.15 is usual", o.Shrink)
	}
	if !(o.Ks == 0 || o.Ks >= minKs && o.Ks <= maxKs) {
		return fmt.Errorf("conductivity %g cm/h: must be above 0", o.Ks)
	}
	return nil
}

// diversity is 0 for one part and 1 for two or more parts evenly mixed: with
// little of the second part there is little to fill the gaps with.
func diversity(parts []Part) float64 {
	squares := 0.0
	for _, p := range parts {
		squares += p.Fraction * p.Fraction
	}
	return math.Min(1, 2*(1-squares))
}

// fillable is the share of the parts' volumes that filling may take: half
// their drainable pores, for a coarse frame keeps the rest open.
func fillable(parts []Part) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += drainable(p) / 2
	}
	return sum
}

// drainable is the pore volume of a part, as a share of the mix's parts.
func drainable(p Part) float64 {
	return p.Fraction * (p.Material.Saturated() - p.Material.Residual())
}

func geometricKs(parts []Part) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += p.Fraction * math.Log(p.Material.Conductivity(0))
	}
	return math.Exp(sum)
}

// halfDrained is the suction, cm, at which half a material's drainable water is
// gone; the coarser, the lower.
func halfDrained(m Material) float64 {
	half := 0.5 * (m.Saturated() + m.Residual())
	lo, hi := math.Log(1e-6), math.Log(DriestSuction)
	for range 60 {
		mid := 0.5 * (lo + hi)
		if m.Theta(-math.Exp(mid)) > half {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp(lo)
}
