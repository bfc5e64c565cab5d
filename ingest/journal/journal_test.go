package journal

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/model"
)

var start = time.Date(2026, 6, 1, 6, 0, 0, 123456789, time.UTC)

func openTest(t testing.TB, opts Options) *Journal {
	t.Helper()
	if opts.Dir == "" {
		opts.Dir = t.TempDir()
	}
	j, err := Open(opts)
	require.NoError(t, err)
	t.Cleanup(func() { _ = j.Close(context.Background()) })
	return j
}

func reopen(t testing.TB, j *Journal) *Journal {
	t.Helper()
	require.NoError(t, j.Close(t.Context()))
	return openTest(t, Options{Dir: j.dir})
}

// entry is a message of one bag's probe with one good reading.
func entry(n int) ingest.Entry {
	at := start.Add(time.Duration(n) * time.Minute)
	return ingest.Entry{
		Message: ingest.Message{
			Arrived: at, Topic: "yard/a4/moisture", Payload: []byte("52.0"),
			QoS: 1, PacketID: uint16(n%65535 + 1), Session: "wickd",
		},
		Readings: []model.Reading{{Sensor: "bag/a4/moisture", Time: at, Value: 0.52, Verdict: model.Good}},
	}
}

func entries(from, n int) []ingest.Entry {
	list := make([]ingest.Entry, n)
	for i := range list {
		list[i] = entry(from + i)
	}
	return list
}

func appendAll(t testing.TB, j *Journal, list []ingest.Entry) []ingest.Appended {
	t.Helper()
	appended, err := j.Append(t.Context(), list)
	require.NoError(t, err)
	require.Len(t, appended, len(list))
	return appended
}

func readAll(t testing.TB, j *Journal) []ingest.Record {
	t.Helper()
	records, err := j.Read(t.Context(), 0, math.MaxInt32)
	require.NoError(t, err)
	return records
}

func TestEverythingOfAMessageComesBack(t *testing.T) {
	j := openTest(t, Options{})
	full := ingest.Entry{
		Message: ingest.Message{
			Arrived: start, Topic: "yard/tank", Payload: []byte{0, 0xff, '"', '\n'},
			QoS: 2, PacketID: 65535, Duplicate: true, Retained: true, Session: "s/1",
		},
		Readings: []model.Reading{
			{Sensor: "reservoir/tank/level", Time: start.Add(-time.Second), Value: 231.25, Verdict: model.Good},
			{Sensor: "reservoir/tank/ec", Time: start, Value: math.NaN(), Verdict: model.ErrorValue},
			{Sensor: "reservoir/tank/ph", Time: start, Value: math.Inf(1), Verdict: model.OutOfRange},
		},
		Refusals: []ingest.Refusal{{Sensor: "reservoir/tank/temperature", Reason: "no-number", Detail: "null"}},
		Gaps:     []ingest.Gap{{From: start.Add(-time.Hour), To: start.Add(-time.Minute)}, {From: start.Add(-time.Second), To: start}},
	}
	empty := ingest.Entry{Message: ingest.Message{Arrived: start.Add(1), Topic: "yard/empty"}}
	appended := appendAll(t, j, []ingest.Entry{full, empty})
	assert.Equal(t, []ingest.Appended{{Seq: 1}, {Seq: 2}}, appended)

	j = reopen(t, j)
	got := readAll(t, j)
	require.Len(t, got, 2)
	assert.Equal(t, full.Message, got[0].Message)
	assert.Equal(t, full.Refusals, got[0].Refusals)
	assert.Equal(t, full.Gaps, got[0].Gaps)
	require.Len(t, got[0].Readings, 3)
	assert.True(t, math.IsNaN(got[0].Readings[1].Value))
	got[0].Readings[1].Value, full.Readings[1].Value = 0, 0
	assert.Equal(t, full.Readings, got[0].Readings)
	assert.Empty(t, got[1].Message.Payload)

	seq, arrived, err := j.Last(t.Context())
	require.NoError(t, err)
	assert.EqualValues(t, 2, seq)
	assert.Equal(t, empty.Message.Arrived, arrived)
	last, err := j.LastReadings(t.Context())
	require.NoError(t, err)
	assert.Equal(t, full.Readings[:1], last)
}

