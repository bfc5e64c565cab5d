package notify

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"time"
)

// Options of a Dispatcher. Outbox, Sender, Clock and Rand are required.
type Options struct {
	Outbox     Outbox
	Recipients []Recipient
	Sender     Sender
	Clock      func() time.Time
	Rand       *rand.Rand     // jitter of the back-off; used by the Dispatcher alone
	Zone       *time.Location // of times in messages; nil: UTC
	Log        *slog.Logger   // nil: nothing is logged
	Backoff    Backoff
	Pace       Pace

	// Gather is how long after a poke what else happens is still joined to the
	// same message; zero: 2 s.
	Gather time.Duration
	// Poll is how often the outbox is looked at without a poke; zero: 30 s.
	Poll time.Duration
	// Memory keeps who was not told of what somebody else answered; nil: that is
	// forgotten at the end, and they may hear of the end of what they never
	// heard of.
	Memory Memory
	// Stands reports whether an occurrence still waits for an answer. A reminder
	// or an escalation of one that does not is dropped; nil: none is.
	Stands func(occurrence string) bool
	// Links gives the addresses under which a recipient can look at an alert and
	// answer it; nil: there are none.
	Links func(n Notice, recipient string, now time.Time) Links
	// Picture draws what a notice is about as PNG, for services that take a
	// picture; nil bytes: nothing to draw, and nil: nothing ever. It is called
	// from several goroutines, at the time of sending.
	Picture func(ctx context.Context, n Notice) []byte
	// Observe is told of every attempt, for the metrics; nil: nobody. It is
	// called from several goroutines.
	Observe func(Attempt)
}

// Attempt is one try to send one message.
type Attempt struct {
	Recipient string
	Notices   int
	Reason    Reason // empty: sent
}

// Backoff doubles the time between tries from First to Most. A failed message
// is never given up: a dead phone is told when it is back.
type Backoff struct {
	First time.Duration // zero: 15 s
	Most  time.Duration // zero: 30 min
}

// after is the time to wait when n tries have failed, n ≥ 1: between half and
// all of First·2ⁿ⁻¹, so that many who failed together do not return together.
func (b Backoff) after(n int, share float64) time.Duration {
	wait := b.First
	for ; n > 1 && wait < b.Most; n-- {
		wait *= 2
	}
	wait = min(wait, b.Most)
	return wait/2 + time.Duration(share*float64(wait/2))
}

// ErrOptions says that the Options cannot be used.
var ErrOptions = errors.New("notifier options are not usable")

func (o Options) orDefault() (Options, error) {
	if o.Outbox == nil || o.Sender == nil || o.Clock == nil || o.Rand == nil {
		return o, fmt.Errorf("%w: outbox, sender, clock and rand are required", ErrOptions)
	}
	seen := map[string]bool{}
	for _, r := range o.Recipients {
		if err := r.validate(); err != nil {
			return o, fmt.Errorf("%w: %w", ErrOptions, err)
		}
		if seen[r.ID] {
			return o, fmt.Errorf("%w: recipient %s stands twice", ErrOptions, r.ID)
		}
		seen[r.ID] = true
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Observe == nil {
		o.Observe = func(Attempt) {}
	}
	if o.Stands == nil {
		o.Stands = func(string) bool { return true }
	}
	if o.Links == nil {
		o.Links = func(Notice, string, time.Time) Links { return Links{} }
	}
	o.Backoff.First = orDefault(o.Backoff.First, 15*time.Second)
	o.Backoff.Most = orDefault(o.Backoff.Most, 30*time.Minute)
	o.Gather = orDefault(o.Gather, 2*time.Second)
	o.Poll = orDefault(o.Poll, 30*time.Second)
	o.Pace = o.Pace.orDefault()
	return o, nil
}

func orDefault(d, def time.Duration) time.Duration {
	if d <= 0 {
		return def
	}
	return d
}
