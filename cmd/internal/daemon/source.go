package daemon

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"wickd/cmd/internal/config"
	"wickd/ingest"
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
	full      error      // why the journal takes nothing: what arrives cannot be kept
	listening bool       // connected, nothing against it, and the gap before is entered
	deaf      time.Time  // since when nobody listened; zero: never did
	lost      time.Time  // since when the broker is lost; zero: it is not
	why       error      // why it is
	dropped   uint64     // messages that the broker says it dropped
	refused   error      // what the broker did not grant of what was asked for; nil: nothing
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
		return nil, ConfigError{errors.New("the site file names no broker: add mqtt.broker, or mqtt.embedded to run one inside wickd")}
	}
}

func (s *source) connect(o Options, m config.MQTT) error {
	opts := mqtt.Options{
		URL: m.Broker, ClientID: m.ClientID, Username: m.Username, CAFile: m.CAFile,
		Topics: s.answers.topics(o.Config.Topics()), Intake: sorting{s.answers, s.pipeline}, Logger: o.Log, Now: o.Clock,
		OnUp:   func(time.Time, bool) { s.granted(nil); s.up() },
		OnDown: func(_ time.Time, err error) { s.down(err) },
		OnDropped: func(_ time.Time, _, increase uint64) {
			s.mu.Lock()
			s.dropped += increase
			s.mu.Unlock()
		},
		OnOversize:         s.large.note,
		OnSubscribeRefused: func(_ time.Time, err *mqtt.SubscribeError) { s.granted(err) },
	}
	if m.Password.Given() {
		opts.Password = m.Password.Read
	}
	c, err := mqtt.New(opts)
	switch {
	case errors.Is(err, mqtt.ErrCAFile):
		return ConfigError{fmt.Errorf("mqtt.ca_file: %w; put the certificate there that the broker's is checked against, or leave the key out where that is of a public authority", err)}
	case err != nil:
		return ConfigError{fmt.Errorf("mqtt: %w", err)}
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

// notHeard is what the broker did not grant; nil: nothing.
func (s *source) notHeard() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.refused
}
