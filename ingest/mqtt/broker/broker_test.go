package broker_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wickd/ingest"
	"wickd/ingest/mqtt/broker"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const patience = 10 * time.Second

func start(t *testing.T, o broker.Options) *broker.Broker {
	t.Helper()
	o.Listen = "127.0.0.1:0"
	if o.Deliver == nil {
		o.Deliver = func(context.Context, ingest.Message) error { return nil }
	}
	b, err := broker.New(o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- b.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return b
}

// device speaks the protocol packet by packet.
type device struct {
	net.Conn
	version byte
	in      *bufio.Reader
}

func dial(t *testing.T, b *broker.Broker, version byte) *device {
	t.Helper()
	conn, err := net.Dial("tcp", b.Addr().String())
	require.NoError(t, err)
	require.NoError(t, conn.SetDeadline(time.Now().Add(patience)))
	t.Cleanup(func() { _ = conn.Close() })
	return &device{Conn: conn, version: version, in: bufio.NewReader(conn)}
}

func (d *device) send(t *testing.T, pk packets.Packet) {
	t.Helper()
	pk.ProtocolVersion = d.version
	var buf bytes.Buffer
	var err error
	switch pk.FixedHeader.Type {
	case packets.Connect:
		err = pk.ConnectEncode(&buf)
	case packets.Publish:
		err = pk.PublishEncode(&buf)
	}
	require.NoError(t, err)
	_, err = d.Write(buf.Bytes())
	require.NoError(t, err)
}

// next is the type of the next packet and its body.
func (d *device) next() (kind byte, body []byte, err error) {
	first, err := d.in.ReadByte()
	if err != nil {
		return 0, nil, err
	}
	n, _, err := packets.DecodeLength(d.in)
	if err != nil {
		return 0, nil, err
	}
	body = make([]byte, n)
	_, err = io.ReadFull(d.in, body)
	return first >> 4, body, err
}

func (d *device) connect(t *testing.T, id string, keepalive uint16) []byte {
	t.Helper()
	d.send(t, connectPacket(id, keepalive))
	kind, body, err := d.next()
	require.NoError(t, err)
	require.Equal(t, packets.Connack, kind)
	return body
}

func connectPacket(id string, keepalive uint16) packets.Packet {
	return packets.Packet{
		FixedHeader: packets.FixedHeader{Type: packets.Connect},
		Connect: packets.ConnectParams{
			ProtocolName: []byte("MQTT"), ClientIdentifier: id, Keepalive: keepalive,
			UsernameFlag: true, Username: []byte("gateway"), PasswordFlag: true, Password: []byte("hunter2"),
		},
		Properties: packets.Properties{SessionExpiryInterval: 3600, SessionExpiryIntervalFlag: true},
	}
}

func publishPacket(qos byte, id uint16, payload string) packets.Packet {
	return packets.Packet{
		FixedHeader: packets.FixedHeader{Type: packets.Publish, Qos: qos},
		TopicName:   "yard/a1/moisture", PacketID: id, Payload: []byte(payload),
	}
}

// What failed must not look acknowledged, in either version of the protocol: in
// 3.1.1 the connection just ends, in 5 after a DISCONNECT (0x89, server busy).
func TestAFailedDeliveryClosesTheConnection(t *testing.T) {
	tests := map[string]struct {
		version byte
		qos     byte
		packets []byte
	}{
		"3.1.1, QoS 1": {4, 1, nil},
		"3.1.1, QoS 2": {4, 2, nil},
		"5, QoS 1":     {5, 1, []byte{packets.Disconnect}},
		"5, QoS 2":     {5, 2, []byte{packets.Disconnect}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			delivered := make(chan string, 10)
			b := start(t, broker.Options{Deliver: func(_ context.Context, m ingest.Message) error {
				delivered <- string(m.Payload)
				return errors.New("disk full")
			}})
			d := dial(t, b, tt.version)
			d.connect(t, "sensor-1", 30)
			d.send(t, publishPacket(tt.qos, 1, "first"))
			var got []byte
			for {
				kind, _, err := d.next()
				if err != nil {
					break
				}
				got = append(got, kind)
			}
			assert.Equal(t, tt.packets, got)
			assert.Equal(t, "first", <-delivered)
			assert.Empty(t, delivered)
		})
	}
}

