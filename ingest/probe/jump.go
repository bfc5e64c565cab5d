package probe

import (
	"math"
	"time"

	"wickd/model"
)

// jumpLimit is how far a quantity can move: a step at once and a rate after it.
// Only temperature has one. 15 K at once is a door opened in winter or a tank
// topped up with cold water; 1 K/min is a closed house in full sun ([C]: no
// published figure fits both).
func jumpLimit(q model.Quantity) (step, perMinute float64, ok bool) {
	if q == model.Temperature {
		return 15, 1, true
	}
	return 0, 0, false
}

// jumps says that value cannot follow the last good reading. A second reading
// near the first one that jumped confirms it, so a jump that was real costs one
// reading.
func (s *source) jumps(value float64, at time.Time) bool {
	if !s.known || at.Before(s.last.Time) || s.reaches(s.last, value, at) {
		return false
	}
	if s.jumped != nil && !at.Before(s.jumped.Time) && s.reaches(*s.jumped, value, at) {
		return false
	}
	return true
}

func (s *source) reaches(from model.Reading, value float64, at time.Time) bool {
	step, perMinute, ok := jumpLimit(s.sensor.Quantity)
	return !ok || math.Abs(value-from.Value) <= step+perMinute*at.Sub(from.Time).Minutes()
}

// remember keeps what later readings are judged against.
func (s *source) remember(r model.Reading) {
	switch r.Verdict {
	case model.Good:
		if !s.known || !r.Time.Before(s.last.Time) {
			s.last, s.known, s.jumped = r, true, nil
		}
	case model.Jump:
		jumped := r // its own copy, so that r itself stays off the heap
		s.jumped = &jumped
	}
}
