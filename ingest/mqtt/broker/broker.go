package broker

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync/atomic"

	mochi "github.com/mochi-mqtt/server/v2"
)

var (
	// ErrNotRunning is returned by Publish outside Run.
	ErrNotRunning = errors.New("broker is not running")
	// ErrRunning is returned by a second Run.
	ErrRunning = errors.New("broker has been run already")
)

// Broker is an embedded MQTT broker.
type Broker struct {
	opts    Options
	server  *mochi.Server
	hook    *hook
	network *network
	started atomic.Bool
	serving atomic.Bool
}

// New checks the options and opens the listening socket, so that Addr is known
// and a port in use is reported at once. It serves nothing yet; a Broker that is
// never run must be closed.
func New(o Options) (*Broker, error) {
	o = o.withDefaults()
	if err := o.check(); err != nil {
		return nil, err
	}
	raw, err := net.Listen("tcp", o.Listen)
	if err != nil {
		return nil, fmt.Errorf("mqtt broker: %w (does another broker use the port?)", err)
	}
	b := &Broker{opts: o, network: newNetwork(raw, o.MaxConnections, o.ConnectTimeout)}
	b.server = mochi.New(&mochi.Options{
		Capabilities:           o.capabilities(),
		Logger:                 libraryLogger(o.Logger),
		InlineClient:           true,
		SysTopicResendInterval: 10, // s, as other brokers do
	})
	b.hook = newHook(o, b.server)
	err = errors.Join(
		b.server.AddHook(b.hook, nil),
		b.server.AddListener(b.network),
	)
	if err != nil {
		_ = raw.Close()
		return nil, fmt.Errorf("mqtt broker: %w", err)
	}
	return b, nil
}

// Addr is where the broker listens.
func (b *Broker) Addr() net.Addr { return b.network.listener.Addr() }

// Close releases the socket of a Broker that was not run.
func (b *Broker) Close() error { return b.network.stopAccepting() }

// Run serves until ctx ends. Then it accepts nothing more, lets messages that
// are being journalled finish within DrainTimeout, and closes all connections.
func (b *Broker) Run(ctx context.Context) error {
	if !b.started.CompareAndSwap(false, true) {
		return ErrRunning
	}
	b.serving.Store(true) // before the first client can be there
	defer b.serving.Store(false)
	if err := b.server.Serve(); err != nil {
		_ = b.network.stopAccepting()
		return fmt.Errorf("mqtt broker: %w", err)
	}
	b.opts.Logger.Info("embedded broker listening", "address", b.Addr().String())
	<-ctx.Done()

	_ = b.network.stopAccepting()
	b.hook.drain(b.opts.DrainTimeout)
	if err := b.server.Close(); err != nil {
		return fmt.Errorf("close mqtt broker: %w", err)
	}
	return nil
}

// Publish sends a message of the daemon's own to the subscribers. It is not
// delivered to Options.Deliver.
func (b *Broker) Publish(_ context.Context, topic string, payload []byte, retain bool) error {
	if !mochi.IsValidFilter(topic, true) || topic == "" {
		return fmt.Errorf("publish: topic %q is not valid", topic)
	}
	if !b.serving.Load() {
		return fmt.Errorf("publish to %s: %w", topic, ErrNotRunning)
	}
	if err := b.server.Publish(topic, payload, retain, 1); err != nil {
		return fmt.Errorf("publish to %s: %w", topic, err)
	}
	return nil
}
