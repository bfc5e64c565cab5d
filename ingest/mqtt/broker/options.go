package broker

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"

	"wickd/ingest"
)

// Defaults of Options.
const (
	DefaultMaxPayload     = 256 << 10 // bytes
	DefaultMaxConnections = 256
	DefaultMaxKeepAlive   = 10 * time.Minute
	DefaultConnectTimeout = 10 * time.Second
	DefaultDrainTimeout   = time.Second
)

// packetRoom times MaxPayload is the largest packet that is read at all. What
// lies between can be acknowledged and reported; beyond, the connection closes.
const packetRoom = 4

// Options configures a Broker. Zero values take the defaults above.
type Options struct {
	Listen string // host:port; port 0 takes a free one

	// Deliver journals a message. Nil means that it is on disk, or refused for
	// good; an error means that the sensor must send it again.
	Deliver func(ctx context.Context, m ingest.Message) error
	// Topics are the filters of what is delivered; other topics are only
	// passed on to subscribers. None: everything is delivered.
	Topics []string
	// ReadOnly are topics that no network client may publish to, such as the
	// daemon's own status.
	ReadOnly []string

	// Authenticate checks a username and password. Nil: nobody is asked.
	Authenticate func(username, password string) bool
	// AllowAnonymous lets clients in that give no username, also from the
	// network.
	AllowAnonymous bool

	MaxPayload     int           // bytes; a larger message is acked, reported to OnOversize and dropped
	MaxConnections int           // open at the same time
	MaxKeepAlive   time.Duration // imposed on MQTT 5 clients; 3.1.1 has no means to, there TCP keepalive finds dead peers
	ConnectTimeout time.Duration // from accepting a connection to its CONNECT
	DrainTimeout   time.Duration // how long Run waits for messages being journalled at the end

	Now    func() time.Time // nil: time.Now
	Logger *slog.Logger     // nil: none

	// OnOversize reports a message that was larger than MaxPayload. It may run
	// on several goroutines at once.
	OnOversize func(at time.Time, topic string, bytes int)
}

func (o Options) withDefaults() Options {
	o.MaxPayload = cmp.Or(o.MaxPayload, DefaultMaxPayload)
	o.MaxConnections = cmp.Or(o.MaxConnections, DefaultMaxConnections)
	o.MaxKeepAlive = cmp.Or(o.MaxKeepAlive, DefaultMaxKeepAlive)
	o.ConnectTimeout = cmp.Or(o.ConnectTimeout, DefaultConnectTimeout)
	o.DrainTimeout = cmp.Or(o.DrainTimeout, DefaultDrainTimeout)
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	return o
}

// check reports all problems at once.
func (o Options) check() error {
	var problems []error
	note := func(bad bool, format string, args ...any) {
		if bad {
			problems = append(problems, fmt.Errorf(format, args...))
		}
	}
	host, _, err := net.SplitHostPort(o.Listen)
	note(err != nil, "listen address %q needs host:port, for example 127.0.0.1:1883", o.Listen)
	open := o.Authenticate == nil && !o.AllowAnonymous
	note(err == nil && open && !isLoopback(host),
		"listen address %q is reachable from the network and nobody is asked for a password: name users, or allow anonymous clients explicitly", o.Listen)
	note(o.Deliver == nil, "no Deliver")
	for _, filter := range append(append([]string{}, o.Topics...), o.ReadOnly...) {
		note(!mochi.IsValidFilter(filter, false) || filter == "", "topic %q is not a valid filter", filter)
	}
	note(o.MaxPayload < 0 || o.MaxPayload > 64<<20, "MaxPayload is outside 0 to 64 MiB")
	note(o.MaxConnections < 0, "MaxConnections is negative")
	note(o.MaxKeepAlive < 5*time.Second || o.MaxKeepAlive > 65535*time.Second, "MaxKeepAlive is outside 5 s to 65535 s")
	note(min(o.ConnectTimeout, o.DrainTimeout) < 0, "a timeout is negative")
	if err := errors.Join(problems...); err != nil {
		return fmt.Errorf("mqtt broker: %w", err)
	}
	return nil
}

// isLoopback is false for an empty host, which means all addresses.
func isLoopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback()
}

// capabilities are the library's, with the limits that would lose messages
// raised and those that would exhaust a small board lowered.
func (o Options) capabilities() *mochi.Capabilities {
	c := mochi.NewDefaultServerCapabilities()
	c.MaximumClients = int64(o.MaxConnections)
	c.MaximumPacketSize = uint32(packetRoom*o.MaxPayload + 1<<16)
	// For subscribers: beyond these, messages to one are dropped. Writes
	// pending are allocated for each connection, 8 bytes each.
	c.MaximumClientWritesPending = 16 << 10
	c.MaximumInflight = 16 << 10
	// A 3.1.1 client cannot know this limit and would be cut off at it.
	c.ReceiveMaximum = 65535
	c.MaximumSessionExpiryInterval = uint32((7 * 24 * time.Hour).Seconds())
	// Also ends retained messages and the packet ids of QoS 2.
	c.MaximumMessageExpiryInterval = int64((30 * 24 * time.Hour).Seconds())
	c.TopicAliasMaximum = 100
	c.Compatibilities.NoInheritedPropertiesOnAck = true
	return c
}

// matcher answers whether a topic matches one of the filters.
type matcher struct {
	all   bool
	index *mochi.TopicsIndex
}

func newMatcher(filters []string) matcher {
	m := matcher{index: mochi.NewTopicsIndex()}
	for _, f := range filters {
		m.index.Subscribe("wickd", packets.Subscription{Filter: f})
	}
	return m
}

func (m matcher) match(topic string) bool {
	return m.all || len(m.index.Subscribers(topic).Subscriptions) > 0
}
