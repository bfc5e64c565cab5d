package ingest

import "time"

const (
	// hold is how far the clock may step back for the stamps to wait for it: a
	// time server steps by less.
	hold = 10 * time.Second
	// slow is by how much stamps go slower than time while they are ahead of the
	// clock: an hour is made good in ten, and the model sees rates that are 10 %
	// off, which is within what a day's weather does.
	slow = 0.1
)

// Stamper makes one strictly rising order of times out of a wall clock that
// may step back, so that order, and the identity of a reading by sensor and
// time, survive.
//
// While the clock is behind the last stamp by little, stamps are held: they
// creep by a nanosecond each. While it is behind by more they count on from the
// last one, a little slower than time passes, until the clock has caught up:
// nobody watches bags in a time that stands still. Behind tells how far they
// are ahead, so that somebody can be told.
//
// A clock that is set ahead (a board without one of its own, when it hears from
// a time server), or stood still while the machine slept, skips a time in which
// nobody listened. Leapt tells which.
type Stamper struct {
	last    time.Time
	wall    time.Time // the clock at the last stamp, with its monotonic part; zero: none
	elapsed func(from, to time.Time) time.Duration
	behind  time.Duration
	leapt   Gap
}

// NewStamper continues after last, the newest stamp that is journalled.
func NewStamper(last time.Time) *Stamper { return &Stamper{last: last, elapsed: elapsed} }

// elapsed does not feel a step of the wall clock, if from and to are of one.
func elapsed(from, to time.Time) time.Duration { return to.Sub(from) }

// Stamp gives the stamp of something that happens at now by the wall clock.
func (s *Stamper) Stamp(now time.Time) time.Time {
	passed, skipped := time.Duration(0), time.Duration(0)
	if !s.wall.IsZero() {
		passed = max(0, s.elapsed(s.wall, now))
		skipped = now.Round(0).Sub(s.wall.Round(0)) - passed
	}
	s.wall = now
	now = now.Round(0).UTC()
	s.leapt = Gap{}
	if g := (Gap{From: s.last, To: now}); skipped > hold && g.Length() > hold {
		s.leapt = g
	}
	s.behind = max(0, s.last.Sub(now))
	switch {
	case s.behind > hold:
		now = s.last.Add(max(1, time.Duration(float64(passed)*(1-slow))))
	case !now.After(s.last):
		now = s.last.Add(1)
	}
	s.last = now
	return now
}

// Leapt is the time that the clock skipped before the last stamp; zero: none.
func (s *Stamper) Leapt() Gap { return s.leapt }

// Behind is how far the wall clock was behind the stamps at the last stamp.
func (s *Stamper) Behind() time.Duration { return s.behind }
