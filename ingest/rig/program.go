package rig

import (
	"bytes"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const (
	patience = 30 * time.Second
	pollIt   = 5 * time.Millisecond
)

// Program is where a program is: by its environment variable (WICKD_INFLUXD for
// influxd), on the path, or at one of the places.
func Program(t testing.TB, name string, places ...string) string {
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

// FreeAddress is a loopback address that nobody listens on, for a program that
// cannot say which port it chose. It lies below the ports that systems hand out
// (32768 and up on Linux, 49152 by IANA), so that no connection of another test
// takes it meanwhile.
func FreeAddress(t testing.TB) string {
	t.Helper()
	const first, ports, tries = 20000, 12000, 100
	for range tries {
		address := net.JoinHostPort("127.0.0.1", strconv.Itoa(first+rand.IntN(ports)))
		if l, err := net.Listen("tcp", address); err == nil {
			_ = l.Close()
			return address
		}
	}
	require.FailNow(t, "no free port")
	return ""
}

// Listening waits until something takes connections at an address.
func Listening(t testing.TB, address string, log *Log) {
	t.Helper()
	require.Eventually(t, func() bool {
		c, err := net.DialTimeout("tcp", address, time.Second)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, patience, pollIt, "nobody listens at %s: %s", address, log)
}

// Start runs a program until the end of the test.
func Start(t testing.TB, program string, args ...string) *Log {
	t.Helper()
	log := &Log{}
	cmd := exec.Command(program, args...)
	cmd.Stdout, cmd.Stderr = log, log
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return log
}

// Ready waits until a URL answers with 200.
func Ready(t testing.TB, url string, log *Log) {
	t.Helper()
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	require.Eventually(t, func() bool {
		r, err := client.Get(url)
		if err != nil {
			return false
		}
		_ = r.Body.Close()
		return r.StatusCode == http.StatusOK
	}, patience, pollIt, "%s does not answer: %s", url, log)
}

// Log keeps what a program prints. It is safe for concurrent use.
type Log struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *Log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

// String is what was printed so far.
func (l *Log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}
