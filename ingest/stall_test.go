package ingest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
)

// A pause that is the receiver's own, or the network's, does not end a backlog:
// what comes after it was queued too.
func TestAPauseThatIsNotTheSendersDoesNotEndABacklog(t *testing.T) {
	const pause, rows = 4 * time.Second, 40
	tests := map[string]struct {
		pause func(f *flow)
		whole bool
	}{
		"the sender has no more":  {func(f *flow) { f.at(f.now.Add(pause)) }, false},
		"a slow disk":             {func(f *flow) { f.b.Stall(f.now, f.now.Add(pause)); f.now = f.now.Add(pause) }, true},
		"a disk that is quick":    {func(f *flow) { f.b.Stall(f.now, f.now.Add(50*time.Millisecond)); f.at(f.now.Add(pause)) }, false},
		"the connection was lost": {func(f *flow) { f.b.Arm(ingest.Gap{From: f.now, To: f.now.Add(pause)}); f.now = f.now.Add(pause) }, true},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			f := newFlow(ingest.BacklogOptions{})
			f.habit(5, 10*time.Minute, "p1")
			f.gap(10 * time.Hour)
			for range rows {
				require.True(t, f.message(time.Millisecond, "p1"))
			}
			tt.pause(f)
			assert.Equal(t, tt.whole, f.message(time.Millisecond, "p1"))
			f.at(f.now.Add(2 * time.Second))
			assert.False(t, f.b.Open(), "it is over when nothing more comes")
			want := rows
			if tt.whole {
				want++
			}
			assert.Len(t, f.taken("p1"), want)
		})
	}
}
