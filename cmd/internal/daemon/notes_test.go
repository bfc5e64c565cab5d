package daemon_test

import (
	"log/slog"
	"net/http"
	"strings"
	"testing"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/cmd/internal/web"
)

// strict is a broker that keeps one topic to itself.
type strict struct{ mochi.HookBase }

func (*strict) ID() string { return "strict" }
func (*strict) Provides(b byte) bool {
	return b == mochi.OnACLCheck || b == mochi.OnConnectAuthenticate
}

func (*strict) OnConnectAuthenticate(*mochi.Client, packets.Packet) bool { return true }
func (*strict) OnACLCheck(_ *mochi.Client, topic string, write bool) bool {
	return write || !strings.HasPrefix(topic, "bench/p3/")
}

// Topics that the broker refuses are named where one looks, and the rest is
// watched all the same.
func TestWhatTheBrokerRefusesIsSaid(t *testing.T) {
	t.Parallel()
	broker := mochi.New(&mochi.Options{Logger: slog.New(slog.DiscardHandler)})
	require.NoError(t, broker.AddHook(new(strict), nil))
	listener := listeners.NewTCP(listeners.Config{ID: "t", Address: "127.0.0.1:0"})
	require.NoError(t, broker.AddListener(listener))
	require.NoError(t, broker.Serve())
	t.Cleanup(func() { _ = broker.Close() })

	d := run(t, daemon.Options{Config: bench(t, `mqtt: {broker: "tcp://`+listener.Address()+`"}`)})
	const want = "broker refused bench/p3/moisture (does its access list let this user read them?)"
	d.eventually(func() bool {
		status, body := fetch(t, d.Addr(), "/readyz")
		return status == http.StatusOK && strings.Contains(body, want)
	}, "nothing is said")
	_, page := fetch(t, d.Addr(), "/")
	assert.Contains(t, page, want)
	doc, err := web.Client{Base: "http://" + d.Addr()}.Snapshot(t.Context())
	require.NoError(t, err)
	require.Len(t, doc.Notes, 1)
	connect(t, listener.Address()).publish("bench/p1/moisture", "52.0")
	d.eventually(func() bool { return d.Accepted() == 1 }, "the others are not heard")
}
