package model

import "time"

// Condition names what can be wrong.
type Condition string

// Priority orders what is wrong by how soon somebody must act.
type Priority string

// The priorities.
const (
	PriorityLow    Priority = "low"
	PriorityMedium Priority = "medium"
	PriorityHigh   Priority = "high"
	PriorityUrgent Priority = "urgent"
)

// Transition is one change of one alert: what the log, the metrics, the
// records and the phone are told.
type Transition struct {
	Time       time.Time  `json:"time"`
	Occurrence string     `json:"occurrence"` // identity of this raising, the same until it clears
	Condition  Condition  `json:"condition"`
	Subject    Subject    `json:"subject"`
	Kind       Change     `json:"transition"`
	Priority   Priority   `json:"priority"`
	Cause      Cause      `json:"cause,omitempty"`
	Suppressed bool       `json:"suppressed"`
	Since      time.Time  `json:"since"`         // when the condition began to hold
	Due        *time.Time `json:"due,omitempty"` // when harm is expected, if known
	Message    Message    `json:"message"`
}

// Change is the kind of a transition.
type Change string

// The transitions.
const (
	Raised       Change = "raised"
	Acknowledged Change = "acknowledged"
	Cleared      Change = "cleared"
	Shelved      Change = "shelved"
	Unshelved    Change = "unshelved"
	Suppressed   Change = "suppressed"

	// Reminder repeats an alert that stands and that nobody has acknowledged.
	// It changes nothing, so it is delivered and never recorded.
	Reminder Change = "reminder"
)

// Message is what a person reads. Headline says what, where and how long
// there is; it fits a lock screen.
type Message struct {
	Headline string `json:"headline"`
	Why      string `json:"why"`
	Action   string `json:"action"`
	Caution  string `json:"caution,omitempty"`
}

// Text is the whole message.
func (m Message) Text() string {
	text := m.Headline
	for _, part := range []string{m.Why, m.Action, m.Caution} {
		if part != "" {
			text += "\n" + part
		}
	}
	return text
}
