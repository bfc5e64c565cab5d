package hydraulics

import (
	"fmt"
	"math"
)

// storeNodes is chosen so that the table errs by less than 1e-6 of the bag's
// volume for every medium in [TypicalNames].
const storeNodes = 320

// Store is how much water a bag holds against the suction s at its base, cm,
// with the water above in hydrostatic equilibrium:
//
//	S(s) = length · ∫₀ᴴ θ(−(s+z))·width(z) dz
//
// s is negative when free water stands in the bag; equilibrium over a water
// table lies at s = lift. A Store is immutable and safe for concurrent use.
type Store struct {
	tube     Tube
	section  Section
	material Material
	volume   float64
	min, max float64
	// released over x = ln(1 + (s+H)/1 cm): water given up since saturation,
	// cm³, which rises with s.
	released *curve
}

// NewStore tabulates the curve.
func NewStore(t Tube, m Material) (*Store, error) {
	if err := t.Validate(); err != nil {
		return nil, fmt.Errorf("bag store: %w", err)
	}
	if err := checkMaterial(m); err != nil {
		return nil, fmt.Errorf("bag store: %w", err)
	}
	s := &Store{tube: t, section: t.Section(), material: m, volume: t.Volume()}
	s.max, s.min = m.Saturated()*s.volume, m.Residual()*s.volume
	if err := s.tabulate(); err != nil {
		return nil, fmt.Errorf("bag store: %w; check the retention figures", err)
	}
	return s, nil
}

func (s *Store) tabulate() error {
	x := make([]float64, storeNodes)
	y := make([]float64, storeNodes)
	d := make([]float64, storeNodes)
	r := newRule(24)
	end := s.axis(DriestSuction)
	for i := range x {
		x[i] = end * float64(i) / float64(storeNodes-1)
		suction := s.suctionAt(x[i])
		storage := s.profile(r, suction, s.material.Theta)
		slope := s.profile(r, suction, s.material.Capacity)
		y[i] = s.max - storage
		d[i] = slope * (suction + s.section.Height() + 1)
	}
	y[0] = 0
	for i := 1; i < len(y); i++ {
		// The quadrature's rounding, never more.
		if y[i] < y[i-1] && y[i-1]-y[i] < 1e-9*s.volume {
			y[i] = y[i-1]
		}
	}
	var err error
	s.released, err = newCurve(x, y, d)
	return err
}

// profile integrates f(h) over the bag at base suction s. With z = b(1−cosφ)
// the chord is smooth to its ends; the saturation line, where θ has its kink,
// splits the interval.
func (s *Store) profile(r rule, suction float64, f func(h float64) float64) float64 {
	a, b := s.section.HalfWidth, s.section.HalfHeight
	g := func(phi float64) float64 {
		sin := math.Sin(phi)
		return f(-(suction + b*(1-math.Cos(phi)))) * sin * sin
	}
	kink := 0.0
	if suction < 0 {
		kink = math.Acos(math.Max(-1, 1+suction/b))
	}
	return 2 * a * b * s.tube.Length * (r.over(g, 0, kink) + r.over(g, kink, 0.5*(kink+math.Pi)) + r.over(g, 0.5*(kink+math.Pi), math.Pi))
}

func (s *Store) axis(suction float64) float64 {
	return math.Log1p(math.Max(0, suction+s.section.Height()))
}

func (s *Store) suctionAt(x float64) float64 { return math.Expm1(x) - s.section.Height() }

// Storage is the water in the bag, cm³, at suction s, cm, at its base.
func (s *Store) Storage(suction float64) float64 {
	return math.Max(s.min, s.max-s.released.at(s.axis(suction)))
}

// Suction is the inverse of Storage: cm at the bag base, from minus the height
// of the bag when it is full to [DriestSuction] when nothing is left to give.
func (s *Store) Suction(storage float64) float64 {
	return s.suctionAt(s.released.solve(s.max - storage))
}

// Slope is dS/ds, cm³ per cm, never positive.
func (s *Store) Slope(suction float64) float64 {
	x := s.axis(suction)
	return -s.released.slope(x) * math.Exp(-x)
}

// WaterContent is the mean volumetric water content at a storage, cm³/cm³.
func (s *Store) WaterContent(storage float64) float64 { return storage / s.volume }

// Volume is the filled volume of the bag, cm³.
func (s *Store) Volume() float64 { return s.volume }

// Max is the storage when saturated, Min when only residual water is left,
// cm³.
func (s *Store) Max() float64 { return s.max }
func (s *Store) Min() float64 { return s.min }

// Tube is the bag's geometry, Section what it lies as, Material its medium:
// the moisture profile at base suction s is Material.Theta(−(s+z)).
func (s *Store) Tube() Tube         { return s.tube }
func (s *Store) Section() Section   { return s.section }
func (s *Store) Material() Material { return s.material }

// Equilibrium is the storage, cm³, in which the bag comes to rest over a water
// table lift cm below its base.
func (s *Store) Equilibrium(lift float64) float64 { return s.Storage(lift) }
