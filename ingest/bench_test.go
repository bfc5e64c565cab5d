package ingest_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

// BenchmarkPipeline: senders that each wait for their ack (an embedded broker's
// publishers), and one that does not (a client's ordered handler).
func BenchmarkPipeline(b *testing.B) {
	for _, senders := range []int{1, 64} {
		b.Run(fmt.Sprintf("wait/%d", senders), func(b *testing.B) {
			pipe, end := benchPipeline(b)
			b.SetParallelism((senders + 1) / 2)
			b.ResetTimer()
			b.RunParallel(func(pb *testing.PB) {
				for pb.Next() {
					if err := pipe.SubmitWait(context.Background(), benchMessage); err != nil {
						b.Error(err)
						return
					}
				}
			})
			end()
		})
	}
	b.Run("queue", func(b *testing.B) {
		pipe, end := benchPipeline(b)
		for b.Loop() {
			if err := pipe.Submit(context.Background(), benchMessage, func() {}); err != nil {
				b.Fatal(err)
			}
		}
		end()
	})
}

var benchMessage = ingest.Message{Topic: "yard/a4/moisture", Payload: []byte("52.0"), QoS: 1, PacketID: 1, Session: "wickd"}

// benchPipeline runs a pipeline; end waits until all is done and reports.
func benchPipeline(b *testing.B) (pipe *ingest.Pipeline, end func()) {
	b.Helper()
	j, err := journal.Open(journal.Options{Dir: b.TempDir()})
	require.NoError(b, err)
	pipe, err = ingest.New(ingest.Options{Decoder: plain{}, Journal: j, Sink: ingest.SinkFunc(
		func(context.Context, ingest.Batch) error { return nil })})
	require.NoError(b, err)
	done := make(chan error, 1)
	go func() { done <- pipe.Run(context.Background()) }()
	<-pipe.Ready()
	return pipe, func() {
		pipe.Drain()
		require.NoError(b, <-done)
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "messages/s")
		b.ReportMetric(float64(b.N)/float64(pipe.Stats().Commits), "messages/commit")
		require.NoError(b, j.Close(context.Background()))
	}
}

// plain decodes one value and remembers nothing.
type plain struct{}

func (plain) Decode(m ingest.Message) ([]model.Reading, []ingest.Refusal) {
	return []model.Reading{{Sensor: "bag/a4/moisture", Time: m.Time(), Value: 0.52, Verdict: model.Good}}, nil
}

func (plain) OwnTime(ingest.Message) (time.Time, bool) { return time.Time{}, false }
