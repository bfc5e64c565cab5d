package expose

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// Undelivered is a recipient whom messages do not reach. What waits is kept and
// tried again.
type Undelivered struct {
	Recipient string
	Since     time.Time // when the oldest message was made that could not be sent
	Waiting   int       // messages
	Reason    string    // one word: why the last attempt failed
	Why       string    // in words, with where to look; without any secret
}

type undeliveredDescs struct{ since *prometheus.Desc }

func newUndeliveredDescs() undeliveredDescs {
	return undeliveredDescs{since: desc("notifications_undelivered_since_timestamp_seconds",
		"When the oldest notification was made that could not be handed to a channel yet. Absent while all go through.", "channel", "reason")}
}

func (d undeliveredDescs) collect(s sink, all []Undelivered) {
	for _, u := range all {
		s.instant(d.since, u.Since, u.Recipient, u.Reason)
	}
}
