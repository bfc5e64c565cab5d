package journal

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func TestPruneKeepsWhatIsNeeded(t *testing.T) {
	tests := map[string]struct {
		need  func(j *Journal) error
		first int64 // the first row that stays
	}{
		"nothing needs it": {func(*Journal) error { return nil }, 61},
		"a cursor behind":  {func(j *Journal) error { return j.SetCursor(context.Background(), "influxdb", 20) }, 21},
		"a cursor at the start": {func(j *Journal) error {
			return j.SetCursor(context.Background(), "influxdb", 0)
		}, 1},
		"a cursor ahead": {func(j *Journal) error { return j.SetCursor(context.Background(), "influxdb", 90) }, 61},
		"the older checkpoint": {func(j *Journal) error {
			return j.Commit(context.Background(), Update{Checkpoint: checkpoint(30)})
		}, 31},
		"a checkpoint that rests on no message": {func(j *Journal) error {
			c := checkpoint(0)
			return j.Commit(context.Background(), Update{Checkpoint: c})
		}, 61},
		"a cursor that was dropped": {func(j *Journal) error {
			if err := j.SetCursor(context.Background(), "gone", 3); err != nil {
				return err
			}
			return j.DropCursor(context.Background(), "gone")
		}, 61},
		"a cursor of estimates does not count": {func(j *Journal) error {
			return j.SetCursor(context.Background(), EstimatesCursor+"influxdb", 1)
		}, 61},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			j := openTest(t, Options{})
			appendAll(t, j, entries(0, 100))
			require.NoError(t, tt.need(j))
			n, err := j.Prune(t.Context(), start.Add(60*time.Minute))
			require.NoError(t, err)
			assert.Equal(t, tt.first-1, n)
			got := readAll(t, j)
			require.NotEmpty(t, got)
			assert.Equal(t, tt.first, got[0].Seq)
			assert.EqualValues(t, 100, got[len(got)-1].Seq)
			var orphans int
			require.NoError(t, j.read.QueryRow(`SELECT count(*) FROM readings WHERE seq < ?`, tt.first).Scan(&orphans))
			assert.Zero(t, orphans)
		})
	}
}

func TestPruneEverythingKeepsTheNewestAndItsSeq(t *testing.T) {
	j := openTest(t, Options{})
	appendAll(t, j, entries(0, 2100))
	require.NoError(t, j.Commit(t.Context(), Update{
		Transitions: []model.Transition{transition(1, model.Raised)},
		Estimates:   []Estimate{{At: start, Kind: "bag", ID: "a4"}},
		Outbox:      []Message{{Key: "1", Created: start}, {Key: "2", Created: start}},
	}))
	require.NoError(t, j.MarkSent(t.Context(), 1, start))
	n, err := j.Prune(t.Context(), start.AddDate(1, 0, 0))
	require.NoError(t, err)
	assert.EqualValues(t, 2099, n)
	j = reopen(t, j)
	assert.EqualValues(t, 2101, appendAll(t, j, entries(2100, 1))[0].Seq)
	last, err := j.LastReadings(t.Context())
	require.NoError(t, err)
	assert.Len(t, last, 1)
	history, err := j.Transitions(t.Context(), History{})
	require.NoError(t, err)
	assert.Empty(t, history)
	estimates, err := j.Estimates(t.Context(), 0, 1)
	require.NoError(t, err)
	assert.Empty(t, estimates)
	due, err := j.Due(t.Context(), start, 10)
	require.NoError(t, err)
	assert.Len(t, due, 1, "what is owed stays")
}
