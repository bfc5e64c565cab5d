package daemon

import (
	"errors"
	"fmt"
	"log/slog"
	"time"

	"wickd/cmd/internal/config"
	"wickd/model"
)

// Options are what a Daemon is made of. Config, Data and Listen are required.
type Options struct {
	Config *config.Config
	Data   string // directory of the journal; made if it is not there
	Listen string // host:port of the web side; port 0: any free one

	Log      *slog.Logger // nil: nothing is logged
	Version  string
	Revision string

	// Clock is the time that readings are stamped with; nil: the wall clock.
	// The demo runs it faster.
	Clock func() time.Time
	// Keep is how long the journal keeps what nothing needs any more, at least
	// 30 days; zero: 400 days.
	Keep time.Duration
	// TickEvery is how often the clock is handed on to the core; zero: 1 s.
	TickEvery time.Duration
	// WatchEvery is how often the daemon looks at its own health; zero: 5 s.
	WatchEvery time.Duration

	// Found and Hourly are told what the core finds, after it is committed,
	// and what is known at every full hour; nil: nobody. They must not block.
	Found  func([]model.Transition)
	Hourly func(model.Snapshot)
}

// ErrOptions says that the Options cannot be used.
var ErrOptions = errors.New("daemon options are not usable")

// ConfigError is a site file, or something that it names, with which no start of the
// daemon would come to anything.
type ConfigError struct{ error }

// Unwrap gives what is wrong.
func (e ConfigError) Unwrap() error { return e.error }

func (o Options) withDefaults() (Options, error) {
	switch {
	case o.Config == nil || o.Config.Site == nil:
		return o, errors.Join(ErrOptions, errors.New("no site"))
	case o.Data == "":
		return o, errors.Join(ErrOptions, errors.New("no data directory"))
	case o.Listen == "":
		return o, errors.Join(ErrOptions, errors.New("no address to listen on, for example 127.0.0.1:9920"))
	}
	if o.Keep == 0 {
		o.Keep = defaultKeep
	}
	if o.Keep < leastKeep {
		return o, fmt.Errorf("%w: --keep %.3g d is too short: give 30 d or more, for example 400 d", ErrOptions, o.Keep.Hours()/24)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.TickEvery <= 0 {
		o.TickEvery = time.Second
	}
	if o.WatchEvery <= 0 {
		o.WatchEvery = watchEvery
	}
	return o, nil
}
