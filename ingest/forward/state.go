package forward

import (
	"errors"
	"time"
)

// Behind is how long ago the oldest row arrived that is not forwarded, and how
// many such rows there were at the last look; zero: everything is forwarded.
func (f *Forwarder) Behind() (time.Duration, int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.since.IsZero() {
		return 0, 0
	}
	return max(0, f.opts.Clock().Sub(f.since)), f.stats.Pending
}

// Stats may be called at any time.
func (f *Forwarder) Stats() Stats {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.stats
}

// hold notes that the flow is held, and logs it when the reason is new: the
// text of a network error changes with each connection's port, its root does
// not.
func (f *Forwarder) hold(cause error, wait time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stats.Holds++
	f.stats.Held = cause.Error()
	if root := rootText(cause); root != f.heldBy {
		f.heldBy = root
		f.opts.Log.Warn("forwarding to InfluxDB is held; readings are kept until it goes on", "reason", cause, "pending", f.stats.Pending, "next_try", wait)
	}
}

// rootText is the text of the innermost error.
func rootText(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err.Error()
		}
		err = inner
	}
}

// flow notes that the server took what it was given, or that there was nothing.
func (f *Forwarder) flow() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.stats.Held != "" {
		f.stats.Held, f.heldBy = "", ""
		f.opts.Log.Info("forwarding to InfluxDB goes on", "pending", f.stats.Pending)
	}
}

// count adds to the figures under the lock.
func (f *Forwarder) count(add func(*Stats)) {
	f.mu.Lock()
	defer f.mu.Unlock()
	add(&f.stats)
}

// backoff is how long to wait after each failure in a row: doubling from a
// second, by half a step of jitter so that many daemons do not return at once.
type backoff struct {
	max  time.Duration
	rand func() float64
	last time.Duration
}

// next is the time to wait; not shorter than what the server asked for, up to
// the longest.
func (b *backoff) next(asked time.Duration) time.Duration {
	b.last = min(b.max, max(time.Second, 2*b.last))
	wait := time.Duration(float64(b.last) * (0.5 + b.rand()/2))
	return max(wait, min(asked, b.max))
}

func (b *backoff) reset() { b.last = 0 }
