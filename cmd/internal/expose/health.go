package expose

import (
	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

// healthDescs describe the daemon's own state as the alerts see it, so that a
// metric and an alert never disagree about it.
type healthDescs struct {
	snapshot                          *prometheus.Desc
	brokerConnected, brokerDropped    *prometheus.Desc
	forwardBehind, forwardPending     *prometheus.Desc
	clockWrong, journalFailing        *prometheus.Desc
	diskFree, diskLoss                *prometheus.Desc
	bags, channels, reservoirs, count *prometheus.Desc
}

func newHealthDescs() healthDescs {
	return healthDescs{
		snapshot:        desc("snapshot_timestamp_seconds", "The moment that all estimates of this scrape belong to."),
		brokerConnected: desc("broker_connected", "Whether the MQTT broker is connected (1)."),
		brokerDropped:   desc("broker_dropped_messages_total", "Messages that the broker says it dropped; starts again when the broker does."),
		forwardBehind:   desc("forward_behind_seconds", "Age of the oldest reading that is not yet in the time-series database."),
		forwardPending:  desc("forward_pending_rows", "Messages and hourly estimates that are not yet in the time-series database."),
		clockWrong:      desc("clock_wrong", "Whether the machine's clock is not to be believed (1)."),
		journalFailing:  desc("journal_failing", "Whether readings cannot be committed to the journal (1)."),
		diskFree:        desc("disk_free_bytes", "Room that is left on the disk of the journal."),
		diskLoss:        desc("disk_loss_bytes_per_second", "How fast that room shrinks, over the last day or week, whichever is faster; before a day is known by the journal's own growth; 0 also until that is known."),
		bags:            desc("bags", "Bags in the estimates."),
		channels:        desc("channels", "Channels in the estimates."),
		reservoirs:      desc("reservoirs", "Reservoirs in the estimates."),
		count:           desc("sensors", "Sensors that are watched."),
	}
}

func (d healthDescs) describe(ch chan<- *prometheus.Desc) {
	for _, one := range []*prometheus.Desc{
		d.snapshot, d.brokerConnected, d.brokerDropped, d.forwardBehind, d.forwardPending,
		d.clockWrong, d.journalFailing, d.diskFree, d.diskLoss, d.bags, d.channels, d.reservoirs, d.count,
	} {
		ch <- one
	}
}

func (d healthDescs) collect(s sink, h model.DaemonHealth) {
	s.flag(d.brokerConnected, h.BrokerLostSince.IsZero())
	s.counter(d.brokerDropped, float64(h.BrokerDropped))
	s.gauge(d.forwardBehind, h.ForwardBehind.Seconds())
	s.gauge(d.forwardPending, float64(h.ForwardPending))
	s.flag(d.clockWrong, h.ClockWrong)
	s.flag(d.journalFailing, h.JournalFailing)
	if h.DiskKnown {
		const day = 24 * 60 * 60
		s.gauge(d.diskFree, float64(h.DiskFree))
		s.gauge(d.diskLoss, h.DiskLoss/day)
	}
}

// extent is what the estimates are of, and of when.
func (d healthDescs) extent(s sink, snap model.Snapshot) {
	s.instant(d.snapshot, snap.Time)
	s.gauge(d.bags, float64(len(snap.Bags)))
	s.gauge(d.channels, float64(len(snap.Channels)))
	s.gauge(d.reservoirs, float64(len(snap.Reservoirs)))
	s.gauge(d.count, float64(len(snap.Sensors)))
}
