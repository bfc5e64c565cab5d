package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Readings at a usual pace are all taken, of those that come faster some; what is late
// is for the filter to say.
func TestSieve(t *testing.T) {
	taken := func(every time.Duration, n int) (count int) {
		var s sieve
		take := s.before(func(time.Time, float64) bool { count++; return false }, 1)
		for i := range n {
			require.False(t, take(begin.Add(time.Duration(i)*every), 1))
		}
		return count
	}
	assert.Equal(t, 10, taken(2*time.Minute, 10))
	assert.Equal(t, 10, taken(30*time.Minute, 10))
	assert.Equal(t, 5, taken(time.Minute, 10))
	assert.Equal(t, 10, taken(10*time.Second, 100))

	var s sieve
	var last float64
	take := s.before(func(at time.Time, v float64) bool { last = v; return at.Before(begin) }, 5)
	require.False(t, take(begin, 1))
	assert.True(t, take(begin.Add(-time.Minute), 1))
	require.False(t, take(begin.Add(10*time.Second), 2))
	require.False(t, take(begin.Add(20*time.Second), 3))
	s.release(begin.Add(time.Minute))
	assert.Equal(t, 1.0, last)
	s.release(begin.Add(leastApart))
	assert.Equal(t, 3.0, last, "nothing came after it")
	last = 0
	s.release(begin.Add(time.Hour))
	assert.Zero(t, last, "it is taken once")
	require.False(t, take(begin.Add(25*time.Second), 9))
	assert.Equal(t, 9.0, last, "what leaps is news")
}

// A probe that sends each reading sixty times over, a few seconds apart, is believed no
// more than one that sends it once.
func TestFastReadingsAreNoMoreBelieved(t *testing.T) {
	long(t)
	doubt := func(times int) float64 {
		s := newScene(t, small(2, 70), 7)
		take := s.e.sensors["bag/a1/moisture"]
		s.e.sensors["bag/a1/moisture"] = func(at time.Time, v float64) bool {
			for k := range times {
				take(at.Add(time.Duration(k)*time.Second), v+1e-6*float64(k))
			}
			return false
		}
		s.live(days(4))
		return s.e.Snapshot(s.sim.Now(), []model.SensorHealth{}).Bags[0].DemandFactor.SD
	}
	assert.InEpsilon(t, doubt(1), doubt(60), 0.01)
}
