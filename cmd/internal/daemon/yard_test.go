package daemon_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"wickd/ingest/mqtt"
	"wickd/ingest/rig"
	"wickd/model/sim"
)

// sensors publish to a broker as sensors do: at least once, until confirmed.
type sensors struct {
	t      testing.TB
	client *mqtt.Client
}

func connect(t testing.TB, broker string) *sensors { return connectAs(t, broker, "bench-sensors") }

func connectAs(t testing.TB, broker, id string) *sensors {
	t.Helper()
	c, err := mqtt.New(mqtt.Options{URL: "tcp://" + broker, ClientID: id, RetryMin: 10 * time.Millisecond, RetryMax: 50 * time.Millisecond})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return &sensors{t, c}
}

func (s *sensors) publish(topic, payload string) { s.retain(topic, payload, false) }

func (s *sensors) retain(topic, payload string, retained bool) {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(s.t.Context(), patience)
	defer cancel()
	for {
		err := s.client.Publish(ctx, topic, []byte(payload), retained)
		if err == nil {
			return
		}
		again := errors.Is(err, mqtt.ErrNotConnected) || errors.Is(err, mqtt.ErrConnectionLost)
		require.True(s.t, again && ctx.Err() == nil, "publish %s: %v", topic, err)
		time.Sleep(pollIt) // between attempts, as a sensor does
	}
}

// all publishes the messages of one step of the simulation, several at once.
func (s *sensors) all(messages []sim.Message) {
	s.t.Helper()
	var g errgroup.Group
	for _, m := range messages {
		g.Go(func() error {
			s.publish(m.Topic, string(m.Payload))
			return nil
		})
	}
	require.NoError(s.t, g.Wait())
}

// startMosquitto starts the broker as the shipped configuration sets it up.
func startMosquitto(t testing.TB) *rig.Mosquitto {
	t.Helper()
	return rig.StartMosquitto(t, "../../../deploy/mosquitto/wickd.conf")
}

// through is the section of a site file that uses it.
func through(m *rig.Mosquitto) string { return `mqtt: {broker: "tcp://` + m.Address + `"}` }

// broker is where sensors publish to.
func (r *running) broker(address string) string {
	if address == "" {
		return r.BrokerAddr()
	}
	return address
}
