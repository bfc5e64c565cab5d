package solution

// Dose is an amount of one concentrate.
type Dose struct {
	Stock Stock
	ML    float64
}

// Plan is what to do, in this order: let out, water, concentrates one after the
// other, then the first part of the acid or base, and the rest after
// measuring.
type Plan struct {
	Discard float64 // L to let out first
	// DiscardShare is the same as a share of what stands in the reservoir. It is
	// what counts: who lets out until the level says so errs by no more than the
	// gauge, where litres counted out leave their whole error in what is left.
	DiscardShare float64
	Water        float64 // L
	Doses        []Dose
	// Reagent corrects the pH; nil: nothing to do, or none was named.
	Reagent *Reagent
	Amount  float64 // of Reagent, mL or g, in all
	// First is what of it to give before measuring: half of what the solution
	// bears for certain, as its buffer is half guessed; more once a first dose has
	// been measured.
	First float64
	// Least is about what it takes if the solution holds nothing of the carbonate
	// that its pH lets guess; 0: that guess decides nothing.
	Least float64
	// Demand is the acid that the pH takes, meq; negative: base. It is stated even
	// if no acid or base was named.
	Demand float64
	// AcidFirst says that the mixture would stand above pH 7 before its acid, where
	// calcium phosphate can fall out: half of the acid goes into the water before
	// the concentrates.
	AcidFirst bool
	PHBefore  float64 // of the mixture without acid or base
	// Unseen says that the dose that was tried hardly moved the pH. First is no more than
	// that dose.
	Unseen bool

	Expected Expected
	Notes    []string

	Mixed float64 // EC once water and concentrates are in, before acid or base, mS/cm
}

// Expected is what measuring should show afterwards, with standard deviations
// from those of what was measured, the stocks' and the unknown phosphate and
// carbon dioxide.
type Expected struct {
	Volume   float64 // L
	EC, ECSD float64 // mS/cm
	PH, PHSD float64 // after stirring, with all acid in; 0: the pH was not asked for
	// FirstPH and FirstTotals, mmol/L, are those after First of the acid or base:
	// what measuring then should show, and what the next plan within the hour
	// starts from.
	FirstPH     float64
	FirstEC     float64 // mS/cm
	FirstTotals Totals
	PHAired     float64 // after a day, when carbon dioxide has left
	Fed         string  // nutrient that the acid or base brings; empty: none
	FedMmol     float64 // of it, mmol/L
	Fresh       float64 // share of the volume that is new, 0–1
}

// Plan works out what to do. Its error is a *Refusal where the target cannot be
// met as asked.
func (r Request) Plan() (Plan, error) {
	if err := r.Validate(); err != nil {
		return Plan{}, err
	}
	if err := r.believable(); err != nil {
		return Plan{}, err
	}
	p, err := r.attempt(r.TargetEC)
	if err != nil || r.leavesEC() {
		return p, err
	}
	// The ions of the acid or base conduct too: aim beside the target by as much.
	for range 3 {
		end := p.Expected.EC
		if p.Least > 0 { // the rest may never be given
			end = p.Expected.FirstEC
		}
		aim := r.TargetEC - (end - r.TargetEC) + (p.Mixed - r.TargetEC)
		better, err := r.attempt(aim)
		if err != nil {
			break // at the edge of what can be met; the first plan stands
		}
		p = better
	}
	return p, nil
}

// attempt is a plan that brings the EC to aim before any acid or base.
func (r Request) attempt(aim float64) (Plan, error) {
	salted := r
	salted.TargetEC = aim
	p, err := salted.balance()
	if err != nil {
		return Plan{}, err
	}
	p.Mixed = aim
	if r.Volume > 0 {
		p.DiscardShare = p.Discard / r.Volume
	}
	if r.TargetPH != 0 {
		if err := r.correctPH(&p); err != nil {
			return Plan{}, err
		}
	}
	if err := r.expect(&p); err != nil {
		return Plan{}, err
	}
	return p, nil
}
