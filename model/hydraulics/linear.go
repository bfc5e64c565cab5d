package hydraulics

import "math"

// Linear is the bag's water balance about one state, for a filter: flows in
// cm³/h and their slopes.
type Linear struct {
	Suction         float64 // cm, at the bag base while this flows
	Inflow          float64 // from the wicks
	Uptake          float64 // by the plants
	InflowByStorage float64 // 1/h, never positive
	InflowByHealth  float64 // cm³/h per unit of health
	UptakeByStorage float64 // 1/h, never negative
	UptakeByDemand  float64 // share of the demand met
}

// Linearise is the right-hand side of the bag's balance and its slopes at a
// storage, cm³, a demand, cm³/h, and a health.
func (b *Bag) Linearise(storage, demand, health float64) Linear {
	demand, health = positive(demand), positive(health)
	storage = b.within(storage)
	r := b.rates(storage, demand, health)
	// Central differences in health, one-sided at none.
	const step = 1e-3
	lower := math.Max(0, health-step)
	up, down := b.rates(storage, 0, health+step), b.rates(storage, 0, lower)
	met := b.rates(storage, 1, health).uptake
	return Linear{
		Suction: r.suction,
		Inflow:  r.inflow, Uptake: r.uptake,
		InflowByStorage: r.dInflow, UptakeByStorage: r.dUptake,
		InflowByHealth: (up.inflow - down.inflow) / (health + step - lower),
		UptakeByDemand: met,
	}
}

// Suction is that at the bag base, cm, at a storage while wicks of a health
// feed it: below the Store's when water rises, above it when the bag drains.
func (b *Bag) Suction(storage, health float64) float64 {
	return b.rates(b.within(storage), 0, positive(health)).suction
}
