package journal

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/model"
)

func checkpoint(n int) *Checkpoint {
	return &Checkpoint{Name: "core", Seq: int64(n), At: start.Add(time.Duration(n) * time.Hour), Blob: []byte(fmt.Sprint("state ", n))}
}

func TestCheckpoints(t *testing.T) {
	j := openTest(t, Options{})
	_, ok, err := j.Checkpoint(t.Context(), "core")
	require.NoError(t, err)
	assert.False(t, ok, "there is none")
	for n := 1; n <= 4; n++ {
		require.NoError(t, j.Commit(t.Context(), Update{Checkpoint: checkpoint(n)}))
	}
	require.NoError(t, j.Commit(t.Context(), Update{Checkpoint: &Checkpoint{Name: "other", Seq: 1, At: start}}))
	j = reopen(t, j)

	expect := func(n int) {
		t.Helper()
		got, ok, err := j.Checkpoint(t.Context(), "core")
		require.NoError(t, err)
		require.Equal(t, n > 0, ok)
		if n > 0 {
			assert.Equal(t, *checkpoint(n), got)
		}
	}
	expect(4)
	tamper(t, j, `UPDATE checkpoints SET blob = CAST('state 5' AS BLOB) WHERE seq = 4`)
	expect(3)
	tamper(t, j, `UPDATE checkpoints SET seq = 9 WHERE seq = 3`)
	expect(0)
	var n int
	require.NoError(t, j.read.QueryRow(`SELECT count(*) FROM checkpoints WHERE name = 'core'`).Scan(&n))
	assert.Equal(t, kept, n)
}

func TestCursors(t *testing.T) {
	j := openTest(t, Options{})
	at, err := j.Cursor(t.Context(), "influxdb")
	require.NoError(t, err)
	assert.Zero(t, at)
	require.NoError(t, j.SetCursor(t.Context(), "influxdb", 12))
	require.NoError(t, j.SetCursor(t.Context(), "influxdb", 15))
	j = reopen(t, j)
	at, err = j.Cursor(t.Context(), "influxdb")
	require.NoError(t, err)
	assert.EqualValues(t, 15, at)
}

func transition(n int, kind model.Change) model.Transition {
	return model.Transition{
		Time: start.Add(time.Duration(n) * time.Hour), Occurrence: fmt.Sprint("o", n), Condition: "bag-dry",
		Subject: model.BagSubject("a4"), Kind: kind, Priority: model.PriorityHigh, Since: start,
		Message: model.Message{Headline: "Bag a4 is dry", Action: "Look at its wicks."},
	}
}

func TestAStepTakenAgainChangesNothing(t *testing.T) {
	j := openTest(t, Options{})
	step := Update{
		Checkpoint:  checkpoint(1),
		Transitions: []model.Transition{transition(1, model.Raised), transition(2, model.Cleared)},
		Estimates:   []Estimate{{At: start, Kind: "bag", ID: "a4", Body: []byte(`{"v":1}`)}, {At: start, Kind: "bag", ID: "b1", Body: []byte(`{"v":2}`)}},
		Outbox:      []Message{{Key: "o1/raised", Recipient: "phone", Body: []byte("text"), Created: start}},
	}
	for range 2 {
		require.NoError(t, j.Commit(t.Context(), step))
	}
	history, err := j.Transitions(t.Context(), History{})
	require.NoError(t, err)
	assert.Equal(t, []model.Transition{step.Transitions[1], step.Transitions[0]}, history, "newest first")
	history, err = j.Transitions(t.Context(), History{From: start.Add(90 * time.Minute), Subject: "bag/a4", Limit: 5})
	require.NoError(t, err)
	assert.Len(t, history, 1)
	history, err = j.Transitions(t.Context(), History{Subject: "bag/b1"})
	require.NoError(t, err)
	assert.Empty(t, history)

	estimates, err := j.Estimates(t.Context(), 0, 10)
	require.NoError(t, err)
	require.Len(t, estimates, 2)
	assert.Equal(t, "b1", estimates[1].ID)
	rest, err := j.Estimates(t.Context(), estimates[0].Seq, 10)
	require.NoError(t, err)
	assert.Equal(t, estimates[1:], rest)
	pending, since, err := j.PendingEstimates(t.Context(), estimates[0].Seq)
	require.NoError(t, err)
	assert.EqualValues(t, 1, pending)
	assert.Equal(t, start, since)

	due, err := j.Due(t.Context(), start, 10)
	require.NoError(t, err)
	require.Len(t, due, 1)
	require.NoError(t, j.MarkSent(t.Context(), due[0].ID, start))
	require.NoError(t, j.Commit(t.Context(), step))
	due, err = j.Due(t.Context(), start.Add(time.Hour), 10)
	require.NoError(t, err)
	assert.Empty(t, due, "what was sent is not owed again")
}