func TestReadPagesWithoutAGap(t *testing.T) {
	j := openTest(t, Options{})
	appendAll(t, j, entries(0, 250))
	var seqs []int64
	for after := int64(0); ; {
		page, err := j.Read(t.Context(), after, 37)
		require.NoError(t, err)
		if len(page) == 0 {
			break
		}
		for _, r := range page {
			require.Len(t, r.Readings, 1)
			seqs = append(seqs, r.Seq)
		}
		after = page[len(page)-1].Seq
	}
	require.Len(t, seqs, 250)
	for i, seq := range seqs {
		require.EqualValues(t, i+1, seq)
	}
}

func TestEachKeepsToTheTimesGiven(t *testing.T) {
	j := openTest(t, Options{})
	appendAll(t, j, entries(0, 1100))
	at := func(n int) time.Time { return start.Add(time.Duration(n) * time.Minute) }
	tests := map[string]struct {
		from, to    time.Time
		first, last int64
		n           int
	}{
		"all":                  {first: 1, last: 1100, n: 1100},
		"from is in":           {from: at(10), first: 11, last: 1100, n: 1090},
		"just after from":      {from: at(10).Add(1), first: 12, last: 1100, n: 1089},
		"to is out":            {to: at(10), first: 1, last: 10, n: 10},
		"a page's width":       {from: at(50), to: at(1050), first: 51, last: 1050, n: 1000},
		"before everything":    {to: at(-5), n: 0},
		"after everything":     {from: at(9999), n: 0},
		"the wrong way around": {from: at(20), to: at(10), n: 0},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			var got []int64
			require.NoError(t, j.Each(t.Context(), tt.from, tt.to, func(r ingest.Record) error {
				got = append(got, r.Seq)
				return nil
			}))
			require.Len(t, got, tt.n)
			if tt.n > 0 {
				assert.Equal(t, tt.first, got[0])
				assert.Equal(t, tt.last, got[len(got)-1])
			}
		})
	}
	stop := fmt.Errorf("stop")
	assert.Equal(t, stop, j.Each(t.Context(), time.Time{}, time.Time{}, func(ingest.Record) error { return stop }))
}

func TestReadOnlyReadsBesideAWriter(t *testing.T) {
	dir := t.TempDir()
	_, err := OpenReadOnly(dir)
	assert.ErrorContains(t, err, "--data")

	j := openTest(t, Options{Dir: dir})
	appendAll(t, j, entries(0, 3))
	r, err := OpenReadOnly(dir)
	require.NoError(t, err)
	assert.Len(t, readAll(t, r), 3)
	appendAll(t, j, entries(3, 4))
	assert.Len(t, readAll(t, r), 7, "sees what is appended later")
	_, err = r.Append(t.Context(), entries(7, 1))
	assert.ErrorIs(t, err, ErrReadOnly)
	require.NoError(t, j.Close(t.Context()))
	require.NoError(t, r.Close(t.Context()))

	r, err = OpenReadOnly(dir)
	require.NoError(t, err, "without a writer")
	assert.Len(t, readAll(t, r), 7)
	require.NoError(t, r.Close(t.Context()))
}

func TestOneWriterOnly(t *testing.T) {
	j := openTest(t, Options{})
	_, err := Open(Options{Dir: j.dir})
	require.ErrorIs(t, err, ErrLocked)
	assert.ErrorContains(t, err, "--data", "says what to do")
	require.NoError(t, j.Close(t.Context()))
	again, err := Open(Options{Dir: j.dir})
	require.NoError(t, err, "free after Close")
	require.NoError(t, again.Close(t.Context()))
}
