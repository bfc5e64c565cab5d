package design

import (
	"math"
	"slices"

	"wickd/model/hydraulics"
)

// water works out demand, days away and reservoir, each from the others.
func (z *sizing) water(bag *Bag) {
	r := &z.Requirement
	z.out.PerPlant = bag.peakDemand(z.out.Peak.Day) / float64(r.PerBag)
	if z.fromReservoir && z.out.PerPlant > 0 {
		r.Plants = max(1, int(r.Reservoir/(r.Days*z.out.PerPlant)))
		r.Bags = max(1, r.Plants/r.PerBag)
		r.Plants = r.Bags * r.PerBag
		z.out.Origins["bags"], z.out.Origins["plants"] = WorkedOut, WorkedOut
	}
	z.out.Demand = z.out.PerPlant * float64(r.Plants)
	if r.Days == 0 {
		r.Days = assumedDays
		if r.Reservoir > 0 && z.out.Demand > 0 {
			r.Days = r.Reservoir / z.out.Demand
			z.origin("days away", WorkedOut)
		}
		z.origin("days away", Assumed)
	}
	if r.Reservoir == 0 {
		r.Reservoir = math.Ceil(z.out.Demand * r.Days)
		z.origin("reservoir", WorkedOut)
	}
	z.out.Days, z.out.Reservoir = r.Days, r.Reservoir
	if z.out.Demand > 0 {
		z.out.Lasts = r.Reservoir / z.out.Demand
	}
}

// Shopping is the medium to buy for all bags.
type Shopping struct {
	Name    string  `json:"name"`
	Filled  float64 `json:"filled_l"` // in the bags
	Bought  float64 `json:"bought_l"` // loose, before mixing
	Shrink  float64 `json:"shrink"`   // share lost to interstitial filling
	Typical bool    `json:"shrink_is_typical"`
	Spill   float64 `json:"spill"`
	Parts   []Buy   `json:"parts"`
}

// Buy is one medium to buy, loose as it is measured with a bucket.
type Buy struct {
	Material string  `json:"material"`
	Litres   float64 `json:"litres"`
}

// shopping is filled = bought × (1 − shrink) × (1 − spill), each part by its
// share of the volume before mixing.
func (z *sizing) shopping(m hydraulics.Material) Shopping {
	s := Shopping{Name: z.Medium.Name, Filled: z.Volume * float64(z.Bags), Spill: z.Spill}
	if mixed, ok := m.(*hydraulics.Mixture); ok {
		s.Shrink, s.Typical = mixed.Shrink()
	}
	s.Bought = s.Filled / ((1 - s.Shrink) * (1 - s.Spill))
	if len(z.Medium.Parts) == 0 {
		s.Parts = []Buy{{z.Medium.Name, s.whole(s.Bought)}}
		return s
	}
	for _, p := range z.Medium.Parts {
		s.Parts = append(s.Parts, Buy{p.Material, s.whole(p.Fraction * s.Bought)})
	}
	return s
}

// whole rounds litres up to what a bucket shows beside the whole: half litres
// where little is bought.
func (s Shopping) whole(litres float64) float64 {
	const little = 25.0 // L
	if s.Bought < little {
		return roundUp(litres, 0.5)
	}
	return roundUp(litres, 1)
}

// Loose is the parts together, as they are rounded.
func (s Shopping) Loose() float64 {
	sum := 0.0
	for _, p := range s.Parts {
		sum += p.Litres
	}
	return sum
}

// LiftRow is what one lift would make of the bag.
type LiftRow struct {
	Lift     float64 `json:"lift_mm"`
	Supply   float64 `json:"supply_l_per_day"` // all wicks of a bag, at the dry limit
	PerWick  float64 `json:"per_wick_l_per_day"`
	Margin   float64 `json:"margin"`
	AirSpace float64 `json:"air_space_at_rest"`
	Rest     float64 `json:"water_content_at_rest"`
	Verdict  string  `json:"verdict"`
}

// lifts is the table of supply against lift, with the bag's own lift in its
// place, up to where nothing is lifted.
func (b *Bag) lifts(demand float64) []LiftRow {
	heights := []float64{b.Lift}
	for lift := 2.0; lift <= 20; lift++ {
		if (lift <= 10 || int(lift)%2 == 0) && math.Abs(lift-b.Lift) > 1e-6 {
			heights = append(heights, lift)
		}
	}
	slices.Sort(heights)
	var out []LiftRow
	for _, lift := range heights {
		row := b.LiftRow(lift, demand)
		if lift == b.Lift && row.Margin >= enough && b.Conveyed() < demand {
			row.Verdict = "the medium is too slow"
		}
		out = append(out, row)
		if lift >= b.suctionAtLimit() {
			break
		}
	}
	return out
}

// LiftRow works out one lift, cm, against a demand, L/d.
func (b *Bag) LiftRow(lift, demand float64) LiftRow {
	s := b.Hydraulic.Store
	rest := s.WaterContent(s.Equilibrium(lift))
	row := LiftRow{Lift: 10 * lift, Supply: b.SupplyOver(lift), Rest: rest, AirSpace: b.Saturated - rest}
	row.PerWick = row.Supply / float64(b.Wick.Count)
	if demand > 0 {
		row.Margin = row.Supply / demand
	}
	row.Verdict = b.verdict(row, demand)
	return row
}

func (b *Bag) verdict(r LiftRow, demand float64) string {
	switch {
	case r.Rest > b.WetLimit:
		return "too wet"
	case r.Rest <= b.DryLimit:
		return "dry at rest"
	case demand > 0 && r.Margin < enough:
		return "cannot keep up"
	case demand > 0 && r.Margin < ample:
		return "only just"
	}
	return "keeps up"
}
