package daemon

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"wickd/cmd/internal/config"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/ingest/mqtt"
	"wickd/ingest/mqtt/broker"
)

// source is where messages come from: a client of a broker, or the embedded
// broker itself. It keeps the pipeline told of the times nobody listened.
type source struct {
	pipeline *ingest.Pipeline
	answers  *answers // nil: none are taken
	large    *oversize
	clock    func() time.Time
	run      func(ctx context.Context) error
	open     func() bool // nothing that is published from now on is missed
	close    func()      // releases what New opened, when run is never called
	addr     string      // of the embedded broker

	mu        sync.Mutex // guards all below
	connected bool       // to the broker, or it runs
	full      bool       // the disk is: what arrives cannot be kept
	listening bool       // connected, not full, and the gap before is entered
	deaf      time.Time  // since when nobody listened; zero: never did
	lost      time.Time  // since when the broker is lost; zero: it is not
	why       error      // why it is
	dropped   uint64     // messages that the broker says it dropped
}

// newSource opens what listens. deaf is the last time that is known of the
// previous run: from there to the first connection is a gap.
func newSource(o Options, p *ingest.Pipeline, deaf time.Time, a *answers, large *oversize) (*source, error) {
	s := &source{
		pipeline: p, answers: a, large: large, clock: o.Clock, deaf: deaf,
		open: func() bool { return true }, close: func() {},
	}
	m := o.Config.MQTT
	switch {
	case m.Embedded != nil:
		return s, s.embed(o, *m.Embedded)
	case m.Broker != "":
		return s, s.connect(o, m)
	default:
		return nil, errors.New("the site file names no broker: add mqtt.broker, or mqtt.embedded to run one inside wickd")
	}
}

func (s *source) connect(o Options, m config.MQTT) error {
	opts := mqtt.Options{
		URL: m.Broker, ClientID: m.ClientID, Username: m.Username, CAFile: m.CAFile,
		Topics: s.answers.topics(o.Config.Topics()), Intake: sorting{s.answers, s.pipeline}, Logger: o.Log, Now: o.Clock,
		OnUp:   func(time.Time, bool) { s.up() },
		OnDown: func(_ time.Time, err error) { s.down(err) },
		OnDropped: func(_ time.Time, _, increase uint64) {
			s.mu.Lock()
			s.dropped += increase
			s.mu.Unlock()
		},
		OnOversize: s.large.note,
	}
	if m.Password.Given() {
		opts.Password = m.Password.Read
	}
	c, err := mqtt.New(opts)
	if err != nil {
		return fmt.Errorf("mqtt: %w", err)
	}
	if s.answers != nil {
		s.answers.publish = c.Publish
	}
	s.open = c.Connected
	s.run = func(ctx context.Context) error {
		err := c.Run(ctx)
		if errors.Is(err, mqtt.ErrUnacked) {
			// The broker delivers them again; nothing is lost.
			o.Log.Warn("stopped with messages unacknowledged; the broker sends them again")
			return nil
		}
		return err
	}
	return nil
}

func (s *source) embed(o Options, e config.Embedded) error {
	opts := broker.Options{
		Listen: e.Listen, Topics: s.answers.topics(o.Config.Topics()), Deliver: s.deliver,
		Logger: o.Log, Now: o.Clock,
		OnOversize: s.large.note,
	}
	if s.answers != nil {
		opts.ReadOnly = []string{s.answers.Reply()}
	}
	if len(e.Users) > 0 {
		opts.Authenticate = authenticator(e.Users)
	}
	b, err := broker.New(opts)
	if err != nil {
		return fmt.Errorf("embedded broker: %w", err)
	}
	if s.answers != nil {
		s.answers.publish = b.Publish
	}
	s.addr = b.Addr().String()
	s.close = func() { _ = b.Close() }
	s.run = func(ctx context.Context) error {
		s.up()
		return b.Run(ctx)
	}
	return nil
}

// deliver journals a message of the embedded broker. On a full disk it says no
// at once: a sensor that waits gives the connection up and makes another.
func (s *source) deliver(ctx context.Context, m ingest.Message) error {
	if s.answers.takes(m.Topic) {
		return s.answers.wait(ctx, m)
	}
	s.mu.Lock()
	full := s.full
	s.mu.Unlock()
	if full {
		return journal.ErrFull
	}
	return s.pipeline.SubmitWait(ctx, m)
}

// up notes that the broker is there.
func (s *source) up() {
	s.mu.Lock()
	s.connected, s.lost = true, time.Time{}
	s.mu.Unlock()
	s.listen()
}

// down notes that the broker is lost.
func (s *source) down(err error) {
	now := s.clock()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.why = err
	if s.lost.IsZero() {
		s.lost = now
	}
	s.connected = false
	s.stop(now)
}

// fill notes that the disk is full, or that it has room again.
func (s *source) fill(full bool) {
	now := s.clock()
	s.mu.Lock()
	s.full = full
	if full {
		s.stop(now)
	}
	s.mu.Unlock()
	s.listen()
}

// listen begins listening, if it is possible: the gap before it goes ahead of
// the first message. At the very first time it is empty, and says when
// listening began.
func (s *source) listen() {
	now := s.clock()
	s.mu.Lock()
	gap := ingest.Gap{From: s.deaf, To: now}
	able := s.connected && !s.full && !s.listening
	s.mu.Unlock()
	if !able {
		return
	}
	if gap.From.IsZero() {
		gap.From = now
	}
	// An error means that the pipeline has ended; its owner knows.
	_ = s.pipeline.Gap(context.Background(), gap)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.listening = s.connected && !s.full
}

// stop ends listening. The lock is held.
func (s *source) stop(now time.Time) {
	if s.listening || s.deaf.IsZero() {
		s.deaf = now
	}
	s.listening = false
}

// tick hands the clock on to the core while somebody listens. While nobody
// does, the core stands still: what it would find then, a replay could not.
func (s *source) tick(ctx context.Context) error {
	s.mu.Lock()
	listening := s.listening
	s.mu.Unlock()
	if !listening {
		return nil
	}
	return s.pipeline.Tick(ctx)
}

// reason is why the broker is lost; nil: it is not known.
func (s *source) reason() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.why
}

// state is whether the broker is lost, and since when.
func (s *source) state() (lost time.Time, dropped uint64, listening bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.lost, s.dropped, s.listening
}
