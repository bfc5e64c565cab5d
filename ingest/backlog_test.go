package ingest_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest"
)

// flow drives a Backlog alone, as the pipeline does.
type flow struct {
	b      *ingest.Backlog
	seq    int64
	now    time.Time
	own    time.Time
	places []ingest.Placement
	topics map[int64]string
}

func newFlow(opts ingest.BacklogOptions) *flow {
	return &flow{b: ingest.NewBacklog(opts), now: start, topics: map[int64]string{}}
}

// at moves the clock and closes a backlog that is over by then.
func (f *flow) at(t time.Time) {
	f.now = t
	if f.b.Over(t) {
		f.places = append(f.places, f.b.Settle(t)...)
	}
}

// message arrives after a wait; it says whether it went into a backlog.
func (f *flow) message(wait time.Duration, topic string) bool {
	f.at(f.now.Add(wait))
	f.seq++
	f.topics[f.seq] = topic
	m := ingest.Message{Arrived: f.now, Topic: topic}
	if !f.b.Takes(f.now) {
		f.b.Observe(m)
		return false
	}
	f.b.Add(f.seq, m, f.own)
	return true
}

// habit teaches that each topic comes once in every period.
func (f *flow) habit(n int, period time.Duration, topics ...string) {
	for range n {
		for i, topic := range topics {
			wait := time.Duration(0)
			if i == 0 {
				wait = period
			}
			f.message(wait+1, topic)
		}
	}
}

func (f *flow) gap(length time.Duration) {
	from := f.now
	f.at(f.now.Add(length))
	f.b.Arm(ingest.Gap{From: from, To: f.now})
}

func (f *flow) taken(topic string) []time.Time {
	var out []time.Time
	for _, p := range f.places {
		if f.topics[p.Seq] == topic && !p.Taken.IsZero() {
			out = append(out, p.Taken)
		}
	}
	return out
}

func TestABacklogIsLaidOutWhereASensorSentIt(t *testing.T) {
	// A sensor sends every 10 min, on the minute; the daemon is away for 1 h.
	f := newFlow(ingest.BacklogOptions{})
	f.habit(5, 10*time.Minute, "yard/a", "yard/b")
	last := f.now
	f.gap(65 * time.Minute) // six are queued for each topic
	for range 6 {
		assert.True(t, f.message(time.Millisecond, "yard/a"))
		assert.True(t, f.message(time.Millisecond, "yard/b"))
	}
	f.at(f.now.Add(2 * time.Second))
	require.Len(t, f.places, 12)
	for _, topic := range []string{"yard/a", "yard/b"} {
		got := f.taken(topic)
		require.Len(t, got, 6)
		for i, at := range got {
			truth := last.Add(time.Duration(i+1) * 10 * time.Minute)
			assert.WithinDuration(t, truth, at, 5*time.Minute, "no more than half a period out")
		}
	}
	assert.False(t, f.message(5*time.Minute, "yard/a"), "the flow is normal again")
}

func TestWhatIsNoBacklogKeepsItsArrival(t *testing.T) {
	tests := map[string]func(f *flow){
		"one message of each topic": func(f *flow) {
			f.gap(time.Hour)
			f.message(time.Millisecond, "yard/a")
			f.message(time.Millisecond, "yard/b")
		},
		"a short gap": func(f *flow) {
			f.gap(time.Minute)
			f.message(time.Millisecond, "yard/a")
			f.message(time.Millisecond, "yard/a")
		},
		"the usual interval": func(f *flow) {
			f.habit(5, 700*time.Millisecond, "yard/fast")
			f.gap(5 * time.Minute)
			f.message(time.Millisecond, "yard/fast")
			f.message(700*time.Millisecond, "yard/fast")
			f.message(700*time.Millisecond, "yard/fast")
		},
		"long after the connection": func(f *flow) {
			f.gap(time.Hour)
			f.at(f.now.Add(time.Minute))
			f.message(time.Millisecond, "yard/a")
			f.message(time.Millisecond, "yard/a")
		},
		"messages with a time of their own": func(f *flow) {
			f.gap(time.Hour)
			f.own = f.now.Add(-10 * time.Minute)
			f.message(time.Millisecond, "yard/a")
			f.message(time.Millisecond, "yard/a")
		},
	}
	for name, run := range tests {
		t.Run(name, func(t *testing.T) {
			f := newFlow(ingest.BacklogOptions{})
			f.habit(3, 10*time.Minute, "yard/a", "yard/b")
			run(f)
			f.at(f.now.Add(time.Minute))
			assert.False(t, f.b.Open())
			for _, p := range f.places {
				assert.Zero(t, p.Taken)
			}
		})
	}
}

