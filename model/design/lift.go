package design

import (
	"math"

	"wickd/model/hydraulics"
)

// SupplyOver is what the bag's wicks would lift at its dry limit, L/d, over
// another lift, cm.
func (b *Bag) SupplyOver(lift float64) (float64, error) {
	w := b.Wick
	w.Lift = lift
	s, err := hydraulics.NewSupply(w)
	if err != nil {
		return 0, err
	}
	st := b.Hydraulic.Store
	return 24 * s.Flow(st.Suction(b.DryLimit*st.Volume())) / 1000, nil
}

// leastLift is the lift, cm, below which a bag as good as stands in the water.
const leastLift = 1.0

// LiftFor finds the greatest lift, cm, in whole half-centimetres below the
// present one, over which the wicks lift wanted litres a day; false when none
// does.
func (b *Bag) LiftFor(wanted float64) (float64, bool) {
	for lift := math.Floor(2*b.Lift) / 2; lift >= leastLift; lift -= 0.5 {
		if s, err := b.SupplyOver(lift); err == nil && s >= wanted {
			return lift, true
		}
	}
	return 0, false
}
