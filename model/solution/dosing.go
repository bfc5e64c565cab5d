package solution

import (
	"fmt"
	"math"
)

// tanks gives what stands in the reservoir and the water that goes in.
func (r Request) tanks(p Plan) (standing, water Tank, err error) {
	if standing, err = r.standing(); err != nil {
		return standing, water, err
	}
	water, err = FillWith(r.Water, p.Water, r.Temperature)
	return standing, water, err
}

// Carry plays a plan, acid or base and all, on another tank with other water and
// gives what is in the tank afterwards: what a plan comes to where the truth
// differs from what was measured. [Plan.Begin] is the plan up to measuring.
func (p Plan) Carry(standing Tank, water Tank) Tank {
	t, _ := standing.Draw(p.DiscardShare * standing.Volume)
	t = t.Join(water)
	for _, d := range p.Doses {
		t = t.Dose(d.Stock, d.ML)
	}
	if p.Reagent != nil {
		t = t.React(*p.Reagent, p.Amount)
	}
	return t
}

// Begin is the plan with no more acid or base than goes in before measuring.
func (p Plan) Begin() Plan {
	p.Amount = p.First
	return p
}

// safePH is above which calcium phosphate can fall out of a full-strength
// solution (common practice).
const safePH = 7.0

// smallestPH is what is not worth a dose: what a field probe shows for sure.
const smallestPH = 0.1

// correctPH doses the acid or base for the target.
func (r Request) correctPH(p *Plan) error {
	standing, water, err := r.tanks(*p)
	if err != nil {
		return err
	}
	mixed := p.Carry(standing, water)
	if p.PHBefore, err = r.pH(mixed); err != nil {
		return err
	}
	if p.Demand, err = r.demand(mixed); err != nil {
		return err
	}
	if math.Abs(p.PHBefore-r.TargetPH) < smallestPH {
		p.Demand = 0
		return nil
	}
	reagent := r.Acid
	if p.PHBefore < r.TargetPH {
		reagent = r.Base
	}
	if reagent == nil {
		p.Notes = append(p.Notes, r.unnamed(*p))
		return nil
	}
	p.AcidFirst = !reagent.Base && p.PHBefore > safePH && len(p.Doses) > 0
	return r.amount(p, mixed, *reagent)
}

// unnamed says what the pH takes when nothing that moves it that way was named.
func (r Request) unnamed(p Plan) string {
	kind, other, way, unit := "acid", r.Base, "down", "mL"
	if p.Demand < 0 {
		kind, other, way, unit = "base", r.Acid, "up", "mL or g"
	}
	text := fmt.Sprintf("Left alone its pH would be %.1f. To bring it %s to %.1f takes %.3g meq of %s", p.PHBefore, way, r.TargetPH, math.Abs(p.Demand), kind)
	if other != nil {
		text += fmt.Sprintf("; the %s that you named would move it the other way", other.Label())
	}
	return fmt.Sprintf("%s. Name your %s with its strength to have it in %s.", text, kind, unit)
}

// Lacks says that the pH is left as it is because no acid (or base) that would
// move it was named; the note says which.
func (p Plan) Lacks() bool { return p.Reagent == nil && p.Demand != 0 }

// pH is the one that is dosed for: at once, or after a day with air.
func (r Request) pH(t Tank) (float64, error) {
	if r.Aired {
		return t.AiredPH(OutdoorCO2)
	}
	return t.PH()
}

// demand is the strong acid that takes a tank to the target, meq.
func (r Request) demand(t Tank) (float64, error) {
	e, err := t.equilibrium()
	if err != nil {
		return 0, err
	}
	totals := t.Totals.times(1 / t.Volume)
	if r.Aired {
		totals.Carbon = e.OpenCarbon(r.TargetPH, OutdoorCO2)
	}
	return t.Alkali - e.Alkali(r.TargetPH, totals)*t.Volume, nil
}

// amount finds how much of the reagent ends at the target. Weak acids and
// bicarbonate give less the nearer the pH comes to their own, so the pH is
// monotone in the amount but not proportional, and may never get there.
func (r Request) amount(p *Plan, mixed Tank, reagent Reagent) error {
	over := func(x float64) float64 {
		pH, err := r.pH(mixed.React(reagent, x))
		if err != nil {
			return math.NaN()
		}
		if reagent.Base {
			return pH - r.TargetPH
		}
		return r.TargetPH - pH
	}
	// Ten times what its normality would take.
	most := 10 * math.Abs(p.Demand) / reagent.Normality()
	if !(over(most) >= 0) {
		return refuse("use a stronger one: nitric, phosphoric or sulfuric acid, potassium hydroxide",
			"%s cannot bring pH %.1f to %.1f", reagent.Label(), p.PHBefore, r.TargetPH)
	}
	p.Amount = rising(over, 0, most)
	if litres := p.Amount / 1000; reagent.Unit() == "mL" && litres > maxAcidShare*mixed.Volume {
		return refuse("use a stronger one", "it would take %.1f L of %s, which thins the solution", litres, reagent.Label())
	}
	p.Reagent = &reagent
	return r.first(p)
}

// How much of a dose goes in before measuring: half at first (common practice),
// and more where a first dose was measured already.
const firstShare, nextShare = 0.5, 0.8

// first sets what goes in before measuring: a share of what the tank bears for
// certain. High pH looks like much carbonate, and acid for carbonate that is not
// there burns the roots, so while it is a guess the dose is that for none.
func (r Request) first(p *Plan) error {
	if r.Carbon > 0 && r.Tried == nil {
		p.First = nextShare * p.Amount
		return nil
	}
	standing, err := r.standingAt(circumstances{co2: 1, bare: true})
	if err != nil {
		return err
	}
	water, err := FillWith(r.Water, p.Water, r.Temperature)
	if err != nil {
		return err
	}
	none := *p
	none.Reagent = nil
	least, err := r.demand(none.Carry(standing, water))
	if err != nil {
		return err
	}
	share := math.Max(0, math.Min(1, least/p.Demand))
	p.First = firstShare * share * p.Amount
	if r.Tried != nil { // between all on carbonate and all on phosphate
		p.First = nextShare * (1 + share) / 2 * p.Amount
		if r.unmoved() { // a probe that is dead looks like a solution that holds much
			p.First = math.Min(p.First, r.Tried.Amount)
			p.Unseen = true
		}
	} else if share < guessDecides {
		p.Least = share * p.Amount
	}
	return nil
}

// guessDecides is the share of a dose for certain below which the rest, which
// rests on a guess, is worth a word.
const guessDecides = 0.6

// maxAcidShare of the volume may be acid or base: it changes the EC by as much.
const maxAcidShare = 0.02
