package journal

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/model"
)

func TestAFailedCommitIsFinal(t *testing.T) {
	broken := errors.New("input/output error")
	fail := false
	j := openTest(t, Options{Hooks: Hooks{Commit: func(string) error {
		if fail {
			return broken
		}
		return nil
	}}})
	appendAll(t, j, entries(0, 2))
	fail = true
	writes := map[string]func() error{
		"Append":     func() error { _, err := j.Append(t.Context(), entries(2, 2)); return err },
		"Commit":     func() error { return j.Commit(t.Context(), Update{Checkpoint: checkpoint(1)}) },
		"SetCursor":  func() error { return j.SetCursor(t.Context(), "x", 1) },
		"MarkSent":   func() error { return j.MarkSent(t.Context(), 1, start) },
		"MarkFailed": func() error { return j.MarkFailed(t.Context(), 1, "", start) },
		"Prune":      func() error { _, err := j.Prune(t.Context(), start.Add(time.Hour)); return err },
	}
	err := writes["Append"]()
	require.ErrorIs(t, err, ErrFailed)
	require.ErrorIs(t, err, broken)
	fail = false
	for name, write := range writes {
		assert.ErrorIs(t, write(), ErrFailed, "%s is not tried again", name)
	}
	assert.Len(t, readAll(t, j), 2, "reading goes on")
	j = reopen(t, j)
	assert.EqualValues(t, 3, appendAll(t, j, entries(2, 1))[0].Seq, "a restart begins afresh")
}

func TestAFullDiskLosesNothingAndPasses(t *testing.T) {
	dir := t.TempDir()
	j := openTest(t, Options{Dir: dir, Hooks: Hooks{MaxPages: 80}})
	big := func(n int) ingest.Entry {
		e := entry(n)
		e.Message.Payload = []byte(strings.Repeat("5", 3000))
		return e
	}
	n := 0
	var err error
	for ; err == nil && n < 1000; n++ {
		_, err = j.Append(t.Context(), []ingest.Entry{big(2 * n), big(2*n + 1)})
	}
	require.ErrorIs(t, err, ErrFailed)
	require.ErrorIs(t, err, ErrFull)
	assert.ErrorContains(t, err, "free some space")
	committed := 2 * (n - 1)
	require.Positive(t, committed)
	assert.Len(t, readAll(t, j), committed, "the whole transaction was undone")
	_, err = j.Append(t.Context(), []ingest.Entry{big(0), big(1)})
	require.ErrorIs(t, err, ErrFull, "it is still full")

	_, err = j.Prune(t.Context(), start.Add(20*time.Minute))
	require.NoError(t, err)
	appended := appendAll(t, j, []ingest.Entry{big(committed)})
	assert.EqualValues(t, committed+1, appended[0].Seq, "there is space again, and no Seq was skipped")
}

func TestACancelledContextIsSeenBeforeTheWrite(t *testing.T) {
	j := openTest(t, Options{})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := j.Append(ctx, entries(0, 1))
	require.ErrorIs(t, err, context.Canceled)
	assert.NotErrorIs(t, err, ErrFailed)
	appendAll(t, j, entries(0, 1))
}

func TestWritersAndReadersTogether(t *testing.T) {
	j := openTest(t, Options{})
	const writers, each = 4, 25
	var wg sync.WaitGroup
	for w := range writers {
		wg.Add(2)
		go func() {
			defer wg.Done()
			for i := range each {
				_, err := j.Append(context.Background(), entries(w*each+i, 1))
				assert.NoError(t, err)
				assert.NoError(t, j.Commit(context.Background(), Update{Transitions: []model.Transition{transition(w*each+i, model.Raised)}}))
			}
		}()
		go func() {
			defer wg.Done()
			for range each {
				records, err := j.Read(context.Background(), 0, 1000)
				assert.NoError(t, err)
				for i, r := range records {
					assert.EqualValues(t, i+1, r.Seq)
				}
				_, err = j.Stats(context.Background())
				assert.NoError(t, err)
			}
		}()
	}
	wg.Wait()
	assert.Len(t, readAll(t, j), writers*each)
}

func TestPendingAndStats(t *testing.T) {
	j := openTest(t, Options{})
	n, since, err := j.Pending(t.Context(), 0)
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Zero(t, since)
	appendAll(t, j, entries(0, 10))
	n, since, err = j.Pending(t.Context(), 4)
	require.NoError(t, err)
	assert.EqualValues(t, 6, n)
	assert.Equal(t, start.Add(4*time.Minute), since)
	n, _, err = j.Pending(t.Context(), 10)
	require.NoError(t, err)
	assert.Zero(t, n)
	stats, err := j.Stats(t.Context())
	require.NoError(t, err)
	assert.Positive(t, stats.Bytes)
	assert.Equal(t, start, stats.FirstTime)
	assert.Equal(t, start.Add(9*time.Minute), stats.LastTime)
}

func BenchmarkAppend(b *testing.B) {
	for _, size := range []int{1, 100, 1000} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			j := openTest(b, Options{})
			n := 0
			for b.Loop() {
				if _, err := j.Append(b.Context(), entries(n, size)); err != nil {
					b.Fatal(err)
				}
				n += size
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "messages/s")
		})
	}
}

func BenchmarkRead(b *testing.B) {
	j := openTest(b, Options{})
	for n := 0; n < 10_000; n += 1000 {
		appendAll(b, j, entries(n, 1000))
	}
	for b.Loop() {
		for after := int64(0); after < 10_000; after += 1000 {
			if _, err := j.Read(b.Context(), after, 1000); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.N)*10_000/b.Elapsed().Seconds(), "messages/s")
}
