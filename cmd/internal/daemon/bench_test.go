package daemon_test

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/model/sim"
)

// patience bounds every wait. It is long because the machine may be busy; a
// condition that comes true ends the wait at once.
const (
	patience = 30 * time.Second
	pollIt   = 5 * time.Millisecond
)

// start is a day on which the peppers of the bench are grown and thirsty.
var start = time.Date(2026, 6, 8, 0, 0, 0, 0, time.UTC)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

//go:embed testdata/bench.yaml
var benchFile string

// bench is the site of most tests, with further sections of its file.
func bench(t testing.TB, sections ...string) *config.Config {
	t.Helper()
	dir := t.TempDir() // where relative secrets are looked for: nothing is there
	c, err := config.Parse(dir+"/site.yaml", []byte(benchFile+"\n"+strings.Join(sections, "\n")))
	require.NoError(t, err)
	return c
}

const embedded = `mqtt: {embedded: {listen: "127.0.0.1:0"}}`

// secret writes a file that a site file can name.
func secret(t testing.TB, content string) (path string) {
	t.Helper()
	f, err := os.CreateTemp(t.TempDir(), "secret")
	require.NoError(t, err)
	defer f.Close()
	_, err = f.WriteString(content)
	require.NoError(t, err)
	return f.Name()
}

// wall is a clock that the test moves. It never stands still for long: the
// pipeline's own waits, for the end of a backlog, are measured on it.
type wall struct {
	mu  sync.Mutex
	now time.Time
}

func (w *wall) read() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

func (w *wall) set(t time.Time) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = t
}

func (w *wall) move(d time.Duration) { w.set(w.read().Add(d)) }

// logs keeps what a daemon logs.
type logs struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *logs) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *logs) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// running is a daemon under test.
type running struct {
	*daemon.Daemon
	t    testing.TB
	log  *logs
	stop context.CancelFunc
	done chan error
}

// run starts a real daemon on a free port. It is stopped at the end of the
// test, if the test has not done so.
func run(t testing.TB, o daemon.Options) *running {
	t.Helper()
	r := &running{t: t, log: &logs{}, done: make(chan error, 1)}
	if o.Data == "" {
		o.Data = t.TempDir()
	}
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	o.Log = slog.New(slog.NewTextHandler(r.log, nil))
	if o.TickEvery == 0 {
		o.TickEvery = 5 * time.Millisecond
	}
	o.WatchEvery = 100 * time.Millisecond
	d, err := daemon.New(o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	r.Daemon, r.stop = d, cancel
	go func() { r.done <- d.Run(ctx) }()
	t.Cleanup(func() {
		r.stop()
		if err, open := <-r.done; open {
			close(r.done)
			require.NoError(t, err, "%s", r.log)
		}
	})
	return r
}

// end stops the daemon as a signal would, and gives what Run returned.
func (r *running) end() error {
	r.stop()
	err := <-r.done
	close(r.done)
	return err
}

func (r *running) eventually(condition func() bool, what string, args ...any) {
	r.t.Helper()
	require.Eventually(r.t, condition, patience, pollIt, "%s\n%s", fmt.Sprintf(what, args...), r.log)
}

// simulated is the bench, played by the simulation.
func simulated(t testing.TB, c *config.Config, seed uint64, faults ...sim.Fault) *sim.Sim {
	t.Helper()
	s, err := sim.New(sim.Options{Site: c.Site, Seed: seed, Start: start, Faults: faults})
	require.NoError(t, err)
	return s
}

// recording is some days of the bench as a capture.
func recording(t testing.TB, c *config.Config, seed uint64, length time.Duration, faults ...sim.Fault) []byte {
	t.Helper()
	var out bytes.Buffer
	s := simulated(t, c, seed, faults...)
	for s.Now().Before(start.Add(length)) {
		_, messages := s.Advance()
		for i, m := range messages {
			at := m.Time.Add(time.Duration(i) * time.Millisecond)
			fmt.Fprintf(&out, `{"tst":%q,"topic":%q,"payload":%q}`+"\n", at.Format(time.RFC3339Nano), m.Topic, m.Payload)
		}
	}
	require.NoError(t, s.Err())
	return out.Bytes()
}

var _ io.Writer = (*logs)(nil)
