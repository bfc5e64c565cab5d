package estimate

import "time"

// What a probe errs by from one second to the next is not new each time, nor is what
// the model errs by: told every ten seconds, it would be believed many times over. Of
// readings that come faster than leastApart, the others are passed over.
const leastApart = 100 * time.Second

// sieve lets through what is far enough apart.
type sieve struct {
	Taken time.Time // when the last reading that was taken was measured
}

// before has a sink take no more than a reading every leastApart. What is older than the
// last that was taken, or as old, is for the sink to judge.
func (p *sieve) before(take sink) sink {
	return func(t time.Time, v float64) bool {
		if t.After(p.Taken) {
			if t.Sub(p.Taken) < leastApart {
				return false
			}
			p.Taken = t
		}
		return take(t, v)
	}
}
