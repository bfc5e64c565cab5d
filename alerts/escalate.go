package alerts

import (
	"time"

	"wickd/model"
)

// Escalated is the change of an alert that nobody has acknowledged in the time
// of an escalation. It changes the alert's state in nothing but how far the
// escalation has come, so it is delivered and never recorded.
const Escalated model.Change = "escalated"

// Escalation is an alert that is due to be told to the next people.
type Escalation struct {
	model.Transition
	Step time.Duration // the one of Options.Escalations that has come
}

// Escalate lists the alerts that stand, that were told and that nobody has
// acknowledged for the time of the next escalation. Acknowledging, shelving
// and clearing stop it. The order is that of the subjects, then of the steps.
func (e *Engine) Escalate(now time.Time) []Escalation {
	if len(e.steps) == 0 {
		return nil
	}
	now = now.Round(0).UTC()
	var due []Escalation
	for _, r := range e.ordered() {
		if !r.calls() || r.Called.IsZero() {
			continue
		}
		for _, step := range e.steps {
			if step <= r.Reach || now.Sub(r.Called) < step {
				continue
			}
			r.Reach = step
			t := r.transition(now, Escalated, e.byName[r.Condition].Priority)
			t.Message.Headline = "Unanswered for " + length(now.Sub(r.Called)) + ": " + t.Message.Headline
			due = append(due, Escalation{t, step})
		}
	}
	return due
}

// Reach is how far the escalation of an occurrence has come, the last one of
// its alert; zero: only the first people were told.
func (e *Engine) Reach(t model.Transition) time.Duration {
	if r := e.records[key{t.Condition, t.Subject}]; r != nil && r.Occurrence == t.Occurrence {
		return r.Reach
	}
	return 0
}

// call begins the escalation anew: people are told at this time.
func (r *record) call(now time.Time) { r.Called, r.Reach = now, 0 }
