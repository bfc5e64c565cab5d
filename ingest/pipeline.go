package ingest

import (
	"errors"
	"log/slog"
	"slices"
	"sync/atomic"
	"time"
)

// ErrClosed is returned for what is submitted after Drain or after the end of Run.
var ErrClosed = errors.New("ingest: the pipeline is closed")

// Options of a Pipeline. Decoder, Journal and Sink are required.
type Options struct {
	Decoder Decoder
	Journal Journal
	Sink    Sink
	Clock   func() time.Time // the wall clock; default time.Now
	// Elapsed is how much time passed between two times of Clock, by one that
	// nobody sets. Default: their difference, which of times of time.Now is that.
	Elapsed func(from, to time.Time) time.Duration

	MaxBatch int           // messages in one commit; default 1000
	MaxQueue int           // items waiting to be committed; default 4096
	MaxDelay time.Duration // see Pipeline.linger; default 2 ms
	Backlog  BacklogOptions
	// Listening says whether messages can come; while they cannot, a backlog
	// that has begun is not complete. Default: they always can.
	Listening func() bool
	Gaps      []Gap        // that ended before, and no message records yet
	Log       *slog.Logger // default: discard
}

// Pipeline takes messages from the broker to the sink. See the package
// documentation for the stages.
type Pipeline struct {
	opts    Options
	door    chan struct{} // held while an item is stamped and queued
	stamper *Stamper      // guarded by door
	queue   chan item
	drain   chan struct{} // closed by Drain
	closed  chan struct{} // closed at the end of Run
	ready   chan struct{} // closed when the stamper continues the journal
	count   counters

	// Only the goroutine of Run uses what follows.
	backlog *Backlog
	gaps    []Gap     // ended, and not yet recorded on a message
	held    Gap       // the one that the open backlog came after
	late    []Gap     // ended since the backlog opened, and not yet handed on
	id      int64     // of the open backlog
	arrived time.Time // of the newest message in the open backlog
	clock   time.Time // the latest tick held back by the open backlog; zero: none
	through int64     // everything up to this Seq has been handed on
	crowd   int       // items in the previous commit
	behind  bool      // the wall clock was behind when last reported
}

// item is one thing in the queue: a message, a gap, or neither for the clock.
type item struct {
	at      time.Time
	message *Message
	ack     func()
	result  chan error
	gap     *Gap
}

// New checks the options and starts nothing.
func New(opts Options) (*Pipeline, error) {
	if opts.Decoder == nil || opts.Journal == nil || opts.Sink == nil {
		return nil, errors.New("ingest: Decoder, Journal and Sink are required")
	}
	if opts.Clock == nil {
		opts.Clock = time.Now
	}
	if opts.Elapsed == nil {
		opts.Elapsed = elapsed
	}
	if opts.Listening == nil {
		opts.Listening = func() bool { return true }
	}
	if opts.MaxBatch <= 0 {
		opts.MaxBatch = 1000
	}
	if opts.MaxQueue <= 0 {
		opts.MaxQueue = 4096
	}
	if opts.MaxDelay <= 0 {
		opts.MaxDelay = 2 * time.Millisecond
	}
	if opts.Log == nil {
		opts.Log = slog.New(slog.DiscardHandler)
	}
	return &Pipeline{
		opts:    opts,
		door:    make(chan struct{}, 1),
		queue:   make(chan item, opts.MaxQueue),
		drain:   make(chan struct{}),
		closed:  make(chan struct{}),
		ready:   make(chan struct{}),
		backlog: NewBacklog(opts.Backlog),
		gaps:    slices.Clone(opts.Gaps),
	}, nil
}

// counters are what the pipeline has done since it started.
type counters struct {
	accepted, redelivered, refused, reconstructed, commits atomic.Uint64
	clockBehind                                            atomic.Int64
	waiting                                                atomic.Int64
}

// Stats is what the pipeline has done since it started.
type Stats struct {
	Accepted      uint64        // messages journalled
	Redelivered   uint64        // messages that were journalled before
	Refused       uint64        // refusals recorded
	Reconstructed uint64        // messages laid out in a backlog
	Commits       uint64        // transactions of messages
	Queued        int           // items waiting now
	Held          int           // messages of the backlog that is arriving
	ClockBehind   time.Duration // how far the wall clock is behind the stamps; 0: it is not
}

// Stats may be called at any time from any goroutine.
func (p *Pipeline) Stats() Stats {
	return Stats{
		Accepted:      p.count.accepted.Load(),
		Redelivered:   p.count.redelivered.Load(),
		Refused:       p.count.refused.Load(),
		Reconstructed: p.count.reconstructed.Load(),
		Commits:       p.count.commits.Load(),
		Queued:        len(p.queue),
		Held:          int(p.count.waiting.Load()),
		ClockBehind:   time.Duration(p.count.clockBehind.Load()),
	}
}
