package notify

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"time"
)

// dueLimit is how many deliveries one look at the outbox takes. A storm of a
// thousand alerts for several people fits in one.
const dueLimit = 10_000

// forgotten is how long a delivery waits that nobody can take, so that it does
// not stand in the way of the others.
const forgotten = 24 * time.Hour

// strayDays is how often, a day apart, such a delivery is looked at again: a
// recipient who is no longer configured may come back.
const strayDays = 7

// Dispatcher sends what the outbox holds.
type Dispatcher struct {
	o     Options
	desks map[string]*desk
	poke  chan struct{}
	quiet *untold
	seen  atomic.Int64 // when the outbox was last looked through, Unix ns; 0: never

	mu   sync.Mutex // guards rand
	rand *rand.Rand
}

// New checks the options. It starts nothing.
func New(o Options) (*Dispatcher, error) {
	o, err := o.orDefault()
	if err != nil {
		return nil, fmt.Errorf("build notifier: %w", err)
	}
	d := &Dispatcher{o: o, desks: map[string]*desk{}, poke: make(chan struct{}, 1), rand: o.Rand, quiet: &untold{memory: o.Memory}}
	for _, r := range o.Recipients {
		d.desks[r.ID] = &desk{d: d, to: r, done: map[int64]bool{}}
	}
	return d, nil
}

// Poke says that the outbox has something new. It never blocks.
func (d *Dispatcher) Poke() {
	select {
	case d.poke <- struct{}{}:
	default:
	}
}

// Run sends until ctx ends and then returns nil. A message on its way when ctx
// ends is given up without being marked, so that it is sent again next time.
func (d *Dispatcher) Run(ctx context.Context) error {
	if err := d.quiet.recall(ctx); err != nil && ctx.Err() == nil {
		d.o.Log.Error("somebody may hear of the end of an alert that they never heard of", "error", err)
	}
	var complaint string
	for ctx.Err() == nil {
		wake, err := d.round(ctx)
		if err != nil && ctx.Err() == nil && err.Error() != complaint {
			complaint = err.Error()
			d.o.Log.Error("cannot read the outbox; alerts wait in it", "error", err)
		} else if err == nil {
			complaint = ""
		}
		d.rest(ctx, wake)
	}
	return nil
}

// rest waits for the time, for a poke with what gathers after it, or for ctx.
func (d *Dispatcher) rest(ctx context.Context, wait time.Duration) {
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return
	case <-timer.C:
		return
	case <-d.poke:
	}
	timer.Reset(d.o.Gather)
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}

// round takes what is due through the desks of its recipients, all at the same
// time, and returns when to look again.
func (d *Dispatcher) round(ctx context.Context) (time.Duration, error) {
	now := d.o.Clock()
	items, err := d.o.Outbox.Due(ctx, now, dueLimit)
	if err != nil {
		return d.o.Poll, fmt.Errorf("read outbox: %w", err)
	}
	trays := map[string][]Item{}
	for _, item := range items {
		if d.desks[item.Recipient] == nil {
			d.putOff(ctx, item, UnknownRecipient, now)
			continue
		}
		trays[item.Recipient] = append(trays[item.Recipient], item)
	}
	wake := d.o.Poll
	var mu sync.Mutex // guards wake
	var wg sync.WaitGroup
	for id, tray := range trays {
		wg.Go(func() {
			wait := d.desks[id].serve(ctx, now, tray)
			mu.Lock()
			defer mu.Unlock()
			wake = min(wake, wait)
		})
	}
	wg.Wait()
	d.seen.Store(d.o.Clock().UnixNano())
	return max(wake, time.Millisecond), nil
}

// putOff leaves what nobody can take for another day, and gives it up in the
// end: a mistake in the site file is put right within a week.
func (d *Dispatcher) putOff(ctx context.Context, item Item, reason Reason, now time.Time) {
	if item.Attempts < strayDays {
		d.failed(ctx, item, reason, now.Add(forgotten))
		return
	}
	if err := d.o.Outbox.Drop(ctx, item.ID, string(reason), now); err != nil && ctx.Err() == nil {
		d.o.Log.Error("cannot drop a delivery that nobody can take", "key", item.Key, "error", err)
	}
}

// failed marks one delivery. That it could not be marked only repeats it.
func (d *Dispatcher) failed(ctx context.Context, item Item, reason Reason, notBefore time.Time) {
	d.o.Observe(Attempt{Recipient: item.Recipient, Notices: 1, Reason: reason})
	if err := d.o.Outbox.MarkFailed(ctx, item.ID, string(reason), notBefore); err != nil && ctx.Err() == nil {
		d.o.Log.Error("cannot mark a delivery as failed", "key", item.Key, "error", err)
	}
}

// share draws a number of 0–1 for the jitter.
func (d *Dispatcher) share() float64 {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.rand.Float64()
}
