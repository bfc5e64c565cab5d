package notify

import (
	"errors"
	"fmt"
	"time"

	"wickd/model"
)

// Recipient is one person on one channel.
type Recipient struct {
	ID string // in keys, logs and metrics; unique

	// URL gives the address of the service. It is a secret, so it is read late
	// and kept nowhere. Its error is logged and must not quote the content.
	URL func() (string, error)

	MinPriority model.Priority // the least that this recipient is told of; empty: everything
	Quiet       *QuietHours    // nil: none

	// EscalateAfter is how long an alert must stand unacknowledged before this
	// recipient is told, one of the engine's escalations; zero: at once.
	EscalateAfter time.Duration
}

// QuietHours are the hours of the day in which only what is urgent is told;
// the rest waits for their end. From 22 h to 6 h they span midnight.
type QuietHours struct {
	From, To time.Duration // since midnight, 0 ≤ x < 24 h
	Zone     *time.Location
}

// ErrRecipient says that a recipient cannot be used.
var ErrRecipient = errors.New("recipient is not usable")

func (r Recipient) validate() error {
	switch {
	case r.ID == "":
		return fmt.Errorf("%w: it has no id", ErrRecipient)
	case r.URL == nil:
		return fmt.Errorf("%w: %s has no URL", ErrRecipient, r.ID)
	case r.EscalateAfter < 0:
		return fmt.Errorf("%w: %s: the time of the escalation is negative", ErrRecipient, r.ID)
	case r.Quiet != nil && !r.Quiet.valid():
		return fmt.Errorf("%w: %s: quiet hours need a time zone and two times of day", ErrRecipient, r.ID)
	}
	return nil
}

func (q *QuietHours) valid() bool {
	const day = 24 * time.Hour
	return q.Zone != nil && q.From >= 0 && q.From < day && q.To >= 0 && q.To < day
}

// until gives the end of the quiet hours that t lies in; false: it lies in
// none. Clock times are used, so that a night of 23 or 25 hours ends on time.
func (q *QuietHours) until(t time.Time) (time.Time, bool) {
	local := t.In(q.Zone)
	for _, daysBack := range []int{0, 1} {
		from := q.at(local, -daysBack, q.From)
		to := q.at(local, -daysBack, q.To)
		if q.To < q.From {
			to = q.at(local, 1-daysBack, q.To)
		}
		if !local.Before(from) && local.Before(to) {
			return to.UTC(), true
		}
	}
	return time.Time{}, false
}

// at is a time of day some days from a day.
func (q *QuietHours) at(day time.Time, days int, d time.Duration) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day()+days,
		int(d/time.Hour), int(d/time.Minute)%60, int(d/time.Second)%60, 0, q.Zone)
}
