package ingest

import "time"

// BacklogOptions say what a backlog is. The zero value is a good choice.
type BacklogOptions struct {
	// MinGap is the shortest gap after which a backlog is looked for. A
	// shorter one costs less in accuracy than the delay of looking. Default
	// 2 min.
	MinGap time.Duration
	// Quiet is how long the flow must have been no faster than usual before
	// the backlog counts as complete. Default 1.5 s.
	Quiet time.Duration
	// MaxHold and MaxRows bound one backlog; what comes after is treated as
	// the next one. Defaults 5 min and 1,000,000.
	MaxHold time.Duration
	MaxRows int
}

func (o BacklogOptions) withDefaults() BacklogOptions {
	if o.MinGap <= 0 {
		o.MinGap = 2 * time.Minute
	}
	if o.Quiet <= 0 {
		o.Quiet = 1500 * time.Millisecond
	}
	if o.MaxHold <= 0 {
		o.MaxHold = 5 * time.Minute
	}
	if o.MaxRows <= 0 {
		o.MaxRows = 1_000_000
	}
	return o
}

const (
	// grace is how long after the end of a gap the first message may still be
	// the broker's queue: it is sent as soon as the session is resumed.
	grace = 30 * time.Second
	// busy is how many times the usual rate of the whole site still counts as
	// usual: arrivals of independent sensors bunch (Poisson), a broker's queue
	// comes hundreds of times faster.
	busy = 3
)

// Backlog recognises the queue that a broker hands over after a gap, and lays
// out when its messages were taken. It is pure: time comes with the messages.
//
// The decision is made once, live, and recorded with the rows; a replay uses
// the record and no Backlog.
type Backlog struct {
	opts   BacklogOptions
	topics map[string]*intervals

	armed   Gap // the gap whose queue may be coming; zero: none
	gap     Gap // the gap of the open backlog
	open    bool
	opened  time.Time
	stalled time.Time   // until when nothing could come, whatever the sender had
	usual   int         // messages in Quiet that are usual for the site
	recent  []time.Time // arrivals within Quiet
	rows    []held
}

// held is what the layout needs to know of one journalled message.
type held struct {
	seq      int64
	topic    string
	arrived  time.Time
	own      time.Time // the payload's own time; zero: none
	retained bool
}

// NewBacklog starts nothing.
func NewBacklog(opts BacklogOptions) *Backlog {
	return &Backlog{opts: opts.withDefaults(), topics: map[string]*intervals{}}
}

// Observe learns from a message that is not part of a backlog.
func (b *Backlog) Observe(m Message) {
	if !m.Retained {
		b.topic(m.Topic).observe(m.Time())
	}
}

// Pass takes note of a message that came in a backlog which is settled.
func (b *Backlog) Pass(m Message) {
	if !m.Retained {
		b.topic(m.Topic).move(m.Time())
	}
}

func (b *Backlog) topic(name string) *intervals {
	t := b.topics[name]
	if t == nil {
		t = &intervals{}
		b.topics[name] = t
	}
	return t
}

// Arm says that a gap has ended: if it was long enough, the messages that
// come now may be a backlog. In the midst of one, the rest of it is still to
// come, however short the gap.
func (b *Backlog) Arm(g Gap) {
	switch {
	case b.open:
		b.stalled = later(b.stalled, g.To)
	case g.Length() >= b.opts.MinGap:
		b.armed = b.armed.Join(g)
	}
}

// Stall says that the receiver was busy from one time to another. The sender
// waits for it, so that a long one is no sign that there is no more: a worn
// memory card takes seconds to write.
func (b *Backlog) Stall(from, to time.Time) {
	if b.open && to.Sub(from) >= b.opts.Quiet/2 {
		b.stalled = later(b.stalled, to)
	}
}

// Reopen continues a backlog that a crash interrupted, however short the gap
// since: the rest of the same queue is still to come. The gap is the one
// before its first row; now starts the wait for the rest.
func (b *Backlog) Reopen(g Gap, now time.Time) {
	b.start(g, now)
}

// Open says whether a backlog is being collected.
func (b *Backlog) Open() bool { return b.open }

// Takes says whether a message arriving at t belongs to a backlog.
func (b *Backlog) Takes(t time.Time) bool {
	return b.open || b.armed != Gap{} && !t.After(b.armed.To.Add(grace))
}

// Add puts a journalled message, which Takes has claimed, into the backlog.
// own is the time that its payload carries; zero: none.
func (b *Backlog) Add(seq int64, m Message, own time.Time) {
	if !b.open {
		b.start(b.armed, m.Arrived)
	}
	b.rows = append(b.rows, held{seq: seq, topic: m.Topic, arrived: m.Arrived, own: own, retained: m.Retained})
	b.recent = append(b.recent, m.Arrived)
	if len(b.recent) == cap(b.recent) {
		b.forget(m.Arrived)
	}
}

func (b *Backlog) start(g Gap, now time.Time) {
	b.armed, b.gap = Gap{}, g
	b.open, b.opened, b.stalled = true, now, time.Time{}
	b.usual = int(busy * b.rate() * b.opts.Quiet.Seconds())
	b.recent = b.recent[:0]
}

// rate is the usual number of messages per second of all topics together.
func (b *Backlog) rate() float64 {
	var rate float64
	for _, t := range b.topics {
		if usual := t.usual(); usual > 0 {
			rate += 1 / usual.Seconds()
		}
	}
	return rate
}

// forget drops arrivals that are no longer recent at now.
func (b *Backlog) forget(now time.Time) {
	since := now.Add(-b.opts.Quiet)
	keep := b.recent[:0]
	for _, t := range b.recent {
		if t.After(since) {
			keep = append(keep, t)
		}
	}
	b.recent = keep
}

// Over says whether the open backlog is complete at now, which is before
// anything that has not been added.
func (b *Backlog) Over(now time.Time) bool {
	if !b.open {
		return false
	}
	return b.full(now) || now.Sub(later(b.opened, b.stalled)) >= b.opts.Quiet && b.calm(now)
}

func (b *Backlog) full(now time.Time) bool {
	return len(b.rows) >= b.opts.MaxRows || now.Sub(b.opened) >= b.opts.MaxHold
}

func (b *Backlog) calm(now time.Time) bool {
	b.forget(now)
	return len(b.recent) <= b.usual
}
