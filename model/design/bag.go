package design

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// DryEnd is the suction at a bag's base, cm, at which its easily available
// water is used up: 5 kPa (De Boodt & Verdonck 1972).
const DryEnd = hydraulics.EasySuction

// MinAirSpace is the default limit of air space, m³/m³, below which a bag
// counts as waterlogged. Substrates for pots are asked to hold 0.20–0.30 at
// 1 kPa (De Boodt & Verdonck 1972); below about 0.10 roots are short of oxygen
// (common practice).
const MinAirSpace = 0.10

// Bag is one bag with its physics.
type Bag struct {
	Bag     model.Bag
	Channel model.Channel
	Crop    climate.Crop // figures for what the site file leaves open
	Medium  model.Medium

	Hydraulic *hydraulics.Bag // quick model; storage in cm³
	Wick      hydraulics.Wick
	WickName  string  // the material it is made of, or the name of its kind
	Lift      float64 // cm, to this bag's base, with the channel's slope
	Canopy    float64 // m²
	Saturated float64 // water content of the full bag, m³/m³

	DryLimit float64 // water content
	WetLimit float64 // water content
	ECLimit  float64 // mS/cm in the root zone

	// Notes say what rests on typical values, for every report.
	Notes []string

	coefficient float64 // Kc of the site file; 0: by stage
	perPlant    float64 // L/d on a BrightDay of the site file; 0: by climate
}

// Volume is the filled volume, L.
func (b *Bag) Volume() float64 { return b.Hydraulic.Store.Volume() / 1000 }

// Equilibrium is the water content, m³/m³, in which the bag comes to rest over
// its channel.
func (b *Bag) Equilibrium() float64 {
	s := b.Hydraulic.Store
	return s.WaterContent(s.Equilibrium(b.Lift))
}

// EasilyAvailable is the water, L, between rest over the channel and the dry
// limit.
func (b *Bag) EasilyAvailable() float64 {
	return math.Max(0, b.Equilibrium()-b.DryLimit) * b.Volume()
}

// SupplyAtLimit is what sound wicks lift, L/d, at the dry limit.
func (b *Bag) SupplyAtLimit() float64 {
	s := b.Hydraulic.Store
	suction := s.Suction(b.DryLimit * s.Volume())
	return 24 * b.Hydraulic.Supply.Flow(suction) / 1000
}

// Kc is the crop coefficient at t: the site file's own, or by stage from the
// day of planting, or mid-season where that day is not known.
func (b *Bag) Kc(t time.Time) float64 {
	if b.coefficient > 0 {
		return b.coefficient
	}
	if b.Bag.Planted.IsZero() {
		return b.Crop.Kc.Mid
	}
	return b.Crop.KcAt(b.Bag.Planted, t)
}

// Demand is what the plants would take of a reference depth of mm at t, cm³:
// canopy × Kc × ETo (FAO-56 eq 58), or the grower's own litres per plant in
// proportion to a bright day.
func (b *Bag) Demand(t time.Time, mm float64) float64 {
	if b.perPlant > 0 {
		return b.perPlant * float64(b.Bag.Plants) * 1000 * mm / BrightDay
	}
	return b.Canopy * b.Kc(t) * mm * 1000
}
