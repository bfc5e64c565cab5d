package alerts

import (
	"errors"
	"fmt"
	"time"

	"wickd/model"
)

// Rationale is the record of why a condition is worth a person's attention.
type Rationale struct {
	Cause       string        `json:"cause"`       // what usually brings it about
	Consequence string        `json:"consequence"` // what follows if nobody acts
	Severity    Severity      `json:"severity"`    // of the consequence
	Action      string        `json:"action"`      // what to do
	Respond     time.Duration `json:"respond"`     // time to act before harm is done
}

// Definition is one condition that can be wrong: its settings and its record.
type Definition struct {
	Condition model.Condition `json:"condition"`
	Kind      string          `json:"kind"` // of subject: model.KindBag, … or "sensor"
	Priority  model.Priority  `json:"priority"`
	OnDelay   time.Duration   `json:"on_delay"`  // it must hold this long before it is raised
	OffDelay  time.Duration   `json:"off_delay"` // it must be clear this long before it clears
	Deadband  float64         `json:"deadband"`  // beyond the limit before it counts as clear
	Unit      string          `json:"unit"`      // of the deadband; empty: a condition without a limit
	Reason    string          `json:"reason"`    // of the numbers above
	Rationale Rationale       `json:"rationale"`

	plural string // "are dry", said of several subjects
	dated  bool   // the message says since when
	// chatters is within what time three raisings make a subject one that comes and
	// goes; 0: chatterWindow.
	chatters time.Duration
	judge    judge
}

// judge decides a condition for every subject of a scene.
type judge func(sc *scene, d *Definition) []finding

// finding is a verdict on one subject.
type finding struct {
	subject model.Subject
	verdict Verdict
}

// kindSensor is the Kind of the conditions about sensors, whose subjects lie
// under bags, reservoirs and the air.
const kindSensor = "sensor"

// ErrDefinition says that a condition cannot be used as it is defined.
var ErrDefinition = errors.New("alert condition is not complete")

// validate refuses a condition that lacks what a person needs from it.
func (d Definition) validate() error {
	switch {
	case d.Condition == "":
		return fmt.Errorf("%w: no name", ErrDefinition)
	case rank(d.Priority) == 0:
		return fmt.Errorf("%w: %s: priority %q is not one of low, medium, high, urgent", ErrDefinition, d.Condition, d.Priority)
	case d.OnDelay < 0 || d.OffDelay < 0:
		return fmt.Errorf("%w: %s: a delay is negative", ErrDefinition, d.Condition)
	case d.Deadband < 0:
		return fmt.Errorf("%w: %s: the deadband is negative", ErrDefinition, d.Condition)
	case d.Rationale.Cause == "" || d.Rationale.Consequence == "" || d.Rationale.Action == "" || d.Rationale.Respond <= 0:
		return fmt.Errorf("%w: %s: needs a cause, a consequence, an action and a time to respond", ErrDefinition, d.Condition)
	case d.Rationale.Severity.row() < 0:
		return fmt.Errorf("%w: %s: severity %q is not one of slight, moderate, severe, grave", ErrDefinition, d.Condition, d.Rationale.Severity)
	case d.Reason == "":
		return fmt.Errorf("%w: %s: needs the reason of its numbers", ErrDefinition, d.Condition)
	case d.judge == nil || d.plural == "":
		return fmt.Errorf("%w: %s: nothing decides it", ErrDefinition, d.Condition)
	}
	return nil
}

// rationalised refuses a priority that somebody picked: it follows from the
// rationale, and only the site file may say otherwise.
func (d Definition) rationalised() error {
	if want := Prioritise(d.Rationale); d.Priority != want {
		return fmt.Errorf("%w: %s: its priority is %q, and its rationale asks for %q", ErrDefinition, d.Condition, d.Priority, want)
	}
	return nil
}

// rank orders the priorities; zero: not a priority.
func rank(p model.Priority) int {
	switch p {
	case model.PriorityUrgent:
		return 4
	case model.PriorityHigh:
		return 3
	case model.PriorityMedium:
		return 2
	case model.PriorityLow:
		return 1
	}
	return 0
}

// AtLeast reports whether priority p is min or above. The empty min is below
// every priority.
func AtLeast(p, min model.Priority) bool { return rank(p) >= rank(min) }

// Override replaces settings of one condition. A nil pointer or an empty
// priority leaves the default.
type Override struct {
	Priority     model.Priority
	OnDelay      *time.Duration
	OffDelay     *time.Duration
	Deadband     *float64 // in the Definition's Unit
	OutOfService bool     // never raised; an alert that stands is closed
}

func (o Override) apply(d Definition) Definition {
	if o.Priority != "" {
		d.Priority = o.Priority
	}
	if o.OnDelay != nil {
		d.OnDelay = *o.OnDelay
	}
	if o.OffDelay != nil {
		d.OffDelay = *o.OffDelay
	}
	if o.Deadband != nil {
		d.Deadband = *o.Deadband
	}
	return d
}
