package expose

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

// AlertState is one alert that is not back to normal, as metrics and pages
// show it.
type AlertState struct {
	Occurrence string
	Condition  model.Condition
	Subject    model.Subject
	Priority   model.Priority
	// State is the state's own name: "unacknowledged", "acknowledged",
	// "returned-unacknowledged", "shelved", "suppressed", "out-of-service".
	State string
	Cause model.Cause
	Since time.Time  // when the condition began to hold
	Due   *time.Time // when harm is expected; nil: not known
	Until *time.Time // when a shelved alert comes back; nil: not shelved
	By    string     // who acknowledged it; empty: nobody
	// Chattering says that it comes and goes and is held as one.
	Chattering bool
	Message    model.Message
}

type alertDescs struct {
	active, since *prometheus.Desc
}

func newAlertDescs() alertDescs {
	return alertDescs{
		active: desc("alert_active", "Whether an alert is open (1), by its state. Absent once it is back to normal.",
			"condition", "subject", "priority", "state"),
		since: desc("alert_since_timestamp_seconds", "When the condition of an open alert began to hold.",
			"condition", "subject"),
	}
}

func (d alertDescs) describe(ch chan<- *prometheus.Desc) {
	ch <- d.active
	ch <- d.since
}

// collect exposes each pair of condition and subject once: a second occurrence
// of the same alert would make two equal series, which fails a whole scrape.
func (d alertDescs) collect(s sink, alerts []AlertState) {
	type key struct {
		condition model.Condition
		subject   model.Subject
	}
	seen := make(map[key]bool, len(alerts))
	for _, a := range alerts {
		k := key{a.Condition, a.Subject}
		if seen[k] {
			continue
		}
		seen[k] = true
		s.gauge(d.active, 1, string(a.Condition), string(a.Subject), string(a.Priority), a.State)
		s.instant(d.since, a.Since, string(a.Condition), string(a.Subject))
	}
}
