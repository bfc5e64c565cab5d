package main

import (
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
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
	assert.Regexp(t, `The end: [\d.]+ hours? of the yard's time, 0 alerts raised\.\nThe wicks of bag p2 lose contact after 9\.5 hours`, p.out.String())
	assert.Empty(t, p.err.String())
	requireEmpty(t, scratch)
}

// A demo that is over before its alert says how far it came, and why no farther.
func TestDemoSaysWhatItDidNotReach(t *testing.T) {
	t.Parallel()
	told := func(passed, took time.Duration, seen ...model.Transition) string {
		var out strings.Builder
		s := newScreen(&out, &model.Site{TimeZone: time.UTC})
		s.alerts(seen)
		out.Reset()
		s.end(passed, took, 3600)
		return strings.Join(strings.Fields(out.String()), " ")
	}
	const ended = "The wicks of bag p2 lose contact after 9.5 hours, and wickd tells within some 6 hours more, when the plants have drunk: this demo ended before."
	assert.Equal(t, "The end: 10 hours of the yard's time, 0 alerts raised. "+ended+" Let it run on, or for longer with --for.", told(10*time.Hour, 10*time.Second))
	assert.NotContains(t, told(10*time.Minute, time.Second), "faster than life", "it had only begun")
	assert.Equal(t, "The end: 4.5 hours of the yard's time, 1 alert raised. "+ended+" This machine, with what else it does, came to 810 times faster than life, not 3600. Let it run on, or for longer with --for.",
		told(270*time.Minute, 20*time.Second, raisedAt("bag/p1", "bag-dry", time.Now())))
	assert.Equal(t, "The end: 17 hours of the yard's time, 1 alert raised.", told(17*time.Hour, 60*time.Second, raisedAt("bag/p2", "wick-failing", time.Now())))
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
