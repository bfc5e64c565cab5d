package mqtt_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt"
	"wickd/ingest/rig"
)

// These tests hold the shipped mosquitto configuration to what it says.

// subscribeAndLeave opens a session, for which the broker keeps messages.
func subscribeAndLeave(t *testing.T, m *rig.Mosquitto, rec *recorder) {
	t.Helper()
	c := newClient(t, m.Address, rec)
	c.waitConnected(t)
	require.NoError(t, c.stop(t))
}

func TestShippedConfigKeepsQoS0WhileAway(t *testing.T) {
	m := startMosquitto(t)
	rec := newRecorder()
	subscribeAndLeave(t, m, rec)

	s := newSensor(t, m.Address, "sensor-1")
	s.waitConnected(t)
	for i := 1; i <= 100; i++ {
		s.Publish("yard/a1/moisture", 0, false, strconv.Itoa(i))
	}
	confirmed(t, s.send("yard/a1/moisture", 101, 101)...) // the stream is in order
	newClient(t, m.Address, rec)
	got := rec.wait(t, 101)
	assert.Equal(t, numbers(1, 101), payloads(got))
	assert.Equal(t, byte(1), got[0].QoS, "delivered at the subscription's QoS")
}

func TestShippedConfigSurvivesAKill(t *testing.T) {
	const count, interval = 5000, 100 // autosave_interval
	m := startMosquitto(t)
	rec := newRecorder()
	subscribeAndLeave(t, m, rec)
	s := newSensor(t, m.Address, "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.send("yard/a1/moisture", 1, count)...)
	s.Disconnect(1000)

	m.Kill()
	m.Start()
	c := newClient(t, m.Address, rec)
	c.waitConnected(t)
	assert.Equal(t, []bool{true}, noted(c, &c.ups), "the session survived")
	rec.wait(t, count-interval)
	require.NoError(t, c.Publish(t.Context(), "yard/end", nil, false))
	require.Eventually(t, func() bool { return has(rec, "yard/end") }, patience, pollEvery)
	got := rec.messages()
	got = got[:len(got)-1]
	assert.Equal(t, numbers(1, len(got)), payloads(got), "only the last ones are missing")
	t.Logf("kept %d of %d, each with its PUBACK, after kill -9", len(got), count)
}

func TestShippedConfigSurvivesARestart(t *testing.T) {
	const count = 5000
	m := startMosquitto(t)
	rec := newRecorder()
	subscribeAndLeave(t, m, rec)
	s := newSensor(t, m.Address, "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.send("yard/a1/moisture", 1, count)...)
	m.Stop()
	m.Start()
	// Queued for a session that the broker only knows from its file.
	s = newSensor(t, m.Address, "sensor-2")
	s.waitConnected(t)
	confirmed(t, s.send("yard/a1/moisture", count+1, count+10)...)
	newClient(t, m.Address, rec)
	assert.Equal(t, numbers(1, count+10), payloads(rec.wait(t, count+10)))
}

func TestShippedConfigReportsDrops(t *testing.T) {
	m := startMosquitto(t, "\nmax_queued_messages 0\n", "\nmax_queued_messages 10\n", "\nmax_inflight_messages 65535\n", "\nmax_inflight_messages 1\n")
	c := newClient(t, m.Address, newRecorder())
	c.waitConnected(t)
	require.Eventually(t, func() bool { return len(noted(c, &c.dropped)) > 0 }, patience, pollEvery, "no first report")
	assert.Equal(t, uint64(0), noted(c, &c.dropped)[0], "what was dropped before is not an increase")

	away := newClient(t, m.Address, newRecorder(), func(o *mqtt.Options) {
		o.ClientID, o.Topics = "other", []string{"attic/#"}
	})
	away.waitConnected(t)
	require.NoError(t, away.stop(t))
	s := newSensor(t, m.Address, "sensor-1")
	s.waitConnected(t)
	confirmed(t, s.send("attic/temperature", 1, 50)...)
	require.Eventually(t, func() bool {
		var sum uint64
		for _, n := range noted(c, &c.dropped) {
			sum += n
		}
		return sum >= 39 && sum <= 40 // 10 queued, and one in flight where the version allows it
	}, patience, pollEvery, "increases: %v", noted(c, &c.dropped))
}

// The access list as shipped, with a password file as mosquitto_passwd writes it.
func TestShippedAccessList(t *testing.T) {
	passwd, err := exec.LookPath("mosquitto_passwd")
	if err != nil {
		rig.Program(t, "mosquitto", "/usr/sbin/mosquitto") // skips, or fails in CI, for the same reason
		t.Skip("mosquitto_passwd is not installed")
	}
	dir := t.TempDir()
	users := filepath.Join(dir, "passwd")
	require.NoError(t, os.WriteFile(users, nil, 0o600))
	for user, password := range map[string]string{"wickd": "p-wickd", "gateway": "p-gateway", "a1": "p-a1"} {
		out, err := exec.Command(passwd, "-b", users, user, password).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	acl, err := filepath.Abs("../../deploy/mosquitto/wickd.acl")
	require.NoError(t, err)
	m := startMosquitto(t, "\nallow_anonymous true\n", "\nallow_anonymous false\npassword_file "+users+"\nacl_file "+acl+"\n")

	rec := newRecorder()
	c := newClient(t, m.Address, rec, func(o *mqtt.Options) {
		o.Username = "wickd"
		o.Topics = []string{"yard/+/moisture", "cellar/#"}
		o.Password = func() (string, error) { return "stale-secret", nil }
	})
	require.Eventually(t, func() bool { return strings.Contains(c.log.String(), "check the username") }, patience, pollEvery)
	require.NoError(t, c.stop(t))
	assert.NotContains(t, c.log.String(), "stale-secret")

	c = newClient(t, m.Address, rec, func(o *mqtt.Options) {
		o.Username = "wickd"
		o.Topics = []string{"yard/+/moisture", "cellar/#"}
		o.Password = func() (string, error) { return "p-wickd", nil }
	})
	c.waitConnected(t)
	require.Eventually(t, func() bool { return len(noted(c, &c.dropped)) > 0 }, patience, pollEvery, "may not read the count of dropped messages")

	// Each denied message goes first and is confirmed, so had it been passed on
	// it would have come before the next. A denied sender may be cut off after
	// its PUBACK, hence a sensor each.
	publish := func(user, topic string, n int) {
		s := newSensor(t, m.Address, "sensor-"+strconv.Itoa(n), func(o *paho.ClientOptions) {
			o.SetUsername(user).SetPassword("p-" + user)
		})
		s.waitConnected(t)
		confirmed(t, s.send(topic, n, n)...)
	}
	publish("a1", "yard/b2/moisture", 1)     // another's
	publish("a1", "yard/a1/moisture", 2)     // its own
	publish("gateway", "cellar/moisture", 3) // outside
	publish("gateway", "yard/b2/moisture", 4)
	assert.Equal(t, []string{"2", "4"}, payloads(rec.wait(t, 2)))
}

func has(rec *recorder, topic string) bool {
	for _, m := range rec.messages() {
		if m.Topic == topic {
			return true
		}
	}
	return false
}
