package sim

import (
	"errors"
	"fmt"
)

// Scatter is how far the truth lies from what the site file says. Each figure
// is the standard deviation of the logarithm of a factor, so a share, unless
// noted. All of them are invented: a careful grower's site, not a survey.
type Scatter struct {
	// Media and wicks: of the batch, the same for all bags of one kind, and of
	// each bag on top, half as much.
	Content      float64 // water held between residual and saturation
	Suction      float64 // at which it is given up: a length scale of the pores
	Conductivity float64

	Wick   float64 // health of each bag's wicks at the start
	Roots  float64 // by how much roots may favour the top or the base of a bag: ± half of this share
	Limit  float64 // suction at which uptake starts to fall
	Canopy float64 // of each bag, against the site file
	Demand float64 // of each bag's plants
	House  float64 // common to all plants; twice as much on the movement of the air
	Hourly float64 // each bag's demand from hour to hour
	Shield float64 // the greatest share of long-wave loss that the cover may stop
	Cover  float64 // transmission of the cover
	Offset float64 // of each moisture probe, m³/m³
	Mixing float64 // EC of a refill against target
	PH     float64 // pH of a refill against target, pH

	// Exact sets a Scatter of nothing apart from the zero value.
	Exact bool
}

// TypicalScatter is what Options take when they give none.
func TypicalScatter() Scatter {
	return Scatter{
		Content: 0.01, Suction: 0.04, Conductivity: 0.06,
		Wick: 0.10, Roots: 0.6, Limit: 0.10, Canopy: 0.05, Demand: 0.15,
		House: 0.10, Hourly: 0.10, Shield: 0.5, Cover: 0.03,
		Offset: 0.01, Mixing: 0.02, PH: 0.05,
	}
}

func (s Scatter) validate() error {
	var faults []error
	for i, v := range []float64{
		s.Content, s.Suction, s.Conductivity, s.Wick, s.Roots, s.Limit, s.Canopy, s.Demand,
		s.House, s.Hourly, s.Shield, s.Cover, s.Offset, s.Mixing, s.PH,
	} {
		if !(v >= 0 && v <= 1) {
			faults = append(faults, fmt.Errorf("scatter, figure %d: %g must lie in 0 to 1", i+1, v))
		}
	}
	return errors.Join(faults...)
}
