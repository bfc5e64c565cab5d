package probe

import (
	"math"
	"time"

	"wickd/model"
)

// How a stuck sensor is told.
//
// A live sensor repeats its last value with some probability q, which its
// resolution, its noise and the time of day set. Over its own past a run of n
// equal values has the probability q^(n−1). The sensor is stuck when all hold:
//
//   - q^(n−1) ≤ α with α = interval/20 years: one false alarm in 20
//     sensor-years if repeats were independent. They are not, hence the rest;
//   - q is the larger of two estimates. The slow one (1500 readings: ten days)
//     comes from the length of the run that a reading finds itself in, M =
//     Σn²/Σn over past runs: q = (M−1)/(M+1). For independent repeats that is
//     their probability; where repeats cluster, as a coarse sensor's do while
//     the truth lies between two of its steps, M is ruled by the long runs, as
//     it has to be. The fast one (36 pairs: the last hours) is the share of
//     repeats, one pair of either kind added (Laplace's rule), so that a quiet
//     night is held against the night;
//   - the run is twice as long, in readings and in time, as the longest of the
//     sensor's past, which halves every week;
//   - it lasts the least time of its quantity (leastStuck; least for a level in
//     coarse steps);
//   - the past spans a day and night twice, and 50 pairs.
//
// Made-up sensors of 13 makes, 30 years each: no false alarm for eleven, 3 for a
// moisture probe with steps of 1 % and 2 for one of 5 %, thus at most 0.1 per
// sensor-year. Frozen, the fine ones were found after their least time, those
// with steps of 1 % or 0.5 °C after 14 h, a level that rests every night after
// 31 h, the moisture of 5 % after three days.
//
// A run that ends goes into the past; the run that is judged does not, or a
// frozen sensor would teach that freezing is normal. A coarse sensor that
// repeats nearly always needs a run that never comes: it cannot be judged, and
// Snapshot says so.
const (
	slowMemory = 1500.0 // readings
	fastMemory = 36.0   // pairs

	falseStuck       = 20 * 365 * 24 * time.Hour
	defaultInterval  = 10 * time.Minute // until the rhythm is known
	runExcess        = 2.0
	runHalfLife      = 7 * 24 * time.Hour
	leastPast        = 48 * time.Hour
	leastPairs       = 50
	judgeableWithin  = 7 * 24 * time.Hour
	sameAfterUndoing = 1e-9 // relative; rounding of a compensation undone
)

// leastStuck is how long a value may stand still on a live sensor whatever its
// past: moisture moves with every hour's uptake and its probe's noise; the
// solution is slower; air and solution temperature may rest for a night.
func leastStuck(q model.Quantity) time.Duration {
	switch q {
	case model.Moisture:
		return 3 * time.Hour
	case model.Temperature, model.Humidity:
		return 12 * time.Hour
	}
	return 6 * time.Hour
}

// A level rests whenever the plants do, up to a winter's night. One whose steps
// are wider than its noise shows that only in the nights that end between two
// of them, so that its past says too little of it.
const (
	levelRest   = 18 * time.Hour
	coarseSteps = 0.7 // share of repeats
)

// least is leastStuck of this sensor.
func (r *Run) least(q model.Quantity) time.Duration {
	if q == model.Level && r.Slow.probability() > coarseSteps {
		return levelRest
	}
	return leastStuck(q)
}

// atRest are values at which a live sensor stands still by nature: no sun, and
// air that is saturated.
func atRest(q model.Quantity, value float64) bool {
	return q == model.Radiation && value <= 0 || q == model.Humidity && value >= 1
}

// improbable judges the run by the sensor's past.
func (r *Run) improbable(interval time.Duration) bool {
	if r.Pairs < leastPairs || r.Last.Sub(r.Began) < leastPast {
		return false
	}
	length, span := r.longest(r.Last)
	return float64(r.Length) >= r.needed(interval, length) && r.Last.Sub(r.Since) >= times(span, runExcess)
}

// needed is the number of equal values from which a run is improbable, after a
// past whose longest run was longest.
func (r *Run) needed(interval time.Duration, longest float64) float64 {
	alpha := float64(valueOr(interval, defaultInterval)) / float64(falseStuck)
	return max(1+math.Log(alpha)/math.Log(r.repeats()), runExcess*longest)
}

func (r *Run) repeats() float64 { return max(r.Slow.probability(), r.Fast.probability()) }

// judgeable says that the sensor, if it froze now, would be found out within a
// week.
func (r *Run) judgeable(interval time.Duration) bool {
	length, span := r.longest(r.Last)
	interval = valueOr(interval, defaultInterval)
	return times(interval, r.needed(interval, length)) <= judgeableWithin && times(span, runExcess) <= judgeableWithin
}
