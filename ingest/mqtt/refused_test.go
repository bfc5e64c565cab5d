package mqtt_test

import (
	"log/slog"
	"strings"
	"testing"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt"
)

// strict lets everybody in and nobody read the cellar.
type strict struct {
	mochi.HookBase
	lower bool // grant QoS 0 only
}

func (*strict) ID() string { return "strict" }

func (*strict) Provides(b byte) bool {
	return b == mochi.OnACLCheck || b == mochi.OnConnectAuthenticate || b == mochi.OnSubscribe
}

func (*strict) OnConnectAuthenticate(*mochi.Client, packets.Packet) bool { return true }

func (*strict) OnACLCheck(_ *mochi.Client, topic string, write bool) bool {
	return write || !strings.HasPrefix(topic, "cellar/")
}

func (s *strict) OnSubscribe(_ *mochi.Client, pk packets.Packet) packets.Packet {
	for i := range pk.Filters {
		if s.lower {
			pk.Filters[i].Qos = 0
		}
	}
	return pk
}

func newStrict(t *testing.T, hook mochi.Hook, caps *mochi.Capabilities, more ...listeners.Listener) (address string) {
	t.Helper()
	server := mochi.New(&mochi.Options{Capabilities: caps, Logger: slog.New(slog.DiscardHandler)})
	require.NoError(t, server.AddHook(hook, nil))
	listener := listeners.NewTCP(listeners.Config{ID: "t", Address: "127.0.0.1:0"})
	require.NoError(t, server.AddListener(listener))
	for _, l := range more {
		require.NoError(t, server.AddListener(l))
	}
	require.NoError(t, server.Serve())
	t.Cleanup(func() { _ = server.Close() })
	return listener.Address()
}

// A broker without QoS 1 refuses the last will with a code of MQTT 5, which the
// library does not know.
func TestUnknownReturnCodeIsARefusal(t *testing.T) {
	caps := mochi.NewDefaultServerCapabilities()
	caps.MaximumQos = 0
	c := newClient(t, newStrict(t, new(strict), caps), newRecorder())
	require.Eventually(t, func() bool { return len(noted(c, &c.downs)) == 1 }, patience, pollEvery)
	assert.ErrorContains(t, noted(c, &c.downs)[0], "does it allow QoS 1")
	assert.Empty(t, noted(c, &c.ups))
	require.NoError(t, c.stop(t))
}

// mosquitto answers every subscription with success, whatever its access list
// says, so a broker that refuses is made here.
func TestRefusedAndLoweredTopicsAreReported(t *testing.T) {
	tests := map[string]struct {
		lower   bool
		refused []string
		lowered []string
		says    string
	}{
		"refused": {false, []string{"cellar/b", "cellar/#"}, nil, "broker refused cellar/b, cellar/#"},
		"lowered": {true, []string{"cellar/b", "cellar/#"}, []string{"yard/#"}, "only QoS 0 for yard/#"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			address := newStrict(t, &strict{lower: tt.lower}, mochi.NewDefaultServerCapabilities())
			c := newClient(t, address, newRecorder(), func(o *mqtt.Options) {
				o.Topics = []string{"yard/#", "cellar/b", "cellar/#", "cellar/b"}
			})
			require.Eventually(t, func() bool { return len(noted(c, &c.refused)) == 1 }, patience, pollEvery, "%s", c.log)
			got := noted(c, &c.refused)[0]
			assert.Equal(t, tt.refused, got.Refused)
			assert.Equal(t, tt.lowered, got.Lowered)
			assert.ErrorContains(t, got, tt.says)
			c.waitConnected(t)
			require.NoError(t, c.stop(t))
		})
	}
}
