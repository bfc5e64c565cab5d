package solution

import "math"

// hardly is how far, in pH, two readings of one meter may err against each other.
const hardly = 0.1

// unmoved says that the pH stands where it stood before the dose, as far as a meter
// shows.
func (r Request) unmoved() bool {
	return r.Tried != nil && math.Abs(r.PH-r.Tried.PH) <= hardly
}

// tried is the acid or base that was given: by the way the pH went, and where it
// hardly did, by the way to the target.
func (r Request) tried() *Reagent {
	down := r.PH < r.Tried.PH
	if r.unmoved() {
		down = r.TargetPH < r.Tried.PH
	}
	if down {
		return r.Acid
	}
	return r.Base
}

// believable refuses a dose that so much would have to hold against as no water
// brings: a slip of the pen.
func (r Request) believable() error {
	if r.Tried == nil {
		return nil
	}
	e, err := NewEquilibrium(r.Temperature, IonicStrength(r.EC))
	if err != nil {
		return err
	}
	found, err := r.answered(r.EC, r.PH, r.StandingPhosphate(), false)
	if err != nil {
		return err
	}
	if meq := found.Carbon * charge(math.Pow(10, -r.Tried.PH), e.carbon[:]); meq > 1.5*mostTapWater {
		return refuse("see whether the amount given and both pHs are right",
			"to hold so much against %.3g %s, the solution would have %.0f meq/L of carbonate, and no water brings more than %.0f", r.Tried.Amount, r.tried().Unit(), meq, mostTapWater)
	}
	return nil
}

// answered are the weak acids, mmol/L, of which a dose made the pH that was
// measured after it. All that held against it beyond the phosphate is laid on
// carbonate, as that is what nobody knows; where there was less than that, or the
// tank is to be bare of carbonate, all on phosphate. The pH is taken to have moved a
// little more than was read, so that the next dose rather falls short.
//
// With c and p the charges of a mole of carbonate and phosphate at the two pHs, w
// that of water, q the charge of the dose and d what it brings:
//
//	C·c₀ + P·p₀ + w₀ + q = (C + d)·c₁ + (P + d)·p₁ + w₁
func (r Request) answered(ec, pH, phosphate float64, bare bool) (Totals, error) {
	e, err := NewEquilibrium(r.Temperature, IonicStrength(ec))
	if err != nil {
		return Totals{}, err
	}
	reagent := *r.tried()
	mmol := reagent.Molarity * r.Tried.Amount / r.Volume
	brought := Totals{Carbon: reagent.Carbon, Phosphate: reagent.Phosphate, Citrate: reagent.Citrate}.times(mmol)
	before := r.Tried.PH
	after := math.Min(pH, before) - hardly
	if reagent.Base {
		after = math.Max(pH, before) + hardly
	}
	// of is the alkali that a mole of each and the water itself carry at a pH.
	of := func(t Totals, at float64) float64 { return e.Alkali(at, t) - e.Alkali(at, Totals{}) }
	fell := func(t Totals) float64 { return of(t, before) - of(t, after) }
	held := of(brought, after) + e.Alkali(after, Totals{}) - e.Alkali(before, Totals{}) - reagent.Charge*mmol
	old := math.Max(0, phosphate)
	carbon := (held - fell(Totals{Phosphate: old})) / fell(Totals{Carbon: 1})
	if carbon < 0 || bare {
		carbon, old = 0, math.Max(0, held/fell(Totals{Phosphate: 1}))
	}
	return Totals{Carbon: carbon, Phosphate: old}.plus(brought), nil
}
