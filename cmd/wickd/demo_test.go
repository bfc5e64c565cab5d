package main

import (
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demo shows an alert with its cause, ends well at Ctrl-C and leaves
// nothing behind.
func TestDemoShowsAnAlertWithItsCause(t *testing.T) {
	t.Parallel()
	scratch := t.TempDir()
	p := demo(t, scratch, "--speed", "7200")
	require.Eventually(t, func() bool { return strings.Contains(p.out.String(), "cause: wick-") }, patience, pollIt, "no alert\n%s%s", p.err, p.out)
	p.signal(syscall.SIGINT)
	code, took := p.wait()
	assert.Equal(t, exitDone, code, "%s", p.err)
	assert.Less(t, took, promised)
	assert.Contains(t, p.out.String(), "Kestrel Yard, simulated: 12 bags over 3 channels")
	assert.Contains(t, p.out.String(), "bag p2")
	assert.Contains(t, p.out.String(), "The end: ")
	assert.Empty(t, p.err.String(), "nothing went wrong")
	requireEmpty(t, scratch)
}

func TestDemoEndsWhenItsTimeIsOver(t *testing.T) {
	t.Parallel()
	scratch := t.TempDir()
	began := time.Now()
	p := demo(t, scratch, "--for", "2s")
	p.eventually(func() bool { return strings.Contains(p.out.String(), "/metrics") }, "the demo does not begin")
	code, _ := p.wait()
	assert.Equal(t, exitDone, code, "%s", p.err)
	assert.GreaterOrEqual(t, time.Since(began), 2*time.Second)
	assert.Empty(t, p.err.String())
	requireEmpty(t, scratch)
}

func TestDemoStopsAtOnceAtTheSecondSignal(t *testing.T) {
	t.Parallel()
	scratch := t.TempDir()
	p := demo(t, scratch)
	p.eventually(func() bool { return strings.Contains(p.out.String(), "/metrics") }, "the demo does not begin")
	p.signal(syscall.SIGINT)
	p.signal(syscall.SIGINT)
	_, took := p.wait()
	assert.Less(t, took, promised)
	requireEmpty(t, scratch)
}

func demo(t *testing.T, scratch string, args ...string) *process {
	t.Helper()
	p := prepare(t, append([]string{"demo", "--listen", "127.0.0.1:0"}, args...)...)
	p.cmd.Env = append(os.Environ(), "TMPDIR="+scratch)
	p.start()
	return p
}

func requireEmpty(t *testing.T, dir string) {
	t.Helper()
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left, "left behind")
}
