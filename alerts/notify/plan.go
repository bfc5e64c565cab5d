package notify

import (
	"encoding/json"
	"fmt"
	"time"

	"wickd/alerts"
	"wickd/model"
)

// Delivery is the intent to tell one recipient of one change of one alert.
type Delivery struct {
	Key       string // occurrence|kind|recipient: the same however often it is planned
	Recipient string
	NotBefore time.Time
	Body      []byte // a Notice, in JSON
}

// Notice is what a delivery carries: enough to compose a message of it alone
// or together with others.
type Notice struct {
	Time       time.Time       `json:"time"`
	Occurrence string          `json:"occurrence"`
	Condition  model.Condition `json:"condition"`
	Subject    model.Subject   `json:"subject"`
	Kind       model.Change    `json:"kind"`
	Priority   model.Priority  `json:"priority"`
	Message    model.Message   `json:"message"`
}

// call reports whether a notice asks for an answer that may have come already.
func (n Notice) call() bool { return n.Kind == alerts.Escalated || n.Kind == model.Reminder }

// urgent reports whether somebody has to be told at once. That an urgent alert
// is over can wait.
func (n Notice) urgent() bool {
	return n.Priority == model.PriorityUrgent && n.Kind != model.Cleared
}

// Telling is a change of an alert that somebody may have to be told of.
type Telling struct {
	model.Transition
	// Reach is how far the escalation of the alert has come, as
	// alerts.Engine.Reach gives it; of an alerts.Escalated change it is the step
	// that has just come.
	Reach time.Duration
}

// Tell pairs transitions with how far the escalation of each has come. A nil
// reach is no escalation.
func Tell(transitions []model.Transition, reach func(model.Transition) time.Duration) []Telling {
	tellings := make([]Telling, 0, len(transitions))
	for _, t := range transitions {
		telling := Telling{Transition: t}
		if reach != nil {
			telling.Reach = reach(t)
		}
		tellings = append(tellings, telling)
	}
	return tellings
}

// TellNext turns what an engine escalates into tellings.
func TellNext(due []alerts.Escalation) []Telling {
	tellings := make([]Telling, 0, len(due))
	for _, e := range due {
		tellings = append(tellings, Telling{e.Transition, e.Step})
	}
	return tellings
}

// Plan decides who is told of which change and when. It is pure and keeps the
// order of the tellings, then of the recipients.
//
// Told are raised, unshelved, repeated, escalated and cleared alerts that are
// not suppressed. The engine marks a clearing as suppressed if the raising was
// never told, and a recipient whom the escalation has not reached is left out,
// so that "cleared" reaches only those who know of it.
func Plan(now time.Time, tellings []Telling, recipients []Recipient) ([]Delivery, error) {
	var planned []Delivery
	for _, t := range tellings {
		if !told(t.Transition) {
			continue
		}
		body, err := json.Marshal(Notice{
			Time: t.Time, Occurrence: t.Occurrence, Condition: t.Condition, Subject: t.Subject,
			Kind: t.Kind, Priority: t.Priority, Message: t.Message,
		})
		if err != nil {
			return nil, fmt.Errorf("plan delivery of %s: %w", t.Occurrence, err)
		}
		for _, r := range recipients {
			if !r.concernedBy(t) {
				continue
			}
			planned = append(planned, Delivery{
				Key: key(t.Transition, r), Recipient: r.ID, NotBefore: notBefore(now, t.Transition, r), Body: body,
			})
		}
	}
	return planned, nil
}

func told(t model.Transition) bool {
	if t.Suppressed {
		return false
	}
	switch t.Kind {
	case model.Raised, model.Unshelved, model.Cleared, model.Reminder, alerts.Escalated:
		return true
	}
	return false
}

// concernedBy reports whether a recipient is to be told. Those of an escalation
// hear of an alert when it reaches them, and from then on like everybody.
func (r Recipient) concernedBy(t Telling) bool {
	switch {
	case !alerts.AtLeast(t.Priority, r.MinPriority):
		return false
	case t.Kind == alerts.Escalated:
		return r.EscalateAfter == t.Reach
	case r.EscalateAfter == 0:
		return true
	case t.Kind == model.Raised || t.Kind == model.Unshelved:
		return false
	}
	return t.Reach >= r.EscalateAfter
}

// key names a delivery. An alert can be taken up again and repeated many times,
// so that the time belongs to the name of these.
func key(t model.Transition, r Recipient) string {
	kind := string(t.Kind)
	switch t.Kind {
	case model.Unshelved, model.Reminder, alerts.Escalated:
		kind += "@" + t.Time.UTC().Format(time.RFC3339)
	}
	return t.Occurrence + "|" + kind + "|" + r.ID
}

func notBefore(now time.Time, t model.Transition, r Recipient) time.Time {
	if t.Priority != model.PriorityUrgent && r.Quiet != nil {
		if end, quiet := r.Quiet.until(now); quiet {
			return end
		}
	}
	return now
}
