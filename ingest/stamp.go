package ingest

import "time"

// Stamper makes one strictly rising order of times out of a wall clock that
// may step back. While the clock is behind the last stamp, stamps are held:
// they creep by a nanosecond each, so that order, and the identity of a
// reading by sensor and time, survive.
//
// A clock that stepped far into the future and was put right holds the stamps
// until it has caught up; Behind tells, so that somebody can be told.
type Stamper struct {
	last   time.Time
	behind time.Duration
}

// NewStamper continues after last, the newest stamp that is journalled.
func NewStamper(last time.Time) *Stamper { return &Stamper{last: last} }

// Stamp gives the stamp of something that happens at now by the wall clock.
func (s *Stamper) Stamp(now time.Time) time.Time {
	now = now.Round(0).UTC()
	s.behind = max(0, s.last.Sub(now))
	if !now.After(s.last) {
		now = s.last.Add(time.Nanosecond)
	}
	s.last = now
	return now
}

// Behind is how far the wall clock was behind the stamps at the last stamp.
func (s *Stamper) Behind() time.Duration { return s.behind }
