package rig

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// Mosquitto is the real broker. It is not safe for concurrent use.
type Mosquitto struct {
	Address string // host:port
	Log     *Log

	t         testing.TB
	path, dir string
	cmd       *exec.Cmd // nil: it does not run
}

// StartMosquitto starts it with a configuration file, on a free port. replace
// are lines of that file, old and new in turn; each old one must be there. It
// is ended with the test.
func StartMosquitto(t testing.TB, file string, replace ...string) *Mosquitto {
	t.Helper()
	m := &Mosquitto{t: t, path: Program(t, "mosquitto", "/usr/sbin/mosquitto"), dir: t.TempDir(), Address: FreeAddress(t), Log: &Log{}}
	_, port, err := net.SplitHostPort(m.Address)
	require.NoError(t, err)
	conf, err := os.ReadFile(file)
	require.NoError(t, err)
	text := string(conf)
	replace = append([]string{"\nlistener 1883 127.0.0.1\n", "\nlistener " + port + " 127.0.0.1\n"}, replace...)
	for i := 0; i < len(replace); i += 2 {
		require.Contains(t, text, replace[i])
		text = strings.Replace(text, replace[i], replace[i+1], 1)
	}
	text += "\npersistence_location " + m.dir + "/\nlog_dest stderr\n"
	if os.Getuid() == 0 {
		text += "user root\n" // or it drops privileges and cannot write its file
	}
	require.NoError(t, os.WriteFile(m.config(), []byte(text), 0o600))
	m.Start()
	t.Cleanup(m.Kill)
	return m
}

func (m *Mosquitto) config() string { return filepath.Join(m.dir, "mosquitto.conf") }

// Start starts it again after Stop or Kill.
func (m *Mosquitto) Start() {
	m.t.Helper()
	m.cmd = exec.Command(m.path, "-c", m.config())
	m.cmd.Stderr = m.Log
	require.NoError(m.t, m.cmd.Start())
	Listening(m.t, m.Address, m.Log)
}

// Stop ends it in order: it writes down what it holds.
func (m *Mosquitto) Stop() { m.end(syscall.SIGTERM) }

// Kill ends it as a power cut would.
func (m *Mosquitto) Kill() { m.end(syscall.SIGKILL) }

func (m *Mosquitto) end(s syscall.Signal) {
	if m.cmd == nil {
		return
	}
	_ = m.cmd.Process.Signal(s)
	_ = m.cmd.Wait()
	m.cmd = nil
}

// Forget removes what it keeps on disk.
func (m *Mosquitto) Forget() {
	m.t.Helper()
	require.NoError(m.t, os.Remove(filepath.Join(m.dir, "mosquitto.db")))
}
