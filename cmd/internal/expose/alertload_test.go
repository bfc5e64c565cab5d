package expose_test

import (
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

func TestTheLoadOfAlertsIsCounted(t *testing.T) {
	now := time.Date(2026, 6, 2, 12, 0, 0, 0, time.UTC)
	alert := func(subject model.Subject, p model.Priority, state string, age time.Duration) expose.AlertState {
		return expose.AlertState{Condition: "bag-dry", Subject: subject, Priority: p, State: state, Since: now.Add(-age)}
	}
	wavering := alert("bag/a4", model.PriorityHigh, "unacknowledged", time.Hour)
	wavering.Chattering = true
	all := []expose.AlertState{
		alert("bag/a1", model.PriorityUrgent, "unacknowledged", 25*time.Hour),
		alert("bag/a2", model.PriorityUrgent, "acknowledged", 23*time.Hour),
		alert("bag/a3", model.PriorityLow, "shelved", 100*time.Hour),
		alert("bag/a5", model.PriorityLow, "suppressed", 100*time.Hour),
		alert("bag/a6", model.PriorityLow, "returned-unacknowledged", 100*time.Hour),
		wavering,
	}
	r := registry(t, expose.Options{
		Snapshot: func() model.Snapshot { return model.Snapshot{} },
		Alerts:   func() []expose.AlertState { return all }, Now: func() time.Time { return now },
	})
	require.NoError(t, testutil.GatherAndCompare(r, strings.NewReader(`
# HELP wickd_alerts_chattering Alerts that come and go and are held as one.
# TYPE wickd_alerts_chattering gauge
wickd_alerts_chattering 1
# HELP wickd_alerts_stale Standing alerts that are older than a day.
# TYPE wickd_alerts_stale gauge
wickd_alerts_stale 1
# HELP wickd_alerts_standing Alerts that stand and are neither shelved nor suppressed, by priority.
# TYPE wickd_alerts_standing gauge
wickd_alerts_standing{priority="high"} 1
wickd_alerts_standing{priority="low"} 0
wickd_alerts_standing{priority="medium"} 0
wickd_alerts_standing{priority="urgent"} 2
`), "wickd_alerts_standing", "wickd_alerts_stale", "wickd_alerts_chattering"))
}
