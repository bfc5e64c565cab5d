package ingest_test

import (
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
)

// outage lets time pass in which nobody listens.
func (r *rig) outage(d time.Duration) {
	r.t.Helper()
	from := r.clock()
	r.advance(d)
	require.NoError(r.t, r.pipe.Gap(r.t.Context(), ingest.Gap{From: from, To: r.clock()}))
}

func (r *rig) tick() {
	r.t.Helper()
	r.advance(time.Second)
	require.NoError(r.t, r.pipe.Tick(r.t.Context()))
}

// The core hears of a gap when it ends and not when the next message comes: a
// tick in between would have it take the outage for silence. Several gaps with
// no message between them are all recorded on the next.
func TestAGapIsHandedOnWhenItEnds(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, nil)
	r.send("yard/a", "1")
	for range 3 {
		r.outage(time.Minute)
		r.tick()
	}
	require.Eventually(t, func() bool { return r.sink.count() == 7 }, 5*time.Second, time.Millisecond, "a message, and a gap and a tick three times")
	assert.NotNil(t, r.sink.events[1].Gap)
	assert.Nil(t, r.sink.events[2].Gap)
	r.send("yard/a", "2")
	r.drain()
	require.Len(t, records(r.sink.events), 2)
	assert.Len(t, records(r.sink.events)[1].Gaps, 3)
	assert.Equal(t, tell(r.sink.events), tell(recovered(t, dir, 0)), "restart")
	assert.Equal(t, tell(r.sink.events), tell(replayed(t, dir)), "export and replay")
}

// A gap cannot reach back before what was handed on already: a replay could
// not tell.
func TestAGapBeginsAfterTheLastEvent(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, nil)
	r.send("yard/a", "1")
	r.tick()
	last := r.clock()
	r.advance(time.Minute)
	require.NoError(t, r.pipe.Gap(t.Context(), ingest.Gap{From: start.Add(-time.Hour), To: r.clock()}))
	r.send("yard/a", "2")
	r.drain()
	assert.Equal(t, []ingest.Gap{{From: last, To: last.Add(time.Minute)}}, records(r.sink.events)[1].Gaps)
}

// A connection that breaks while the broker hands over its queue: the gaps go
// before the backlog if one of its rows records them, after it otherwise, as a
// replay has it.
func TestAGapInABacklog(t *testing.T) {
	for name, more := range map[string]bool{"and more of the queue after it": true, "and nothing after it": false} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			r := newRig(t, dir, start, journal.Hooks{}, nil)
			r.send("yard/a", "1")
			r.outage(time.Hour)
			r.send("yard/a", "2")
			r.send("yard/a", "3")
			r.outage(500 * time.Millisecond)
			r.tick()
			if more {
				r.send("yard/a", "4")
			}
			r.advance(10 * time.Second)
			r.send("yard/b", "5")
			r.drain()
			live := tell(r.sink.events)
			require.Len(t, live, len(records(r.sink.events))+2, "two gaps")
			assert.Equal(t, live, tell(recovered(t, dir, 0)), "restart")
			assert.Equal(t, live, tell(replayed(t, dir)), "export and replay")
		})
	}
}

// What a former run was told of, and no message recorded, the next one records.
func TestGapsOfAFormerRunAreRecorded(t *testing.T) {
	before := ingest.Gap{From: start.Add(-time.Hour), To: start.Add(-time.Minute)}
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, func(o *ingest.Options) { o.Gaps = []ingest.Gap{before} })
	r.send("yard/a", "1")
	r.drain()
	assert.Equal(t, []ingest.Gap{before}, records(r.sink.events)[0].Gaps)
}

// A daemon that ended in the midst of a queue, with a gap that no message records
// yet, goes on with the queue; the gap is recorded by what comes after.
func TestAnOlderGapBesideABacklogThatGoesOn(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, nil)
	r.send("yard/a", "1")
	r.outage(time.Hour)
	r.send("yard/a", "2")
	r.send("yard/a", "3")
	r.drain()
	older := ingest.Gap{From: r.clock(), To: r.clock().Add(time.Minute)}
	r = newRig(t, dir, r.clock().Add(time.Minute), journal.Hooks{}, func(o *ingest.Options) { o.Gaps = []ingest.Gap{older} })
	require.EqualValues(t, 2, r.pipe.Stats().Held, "the queue goes on")
	r.advance(10 * time.Second)
	require.Eventually(t, func() bool { return r.pipe.Stats().Held == 0 }, 10*time.Second, 10*time.Millisecond)
	r.send("yard/a", "4")
	r.drain()
	got := records(r.sink.events)
	require.Len(t, got, 3)
	assert.Equal(t, []ingest.Gap{older}, got[2].Gaps)
}

// While the connection is down for a minute in the midst of a queue, the
// backlog waits for the rest and lays it all out together.
func TestABacklogWaitsForTheConnection(t *testing.T) {
	dir := t.TempDir()
	var listening atomic.Bool
	listening.Store(true)
	r := newRig(t, dir, start, journal.Hooks{}, func(o *ingest.Options) { o.Listening = listening.Load })
	for range 4 { // once a minute is usual
		r.advance(time.Minute)
		r.send("yard/a", "1")
	}
	r.outage(time.Hour)
	r.send("yard/a", "2")
	r.send("yard/a", "3")
	listening.Store(false)
	r.advance(30 * time.Second) // nothing comes, and it is not over
	require.Never(t, func() bool { return r.pipe.Stats().Held == 0 }, 600*time.Millisecond, 10*time.Millisecond)
	require.NoError(t, r.pipe.Gap(t.Context(), ingest.Gap{From: r.clock().Add(-30 * time.Second), To: r.clock()}))
	listening.Store(true)
	r.send("yard/a", "4")
	r.send("yard/a", "5")
	r.advance(10 * time.Second)
	require.Eventually(t, func() bool { return r.pipe.Stats().Held == 0 }, 10*time.Second, 10*time.Millisecond)
	assert.EqualValues(t, 4, r.pipe.Stats().Reconstructed, "one backlog, all of it laid out")
	r.drain()
	live := tell(r.sink.events)
	assert.Equal(t, live, tell(recovered(t, dir, 0)), "restart")
	assert.Equal(t, live, tell(replayed(t, dir)), "export and replay")
}

// A board without a clock of its own hears the time long after it was started:
// the months that its clock skips are no silence of the sensors, live, after a
// restart and in a replay.
func TestAClockThatIsSetAheadLeavesAGap(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, func(o *ingest.Options) {
		o.Elapsed = func(from, to time.Time) time.Duration { return min(to.Sub(from), time.Second) }
	})
	r.send("yard/a", "1")
	r.tick()
	before := r.clock()
	r.advance(90 * 24 * time.Hour)
	r.send("yard/a", "2")
	r.tick()
	r.advance(8 * time.Second) // a step that a time server takes
	r.send("yard/a", "3")
	r.drain()
	var gaps []ingest.Gap
	for i, e := range r.sink.events {
		if e.Gap != nil {
			gaps = append(gaps, *e.Gap)
			assert.Nil(t, r.sink.events[i-1].Record, "after the tick before it")
			require.NotNil(t, r.sink.events[i+1].Record)
			assert.Equal(t, "2", string(r.sink.events[i+1].Record.Message.Payload))
		}
	}
	assert.Equal(t, []ingest.Gap{{From: before, To: before.Add(90*24*time.Hour + time.Millisecond)}}, gaps)
	assert.Equal(t, tell(r.sink.events), tell(recovered(t, dir, 0)), "restart")
	assert.Equal(t, tell(r.sink.events), tell(replayed(t, dir)), "export and replay")
}
