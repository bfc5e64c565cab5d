package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/model"
)

// silentObserver is told and says nothing.
type silentObserver struct{}

func (silentObserver) Changed([]model.Transition)  {}
func (silentObserver) Reminded([]model.Transition) {}
func (silentObserver) Hour(model.Snapshot)         {}

var _ daemon.Observer = silentObserver{}

// Levels of a backlog are used, however long the broker took to hand it over: the
// minutes between the end of the gap and the last of its messages are not judged
// without it.
func TestABacklogFeedsTheReservoir(t *testing.T) {
	t.Parallel()
	for _, took := range []time.Duration{2 * time.Second, 3 * time.Minute} {
		l := newLevels(t)
		begin := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
		level := model.ReservoirSubject("tank").Sensor(model.Level)
		seq := int64(0)
		tell := func(at, taken time.Time, backlog int64) {
			seq++
			l.core.Apply(ingest.Event{At: at, Record: &ingest.Record{
				Seq: seq, Backlog: backlog, Message: ingest.Message{Arrived: at},
				Readings: []model.Reading{{Sensor: level, Time: taken, Value: 350, Verdict: model.Good, Reconstructed: backlog != 0}},
			}})
		}
		now := begin
		for range 36 {
			now = now.Add(10 * time.Minute)
			tell(now, now, 0)
		}
		gap := ingest.Gap{From: now.Add(time.Minute), To: now.Add(12 * time.Hour)}
		l.core.Apply(ingest.Event{At: gap.To, Gap: &gap})
		for taken := now.Add(10 * time.Minute); taken.Before(gap.To); taken = taken.Add(10 * time.Minute) {
			tell(gap.To.Add(took), taken, 1)
		}
		n, _ := l.used()
		assert.Equal(t, 36+71, n, "handed over in %v", took)
	}
}