// Two messages in one segment: the second must not overtake the first.
func TestNothingOvertakesAFailedDelivery(t *testing.T) {
	var mu sync.Mutex
	var got []string
	b := start(t, broker.Options{Deliver: func(_ context.Context, m ingest.Message) error {
		mu.Lock()
		defer mu.Unlock()
		got = append(got, string(m.Payload))
		return errors.New("disk full")
	}})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	var both bytes.Buffer
	for i, payload := range []string{"first", "second"} {
		pk := publishPacket(1, uint16(i+1), payload)
		pk.ProtocolVersion = 4
		require.NoError(t, pk.PublishEncode(&both))
	}
	_, err := d.Write(both.Bytes())
	require.NoError(t, err)
	_, _, err = d.next()
	require.Error(t, err, "closed without an answer")
	mu.Lock()
	defer mu.Unlock()
	assert.Equal(t, []string{"first"}, got)
}

// At QoS 0 there is nobody who would send again; the connection stays.
func TestAFailedQoS0KeepsTheConnection(t *testing.T) {
	fail := true
	b := start(t, broker.Options{Deliver: func(context.Context, ingest.Message) error {
		defer func() { fail = false }()
		if fail {
			return errors.New("disk full")
		}
		return nil
	}})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	d.send(t, publishPacket(0, 0, "lost"))
	d.send(t, publishPacket(1, 1, "kept"))
	kind, body, err := d.next()
	require.NoError(t, err)
	assert.Equal(t, packets.Puback, kind)
	assert.Equal(t, []byte{0, 1}, body)
}

// A Server Keep Alive in CONNACK (MQTT 5 §3.2.2.3.14, property 19) for whoever
// asks for none, none for 3.1.1, which has no such property.
func TestKeepAliveIsImposedWhereTheProtocolCan(t *testing.T) {
	b := start(t, broker.Options{MaxKeepAlive: 120 * time.Second})
	property := []byte{19, 0, 120}
	assert.True(t, bytes.Contains(dial(t, b, 5).connect(t, "a", 0), property))
	assert.True(t, bytes.Contains(dial(t, b, 5).connect(t, "b", 121), property))
	assert.False(t, bytes.Contains(dial(t, b, 5).connect(t, "c", 60), property))
	assert.Equal(t, []byte{0, 0}, dial(t, b, 4).connect(t, "d", 0))
}

func TestAConnectionThatSaysNothingIsClosed(t *testing.T) {
	b := start(t, broker.Options{ConnectTimeout: 200 * time.Millisecond})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	mute := dial(t, b, 4)
	_, _, err := mute.next()
	require.ErrorIs(t, err, io.EOF)

	d.send(t, publishPacket(1, 1, "0.41"))
	kind, _, err := d.next()
	require.NoError(t, err)
	assert.Equal(t, packets.Puback, kind, "a CONNECT lifts the timeout")
}

// [MQTT-4.3.3-10]: a PUBLISH that comes again before its PUBREL is answered and
// not delivered.
func TestQoS2IsNotDeliveredAgain(t *testing.T) {
	delivered := make(chan ingest.Message, 10)
	b := start(t, broker.Options{Deliver: func(_ context.Context, m ingest.Message) error {
		delivered <- m
		return nil
	}})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	pk := publishPacket(2, 7, "0.41")
	for range 2 {
		d.send(t, pk)
		kind, body, err := d.next()
		require.NoError(t, err)
		assert.Equal(t, packets.Pubrec, kind)
		assert.Equal(t, []byte{0, 7}, body)
		pk.FixedHeader.Dup = true
	}
	require.Len(t, delivered, 1)
	m := <-delivered
	assert.Equal(t, uint16(7), m.PacketID)
	assert.Equal(t, byte(2), m.QoS)
}

