package mqtt_test

import (
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt/broker"
)

func TestEmbeddedAcksOnlyWhatIsJournalled(t *testing.T) {
	rec := newRecorder()
	rec.hold()
	b, _ := newBroker(t, "127.0.0.1:0", rec)
	s := newSensor(t, b.Addr().String(), "sensor-1")
	s.waitConnected(t)
	for qos := byte(1); qos <= 2; qos++ {
		token := s.Publish("yard/a1/moisture", qos, false, "0.41")
		rec.wait(t, int(qos))
		select {
		case <-token.Done():
			require.Fail(t, "acknowledged before it was journalled")
		default:
		}
		rec.settle(1, nil)
		confirmed(t, token)
	}
}

func TestEmbeddedDeliversQoS2Once(t *testing.T) {
	rec := newRecorder()
	rec.hold()
	b, _ := newBroker(t, "127.0.0.1:0", rec)
	s := newSensor(t, b.Addr().String(), "sensor-1")
	s.waitConnected(t)
	s.Publish("yard/a1/moisture", 2, false, "1")
	rec.wait(t, 1)
	s.line.cut() // the journal has it, the sensor has no PUBREC and must repeat
	rec.settle(1, errJournal)
	rec.release()
	got := rec.wait(t, 2)
	assert.True(t, got[1].Duplicate)
	assert.Equal(t, got[0].PacketID, got[1].PacketID)
	assert.Equal(t, byte(2), got[1].QoS)

	other := newSensor(t, b.Addr().String(), "sensor-2")
	other.waitConnected(t)
	confirmed(t, other.Publish("yard/a1/moisture", 2, false, "2"))
	assert.Equal(t, []string{"1", "1", "2"}, payloads(rec.wait(t, 3)))
}

func TestEmbeddedSessionOutlivesAddressAndProcess(t *testing.T) {
	rec := newRecorder()
	b, r := newBroker(t, "127.0.0.1:0", rec)
	s := newSensor(t, b.Addr().String(), "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.send("yard/a1/moisture", 1, 1)...)
	s.Disconnect(1000)
	address := b.Addr().String()
	require.NoError(t, r.stop(t))
	newBroker(t, address, rec)
	s = newSensor(t, address, "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.send("yard/a1/moisture", 2, 2)...)
	got := rec.wait(t, 2)
	assert.Equal(t, broker.Session("sensor-1"), got[0].Session)
	assert.Equal(t, got[0].Session, got[1].Session)
}

// A message that asks to be retained is fresh for the daemon; the one who
// subscribes later gets it as retained.
func TestEmbeddedRetains(t *testing.T) {
	rec := newRecorder()
	b, _ := newBroker(t, "127.0.0.1:0", rec)
	s := newSensor(t, b.Addr().String(), "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.Publish("yard/a1/moisture", 1, true, "0.41"))
	assert.False(t, rec.wait(t, 1)[0].Retained)

	display := newRecorder()
	c := newClient(t, b.Addr().String(), display)
	got := display.wait(t, 1)
	assert.True(t, got[0].Retained)
	assert.Equal(t, "0.41", string(got[0].Payload))
	require.NoError(t, c.stop(t))
}

func TestEmbeddedPassesOnWhatItDoesNotDeliver(t *testing.T) {
	rec := newRecorder()
	var large []int
	b, _ := newBroker(t, "127.0.0.1:0", rec, func(o *broker.Options) {
		o.Topics = []string{"yard/+/moisture"}
		o.ReadOnly = []string{"wickd/daemon/#"}
		o.MaxPayload = 1000
		o.OnOversize = func(_ time.Time, _ string, bytes int) { large = append(large, bytes) }
	})
	s := newSensor(t, b.Addr().String(), "sensor-1")
	heard := make(chan string, 10)
	s.waitConnected(t)
	confirmed(t, s.Subscribe("#", 1, func(_ paho.Client, m paho.Message) { heard <- m.Topic() }))

	confirmed(t, s.Publish("yard/a1/moisture", 1, false, make([]byte, 1001))) // acked, reported, dropped
	confirmed(t, s.Publish("yard/a1/chatter", 1, false, "x"))                 // passed on
	require.NoError(t, b.Publish(t.Context(), "wickd/daemon/status", []byte("online"), true))
	confirmed(t, s.Publish("yard/a1/moisture", 1, false, "0.41"))
	assert.Equal(t, []string{"0.41"}, payloads(rec.wait(t, 1)))
	assert.Equal(t, []int{1001}, large)
	next := func() string {
		select {
		case topic := <-heard:
			return topic
		case <-time.After(patience):
			return "nothing"
		}
	}
	assert.ElementsMatch(t, []string{"yard/a1/chatter", "wickd/daemon/status", "yard/a1/moisture"}, []string{next(), next(), next()})

	// In the daemon's name: cut off, and nobody hears it.
	s.Publish("wickd/daemon/status", 0, false, "forged")
	other := newSensor(t, b.Addr().String(), "sensor-2")
	other.waitConnected(t)
	confirmed(t, other.Publish("yard/a1/chatter", 1, false, "y"))
	assert.Equal(t, "yard/a1/chatter", next())
	assert.Error(t, b.Publish(t.Context(), "a/#", nil, false))
}

func TestEmbeddedAsksForPasswords(t *testing.T) {
	rec := newRecorder()
	b, _ := newBroker(t, "127.0.0.1:0", rec, func(o *broker.Options) {
		o.Authenticate = func(user, password string) bool { return user == "gateway" && password == "right" }
	})
	login := func(user, password string) func(*paho.ClientOptions) {
		return func(o *paho.ClientOptions) {
			o.SetUsername(user).SetPassword(password).SetConnectRetry(false)
		}
	}
	tests := map[string]struct {
		user, password string
		in             bool
	}{
		"right":     {"gateway", "right", true},
		"wrong":     {"gateway", "wrong", false},
		"unknown":   {"sensor", "right", false},
		"anonymous": {"", "", false},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			o := paho.NewClientOptions().AddBroker("tcp://" + b.Addr().String()).SetClientID("c-" + name)
			login(tt.user, tt.password)(o)
			c := paho.NewClient(o)
			token := c.Connect()
			require.True(t, token.WaitTimeout(patience))
			assert.Equal(t, tt.in, token.Error() == nil, "%v", token.Error())
			c.Disconnect(250)
		})
	}
}

func TestEmbeddedStopLetsTheJournalFinish(t *testing.T) {
	rec := newRecorder()
	rec.hold()
	b, r := newBroker(t, "127.0.0.1:0", rec, func(o *broker.Options) { o.DrainTimeout = patience })
	s := newSensor(t, b.Addr().String(), "sensor-1", func(o *paho.ClientOptions) { o.SetAutoReconnect(false) })
	s.waitConnected(t)
	token := s.Publish("yard/a1/moisture", 1, false, "0.41")
	rec.wait(t, 1)
	r.cancel()
	rec.settle(1, nil)
	confirmed(t, token)
	require.NoError(t, r.stop(t))
	assert.ErrorIs(t, b.Run(t.Context()), broker.ErrRunning)
	assert.ErrorIs(t, b.Publish(t.Context(), "a", nil, false), broker.ErrNotRunning)
}
