package design

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"wickd/model/hydraulics"
)

// riseNodes and risePanels make the quadrature err by less than 1e-5 of the
// height for every built-in material; a test holds it against the tabulated
// supply.
const riseNodes, risePanels = 16, 6

// rise is the height, cm, to which a material carries a steady flux q, cm/h ≥ 0,
// towards a suction s, cm, at its top (Gardner 1958, Soil Sci. 85:228):
//
//	z = ∫₀ˢ ds' / (1 + q/K(s'))
//
// A lift is sought more often here than a flux, and for a given flux it is this
// one integral; a hydraulics.Supply tabulates the flux for a given lift.
func rise(m hydraulics.Material, q, s float64) float64 {
	if s <= 0 {
		return 0
	}
	part := func(u float64) float64 {
		x := math.Exp(u)
		k := m.Conductivity(1 - x)
		if q <= 0 {
			return x
		}
		return x * k / (k + q)
	}
	end, sum := math.Log1p(s), 0.0
	for i := range risePanels {
		sum += quad.Fixed(part, end*float64(i)/risePanels, end*float64(i+1)/risePanels, riseNodes, nil, 0)
	}
	return sum
}

// flux is the flux, cm/h, that a material lifts over a height, cm, towards a
// suction s: the inverse of rise, 0 where the height is s or more. The flux of
// the saturated material bounds it from above, as K never exceeds Ks.
func flux(m hydraulics.Material, lift, s float64) float64 {
	if lift >= s {
		return 0
	}
	high := m.Conductivity(0) * (s/lift - 1)
	low := high * 1e-12
	for range 50 {
		mid := math.Sqrt(low * high)
		if rise(m, mid, s) > lift {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// suctionAtLimit is the suction, cm, at the bag's base at its dry limit.
func (b *Bag) suctionAtLimit() float64 {
	s := b.Hydraulic.Store
	return s.Suction(b.DryLimit * s.Volume())
}

// SupplyOver is what the bag's wicks would lift at its dry limit, L/d, over
// another lift, cm. 0 where the lift leaves the bag dry.
func (b *Bag) SupplyOver(lift float64) float64 {
	area := b.Wick.Section * float64(b.Wick.Count)
	return 24 * area * flux(b.Wick.Material, lift, b.suctionAtLimit()) / 1000
}

// FarthestLift is the greatest lift, cm, over which the bag's wicks carry
// wanted litres a day at its dry limit.
func (b *Bag) FarthestLift(wanted float64) float64 {
	area := b.Wick.Section * float64(b.Wick.Count)
	return rise(b.Wick.Material, wanted*1000/24/area, b.suctionAtLimit())
}

// NearestLift is the least lift, cm, at which the bag at rest still has the air
// space that its wet limit asks for; 0 when it has it even with its base in the
// water.
func (b *Bag) NearestLift() float64 {
	s := b.Hydraulic.Store
	return math.Max(0, s.Suction(b.WetLimit*s.Volume()))
}

// leastLift is the lift, cm, below which a bag as good as stands in the water.
const leastLift = 1.0

// LowestLift is the same, mm.
const LowestLift = 10 * leastLift

// LiftFor finds the greatest lift, cm, in whole half-centimetres and not above
// the present one, over which the wicks carry wanted litres a day without the
// bag standing too wet; false when there is none.
func (b *Bag) LiftFor(wanted float64) (float64, bool) {
	lift := math.Floor(2*math.Min(b.FarthestLift(wanted), b.Lift)) / 2
	return lift, lift >= math.Max(leastLift, b.NearestLift())
}

// SectionFor is the section, cm², that all wicks together need to lift wanted
// litres a day at the dry limit; +Inf when none is enough at this lift.
func (b *Bag) SectionFor(wanted float64) float64 {
	return wanted * 1000 / 24 / flux(b.Wick.Material, b.Lift, b.suctionAtLimit())
}
