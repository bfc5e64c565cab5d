package design

import (
	"math"

	"wickd/model/hydraulics"
)

// Where the lift is to be chosen (common practice, but for the air, which is
// what De Boodt & Verdonck 1972 ask of a substrate).
const (
	idealAir    = 0.20
	lowestLift  = 30.0  // mm: less and a slip of the level wets the bag
	highestLift = 100.0 // mm: more and the wicks grow thick
	liftStep    = 5.0   // mm
)

// Where the number of wicks is to be chosen (common practice): one every 25 cm,
// but two, so that a bag with a failed wick still drinks.
const (
	wickEvery = 250.0 // mm
	fewest    = 2
	thinnest  = 1.0 // cm²
)

// wicks works out what is missing of lift, number and section, so that at the
// dry limit the wicks lift margin times the day's demand of a bag.
func (z *sizing) wicks(demand float64, store *hydraulics.Store) error {
	r := &z.Requirement
	material, _, err := wickMaterial(r.Wick)
	if err != nil {
		return refuse("wick", "give the name of a built-in material or of a wick in the site file", "%v", err)
	}
	w := wickChoice{sizing: z, store: store, material: material, wanted: demand * r.Margin}
	if r.Lift == 0 {
		if err := w.lift(); err != nil {
			return err
		}
		z.origin("lift", WorkedOut)
	}
	return w.sections()
}

type wickChoice struct {
	*sizing
	store    *hydraulics.Store
	material hydraulics.Material
	wanted   float64 // L/d a bag
}

// liftWithAir is the lift, mm, at which the bag at rest has a share of air.
func (w wickChoice) liftWithAir(air float64) float64 {
	m := w.store.Material()
	return 10 * math.Max(0, w.store.Suction((m.Saturated()-air)*w.store.Volume()))
}

// lift chooses a lift: where the bag has the air that is asked of a substrate,
// within what is practical, and not more than wicks that are given can do.
func (w wickChoice) lift() error {
	r := &w.Requirement
	wettest := w.liftWithAir(MinAirSpace)
	lift := roundUp(math.Max(lowestLift, math.Max(wettest, math.Min(highestLift, w.liftWithAir(idealAir)))), liftStep)
	if r.WickCount > 0 && r.Wick.Section > 0 {
		area := float64(r.WickCount) * r.Wick.Section
		most := 10 * rise(w.material, w.wanted*1000/24/area, DryEnd)
		if most < math.Max(10*leastLift, wettest) {
			return refuse("lift", "use more wicks, thicker ones, or leave out --wicks or --section to have it worked out",
				"%d wicks of %.3g cm² lift %.2f L a day over at most %.0f mm, and the bag needs %.0f mm to have air", r.WickCount, r.Wick.Section, w.wanted, most, math.Max(10*leastLift, wettest))
		}
		lift = math.Min(lift, math.Max(math.Floor(most/liftStep)*liftStep, math.Max(10*leastLift, wettest)))
	}
	r.Lift = lift
	return nil
}

// sections chooses number and section.
func (w wickChoice) sections() error {
	r := &w.Requirement
	q := flux(w.material, r.Lift/10, DryEnd)
	choose := r.WickCount == 0 || r.Wick.Section == 0
	if q <= 0 && choose {
		return refuse("lift", "lower it", "over %.0f mm a wick lifts nothing before the bag is at its dry limit", r.Lift)
	}
	need := w.wanted * 1000 / 24 / q
	if most := wickShare * math.Pi / 2 * r.Diameter * r.Length / 100; need > most && choose {
		return refuse("wicks", "lower the lift, use a material that carries more, or give the plants more tube",
			"over %.0f mm it takes %.0f cm² of this material to lift %.2f L a day, and a quarter of the bag's underside is %.0f cm²", r.Lift, need, w.wanted, most)
	}
	switch {
	case r.WickCount > 0 && r.Wick.Section > 0:
		return nil
	case r.WickCount > 0:
		r.Wick.Section = math.Max(thinnest, roundUp(need/float64(r.WickCount), sectionStep))
		w.origin("section", WorkedOut)
	case r.Wick.Section > 0:
		r.WickCount = max(fewest, int(math.Ceil(need/r.Wick.Section)))
		w.origin("wicks", WorkedOut)
	default:
		r.WickCount = max(fewest, int(math.Round(r.Length/wickEvery)))
		r.Wick.Section = math.Max(thinnest, roundUp(need/float64(r.WickCount), sectionStep))
		w.origin("wicks", Practice)
		w.origin("section", WorkedOut)
	}
	return nil
}
