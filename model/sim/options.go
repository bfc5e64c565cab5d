package sim

import (
	"errors"
	"fmt"
	"time"

	"wickd/model"
)

// Options say what is simulated. Everything but Site and Start has a useful
// zero.
type Options struct {
	Site   *model.Site // what the grower believes; only read
	Seed   uint64
	Start  time.Time     // of virtual time; the first messages come one Step later
	Step   time.Duration // between messages, 1 min to 1 h; 0: 10 min
	Faults []Fault

	// Scatter of the truth about what the site file says; the zero value stands
	// for TypicalScatter.
	Scatter Scatter
	// Loss is the share of messages that never arrive: 0 stands for 1 %, a
	// negative one for none.
	Loss float64

	// Refill says what the grower does about a low reservoir.
	Refill RefillPolicy
	// Fill is how full reservoirs start, as a share of what lies between empty
	// and full; 0: drawn from 0.85 to 1.
	Fill float64
	// OpenWater is the surface of solution, m², that each reservoir shows to
	// the air and that evaporates at the reference rate; 0: covered.
	OpenWater float64
}

// RefillPolicy is what the grower does about a low reservoir.
type RefillPolicy int

// The policies.
const (
	// RefillAtLow fills to the full mark at the next nine o'clock, local time,
	// after the level fell to the low mark, and brings EC and pH to target.
	RefillAtLow RefillPolicy = iota
	// RefillNever leaves the reservoir to run out.
	RefillNever
)

// defaultLoss is the share of messages lost: a weak wireless link with QoS 1
// sensors that do not retry (invented).
const defaultLoss = 0.01

func (o Options) withDefaults() Options {
	if o.Step == 0 {
		o.Step = 10 * time.Minute
	}
	if o.Scatter == (Scatter{}) {
		o.Scatter = TypicalScatter()
	}
	switch {
	case o.Loss == 0:
		o.Loss = defaultLoss
	case o.Loss < 0:
		o.Loss = 0
	}
	return o
}

func (o Options) validate() error {
	if o.Site == nil {
		return errors.New("no site given")
	}
	var faults []error
	refuse := func(bad bool, format string, args ...any) {
		if bad {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	refuse(o.Start.IsZero(), "no start given: virtual time has to begin somewhere, for example 2026-06-01T00:00:00Z")
	refuse(o.Step < time.Minute || o.Step > time.Hour, "step %v: must lie in 1 min to 1 h", o.Step)
	refuse(!(o.Loss < 1), "loss %g: must be below 1", o.Loss)
	refuse(!(o.Fill >= 0 && o.Fill <= 1), "fill %g: must be a share from 0 to 1", o.Fill)
	refuse(!(o.OpenWater >= 0), "open water %g m²: must not be negative", o.OpenWater)
	refuse(o.Refill != RefillAtLow && o.Refill != RefillNever, "refill policy %d is not known", o.Refill)
	faults = append(faults, o.Scatter.validate())
	for i, f := range o.Faults {
		if err := f.validate(o.Site, o.Start); err != nil {
			faults = append(faults, fmt.Errorf("fault %d: %s: %w", i+1, f.Kind, err))
		}
	}
	return errors.Join(faults...)
}
