package alerts

import (
	"time"

	"wickd/model"
)

// Status is where an alert is in its life (IEC 62682).
type Status string

// The statuses.
const (
	Normal                 Status = "normal"
	Unacknowledged         Status = "unacknowledged"
	Acknowledged           Status = "acknowledged"
	ReturnedUnacknowledged Status = "returned-unacknowledged" // clear again, and nobody has said so
	Shelved                Status = "shelved"
	Suppressed             Status = "suppressed"
	OutOfService           Status = "out-of-service"
)

// State is one alert as it stands, for people and metrics.
type State struct {
	Occurrence   string          `json:"occurrence"`
	Condition    model.Condition `json:"condition"`
	Subject      model.Subject   `json:"subject"`
	Status       Status          `json:"status"`
	Priority     model.Priority  `json:"priority"`
	Holding      bool            `json:"holding"`              // it has not been cleared: the condition stands, or its off-delay runs
	Chattering   bool            `json:"chattering,omitempty"` // it comes and goes, and is held
	Since        time.Time       `json:"since"`
	Raised       time.Time       `json:"raised"`
	Due          *time.Time      `json:"due,omitempty"`
	Cause        model.Cause     `json:"cause,omitempty"`
	By           string          `json:"by,omitempty"`            // who acknowledged it
	ShelvedUntil time.Time       `json:"shelved_until,omitzero"`  // zero: not shelved
	SuppressedBy model.Condition `json:"suppressed_by,omitempty"` // the cause above it
	Message      model.Message   `json:"message"`
}

// key is what makes an alert one alert.
type key struct {
	condition model.Condition
	subject   model.Subject
}

// record is everything that is remembered of one alert. It is the persisted
// form too, so that nothing can be left out of it.
type record struct {
	Condition model.Condition `json:"condition"`
	Subject   model.Subject   `json:"subject"`

	Pending   time.Time `json:"pending,omitzero"`   // began to hold, not raised yet
	Returning time.Time `json:"returning,omitzero"` // began to be clear, not cleared yet

	Occurrence string    `json:"occurrence,omitempty"`
	Active     bool      `json:"active,omitempty"`
	Announced  bool      `json:"announced,omitempty"` // told, not only recorded
	Since      time.Time `json:"since,omitzero"`
	Raised     time.Time `json:"raised,omitzero"`
	Cleared    time.Time `json:"cleared,omitzero"`
	Told       time.Time `json:"told,omitzero"` // last, of what is repeated until acknowledged

	// Raisings are those within the chatter window, the oldest first.
	Raisings   []time.Time `json:"raisings,omitempty"`
	Chattering bool        `json:"chattering,omitempty"`

	// Called is when people were last called of it anew; Reach is how far the
	// escalation has come since.
	Called time.Time     `json:"called,omitzero"`
	Reach  time.Duration `json:"reach,omitempty"`

	Acked bool   `json:"acked,omitempty"`
	By    string `json:"by,omitempty"`

	ShelvedUntil time.Time       `json:"shelved_until,omitzero"`
	SuppressedBy model.Condition `json:"suppressed_by,omitempty"`

	Cause   model.Cause   `json:"cause,omitempty"`
	Due     *time.Time    `json:"due,omitempty"`
	Message model.Message `json:"message"`

	// holding says that the condition held when last looked at. It is set
	// before it is read within one step, so that it need not be persisted.
	holding bool
}

// status derives where the alert is; shelving goes before suppression, because
// a person chose it.
func (r *record) status() Status {
	switch {
	case r.Active && !r.ShelvedUntil.IsZero():
		return Shelved
	case r.Active && r.SuppressedBy != "":
		return Suppressed
	case r.Active && r.Acked:
		return Acknowledged
	case r.Active:
		return Unacknowledged
	case r.Announced && !r.Acked:
		return ReturnedUnacknowledged
	}
	return Normal
}

// quiet reports whether nobody is to be told of the alert now.
func (r *record) quiet() bool { return !r.ShelvedUntil.IsZero() || r.SuppressedBy != "" }

func (r *record) transition(now time.Time, kind model.Change, p model.Priority) model.Transition {
	return model.Transition{
		Time: now, Occurrence: r.Occurrence, Condition: r.Condition, Subject: r.Subject,
		Kind: kind, Priority: p, Cause: r.Cause, Suppressed: r.quiet(),
		Since: r.Since, Due: copied(r.Due), Message: r.Message,
	}
}

func (r *record) state(p model.Priority) State {
	return State{
		Occurrence: r.Occurrence, Condition: r.Condition, Subject: r.Subject,
		Status: r.status(), Priority: p, Holding: r.Active, Chattering: r.Chattering, Since: r.Since, Raised: r.Raised,
		Due: copied(r.Due), Cause: r.Cause, By: r.By,
		ShelvedUntil: r.ShelvedUntil, SuppressedBy: r.SuppressedBy, Message: r.Message,
	}
}

func copied(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	c := t.Round(0).UTC()
	return &c
}
