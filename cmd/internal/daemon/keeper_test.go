package daemon

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/cmd/internal/config"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
	"wickd/model/design"
)

// checkpoints keeps the checkpoints that were committed.
type checkpoints struct{ seqs []int64 }

func (c *checkpoints) Commit(_ context.Context, u journal.Update) error {
	if u.Checkpoint != nil {
		c.seqs = append(c.seqs, u.Checkpoint.Seq)
	}
	return nil
}

// In the midst of a backlog no checkpoint is taken, neither for a person's act
// nor at the end: the next start would take the first part in twice.
func TestNoCheckpointInTheMidstOfABacklog(t *testing.T) {
	t.Parallel()
	file, err := os.ReadFile("testdata/bench.yaml")
	require.NoError(t, err)
	c, err := config.Parse(filepath.Join(t.TempDir(), "site.yaml"), append(file, "\nmqtt: {embedded: {listen: \"127.0.0.1:0\"}}\n"...))
	require.NoError(t, err)
	physics, err := design.Build(c.Site)
	require.NoError(t, err)
	kept := &checkpoints{}
	k := &keeper{store: kept, log: slog.New(slog.DiscardHandler)}
	d := &Daemon{o: Options{Config: c, Log: k.log}, keeper: k}
	k.core, err = NewCore(d.coreOptions(physics))
	require.NoError(t, err)

	at := time.Date(2026, 6, 8, 12, 0, 0, 0, time.UTC)
	batch := func(seq, through int64) ingest.Batch {
		m := ingest.Message{Arrived: at, Taken: at.Add(time.Duration(seq) * time.Second), Topic: "bench/p1/moisture"}
		r := ingest.Record{Seq: seq, Message: m, Readings: []model.Reading{{Sensor: "bag/p1/moisture", Time: m.Taken, Value: 0.5, Verdict: model.Good}}}
		return ingest.Batch{Events: []ingest.Event{{At: at, Record: &r}}, Through: through}
	}
	nothing := func(*alerts.Engine) ([]model.Transition, error) { return nil, nil }
	require.NoError(t, k.Accept(t.Context(), batch(1, 0)))
	require.NoError(t, k.act(t.Context(), nothing))
	require.NoError(t, k.finish(t.Context()))
	assert.Empty(t, kept.seqs)
	require.NoError(t, k.Accept(t.Context(), batch(2, 2)))
	require.NoError(t, k.act(t.Context(), nothing))
	require.NotEmpty(t, kept.seqs)
	for _, seq := range kept.seqs {
		assert.EqualValues(t, 2, seq)
	}

	ended, cancel := context.WithCancel(t.Context())
	cancel()
	before := len(kept.seqs)
	require.ErrorIs(t, k.Accept(ended, batch(3, 3)), context.Canceled)
	require.NoError(t, k.finish(t.Context()))
	assert.Equal(t, []int64{2}, kept.seqs[before:], "the last whole one")
}
