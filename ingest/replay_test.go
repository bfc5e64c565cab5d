package ingest_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/ingest/journal"
)

// recovered is what a restart is told, from a Seq on.
func recovered(t *testing.T, dir string, after int64) []ingest.Event {
	t.Helper()
	j, err := journal.OpenReadOnly(dir)
	require.NoError(t, err)
	defer j.Close(t.Context())
	sink := &shelf{}
	_, err = ingest.Recover(t.Context(), j, after, sink)
	require.NoError(t, err)
	return sink.events
}

// exported writes a capture and replays it.
func replayed(t *testing.T, dir string) []ingest.Event {
	t.Helper()
	j, err := journal.OpenReadOnly(dir)
	require.NoError(t, err)
	defer j.Close(t.Context())
	var file bytes.Buffer
	w := capture.NewWriter(&file)
	require.NoError(t, j.Each(t.Context(), time.Time{}, time.Time{}, w.Write))
	require.NoError(t, w.Flush())

	r, err := capture.NewReader("export", &file)
	require.NoError(t, err)
	sink := &shelf{}
	require.NoError(t, ingest.Replay(t.Context(), func() (ingest.Record, bool, error) {
		rec, err := r.Next()
		if errors.Is(err, io.EOF) {
			return rec, false, nil
		}
		return rec, err == nil, err
	}, &bench{}, sink))
	return sink.events
}

// day is an eventful one: normal flow, an outage with a backlog, messages with
// times of their own and poison in it, and normal flow again.
func day(r *rig) {
	for i := range 5 {
		r.advance(10 * time.Minute)
		r.send("yard/a", fmt.Sprint(50+i))
		r.send("yard/b", fmt.Sprint(40+i))
		require.NoError(r.t, r.pipe.Tick(r.t.Context()))
	}
	from := r.clock()
	r.advance(65 * time.Minute)
	require.NoError(r.t, r.pipe.Gap(r.t.Context(), ingest.Gap{From: from, To: r.clock()}))
	for i := range 6 {
		r.send("yard/a", fmt.Sprint(60+i))
		if i == 3 {
			r.send("yard/b", "wet")
			r.send("yard/own", from.Add(7*time.Minute).Format(time.RFC3339)+"|7")
			require.NoError(r.t, r.pipe.Tick(r.t.Context()))
		}
		r.send("yard/b", fmt.Sprint(70+i))
	}
	r.advance(2 * time.Second)
	r.send("yard/a", "66")
	r.advance(10 * time.Minute)
	r.send("yard/b", "76")
}

func TestLiveRestartAndReplayTellTheSame(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, func(o *ingest.Options) { o.MaxBatch = 4 })
	day(r)
	r.drain()
	live := tell(r.sink.events)

	got := records(r.sink.events)
	require.Len(t, got, 26)
	marked := 0
	for i, rec := range got {
		for _, reading := range rec.Readings {
			if reading.Reconstructed {
				marked++
			}
		}
		if i > 10 && i < 24 {
			assert.False(t, sortTime(got[i]).Before(sortTime(got[i-1])), "the backlog is handed on in order of time")
		}
	}
	assert.Equal(t, 12, marked, "what came without a time is marked")
	assert.EqualValues(t, 13, r.pipe.Stats().Reconstructed, "and what gave no reading was laid out too")
	assert.Contains(t, live[10], "gap 06:50:00–07:55:00")

	assert.Equal(t, live, tell(recovered(t, dir, 0)), "restart")
	assert.Equal(t, live, tell(replayed(t, dir)), "export and replay")

	for i, mark := range r.sink.marks {
		if mark == 0 {
			continue
		}
		n := 0
		for _, rec := range records(r.sink.events) {
			if rec.Seq > mark {
				n++
			}
		}
		assert.Len(t, records(recovered(t, dir, mark)), n, "a checkpoint after batch %d", i)
	}
}

func sortTime(r ingest.Record) time.Time {
	if len(r.Readings) > 0 {
		return r.Readings[0].Time
	}
	return r.Message.Time()
}

func TestABacklogCutByACrashIsContinued(t *testing.T) {
	whole := t.TempDir()
	r := newRig(t, whole, start, journal.Hooks{}, nil)
	day(r)
	r.drain()

	// The same day, but the process ends after each message of the backlog in
	// turn and is started again at once.
	for cut := range 13 {
		dir := t.TempDir()
		r := newRig(t, dir, start, journal.Hooks{}, nil)
		n, from := 0, time.Time{}
		crash := func() {
			if n++; n != cut {
				return
			}
			now := r.clock()
			r.kill()
			events := r.sink.events // of what has ended: nobody writes any more
			r = newRig(t, dir, now, journal.Hooks{}, nil)
			r.sink.events = events
		}
		for i := range 5 {
			r.advance(10 * time.Minute)
			r.send("yard/a", fmt.Sprint(50+i))
		}
		from = r.clock()
		r.advance(65 * time.Minute)
		require.NoError(t, r.pipe.Gap(t.Context(), ingest.Gap{From: from, To: r.clock()}))
		for i := range 12 {
			r.send("yard/a", fmt.Sprint(60+i))
			crash()
		}
		r.advance(2 * time.Second)
		r.send("yard/b", "1")
		r.drain()
		live := records(r.sink.events)
		require.Len(t, live, 18, "cut after %d: nothing lost, nothing twice", cut)
		for i, rec := range live[5:17] {
			require.True(t, rec.Readings[0].Reconstructed)
			truth := from.Add(time.Duration(i+1) * 65 * time.Minute / 12)
			require.WithinDuration(t, truth, rec.Readings[0].Time, 5*time.Minute, "cut after %d", cut)
		}
		require.Equal(t, tell(r.sink.events), tell(replayed(t, dir)), "cut after %d", cut)
	}
}

func TestABacklogIsNotHandedOnBeforeItIsComplete(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, nil)
	r.send("yard/a", "1")
	require.NoError(t, r.pipe.Gap(t.Context(), ingest.Gap{From: r.clock(), To: r.clock().Add(time.Hour)}))
	r.advance(time.Hour)
	for range 5 {
		r.send("yard/a", "2") // returns: acked
	}
	assert.Len(t, records(r.sink.events), 1)
	require.Eventually(t, func() bool { return r.pipe.Stats().Held == 5 }, 5*time.Second, time.Millisecond)
	r.advance(2 * time.Second)
	require.NoError(t, r.pipe.Tick(t.Context()))
	require.Eventually(t, func() bool { return r.sink.count() == 8 }, 5*time.Second, time.Millisecond, "gap, 6 messages, tick")
	last := r.sink.events[7]
	assert.Nil(t, last.Record)
	assert.True(t, last.At.After(r.sink.events[6].At))
	r.drain()
}

func TestAnOpenBacklogEndsWithoutFurtherMessages(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, nil)
	require.NoError(t, r.pipe.Gap(t.Context(), ingest.Gap{From: start.Add(-time.Hour), To: start}))
	r.send("yard/a", "1")
	r.send("yard/a", "2")
	r.advance(5 * time.Second)
	require.Eventually(t, func() bool { return r.sink.count() == 3 }, 5*time.Second, time.Millisecond)
	r.drain()
}
