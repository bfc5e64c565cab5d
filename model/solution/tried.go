package solution

import "math"

// hardly is how far, in pH, two readings of one meter may err against each other.
const hardly = 0.1

// unmoved says that the pH stands where it stood before the dose, as far as a meter
// shows.
func (r Request) unmoved() bool {
	const rounding = 1e-9
	return r.Tried != nil && math.Abs(r.PH-r.Tried.PH) <= hardly+rounding
}

// turnsBack says that a dose that was not seen in the pH was one away from the target,
// which is now to be gone back to.
func (r Request) turnsBack() bool {
	return r.unmoved() && r.TargetPH != 0 && math.Abs(r.PH-r.TargetPH) >= smallestPH && r.tried().Base != (r.TargetPH > r.PH)
}

// ambiguous says that nothing tells whether the acid or the base was given.
func (r Request) ambiguous() bool {
	return r.Tried.Reagent == nil && r.unmoved() && r.Acid != nil && r.Base != nil
}

// tried is the acid or base that was given: where nobody says it, by the way the pH
// went, and where it hardly did, the one that is named.
func (r Request) tried() *Reagent {
	switch {
	case r.Tried.Reagent != nil:
		return r.Tried.Reagent
	case r.unmoved() && r.Base == nil, !r.unmoved() && r.PH < r.Tried.PH:
		return r.Acid
	}
	return r.Base
}

// seen is a move of the pH that any meter shows.
const seen = 1.5 * hardly

// bareMove is how far the dose that was tried moves the pH of a solution without
// carbonate.
func (r Request) bareMove() (float64, error) {
	tank, err := Standing(r.Volume, r.EC, r.Tried.PH, Totals{Phosphate: r.StandingPhosphate()}, r.Temperature)
	if err != nil {
		return 0, err
	}
	pH, err := tank.React(*r.tried(), r.Tried.Amount).PH()
	return math.Abs(pH - r.Tried.PH), err
}

// answers refuses to go on where so much was given that the pH must have moved in a
// solution without carbonate, and none is seen to: a probe that is dead looks the same
// as hard water, and with more acid the roots would burn under it.
func (r Request) answers() error {
	onwards := r.TargetPH != 0 && r.tried().Base == (r.TargetPH > r.PH) // more of the same
	if !r.unmoved() || r.Tried.ProbeChecked || !onwards || math.Abs(r.PH-r.TargetPH) < smallestPH {
		return nil
	}
	moves, err := r.bareMove()
	if err != nil {
		return err
	}
	if moves >= seen {
		return refuse("check the probe in a pH buffer; if it reads right there, say so with --probe-checked",
			"the pH stands at %.4g after %.3g %s, which move that of a solution without carbonate by %.1f: this one holds much against it, or the probe no longer answers", r.PH, r.Tried.Amount, r.tried().Unit(), moves)
	}
	return nil
}

// believable refuses a dose that so much would have to hold against as no water
// brings: a slip of the pen.
func (r Request) believable() error {
	if r.Tried == nil {
		return nil
	}
	if err := r.answers(); err != nil {
		return err
	}
	e, err := NewEquilibrium(r.Temperature, IonicStrength(r.EC))
	if err != nil {
		return err
	}
	found, err := r.answered(r.EC, r.PH, r.StandingPhosphate(), false)
	if err != nil {
		return err
	}
	// Acid has made carbon dioxide of the most that a water brings, and no more than that.
	meq := found.Carbon * math.Max(1, charge(math.Pow(10, -r.Tried.PH), e.carbon[:]))
	if meq > 1.5*mostTapWater {
		hint := "see whether the amount given and both pHs are right"
		if r.unmoved() {
			hint += ", and check the probe in a pH buffer"
		}
		return refuse(hint,
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
