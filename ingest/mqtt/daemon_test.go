package mqtt_test

import (
	"context"
	"log/slog"
	"net"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wickd/ingest/mqtt"
	"wickd/ingest/mqtt/broker"
	"wickd/ingest/rig"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// running is a Client or a Broker whose Run can be ended.
type running struct {
	cancel context.CancelFunc
	done   chan struct{}
	err    error
}

func run(t *testing.T, f func(context.Context) error) *running {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{cancel: cancel, done: make(chan struct{})}
	go func() {
		defer close(r.done)
		r.err = f(ctx)
	}()
	t.Cleanup(func() { _ = r.stop(t) })
	return r
}

// stop ends Run and returns its error.
func (r *running) stop(t *testing.T) error {
	t.Helper()
	r.cancel()
	select {
	case <-r.done:
	case <-time.After(patience):
		buf := make([]byte, 1<<20)
		t.Log(string(buf[:runtime.Stack(buf, true)]))
		require.FailNow(t, "Run does not end")
	}
	return r.err
}

// client is a running Client with everything it reported.
type client struct {
	*mqtt.Client
	*running
	line line
	log  *rig.Log

	mu      sync.Mutex
	ups     []bool // sessionPresent
	downs   []error
	refused []*mqtt.SubscribeError
	dropped []uint64 // increases
	large   []int
}

func newClient(t *testing.T, address string, rec *recorder, tweaks ...func(*mqtt.Options)) *client {
	t.Helper()
	c := &client{log: &rig.Log{}}
	o := mqtt.Options{
		URL:       "tcp://" + address,
		ClientID:  "wickd-test",
		Topics:    []string{"yard/#"},
		Intake:    rec,
		RetryMin:  20 * time.Millisecond,
		RetryMax:  100 * time.Millisecond,
		KeepAlive: 5 * time.Second,
		Logger:    slog.New(slog.NewTextHandler(c.log, nil)),
		Dial: func(ctx context.Context, network, address string) (net.Conn, error) {
			conn, err := (&net.Dialer{}).DialContext(ctx, network, address)
			if err != nil {
				return nil, err
			}
			return c.line.use(conn), nil
		},
		OnUp:               func(_ time.Time, present bool) { note(c, &c.ups, present) },
		OnDown:             func(_ time.Time, err error) { note(c, &c.downs, err) },
		OnSubscribeRefused: func(_ time.Time, err *mqtt.SubscribeError) { note(c, &c.refused, err) },
		OnDropped:          func(_ time.Time, _, increase uint64) { note(c, &c.dropped, increase) },
		OnOversize:         func(_ time.Time, _ string, bytes int) { note(c, &c.large, bytes) },
	}
	for _, tweak := range tweaks {
		tweak(&o)
	}
	var err error
	c.Client, err = mqtt.New(o)
	require.NoError(t, err)
	c.running = run(t, c.Run)
	return c
}

func note[T any](c *client, to *[]T, v T) {
	c.mu.Lock()
	defer c.mu.Unlock()
	*to = append(*to, v)
}

func noted[T any](c *client, from *[]T) []T {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]T(nil), *from...)
}

func (c *client) waitConnected(t *testing.T) {
	t.Helper()
	require.Eventually(t, c.Connected, patience, 2*time.Millisecond, "not connected: %s", c.log)
}

// newBroker runs the embedded broker.
func newBroker(t *testing.T, listen string, rec *recorder, tweaks ...func(*broker.Options)) (*broker.Broker, *running) {
	t.Helper()
	o := broker.Options{Listen: listen, Deliver: rec.Deliver, DrainTimeout: 200 * time.Millisecond}
	for _, tweak := range tweaks {
		tweak(&o)
	}
	b, err := broker.New(o)
	require.NoError(t, err)
	return b, run(t, b.Run)
}
