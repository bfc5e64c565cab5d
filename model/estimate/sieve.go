package estimate

import (
	"math"
	"time"
)

// What a probe errs by from one second to the next is not new each time, nor is what
// the model errs by: told every ten seconds, it would be believed many times over. Of
// readings that come faster than leastApart only the last of a while is taken, and what
// leaps, which is news: farther than noise of the usual sensors goes (common practice:
// 0.01 m³/m³, 2 mm).
const (
	leastApart   = 100 * time.Second
	leapMoisture = 0.05 // m³/m³
	leapLevel    = 10.0 // mm
)

// sieve lets through what is far enough apart.
type sieve struct {
	Taken time.Time // when the last reading that was taken was measured
	Last  float64   // what it said
	// At and Value are the last that was not; zero: none was since.
	At    time.Time
	Value float64

	take sink
}

// before has a sink take no more than a reading every leastApart, but for leaps. What is
// older than the last that was taken, or as old, is for the sink to judge.
func (p *sieve) before(take sink, leap float64) sink {
	p.take = take
	return func(t time.Time, v float64) bool {
		if !t.After(p.Taken) {
			return take(t, v)
		}
		if t.Sub(p.Taken) < leastApart && math.Abs(v-p.Last) <= leap {
			p.At, p.Value = t, v
			return false
		}
		return p.pass(t, v)
	}
}

func (p *sieve) pass(t time.Time, v float64) (late bool) {
	p.Taken, p.Last, p.At = t, v, time.Time{}
	return p.take(t, v)
}

// release has the sink take what was kept back, when no other came in its stead: a
// sensor that sends what changes may say no more.
func (p *sieve) release(now time.Time) (late bool) {
	if p.At.IsZero() || now.Sub(p.Taken) < leastApart {
		return false
	}
	return p.pass(p.At, p.Value)
}
