package solution

import (
	"fmt"
	"math"
	"strings"
)

// Mode is what is to be done to a reservoir.
type Mode string

// The modes.
const (
	TopUp   Mode = "top-up"  // fill up to a volume, at the target
	Correct Mode = "correct" // bring what is there to the target
	Change  Mode = "change"  // let it out and fill it anew
)

// Typical figures for what a grower does not know, and standard deviations of
// what was measured by hand (common practice, unless a source is named).
const (
	// PhosphatePerEC guesses the phosphate of a nutrient solution, mmol/L for
	// each mS/cm: recipes have 0.5 to 0.9.
	PhosphatePerEC = 0.6
	// standingCO2 is that of air in the pores over a stagnant tank with roots,
	// µatm: two to ten times that outdoors.
	standingCO2 = 3 * OutdoorCO2

	sdVolume     = 0.02 // share
	sdEC         = 0.02 // share: a hand meter after calibration
	sdPH         = 0.1
	sdStock      = 0.02 // share
	sdAlkalinity = 0.05 // share: a drop test
	sdPhosphate  = 0.35 // share, when guessed
	sdReagent    = 0.02 // share
	sdCO2        = 0.7  // of the logarithm
)

// Request is everything that a plan rests on.
type Request struct {
	Mode Mode

	// What stands in the reservoir.
	Volume, EC, PH float64 // L, mS/cm, pH; PH 0: not measured
	Temperature    float64 // °C
	Phosphate      float64 // mmol/L; 0: guessed from the EC
	// Carbon is the dissolved carbon dioxide and bicarbonate, mmol/L, of a
	// solution that was mixed within the hour, as the plan for it expects; 0: the
	// solution has stood for a day, and its carbon dioxide has left.
	Carbon float64
	// Tried is what of Acid or Base was stirred in within the hour before PH was
	// measured: what the pH made of it says how much the solution holds against
	// it. Nil: none. Carbon does not count then, and EC is that after the dose.
	Tried *Tried

	Capacity float64 // L; what the reservoir holds when full
	Fill     float64 // L to be in it afterwards (top-up, change); 0: Capacity

	TargetEC float64 // mS/cm; 0: leave the EC (correct only)
	TargetPH float64 // 0: leave the pH

	Water  Water
	Stocks []Stock // dosed in equal parts
	Acid   *Reagent
	Base   *Reagent

	// Aired doses for the pH after carbon dioxide has left: for a reservoir that
	// is stirred by air, or that stands for a day before it is measured again.
	Aired bool
}

// Tried are one or more doses whose effect was measured.
type Tried struct {
	PH     float64 // before the first
	Amount float64 // of all, mL or g
	// Reagent is what was given; nil: Acid or Base, by the way the pH went.
	Reagent *Reagent
	// ProbeChecked says that the probe was seen to be right in a buffer since then.
	ProbeChecked bool
}

// After is what was tried once the first part of a plan that corrects the pH
// alone is in: the farther the pH has moved, the surer it is what held against
// it. Nil: the plan does more than that, so that no pH was measured just before.
func (r Request) After(p Plan) *Tried {
	switch {
	case !r.leavesEC() || p.Reagent == nil:
		return nil
	case r.Tried != nil && r.tried().Base == p.Reagent.Base:
		return &Tried{PH: r.Tried.PH, Amount: r.Tried.Amount + p.First, Reagent: p.Reagent}
	}
	return &Tried{PH: r.PH, Amount: p.First, Reagent: p.Reagent}
}

// Refusal is a target that cannot be met, with the reason and a way out.
type Refusal struct{ Reason, Hint string }

func (r *Refusal) Error() string { return r.Reason + "; " + r.Hint }

func refuse(hint, format string, args ...any) error {
	return &Refusal{Reason: fmt.Sprintf(format, args...), Hint: hint}
}

// OutsideError is a figure of a Request that cannot be.
type OutsideError struct {
	Figure          string // "target pH"
	value, low, top float64
	unit            string
}

// Error says which figure and what it may be.
func (e *OutsideError) Error() string {
	return fmt.Sprintf("%s of %s is outside %g to %g", e.Figure, strings.TrimSpace(fmt.Sprintf("%.4g %s", e.value, e.unit)), e.low, e.top)
}

