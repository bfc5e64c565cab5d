package notify

import (
	"fmt"
	"time"
)

const (
	// lookLimit is how long the outbox may go without a look: ten times as long
	// as it normally does, with room for servers that hang until their timeout.
	lookLimit = 5 * time.Minute
	// deafLimit is how long a recipient may fail to be reached: a push service
	// that restarts, or a router, is back long before.
	deafLimit = time.Hour
)

// Moving says why the notifier cannot be relied on at a time; nil: it can. It
// may be called from any goroutine.
func (d *Dispatcher) Moving(now time.Time) error {
	seen := d.seen.Load()
	if seen == 0 {
		return fmt.Errorf("the outbox has not been looked through yet")
	}
	if idle := now.Sub(time.Unix(0, seen)); idle > lookLimit {
		return fmt.Errorf("the outbox has not been looked through for %s", idle.Round(time.Second))
	}
	for _, r := range d.o.Recipients {
		since := d.desks[r.ID].failing.Load()
		if deaf := now.Sub(time.Unix(0, since)); since != 0 && deaf > deafLimit {
			return fmt.Errorf("recipient %s has not been reached for %s", r.ID, deaf.Round(time.Minute))
		}
	}
	return nil
}
