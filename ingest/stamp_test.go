package ingest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest"
)

// A clock that is put back by an hour must not stop the watch for an hour:
// stamps go on, nearly as fast as time, and meet the clock in the end.
func TestStampsGoOnWhenTheClockIsPutBack(t *testing.T) {
	s := ingest.NewStamper(time.Time{})
	wall := start
	before := s.Stamp(wall)
	wall = wall.Add(-time.Hour)
	s.Stamp(wall)
	assert.Equal(t, time.Hour, s.Behind())
	half := before
	for range 30 * 60 {
		wall = wall.Add(time.Second)
		half = s.Stamp(wall)
	}
	passed := half.Sub(before)
	assert.Greater(t, passed, 25*time.Minute)
	assert.Less(t, passed, 30*time.Minute)
	hours := 0
	for ; s.Behind() > 0 && hours < 100; hours++ {
		for range 60 * 60 {
			wall = wall.Add(time.Second)
			s.Stamp(wall)
		}
	}
	assert.LessOrEqual(t, hours, 11)
	wall = wall.Add(time.Second)
	assert.Equal(t, wall, s.Stamp(wall), "the clock has caught up")
}

// A step that a time server takes is waited for.
func TestStampsWaitForASmallStep(t *testing.T) {
	s := ingest.NewStamper(start)
	for i := range 5 {
		at := s.Stamp(start.Add(time.Duration(i-6) * time.Second))
		assert.Less(t, at.Sub(start), time.Microsecond)
	}
	assert.Equal(t, start.Add(time.Second), s.Stamp(start.Add(time.Second)))
}

// Whatever the clock does, stamps rise, and they are ahead of it only after it
// was put back.
func TestStampsRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := ingest.NewStamper(start)
		wall, last, highest := start, start, start
		for _, step := range rapid.SliceOf(rapid.Int64Range(-int64(2*time.Hour), int64(2*time.Hour))).Draw(t, "steps") {
			wall = wall.Add(time.Duration(step))
			at := s.Stamp(wall)
			require.True(t, at.After(last))
			if wall.After(highest) && s.Behind() == 0 {
				require.Equal(t, wall, at)
			}
			highest = later(highest, at)
			last = at
		}
	})
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
