package probe

import (
	"time"

	"wickd/ingest"
	"wickd/ingest/payload"
	"wickd/model"
)

// Defaults of what is believed of a sensor's clock.
const (
	// DefaultAhead covers a clock that is set once a day and drifts by 20 s, and
	// the delivery: what is further ahead is a wrong clock or time zone.
	DefaultAhead = 2 * time.Minute
	// DefaultOldestTime lets a logger hand over the readings of a holiday.
	DefaultOldestTime = 31 * 24 * time.Hour
)

// earliest is before any sensor of a site that wickd runs on; clocks that were
// never set start in 1970 or 2000.
var earliest = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

// ClockReason is why a sensor's own time was not believed: a label for counting.
type ClockReason string

// The reasons.
const (
	ClockAhead ClockReason = "clock-ahead" // a time that has not come yet
	ClockUnset ClockReason = "clock-unset" // before 2020
	ClockOld   ClockReason = "clock-old"   // older than OldestTime
)

// ClockDoubt reports a time that was not believed. The reading was taken at its
// arrival instead.
type ClockDoubt struct {
	Sensor model.Subject
	Reason ClockReason
	Time   time.Time // as the payload has it
}

// doubt judges a time of a payload; empty: it is believable.
func (d *Decoder) doubt(own, arrived time.Time) ClockReason {
	switch {
	case own.Sub(arrived) > d.ahead:
		return ClockAhead
	case own.Before(earliest):
		return ClockUnset
	case arrived.Sub(own) > d.oldest:
		return ClockOld
	}
	return ""
}

// stamp is the time of a reading (see the package's documentation). A relative
// time counts from where the message was laid out, so it is reconstructed too.
func (d *Decoder) stamp(sample payload.Sample, m ingest.Message) (at time.Time, reconstructed bool, reason ClockReason) {
	if own := sample.Time; !own.IsZero() {
		if reason = d.doubt(own, m.Arrived); reason == "" {
			return own.UTC(), sample.Relative && !m.Taken.IsZero(), ""
		}
	}
	if !m.Taken.IsZero() {
		return m.Taken.UTC(), true, reason
	}
	return m.Arrived.UTC(), false, reason
}
