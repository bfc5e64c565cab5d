package expose

import (
	"errors"

	"github.com/prometheus/client_golang/prometheus"
)

// Counters are what the daemon counts while it works. The zero value is not
// usable: make them with NewCounters.
type Counters struct {
	// MessagesReceived counts every message on a topic of the site, but for those
	// that are larger than any sensor's.
	MessagesReceived prometheus.Counter
	// MessagesAccepted counts the messages that were committed to the journal.
	MessagesAccepted prometheus.Counter
	// MessagesDuplicate counts redeliveries of what the journal already had.
	MessagesDuplicate prometheus.Counter
	// MessagesRefused counts the messages without a usable reading, by reason and
	// sensor; one that several sensors read counts for each.
	MessagesRefused *prometheus.CounterVec
	// ClocksDoubted counts readings whose own time was not believed, by reason.
	ClocksDoubted *prometheus.CounterVec
	// Readings counts decoded readings, by verdict.
	Readings *prometheus.CounterVec

	// JournalCommit is how long commits take, with the flush to the disk, s.
	JournalCommit prometheus.Histogram
	// JournalCommitErrors counts commits that failed.
	JournalCommitErrors prometheus.Counter
	// JournalLost counts messages that were acknowledged and that the disk lost.
	JournalLost prometheus.Counter
	// JournalBytes is the size of the journal's files.
	JournalBytes prometheus.Gauge

	// ForwardedReadings counts what the time-series database has taken.
	ForwardedReadings prometheus.Counter
	// ForwardRefused counts readings that the database refuses for good.
	ForwardRefused prometheus.Counter

	// NotificationsSent counts messages handed to a channel, by its name.
	NotificationsSent *prometheus.CounterVec
	// NotificationsFailed counts failed attempts, by channel and reason.
	NotificationsFailed *prometheus.CounterVec
	// NotificationsWaiting is how many deliveries are neither made nor given up.
	NotificationsWaiting prometheus.Gauge

	// AlertTransitions counts changes of alerts, by condition and change.
	AlertTransitions *prometheus.CounterVec
	// AnswersAccepted counts what people did about alerts, by way and action.
	AnswersAccepted *prometheus.CounterVec
	// AnswersRefused counts answers that changed nothing, by way and reason.
	AnswersRefused *prometheus.CounterVec
	// FilterResets counts restarts of an estimator that was no longer consistent.
	FilterResets prometheus.Counter
}

// NewCounters makes the counters and registers them with r. A name that is
// taken already is an error.
func NewCounters(r prometheus.Registerer) (*Counters, error) {
	c := &Counters{
		MessagesReceived:  counter("messages_received_total", "Messages received on the site's topics."),
		MessagesAccepted:  counter("messages_accepted_total", "Messages committed to the journal."),
		MessagesDuplicate: counter("messages_duplicate_total", "Redelivered messages that the journal already had."),
		MessagesRefused:   counterVec("messages_refused_total", "Messages without a usable reading, by reason and sensor.", "reason", "sensor"),
		ClocksDoubted:     counterVec("sensor_times_doubted_total", "Readings dated by their arrival because their own time was not believable, by reason.", "reason"),
		Readings:          counterVec("readings_total", "Decoded readings, by verdict.", "verdict"),
		JournalCommit: prometheus.NewHistogram(prometheus.HistogramOpts{
			Namespace: namespace, Name: "journal_commit_duration_seconds",
			Help: "How long a commit of the journal takes, with the flush to the disk.",
			// From a solid-state disk (under 1 ms) to a worn SD card (seconds).
			Buckets: prometheus.ExponentialBuckets(0.0005, 4, 8),
		}),
		JournalCommitErrors:  counter("journal_commit_errors_total", "Commits of the journal that failed."),
		JournalLost:          counter("journal_lost_messages_total", "Messages that were acknowledged and that the disk had lost at the start."),
		JournalBytes:         gauge("journal_size_bytes", "Size of the journal's files."),
		ForwardedReadings:    counter("forward_readings_total", "Readings that the time-series database has taken."),
		ForwardRefused:       counter("forward_refused_readings_total", "Readings that the time-series database refuses for good."),
		NotificationsSent:    counterVec("notifications_sent_total", "Notifications handed to a channel.", "channel"),
		NotificationsFailed:  counterVec("notifications_failed_total", "Failed attempts to hand a notification to a channel, by reason.", "channel", "reason"),
		NotificationsWaiting: gauge("notifications_waiting", "Deliveries that are neither made nor given up, with those that quiet hours hold."),
		AlertTransitions:     counterVec("alert_transitions_total", "Changes of alerts.", "condition", "transition"),
		AnswersAccepted:      counterVec("alert_answers_accepted_total", "Answers to alerts that were taken, by the way they came (mqtt, page, link, command) and what they did.", "way", "action"),
		AnswersRefused:       counterVec("alert_answers_refused_total", "Answers to alerts that changed nothing, by the way they came and the reason.", "way", "reason"),
		FilterResets:         counter("filter_resets_total", "Restarts of an estimator that was no longer consistent."),
	}
	return c, register(r, c.all()...)
}

func (c *Counters) all() []prometheus.Collector {
	return []prometheus.Collector{
		c.MessagesReceived, c.MessagesAccepted, c.MessagesDuplicate, c.MessagesRefused, c.ClocksDoubted, c.Readings,
		c.JournalCommit, c.JournalCommitErrors, c.JournalLost, c.JournalBytes, c.ForwardedReadings, c.ForwardRefused,
		c.NotificationsSent, c.NotificationsFailed, c.NotificationsWaiting, c.AlertTransitions,
		c.AnswersAccepted, c.AnswersRefused, c.FilterResets,
	}
}

func register(r prometheus.Registerer, collectors ...prometheus.Collector) error {
	var problems []error
	for _, one := range collectors {
		problems = append(problems, r.Register(one))
	}
	return errors.Join(problems...)
}

func counter(name, help string) prometheus.Counter {
	return prometheus.NewCounter(prometheus.CounterOpts{Namespace: namespace, Name: name, Help: help})
}

func counterVec(name, help string, labels ...string) *prometheus.CounterVec {
	return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: namespace, Name: name, Help: help}, labels)
}

func gauge(name, help string) prometheus.Gauge {
	return prometheus.NewGauge(prometheus.GaugeOpts{Namespace: namespace, Name: name, Help: help})
}