func TestASensorSilentBeforeTheGapIsLaidOutWithinIt(t *testing.T) {
	f := newFlow(ingest.BacklogOptions{})
	f.habit(3, 10*time.Minute, "yard/a")
	f.at(f.now.Add(24 * time.Hour)) // it was silent, and we were listening
	from := f.now
	f.gap(time.Hour)
	for range 3 {
		f.message(time.Millisecond, "yard/a")
	}
	f.at(f.now.Add(2 * time.Second))
	require.Len(t, f.taken("yard/a"), 3)
	for _, at := range f.taken("yard/a") {
		assert.True(t, at.After(from), "what was queued was sent in the gap")
	}
}

func TestALiveFlowDoesNotKeepABacklogOpen(t *testing.T) {
	// 600 topics every minute are 10 messages a second for ever.
	var topics []string
	for i := range 600 {
		topics = append(topics, fmt.Sprint("yard/", i))
	}
	f := newFlow(ingest.BacklogOptions{})
	for range 3 {
		for _, topic := range topics {
			f.message(100*time.Millisecond, topic)
		}
	}
	f.gap(10 * time.Minute)
	for range 10 { // the queue comes at 5,000 a second
		for _, topic := range topics {
			require.True(t, f.message(200*time.Microsecond, topic))
		}
	}
	end := f.now
	for i := 0; f.message(100*time.Millisecond, topics[i]); i++ {
		require.Less(t, f.now.Sub(end), 5*time.Second, "the backlog is seen to be over")
	}
	for _, topic := range topics {
		require.GreaterOrEqual(t, len(f.taken(topic)), 10)
	}
}

func TestABoundedBacklogIsFollowedByAnother(t *testing.T) {
	f := newFlow(ingest.BacklogOptions{MaxRows: 10})
	f.habit(3, time.Minute, "yard/a")
	f.gap(time.Hour)
	for range 25 {
		assert.True(t, f.message(time.Millisecond, "yard/a"))
	}
	f.at(f.now.Add(2 * time.Second))
	assert.Len(t, f.places, 25)
	assert.Len(t, f.taken("yard/a"), 25)
	assert.True(t, slices.IsSortedFunc(f.taken("yard/a"), time.Time.Compare))
}

// Whatever arrives: every row gets one place, times rise within a topic and
// lie between the last reading before and the arrival.
func TestLayoutProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := newFlow(ingest.BacklogOptions{MaxRows: rapid.IntRange(3, 1000).Draw(t, "rows")})
		topics := []string{"yard/a", "yard/b", "yard/c"}
		arrived := map[int64]time.Time{}
		before := map[string]time.Time{}
		var inBacklog []int64
		for i := range rapid.IntRange(0, 300).Draw(t, "messages") {
			switch rapid.IntRange(0, 40).Draw(t, "what") {
			case 0:
				f.gap(time.Duration(rapid.IntRange(1, 10000).Draw(t, "gap")) * time.Second)
			case 1:
				f.at(f.now.Add(time.Duration(rapid.IntRange(1, 5000).Draw(t, "wait")) * time.Millisecond))
			}
			topic := rapid.SampledFrom(topics).Draw(t, "topic")
			wait := time.Duration(rapid.SampledFrom([]int{1, 20, 1000, 600_000}).Draw(t, "ms")) * time.Millisecond
			held := f.message(wait, topic)
			arrived[f.seq] = f.now
			if held {
				inBacklog = append(inBacklog, f.seq)
			} else if i == 0 {
				before[topic] = f.now
			}
		}
		f.at(f.now.Add(time.Hour))
		var placed []int64
		last := map[string]time.Time{}
		for _, p := range f.places {
			placed = append(placed, p.Seq)
			if p.Taken.IsZero() {
				continue
			}
			topic := f.topics[p.Seq]
			require.False(t, p.Taken.After(arrived[p.Seq]), "taken before it arrived")
			require.True(t, p.Taken.After(last[topic]), "in order within a topic")
			last[topic] = p.Taken
		}
		slices.Sort(placed)
		require.Equal(t, inBacklog, placed, "each row has one place")
	})
}
