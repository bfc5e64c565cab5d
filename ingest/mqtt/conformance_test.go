package mqtt_test

import (
	"testing"
	"time"

	"wickd/ingest/rig"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// way is one of the two ways from a sensor to the journal: a client at a broker
// of its own, or the embedded broker. Both keep the same promises.
type way struct {
	address     string // where sensors publish
	brokerStays bool   // also while the daemon is away
	// start starts the daemon's side; the result ends it in order.
	start func(t *testing.T, rec *recorder) (stop func() error)
	// cut breaks the connection over which messages were handed on without an
	// acknowledgement, without a goodbye.
	cut func(t *testing.T, s *sensor)
	// acked waits until the acknowledgements of the first n messages have
	// arrived at the other side.
	acked func(t *testing.T, n int, tokens []paho.Token)
}

func throughMosquitto(t *testing.T) way {
	m := startMosquitto(t)
	var c *client
	return way{
		address:     m.Address,
		brokerStays: true,
		start: func(t *testing.T, rec *recorder) func() error {
			c = newClient(t, m.Address, rec)
			c.waitConnected(t)
			return func() error { return c.stop(t) }
		},
		cut: func(t *testing.T, _ *sensor) { c.line.cut() },
		acked: func(t *testing.T, n int, _ []paho.Token) {
			// A connection is one stream: the broker has read the PUBACKs
			// when it has answered a PUBLISH that followed them.
			require.Eventually(t, func() bool { return c.Unacked() == 10-n }, patience, time.Millisecond)
			require.NoError(t, c.Publish(t.Context(), "elsewhere", nil, false))
		},
	}
}

func embedded(t *testing.T) way {
	address := rig.FreeAddress(t)
	return way{
		address: address,
		start: func(t *testing.T, rec *recorder) func() error {
			_, r := newBroker(t, address, rec)
			return func() error { return r.stop(t) }
		},
		cut:   func(t *testing.T, s *sensor) { s.line.cut() },
		acked: func(t *testing.T, n int, tokens []paho.Token) { confirmed(t, tokens[:n]...) },
	}
}

func eachWay(t *testing.T, check func(t *testing.T, w way)) {
	t.Run("mosquitto", func(t *testing.T) { check(t, throughMosquitto(t)) })
	t.Run("embedded", func(t *testing.T) { check(t, embedded(t)) })
}

func TestDeliversEverythingInOrder(t *testing.T) {
	eachWay(t, func(t *testing.T, w way) {
		rec := newRecorder()
		stop := w.start(t, rec)
		s := newSensor(t, w.address, "sensor-1")
		s.waitConnected(t)
		confirmed(t, s.send("yard/a1/moisture", 1, 500)...)
		got := rec.wait(t, 500)
		assert.Equal(t, numbers(1, 500), payloads(got))
		for _, m := range got {
			require.Equal(t, "yard/a1/moisture", m.Topic)
			require.Equal(t, byte(1), m.QoS)
			require.NotZero(t, m.PacketID)
			require.False(t, m.Duplicate)
			require.False(t, m.Retained)
			require.Equal(t, got[0].Session, m.Session)
		}
		assert.NotEmpty(t, got[0].Session)
		require.NoError(t, stop())
	})
}

func TestUnackedComesAgainAfterABreak(t *testing.T) {
	eachWay(t, func(t *testing.T, w way) {
		rec := newRecorder()
		rec.hold()
		w.start(t, rec)
		s := newSensor(t, w.address, "sensor-1")
		s.waitConnected(t)
		tokens := s.send("yard/a1/moisture", 1, 10)
		for i := 1; i <= 3; i++ { // journalled
			rec.wait(t, i)
			rec.settle(1, nil)
		}
		rec.wait(t, 4) // in hand
		w.acked(t, 3, tokens)
		w.cut(t, s)
		rec.release()
		before := len(rec.messages())
		rec.settle(-1, errJournal)

		got := rec.wait(t, before+7)
		assert.Equal(t, numbers(4, 10), payloads(got[before:]), "exactly what was not acknowledged, in order")
		seen := map[string]uint16{}
		for _, m := range got[:before] {
			seen[string(m.Payload)] = m.PacketID
		}
		for _, m := range got[before:] {
			assert.True(t, m.Duplicate, "DUP of %s", m.Payload)
			assert.Equal(t, got[0].Session, m.Session)
			if id, ok := seen[string(m.Payload)]; ok {
				assert.Equal(t, id, m.PacketID, "packet id of %s", m.Payload)
			}
		}
		assert.Contains(t, seen, "4")
	})
}

func TestNothingIsLostWhileTheDaemonIsAway(t *testing.T) {
	const count = 5000
	eachWay(t, func(t *testing.T, w way) {
		rec := newRecorder()
		require.NoError(t, w.start(t, rec)())
		s := newSensor(t, w.address, "sensor-1")
		if w.brokerStays {
			s.waitConnected(t)
		}
		tokens := s.send("yard/a1/moisture", 1, count)
		if w.brokerStays {
			confirmed(t, tokens...)
		}
		require.Empty(t, rec.messages())
		stop := w.start(t, rec)
		got := rec.wait(t, count)
		confirmed(t, tokens...)
		assert.Equal(t, numbers(1, count), payloads(got), "all, once, in order")
		require.NoError(t, stop())

		// Acknowledged is acknowledged: nothing comes after the next start.
		w.start(t, rec)
		s = newSensor(t, w.address, "sensor-2")
		s.waitConnected(t)
		confirmed(t, s.send("yard/a1/moisture", count+1, count+1)...)
		assert.Equal(t, numbers(1, count+1), payloads(rec.wait(t, count+1)))
	})
}

func TestARefusedMessageComesAgain(t *testing.T) {
	eachWay(t, func(t *testing.T, w way) {
		rec := newRecorder()
		w.start(t, rec)
		s := newSensor(t, w.address, "sensor-1")
		s.waitConnected(t)
		confirmed(t, s.send("yard/a1/moisture", 1, 5)...)
		rec.wait(t, 5)
		open := rec.refuseNext(2)
		s.send("yard/a1/moisture", 6, 20)
		open()
		got := rec.wait(t, 20)
		assert.Equal(t, numbers(1, 20), payloads(got), "nothing lost, nothing overtakes")
		assert.True(t, got[5].Duplicate)
	})
}
