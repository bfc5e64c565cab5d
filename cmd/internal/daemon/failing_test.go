package daemon

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/ingest"
	"wickd/ingest/journal"
)

// broken is a journal that cannot keep what the core finds.
type broken struct{}

func (broken) Commit(context.Context, journal.Update) error { return errors.New("disk on fire") }

// When what the core found cannot be kept, the daemon ends in time and says
// why: the service manager starts it again from what was kept.
func TestAFailingJournalEndsTheDaemon(t *testing.T) {
	t.Parallel()
	file, err := os.ReadFile("testdata/bench.yaml")
	require.NoError(t, err)
	c, err := config.Parse(filepath.Join(t.TempDir(), "site.yaml"), append(file, "\nmqtt: {embedded: {listen: \"127.0.0.1:0\"}}\n"...))
	require.NoError(t, err)
	d, err := New(Options{Config: c, Data: t.TempDir(), Listen: "127.0.0.1:0", TickEvery: time.Millisecond, WatchEvery: time.Millisecond})
	require.NoError(t, err)
	d.keeper.store = broken{}
	done := make(chan error, 1)
	go func() { done <- d.Run(t.Context()) }()
	<-d.pipeline.Ready()
	require.NoError(t, d.pipeline.SubmitWait(t.Context(), ingest.Message{Topic: "bench/p1/moisture", Payload: []byte("9.5"), QoS: 1}))
	select {
	case err := <-done:
		assert.ErrorContains(t, err, "disk on fire")
	case <-time.After(30 * time.Second):
		require.FailNow(t, "the daemon goes on")
	}
	assert.False(t, d.Alive())
	assert.Error(t, d.ready())
}

// Steps are taken in order, whatever the ones before did, and all of them
// within one deadline.
func TestTeardown(t *testing.T) {
	t.Parallel()
	var order []string
	took := func(name string, err error) step {
		return step{name, func(context.Context) error { order = append(order, name); return err }}
	}
	stuck := step{"stuck", func(ctx context.Context) error {
		order = append(order, "stuck")
		<-ctx.Done()
		return context.Cause(ctx)
	}}
	err := teardown(slog.New(slog.DiscardHandler), 20*time.Millisecond, []step{
		took("first", nil), took("second", errors.New("no luck")), stuck, took("last", nil),
	})
	assert.Equal(t, []string{"first", "second", "stuck", "last"}, order)
	assert.ErrorContains(t, err, "second: no luck")
	assert.ErrorContains(t, err, "stuck: ")
	assert.NotContains(t, err.Error(), "first")
}

// A part that ends by itself with an error ends the rest; one that was asked to
// stop does not count as failed.
func TestParts(t *testing.T) {
	t.Parallel()
	p := newParts(slog.New(slog.DiscardHandler))
	waits := p.start("waits", func(ctx context.Context) error {
		<-ctx.Done()
		return ctx.Err()
	})
	p.start("fails", func(context.Context) error { return errors.New("broken") })
	assert.EqualError(t, <-p.failed, "fails: broken")
	assert.NoError(t, waits.end(t.Context()))

	release := make(chan struct{})
	deaf := p.start("deaf", func(context.Context) error { <-release; return nil })
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	assert.EqualError(t, deaf.end(ctx), "deaf: did not stop in time")
	close(release)
	assert.NoError(t, deaf.wait(t.Context()))
}
