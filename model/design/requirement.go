package design

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"wickd/model"
	"wickd/model/climate"
)

// Requirement is what a grower knows before building. Zero means not known:
// Size works it out or assumes it, and says which.
type Requirement struct {
	// The tube, mm. Two of Diameter, Length and Volume give the third.
	Diameter, Length float64
	Fill             float64 // share of the round section
	Volume           float64 // of one bag, L

	Plants   int     // altogether
	PerBag   int     // plants in a bag
	Bags     int     //
	RootRoom float64 // L of medium for a plant

	Crop   model.Crop // Builtin or Name must be known
	Canopy float64    // m² of one plant

	Medium model.Medium
	Spill  float64 // share of the medium that is lost in filling; negative: not known

	Wick      model.WickKind // Section 0: to be worked out
	WickCount int            // in a bag
	Lift      float64        // mm
	Margin    float64        // wanted supply over demand

	Place        *climate.Place
	Transmission float64
	Lamps        climate.Lamps
	Month        time.Month // 0: the sunniest time of the year

	Days      float64 // away
	Reservoir float64 // usable, L

	// FromSite names the figures, as in Proposal.Origins, that nobody gave: they were
	// taken from a site file.
	FromSite []string
}

// RequirementError is a requirement that cannot be worked with: figures that
// are missing, contradict each other, or ask for what no wick can do.
type RequirementError struct {
	What string // "length": the figure, by its name in Proposal.Origins
	Why  string
	Hint string
}

// Error is the reason and the hint in one line.
func (e *RequirementError) Error() string {
	return fmt.Sprintf("%s: %s; %s", e.What, e.Why, e.Hint)
}

func refuse(what, hint, why string, args ...any) error {
	return &RequirementError{What: what, Why: fmt.Sprintf(why, args...), Hint: hint}
}

// What is assumed where nothing is known (common practice).
const (
	assumedFill   = 0.97
	assumedLength = 1000.0 // mm
	assumedSpill  = 0.05
	assumedDays   = 7.0
)

// assumedMedium is a mix that drains well over a channel and still lifts.
func assumedMedium() model.Medium {
	return model.Medium{Name: "mix", Shrink: -1, Typical: true, Parts: []model.Part{
		{Material: "perlite", Fraction: 0.5}, {Material: "coir", Fraction: 0.3}, {Material: "peat", Fraction: 0.2},
	}}
}

// figure writes a number without an exponent.
func figure(x float64) string {
	if math.Abs(x) >= 1e4 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.4g", x)
}

// The ranges in which a requirement makes sense.
func (r Requirement) validate() error {
	var errs []error
	in := func(what string, v, low, high float64, unit string) {
		if v != 0 && !(v >= low && v <= high) {
			errs = append(errs, refuse(what, "give "+figure(low)+" to "+strings.TrimSpace(figure(high)+" "+unit), "%s is impossible", strings.TrimSpace(figure(v)+" "+unit)))
		}
	}
	in("diameter", r.Diameter, Narrowest, Widest, "mm")
	in("length", r.Length, 100, 20000, "mm")
	in("fill", r.Fill, 0.3, 1, "as a share")
	in("volume", r.Volume, 0.1, 2000, "L")
	in("root room", r.RootRoom, 0.05, 200, "L")
	in("canopy", r.Canopy, 0.001, 20, "m²")
	in("section", r.Wick.Section, 0.05, 200, "cm²")
	in("lift", r.Lift, LowestLift, 500, "mm")
	in("margin", r.Margin, 0.5, 20, "times the demand")
	in("cover", r.Transmission, 0.05, 1, "as a share")
	in("days away", r.Days, 0.5, 365, "d")
	in("reservoir", r.Reservoir, 1, 1e6, "L")
	in("plants", float64(r.Plants), 1, 1e6, "")
	in("plants per bag", float64(r.PerBag), 1, 1000, "")
	in("bags", float64(r.Bags), 1, 1e5, "")
	in("wicks", float64(r.WickCount), 1, 500, "")
	if r.Spill >= 0.5 {
		errs = append(errs, refuse("spill", "give the share that ends on the floor, for example 5 %", "%.0f %% is impossible", 100*r.Spill))
	}
	return errors.Join(errs...)
}

// Origin says where a figure of a Proposal comes from.
type Origin string

// The origins.
const (
	Given     Origin = "given"
	SiteFile  Origin = "site file"
	WorkedOut Origin = "worked out"
	Practice  Origin = "common practice"
	Assumed   Origin = "assumed"
)
