package hydraulics

// Feddes limits uptake as the root zone dries, after Feddes et al. (1978),
// with the crop's dry limits only: a bag over a water table is wet at its base
// by design, and the wet limits made for field soil would wrongly stop it.
// The zero value never limits.
type Feddes struct {
	Dry1 float64 // suction, cm, at which uptake begins to fall (h3)
	Dry2 float64 // suction, cm, at which it stops (h4)
}

// Factor is the share of the demand that roots can meet at suction s, cm: 1 up
// to Dry1, falling in a straight line to 0 at Dry2.
func (f Feddes) Factor(s float64) float64 {
	switch {
	case f.Dry2 <= 0 || s <= f.Dry1:
		return 1
	case s >= f.Dry2:
		return 0
	}
	return (f.Dry2 - s) / (f.Dry2 - f.Dry1)
}