func TestOutbox(t *testing.T) {
	j := openTest(t, Options{})
	var list []Message
	for n := range 4 {
		list = append(list, Message{Key: fmt.Sprint(n), Recipient: "phone", Body: []byte("text"), Created: start, NotBefore: start.Add(time.Duration(n) * time.Minute)})
	}
	require.NoError(t, j.Commit(t.Context(), Update{Outbox: list}))
	due := func(at time.Time) (keys []string) {
		t.Helper()
		owed, err := j.Due(t.Context(), at, 10)
		require.NoError(t, err)
		for _, o := range owed {
			keys = append(keys, o.Key)
		}
		return keys
	}
	assert.Equal(t, []string{"0", "1"}, due(start.Add(time.Minute)))
	require.NoError(t, j.MarkSent(t.Context(), 1, start))
	require.NoError(t, j.MarkFailed(t.Context(), 2, "no route", start.Add(time.Hour)))
	require.NoError(t, j.Drop(t.Context(), 3, "recipient unknown", start))
	j = reopen(t, j)
	assert.Equal(t, []string{"3"}, due(start.Add(59*time.Minute)))
	assert.Equal(t, []string{"1", "3"}, due(start.Add(time.Hour)))
	stats, err := j.Stats(t.Context())
	require.NoError(t, err)
	assert.EqualValues(t, 2, stats.OutboxOwed)
	assert.Equal(t, "no route", stats.OldestReason)
	owedList, err := j.Due(t.Context(), start.Add(time.Hour), 1)
	require.NoError(t, err)
	assert.Equal(t, 1, owedList[0].Attempts)
}

func TestSettle(t *testing.T) {
	j := openTest(t, Options{})
	appendAll(t, j, entries(0, 2))
	list := entries(2, 3)
	for i := range list {
		list[i].Held, list[i].Readings = true, nil
	}
	got := appendAll(t, j, list[:2])
	assert.Equal(t, []ingest.Appended{{Seq: 3, Backlog: 3}, {Seq: 4, Backlog: 3}}, got)
	j = reopen(t, j)
	got = appendAll(t, j, list[2:])
	assert.Equal(t, []ingest.Appended{{Seq: 5, Backlog: 3}}, got, "continued after a restart")
	assert.Len(t, readAll(t, j), 2, "not read before it is settled")
	open, err := j.Unsettled(t.Context())
	require.NoError(t, err)
	require.Len(t, open, 3)

	var asked []int64
	decode := func(m ingest.Message) ([]model.Reading, []ingest.Refusal) {
		asked = append(asked, int64(m.Arrived.Sub(start)/time.Minute)+1)
		return []model.Reading{{Sensor: "bag/a4/moisture", Time: m.Time(), Value: 0.5, Verdict: model.Good, Reconstructed: true}}, nil
	}
	places := []ingest.Placement{{Seq: 4, Taken: start}, {Seq: 3}, {Seq: 5, Taken: start.Add(time.Second)}}
	assert.Error(t, j.Settle(t.Context(), 3, places[:2], decode), "a row without a place would be lost")
	assert.Error(t, j.Settle(t.Context(), 3, append(places[:2:2], ingest.Placement{Seq: 1}), decode))
	asked = nil
	require.NoError(t, j.Settle(t.Context(), 3, places, decode))
	assert.Equal(t, []int64{4, 3, 5}, asked, "decoded in the order of handing on")

	j = reopen(t, j)
	all := readAll(t, j)
	require.Len(t, all, 5)
	assert.Equal(t, []int64{2, 1, 3}, []int64{all[2].Place, all[3].Place, all[4].Place})
	assert.Zero(t, all[2].Message.Taken)
	assert.Equal(t, start, all[3].Readings[0].Time)
	fetched, err := j.Fetch(t.Context(), []int64{4, 3, 5})
	require.NoError(t, err)
	assert.Equal(t, []ingest.Record{all[3], all[2], all[4]}, fetched)
	list[0].Held = true
	assert.Equal(t, []ingest.Appended{{Seq: 6, Backlog: 6}}, appendAll(t, j, list[:1]), "another backlog")
}

// What is owed is counted by recipient; since when and why is that of what was
// tried and not delivered.
func TestOwing(t *testing.T) {
	j := openTest(t, Options{})
	none, err := j.Owing(t.Context())
	require.NoError(t, err)
	assert.Empty(t, none)
	var list []Message
	for n, to := range []string{"phone", "mail", "phone", "phone", "deputy"} {
		list = append(list, Message{Key: fmt.Sprint(n), Recipient: to, Created: start.Add(time.Duration(n) * time.Minute)})
	}
	require.NoError(t, j.Commit(t.Context(), Update{Outbox: list}))
	require.NoError(t, j.MarkFailed(t.Context(), 1, "timeout", start))
	require.NoError(t, j.MarkFailed(t.Context(), 3, "refused", start))
	require.NoError(t, j.MarkSent(t.Context(), 5, start))
	owing, err := j.Owing(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []Owing{
		{Recipient: "mail", Messages: 1},
		{Recipient: "phone", Messages: 3, Failed: 2, Since: start, Reason: "refused"},
	}, owing)
}
