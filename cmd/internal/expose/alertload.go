package expose

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

// staleAfter is from when on a standing alert is stale: ISA-18.2 counts those
// that stand for more than a day, because nobody looks at them any longer.
const staleAfter = 24 * time.Hour

// loadDescs describe how the alerts themselves do, as alarm-management practice
// measures it (IEC 62682, performance metrics). Their rate is that of
// alert_transitions_total.
type loadDescs struct {
	standing, stale, chattering *prometheus.Desc
}

func newLoadDescs() loadDescs {
	return loadDescs{
		standing:   desc("alerts_standing", "Alerts that stand and are neither shelved nor suppressed, by priority.", "priority"),
		stale:      desc("alerts_stale", "Standing alerts that are older than a day."),
		chattering: desc("alerts_chattering", "Alerts that come and go and are held as one."),
	}
}

func (d loadDescs) describe(ch chan<- *prometheus.Desc) {
	ch <- d.standing
	ch <- d.stale
	ch <- d.chattering
}

// collect counts; a zero now leaves out what depends on the time.
func (d loadDescs) collect(s sink, alerts []AlertState, now time.Time) {
	standing := map[model.Priority]int{}
	stale, chattering := 0, 0
	for _, a := range alerts {
		if a.State != "unacknowledged" && a.State != "acknowledged" {
			continue
		}
		standing[a.Priority]++
		if now.Sub(a.Since) > staleAfter {
			stale++
		}
		if a.Chattering {
			chattering++
		}
	}
	for _, p := range []model.Priority{model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium, model.PriorityLow} {
		s.gauge(d.standing, float64(standing[p]), string(p))
	}
	if !now.IsZero() {
		s.gauge(d.stale, float64(stale))
	}
	s.gauge(d.chattering, float64(chattering))
}
