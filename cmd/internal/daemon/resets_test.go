package daemon_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
	"wickd/model/design"
)

// A counter begins anew with the process: what the estimator has counted in its life,
// which the checkpoint keeps, would look like as many restarts of it at every start.
func TestResetsAreCountedFromTheStart(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded)
	physics, err := design.Build(c.Site)
	require.NoError(t, err)
	core, err := daemon.NewCore(daemon.CoreOptions{Site: c.Site, Design: physics, Observer: silentObserver{}})
	require.NoError(t, err)
	for i, y := range []float64{0.5, 0.3} { // a bag that is not known yet: taken at its word
		at := start.Add(time.Duration(i-10) * 10 * time.Minute)
		core.Apply(ingest.Event{At: at, Record: &ingest.Record{Seq: int64(i + 1), Message: ingest.Message{Arrived: at}, Readings: []model.Reading{
			{Sensor: c.Site.Bags[0].Moisture.ID, Time: at, Value: y, Verdict: model.Good},
		}}})
	}
	core.Finish(start.Add(-time.Hour))
	require.Equal(t, 1, core.Resets())
	blob, err := core.Save()
	require.NoError(t, err)
	dir := t.TempDir()
	j, err := journal.Open(journal.Options{Dir: dir})
	require.NoError(t, err)
	require.NoError(t, j.Commit(t.Context(), journal.Update{Checkpoint: &journal.Checkpoint{Name: "core", At: core.Clock(), Blob: blob}}))
	require.NoError(t, j.Close(context.Background()))

	clock := &wall{now: start}
	d := run(t, daemon.Options{Config: c, Data: dir, Clock: clock.read})
	d.eventually(func() bool { return !strings.Contains(scrape(t, d), "wickd_journal_size_bytes 0\n") }, "it has not looked at itself")
	has(t, scrape(t, d), "wickd_filter_resets_total 0\n")
}
