package daemon_test

import (
	"context"
	"errors"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"wickd/ingest/mqtt"
	"wickd/model/sim"
)

// sensors publish to a broker as sensors do: at least once, until confirmed.
type sensors struct {
	t      testing.TB
	client *mqtt.Client
}

func connect(t testing.TB, broker string) *sensors {
	t.Helper()
	c, err := mqtt.New(mqtt.Options{URL: "tcp://" + broker, ClientID: "bench-sensors", RetryMin: 10 * time.Millisecond, RetryMax: 50 * time.Millisecond})
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

// mosquitto is a real broker on a port of its own, set up as the shipped
// configuration sets it up.
type mosquitto struct {
	t       testing.TB
	path    string
	dir     string
	address string
	log     *logs
	cmd     *exec.Cmd
}

// needs looks for a program that a test cannot do without. A test that it is
// missing for is skipped, but not in CI.
func needs(t testing.TB, name string, places ...string) string {
	t.Helper()
	if named := os.Getenv("WICKD_" + strings.ToUpper(name)); named != "" {
		places = append([]string{named}, places...)
	}
	for _, place := range append([]string{name}, places...) {
		if path, err := exec.LookPath(place); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		require.FailNow(t, name+" is not installed, and CI must test against the real one")
	}
	t.Skip(name + " is not installed: nothing is tested against it here")
	return ""
}

func startMosquitto(t testing.TB) *mosquitto {
	t.Helper()
	m := &mosquitto{t: t, path: needs(t, "mosquitto", "/usr/sbin/mosquitto"), dir: t.TempDir(), address: freeAddress(t), log: &logs{}}
	conf, err := os.ReadFile("../../../deploy/mosquitto/wickd.conf")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(m.address)
	require.NoError(t, err)
	const shipped = "\nlistener 1883 127.0.0.1\n"
	require.Contains(t, string(conf), shipped)
	text := strings.Replace(string(conf), shipped, "\nlistener "+port+" 127.0.0.1\n", 1)
	text += "\npersistence_location " + m.dir + "/\nlog_dest stderr\n"
	if os.Getuid() == 0 {
		text += "user root\n" // or it drops privileges and cannot write its file
	}
	require.NoError(t, os.WriteFile(filepath.Join(m.dir, "mosquitto.conf"), []byte(text), 0o600))
	m.start()
	t.Cleanup(m.stop)
	return m
}

func (m *mosquitto) start() {
	m.t.Helper()
	m.cmd = exec.Command(m.path, "-c", filepath.Join(m.dir, "mosquitto.conf"))
	m.cmd.Stderr = m.log
	require.NoError(m.t, m.cmd.Start())
	require.Eventually(m.t, func() bool {
		c, err := net.DialTimeout("tcp", m.address, time.Second)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, patience, pollIt, "mosquitto does not listen: %s", m.log)
}

func (m *mosquitto) stop() {
	if m.cmd == nil {
		return
	}
	_ = m.cmd.Process.Signal(syscall.SIGTERM)
	_ = m.cmd.Wait()
	m.cmd = nil
}

func (m *mosquitto) section() string { return `mqtt: {broker: "tcp://` + m.address + `"}` }

func freeAddress(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}
