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

// urgent reports whether somebody has to be told at once. That an urgent alert
// is over can wait.
func (n Notice) urgent() bool {
	return n.Priority == model.PriorityUrgent && n.Kind != model.Cleared
}

// Plan decides who is told of which transition and when. It is pure and keeps
// the order of the transitions, then of the recipients.
//
// Told are raised, unshelved, repeated and cleared alerts that are not
// suppressed. The
// engine marks a clearing as suppressed if the raising was never told, so that
// "cleared" reaches only those who know of it.
func Plan(now time.Time, transitions []model.Transition, recipients []Recipient) ([]Delivery, error) {
	var planned []Delivery
	for _, t := range transitions {
		if !told(t) {
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
			if !alerts.AtLeast(t.Priority, r.MinPriority) {
				continue
			}
			planned = append(planned, Delivery{
				Key: key(t, r), Recipient: r.ID, NotBefore: notBefore(now, t, r), Body: body,
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
	case model.Raised, model.Unshelved, model.Cleared, model.Reminder:
		return true
	}
	return false
}

// key names a delivery. An alert can be taken up again and repeated many times,
// so that the time belongs to the name of these.
func key(t model.Transition, r Recipient) string {
	kind := string(t.Kind)
	if t.Kind == model.Unshelved || t.Kind == model.Reminder {
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
