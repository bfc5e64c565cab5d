package mqtt

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"slices"
	"time"

	"wickd/ingest"
)

// Intake is where messages go. Submit returns nil when the message was accepted;
// ack is then called once, when the message is on disk or refused for good.
// After an error the message counts as not delivered and ack is not called.
type Intake interface {
	Submit(ctx context.Context, m ingest.Message, ack func()) error
}

// Defaults of Options.
const (
	DefaultClientID       = "wickd"
	DefaultMaxPayload     = 256 << 10 // bytes; a reading is tens of bytes, a SenML pack a few kB
	DefaultKeepAlive      = 30 * time.Second
	DefaultConnectTimeout = 10 * time.Second
	DefaultWriteTimeout   = 10 * time.Second
	DefaultRetryMin       = 500 * time.Millisecond
	DefaultRetryMax       = 30 * time.Second
	DefaultDrainTimeout   = time.Second
)

// Options configures a Client. Zero values take the defaults above.
type Options struct {
	// URL of the broker: tcp:// or mqtt://, ssl://, tls:// or mqtts://, ws://,
	// wss://. Without user and password.
	URL string
	// ClientID names the persistent session at the broker. Changing it leaves
	// the old session, and what is queued in it, behind.
	ClientID string
	Username string
	// Password is read before each attempt to connect, so that a rotated
	// secret is picked up. Nil: none.
	Password func() (string, error)
	// CAFile holds the certificates (PEM) that a broker's certificate must be
	// signed by. Empty: the system's.
	CAFile string

	// Topics are the filters to subscribe to, at QoS 1. Repeats are ignored.
	// None: a client that only publishes.
	Topics []string
	Intake Intake // required with Topics

	MaxPayload     int           // bytes; a larger message is acked, reported to OnOversize and dropped
	KeepAlive      time.Duration // whole seconds, 5 s to 65535 s
	ConnectTimeout time.Duration // for dialling and the handshakes together
	WriteTimeout   time.Duration // for one write to the connection
	RetryMin       time.Duration // first pause between attempts to connect
	RetryMax       time.Duration // the pause doubles up to this
	DrainTimeout   time.Duration // how long Run waits for outstanding acks at the end

	Now    func() time.Time // nil: time.Now
	Dial   func(ctx context.Context, network, address string) (net.Conn, error)
	Logger *slog.Logger // nil: none

	// OnUp is called when the broker accepted a connection, before any message
	// of it is submitted. Without a session present the broker has forgotten
	// what it queued and numbers packets anew.
	OnUp func(at time.Time, sessionPresent bool)
	// OnDown is called once per outage, also when the first connection fails.
	OnDown func(at time.Time, err error)
	// OnOversize reports a message that was larger than MaxPayload.
	OnOversize func(at time.Time, topic string, bytes int)
	// OnSubscribeRefused reports topics that the broker refused (access rules)
	// or granted at QoS 0 only.
	OnSubscribeRefused func(at time.Time, err *SubscribeError)
	// OnDropped reports the broker's own count of messages that it dropped for
	// any client, where it publishes one: the total since the broker started
	// and the increase since the last report; the first report has increase 0.
	OnDropped func(at time.Time, total, increase uint64)
}

// settings are Options after New's checks.
type settings struct {
	Options
	broker endpoint
	tls    *tls.Config
	topics []string
}

// resolve checks the options and fills the defaults. All problems at once.
func (o Options) resolve() (settings, error) {
	s := settings{Options: o.withDefaults()}
	var problems []error
	note := func(err error) {
		if err != nil {
			problems = append(problems, err)
		}
	}
	var err error
	s.broker, err = parseEndpoint(o.URL)
	note(err)
	note(checkClientID(s.ClientID))
	s.tls, err = tlsConfig(o.CAFile)
	note(err)
	for _, topic := range o.Topics {
		note(CheckFilter(topic))
		if !slices.Contains(s.topics, topic) {
			s.topics = append(s.topics, topic)
		}
	}
	note(s.checkLimits())
	if len(o.Topics) > 0 && o.Intake == nil {
		note(errors.New("topics need an Intake"))
	}
	if o.Username == "" && o.Password != nil {
		note(errors.New("a password needs a username")) // [MQTT-3.1.2-22]
	}
	if err := errors.Join(problems...); err != nil {
		return settings{}, fmt.Errorf("mqtt client: %w", err)
	}
	return s, nil
}

func (o Options) withDefaults() Options {
	o.ClientID = cmp.Or(o.ClientID, DefaultClientID)
	o.MaxPayload = cmp.Or(o.MaxPayload, DefaultMaxPayload)
	o.KeepAlive = cmp.Or(o.KeepAlive, DefaultKeepAlive)
	o.ConnectTimeout = cmp.Or(o.ConnectTimeout, DefaultConnectTimeout)
	o.WriteTimeout = cmp.Or(o.WriteTimeout, DefaultWriteTimeout)
	o.RetryMin = cmp.Or(o.RetryMin, DefaultRetryMin)
	o.RetryMax = cmp.Or(o.RetryMax, max(DefaultRetryMax, o.RetryMin))
	o.DrainTimeout = cmp.Or(o.DrainTimeout, DefaultDrainTimeout)
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Dial == nil {
		o.Dial = (&net.Dialer{}).DialContext
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	return o
}

func (o Options) checkLimits() error {
	switch {
	case o.MaxPayload < 0:
		return errors.New("MaxPayload is negative")
	case o.KeepAlive < 5*time.Second || o.KeepAlive > maxString*time.Second:
		return errors.New("KeepAlive is outside 5 s to 65535 s")
	case min(o.ConnectTimeout, o.WriteTimeout, o.RetryMin, o.RetryMax, o.DrainTimeout) < 0:
		return errors.New("a timeout is negative")
	case o.RetryMax < o.RetryMin:
		return errors.New("RetryMax is less than RetryMin")
	}
	return nil
}

// tlsConfig trusts the certificates in the file, or the system's without one.
func tlsConfig(caFile string) (*tls.Config, error) {
	cfg := &tls.Config{MinVersion: tls.VersionTLS12}
	if caFile == "" {
		return cfg, nil
	}
	pem, err := os.ReadFile(caFile)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrCAFile, err)
	}
	cfg.RootCAs = x509.NewCertPool()
	if !cfg.RootCAs.AppendCertsFromPEM(pem) {
		return nil, fmt.Errorf("%w %s: holds no PEM certificate", ErrCAFile, caFile)
	}
	return cfg, nil
}
