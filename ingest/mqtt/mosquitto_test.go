package mqtt_test

import (
	"bytes"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const shippedConfig = "../../deploy/mosquitto/wickd.conf"

// mosquitto is a real broker on a port of its own, with the shipped
// configuration.
type mosquitto struct {
	address string
	dir     string
	log     *logBuffer
	cmd     *exec.Cmd
	path    string
}

type logBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *logBuffer) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(b)
}

func (l *logBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// mosquittoPath skips where mosquitto is not installed, except in CI.
func mosquittoPath(t *testing.T) string {
	t.Helper()
	for _, candidate := range []string{"mosquitto", "/usr/sbin/mosquitto"} {
		if path, err := exec.LookPath(candidate); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		require.FailNow(t, "mosquitto is not installed", "CI must test against the real broker")
	}
	t.Skip("mosquitto is not installed: the client is not tested against a real broker here")
	return ""
}

// startMosquitto takes replacements of lines of the shipped file, old and new in
// turn; each old one must be there.
func startMosquitto(t *testing.T, replace ...string) *mosquitto {
	t.Helper()
	m := &mosquitto{path: mosquittoPath(t), dir: t.TempDir(), log: &logBuffer{}}
	m.address = freeAddress(t)
	_, port, err := net.SplitHostPort(m.address)
	require.NoError(t, err)
	conf, err := os.ReadFile(shippedConfig)
	require.NoError(t, err)
	text := string(conf)
	replace = append([]string{"\nlistener 1883 127.0.0.1\n", "\nlistener " + port + " 127.0.0.1\n", "\nsys_interval 10\n", "\nsys_interval 1\n"}, replace...)
	for i := 0; i < len(replace); i += 2 {
		require.Contains(t, text, replace[i])
		text = strings.Replace(text, replace[i], replace[i+1], 1)
	}
	text += "\npersistence_location " + m.dir + "/\nlog_dest stderr\n"
	if os.Getuid() == 0 {
		text += "user root\n" // or it drops privileges and cannot write its file
	}
	require.NoError(t, os.WriteFile(m.config(), []byte(text), 0o600))
	m.start(t)
	t.Cleanup(func() { m.end(syscall.SIGKILL) })
	return m
}

func (m *mosquitto) config() string { return filepath.Join(m.dir, "mosquitto.conf") }

func (m *mosquitto) start(t *testing.T) {
	t.Helper()
	m.cmd = exec.Command(m.path, "-c", m.config())
	m.cmd.Stderr = m.log
	require.NoError(t, m.cmd.Start())
	require.Eventually(t, func() bool {
		c, err := net.DialTimeout("tcp", m.address, time.Second)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, patience, 5*time.Millisecond, "mosquitto does not listen: %s", m.log)
}

// end sends the signal and waits for the process.
func (m *mosquitto) end(sig syscall.Signal) {
	if m.cmd == nil {
		return
	}
	_ = m.cmd.Process.Signal(sig)
	_ = m.cmd.Wait()
	m.cmd = nil
}

// forget removes what the broker keeps on disk.
func (m *mosquitto) forget(t *testing.T) {
	t.Helper()
	require.NoError(t, os.Remove(filepath.Join(m.dir, "mosquitto.db")))
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return "127.0.0.1:" + strconv.Itoa(l.Addr().(*net.TCPAddr).Port)
}
