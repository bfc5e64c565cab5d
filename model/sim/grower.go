package sim

import (
	"math"
	"time"
)

const (
	// usualEC and usualPH are mixed where the site states no target (common
	// practice for fruiting crops).
	usualEC, usualPH = 1.6, 5.8
	// refillHour is when the grower comes, local time (invented).
	refillHour = 9
)

// orElse stands in for a figure that is not given.
func orElse(value, fallback float64) float64 {
	if value != 0 {
		return value
	}
	return fallback
}

// mixedEC and mixedPH are what the grower mixes when aiming at the target.
func (r *reservoir) mixedEC() float64 {
	return orElse(r.design.Reservoir.Target.EC, usualEC) * lognormal(r.rng, r.scatter.Mixing)
}

func (r *reservoir) mixedPH() float64 {
	return orElse(r.design.Reservoir.Target.PH, usualPH) + r.scatter.PH*r.rng.NormFloat64()
}

// tend is the grower's part.
func (r *reservoir) tend(o outside) {
	if o.policy == RefillNever {
		return
	}
	if r.due.IsZero() && r.level() <= r.lowMark() {
		r.due = nextVisit(o.to, r.zone)
	}
	if r.due.IsZero() || o.to.Before(r.due) {
		return
	}
	if o.absent {
		r.due = nextVisit(o.to, r.zone)
		return
	}
	r.refill(r.mixedEC(), r.mixedPH())
}

// lowMark is the site's, or a fifth of the way up.
func (r *reservoir) lowMark() float64 {
	m := r.design.Reservoir
	if m.Low > m.Empty {
		return m.Low
	}
	return m.Empty + (m.Full-m.Empty)/5
}

// nextVisit is the first refillHour after t.
func nextVisit(t time.Time, zone *time.Location) time.Time {
	local := t.In(zone)
	visit := time.Date(local.Year(), local.Month(), local.Day(), refillHour, 0, 0, 0, zone)
	if !visit.After(t) {
		visit = time.Date(local.Year(), local.Month(), local.Day()+1, refillHour, 0, 0, 0, zone)
	}
	return visit
}

// refill fills to the full mark and mixes until the solution has an EC and pH.
func (r *reservoir) refill(ec, ph float64) {
	added := math.Max(0, r.design.Full()-r.volume)
	r.volume += added
	r.refilled += added
	r.refills++
	r.saltAdded += ec*r.volume - r.salt
	r.salt = ec * r.volume
	r.ph = ph
	r.due = time.Time{}
}