// Validate says what in the request is missing or out of range.
func (r Request) Validate() error {
	switch r.Mode {
	case TopUp, Correct, Change:
	default:
		return fmt.Errorf("mix: %q is not a mode; there are top-up, correct and change", r.Mode)
	}
	checks := []OutsideError{
		{"volume", r.Volume, 0, 1e6, "L"}, {"capacity", r.Capacity, 0.1, 1e6, "L"}, {"fill", r.Fill, 0, 1e6, "L"},
		{"EC", r.EC, 0, 20, "mS/cm"}, {"temperature", r.Temperature, 1, 45, "°C"}, {"phosphate", r.Phosphate, 0, 20, "mmol/L"},
		{"carbon", r.Carbon, 0, 30, "mmol/L"},
		{"EC of the water", r.Water.EC, 0, 5, "mS/cm"}, {"pH of the water", r.Water.PH, 4, 10, ""},
		{"alkalinity of the water", r.Water.Alkalinity, 0, 20, "meq/L"},
	}
	if !r.leavesEC() {
		checks = append(checks, OutsideError{"target EC", r.TargetEC, 0.1, 6, "mS/cm"})
	}
	if r.TargetPH != 0 {
		checks = append(checks, OutsideError{"target pH", r.TargetPH, 4.5, 7.5, ""})
	}
	if r.PH != 0 {
		checks = append(checks, OutsideError{"pH", r.PH, 2.5, 10, ""})
	}
	if r.Tried != nil {
		checks = append(checks, OutsideError{"pH before the dose", r.Tried.PH, 2.5, 10, ""}, OutsideError{"dose tried", r.Tried.Amount, 1e-6, 1e6, "mL or g"})
	}
	for _, s := range r.Stocks {
		checks = append(checks, OutsideError{"strength of stock " + s.Name, s.Strength, 0.001, 2, "mS/cm per mL/L"},
			OutsideError{"phosphate of stock " + s.Name, s.Phosphate, 0, 5, "mmol/L per mL/L"})
	}
	for _, c := range checks {
		if !(c.value >= c.low && c.value <= c.top) {
			return fmt.Errorf("mix: %w", &c)
		}
	}
	return r.consistent()
}

func (r Request) consistent() error {
	switch {
	case r.Volume > r.Capacity*1.001:
		return fmt.Errorf("mix: %.4g L is more than the reservoir holds (%.4g L)", r.Volume, r.Capacity)
	case r.Fill > r.Capacity*1.001:
		return fmt.Errorf("mix: a fill of %.4g L is more than the reservoir holds (%.4g L)", r.Fill, r.Capacity)
	case r.Mode == TopUp && r.fill() < r.Volume:
		return fmt.Errorf("mix: there are %.4g L already, more than the %.4g L to fill to", r.Volume, r.fill())
	case r.Mode == Correct && r.Volume == 0:
		return fmt.Errorf("mix: an empty reservoir cannot be corrected; use change")
	case r.Acid != nil && r.Acid.Base:
		return fmt.Errorf("mix: %s raises pH; it is no acid", r.Acid.Name)
	case r.Base != nil && !r.Base.Base:
		return fmt.Errorf("mix: %s lowers pH; it is no base", r.Base.Name)
	case r.Tried != nil && !r.leavesEC():
		return fmt.Errorf("mix: what a dose did to the pH counts where the pH alone is corrected; leave the target EC out")
	case r.Tried != nil && r.ambiguous():
		return fmt.Errorf("mix: the pH hardly moved from %.4g to %.4g, so it does not say whether the acid or the base was given; name only the one that was", r.Tried.PH, r.PH)
	case r.Tried != nil && (r.tried() == nil || !r.unmoved() && r.tried().Base != (r.PH > r.Tried.PH)):
		return fmt.Errorf("mix: the pH went from %.4g to %.4g, which nothing named here does; stir, wait and measure again, and if it stays so, leave out what was given and what the pH was before", r.Tried.PH, r.PH)
	case r.turnsBack():
		return fmt.Errorf("mix: what was given moves the pH away from %.4g, and hardly moved it: that says nothing of what to give now; leave out what was given and what the pH was before", r.TargetPH)
	case r.TargetPH != 0 && r.Volume > 0 && r.PH == 0:
		return fmt.Errorf("mix: a target pH needs the pH of what is in the reservoir; measure it, or leave the target out")
	}
	return nil
}

// leavesEC says that only the pH is to be corrected.
func (r Request) leavesEC() bool { return r.Mode == Correct && r.TargetEC == 0 }

func (r Request) fill() float64 {
	if r.Fill > 0 {
		return r.Fill
	}
	return r.Capacity
}

// strength is what 1 mL of every stock does in a litre.
func (r Request) strength() float64 {
	sum := 0.0
	for _, s := range r.Stocks {
		sum += s.Strength
	}
	return sum
}

func (r Request) standing() (Tank, error) { return r.standingAt(circumstances{co2: 1}) }

// StandingPhosphate is that of what stands in the reservoir, mmol/L, stated or
// guessed; with Tried, before what was tried.
func (r Request) StandingPhosphate() float64 {
	if r.Phosphate > 0 {
		return r.Phosphate
	}
	return PhosphatePerEC * math.Max(0, r.EC-r.Water.EC)
}

// measuredPH stands in where no pH was measured: it decides nothing then, as
// without a target none is stated.
func (r Request) measuredPH() float64 {
	if r.PH == 0 {
		return 6
	}
	return r.PH
}
