package climate

// Demand rates in mm/d of potential transpiration at which the two dry limits
// hold (Wesseling 1991 and after: 0.5 and 0.1 cm/d; from memory).
const (
	highDemand = 5.0
	lowDemand  = 1.0
)

// DryLimits are suctions in cm of water at the roots. Up to the first limit a
// plant drinks as it likes, from there linearly less, at Wilting nothing. The
// first limit comes sooner when much is asked of the roots: Dry1High at 5 mm/d
// and more, Dry1Low at 1 mm/d and less.
type DryLimits struct {
	Dry1High, Dry1Low, Dry2 float64
}

// Limit returns the suction in cm at which uptake begins to fall at a
// potential transpiration in mm/d.
func (d DryLimits) Limit(demand float64) float64 {
	share := (demand - lowDemand) / (highDemand - lowDemand)
	return between(d.Dry1Low, d.Dry1High, min(1, max(0, share)))
}

// Stress returns the share 0..1 of its potential that a plant takes up at a
// suction in cm (Feddes, Kowalik & Zaradny 1978). It has no wet limit: generic
// ones, 10 to 25 cm, would stop a bag over its water table where it does best.
// A negative suction is a positive pressure and gives 1.
func (d DryLimits) Stress(suction, demand float64) float64 {
	limit := d.Limit(demand)
	switch {
	case suction <= limit:
		return 1
	case suction >= d.Dry2:
		return 0
	}
	return (d.Dry2 - suction) / (d.Dry2 - limit)
}

// Salinity is a crop's response to salt after Maas & Hoffman 1977, in terms of
// the extract of a saturated paste.
type Salinity struct {
	Threshold float64 // dS/m
	Slope     float64 // % of yield for each dS/m above
}

// Stress returns 1 − b(ECe − threshold)/100 within 0..1 for the extract's
// conductivity in dS/m at 25 °C (FAO-56 eq 89). Maas and Hoffman measured
// yield; FAO-56 eq 90 with Ky 1, taken here, applies it to uptake.
func (s Salinity) Stress(extract float64) float64 {
	return min(1, max(0, 1-s.Slope/100*(extract-s.Threshold)))
}

// SaturationExtract returns the conductivity of the saturated extract for that
// of the water in the pores, diluted from its water content to saturation. It
// neglects salts that would dissolve on the way.
func SaturationExtract(pore, waterContent, saturated float64) float64 {
	return pore * min(1, max(0, waterContent/saturated))
}