func TestConnectionsAreLimited(t *testing.T) {
	b := start(t, broker.Options{MaxConnections: 2})
	mute := dial(t, b, 4) // counts although it sent no CONNECT
	dial(t, b, 4).connect(t, "sensor-1", 30)
	third := dial(t, b, 4)
	_, _, err := third.next()
	require.Error(t, err)
	require.NoError(t, mute.Close())
	require.Eventually(t, func() bool {
		d := dial(t, b, 4)
		d.send(t, connectPacket("sensor-2", 30))
		kind, _, err := d.next()
		return err == nil && kind == packets.Connack
	}, patience, 5*time.Millisecond, "room after one left")
}

func TestAPacketBeyondTheLimitIsNotRead(t *testing.T) {
	b := start(t, broker.Options{MaxPayload: 1000})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	_, err := d.Write([]byte{byte(packets.Publish << 4), 0xff, 0xff, 0xff, 0x7f}) // 256 MiB announced
	require.NoError(t, err)
	_, _, err = d.next()
	require.Error(t, err)
}

// The server library logs whole packets when something is wrong with one. A
// second CONNECT is wrong, and holds the password.
func TestLogHoldsNoSecretsAndNoPayload(t *testing.T) {
	var log lockedBuffer
	b := start(t, broker.Options{
		Logger:       slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Authenticate: func(_, password string) bool { return password == "hunter2" },
		Deliver:      func(context.Context, ingest.Message) error { return errors.New("disk full") },
	})
	d := dial(t, b, 4)
	d.connect(t, "sensor-1", 30)
	d.send(t, connectPacket("sensor-1", 30))
	_, _, err := d.next()
	require.Error(t, err)
	d = dial(t, b, 4)
	d.connect(t, "sensor-2", 30)
	d.send(t, publishPacket(1, 1, "payload-4711"))
	_, _, err = d.next()
	require.Error(t, err)
	require.Eventually(t, func() bool { return bytes.Contains(log.bytes(), []byte("second connect")) }, patience, time.Millisecond)
	for _, secret := range []string{"hunter2", "aHVudGVyMg", "payload-4711", "cGF5bG9hZC00NzEx"} {
		assert.NotContains(t, string(log.bytes()), secret)
	}
	assert.Contains(t, string(log.bytes()), "disk full")
}

type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) bytes() []byte {
	b.mu.Lock()
	defer b.mu.Unlock()
	return bytes.Clone(b.buf.Bytes())
}

func TestNewRefuses(t *testing.T) {
	deliver := func(context.Context, ingest.Message) error { return nil }
	taken := start(t, broker.Options{})
	tests := map[string]struct {
		o    broker.Options
		says string
	}{
		"no port":         {broker.Options{Listen: "127.0.0.1", Deliver: deliver}, "needs host:port"},
		"open to all":     {broker.Options{Listen: ":1883", Deliver: deliver}, "name users"},
		"open, any IPv4":  {broker.Options{Listen: "0.0.0.0:0", Deliver: deliver}, "reachable from the network"},
		"open, a name":    {broker.Options{Listen: "yard.example:1883", Deliver: deliver}, "reachable from the network"},
		"no Deliver":      {broker.Options{Listen: "127.0.0.1:0"}, "no Deliver"},
		"topic":           {broker.Options{Listen: "127.0.0.1:0", Deliver: deliver, Topics: []string{"a/#/b"}}, "a/#/b"},
		"port in use":     {broker.Options{Listen: taken.Addr().String(), Deliver: deliver}, "does another broker use the port"},
		"keepalive":       {broker.Options{Listen: "127.0.0.1:0", Deliver: deliver, MaxKeepAlive: time.Second}, "MaxKeepAlive"},
		"negative limits": {broker.Options{Listen: "127.0.0.1:0", Deliver: deliver, MaxPayload: -1}, "MaxPayload"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := broker.New(tt.o)
			require.ErrorContains(t, err, tt.says)
		})
	}
	for _, listen := range []string{"localhost:0", "[::1]:0", "127.0.0.2:0"} {
		b, err := broker.New(broker.Options{Listen: listen, Deliver: deliver})
		if err != nil { // no IPv6 here
			require.NotContains(t, err.Error(), "reachable")
			continue
		}
		require.NoError(t, b.Close())
	}
}
