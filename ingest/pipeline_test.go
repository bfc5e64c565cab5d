package ingest_test

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

func TestAMessageIsJournalledThenAckedThenHandedOn(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, nil)
	acked := make(chan int64, 1)
	require.NoError(t, r.pipe.Submit(t.Context(), ingest.Message{Topic: "yard/a4/moisture", Payload: []byte("52.0")}, func() {
		seq, _, err := r.journal.Last(context.Background())
		assert.NoError(t, err)
		assert.Zero(t, r.sink.count(), "not handed on before the ack")
		acked <- seq
	}))
	assert.EqualValues(t, 1, <-acked, "on disk when it is acked")
	r.drain()
	require.Len(t, r.sink.events, 1)
	got := r.sink.events[0]
	assert.Equal(t, start, got.At)
	assert.Equal(t, []model.Reading{{Sensor: "yard/a4/moisture", Time: start, Value: 52, Verdict: model.Good}}, got.Record.Readings)
	assert.Equal(t, []int64{1}, r.sink.marks)
}

func TestPoisonIsRefusedAndTheFlowGoesOn(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, nil)
	for _, m := range [][2]string{{"other/x", "1"}, {"yard/a", "boom"}, {"yard/a", ""}, {"yard/a", "wet"}, {"yard/a", "51"}} {
		r.send(m[0], m[1])
	}
	r.drain()
	var reasons []ingest.Reason
	for _, rec := range records(r.sink.events) {
		for _, refusal := range rec.Refusals {
			reasons = append(reasons, refusal.Reason)
		}
	}
	assert.Equal(t, []ingest.Reason{"unknown-topic", ingest.ReasonDecoderFailed, ingest.ReasonNothingDecoded, "no-number"}, reasons)
	assert.Len(t, records(r.sink.events)[4].Readings, 1)
	assert.EqualValues(t, 4, r.pipe.Stats().Refused)
	assert.EqualValues(t, 5, r.pipe.Stats().Accepted)
}

func TestManySendersKeepTheOrderOfStampsAndAcks(t *testing.T) {
	r := newRig(t, t.TempDir(), start, journal.Hooks{}, func(o *ingest.Options) { o.MaxBatch = 7; o.MaxQueue = 3 })
	const senders, each = 8, 40
	var wg sync.WaitGroup
	for s := range senders {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range each {
				m := ingest.Message{Topic: fmt.Sprintf("yard/%d", s), Payload: []byte(strconv.Itoa(i))}
				assert.NoError(t, r.pipe.SubmitWait(context.Background(), m))
				assert.NoError(t, r.pipe.Tick(context.Background()))
			}
		}()
	}
	wg.Wait()
	r.drain()
	require.Len(t, r.sink.events, 2*senders*each)
	last, next := time.Time{}, map[string]int{}
	for _, e := range r.sink.events {
		require.True(t, e.At.After(last), "one rising order of messages and ticks")
		last = e.At
		if e.Record != nil {
			require.Equal(t, strconv.Itoa(next[e.Record.Message.Topic]), string(e.Record.Message.Payload))
			next[e.Record.Message.Topic]++
		}
	}
}

func TestAClockThatStepsBackIsHeld(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, nil)
	r.send("yard/a", "1")
	r.advance(-time.Hour)
	r.send("yard/a", "2")
	assert.Greater(t, r.pipe.Stats().ClockBehind, 59*time.Minute)
	r.drain()

	r = newRig(t, dir, start.Add(-2*time.Hour), journal.Hooks{}, nil)
	r.send("yard/a", "3")
	r.drain()
	var all []ingest.Record
	j, err := journal.OpenReadOnly(dir)
	require.NoError(t, err)
	defer j.Close(t.Context())
	all, err = j.Read(t.Context(), 0, 10)
	require.NoError(t, err)
	require.Len(t, all, 3)
	assert.True(t, all[1].Message.Arrived.After(all[0].Message.Arrived))
	assert.True(t, all[2].Message.Arrived.After(all[1].Message.Arrived), "across a restart too")
	assert.Less(t, all[2].Message.Arrived.Sub(all[0].Message.Arrived), time.Second)
}

func TestAFailedCommitAcksNothing(t *testing.T) {
	fail := errors.New("input/output error")
	hooks := journal.Hooks{Commit: func(op string) error {
		if op == "appending messages" {
			return fail
		}
		return nil
	}}
	r := newRig(t, t.TempDir(), start, hooks, nil)
	err := r.pipe.SubmitWait(t.Context(), ingest.Message{Topic: "yard/a", Payload: []byte("1")})
	assert.ErrorIs(t, err, journal.ErrFailed)
	err = <-r.done
	r.done <- nil
	assert.ErrorIs(t, err, fail, "the pipeline ends")
	assert.Zero(t, r.sink.count())
	assert.ErrorIs(t, r.pipe.Submit(t.Context(), ingest.Message{}, func() { t.Error("acked") }), ingest.ErrClosed)
}

func TestASinkThatFailsEndsThePipelineButLosesNothing(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, nil)
	r.sink.mu.Lock()
	r.sink.err = errors.New("the core has given up")
	r.sink.mu.Unlock()
	r.send("yard/a", "1")
	assert.ErrorIs(t, <-r.done, r.sink.err)
	r.done <- nil
	r.kill()

	r = newRig(t, dir, start.Add(time.Minute), journal.Hooks{}, nil)
	through, err := ingest.Recover(t.Context(), r.journal, 0, r.sink)
	require.NoError(t, err)
	assert.EqualValues(t, 1, through)
	assert.Len(t, records(r.sink.events), 1)
}

func TestARedeliveryIsAckedAndNothingElse(t *testing.T) {
	dir := t.TempDir()
	r := newRig(t, dir, start, journal.Hooks{}, nil)
	m := ingest.Message{Topic: "yard/a", Payload: []byte("52.0"), QoS: 1, PacketID: 9, Session: "s"}
	r.sendMessage(m)
	r.kill() // before the ack was on the wire

	r = newRig(t, dir, start.Add(time.Minute), journal.Hooks{}, nil)
	m.Duplicate = true
	r.sendMessage(m) // returns: acked
	m.Duplicate = false
	r.sendMessage(m) // the id is free again; an equal value is another reading
	r.drain()
	assert.Len(t, records(r.sink.events), 1)
	assert.Len(t, r.decoder.asked, 1, "a redelivery is not decoded")
	assert.EqualValues(t, 1, r.pipe.Stats().Redelivered)
}

func TestNewWantsItsParts(t *testing.T) {
	_, err := ingest.New(ingest.Options{})
	assert.ErrorContains(t, err, "required")
}
