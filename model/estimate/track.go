package estimate

import (
	"math"
	"time"
)

// track follows a slowly moving measured value — EC, pH, temperature — with a
// local-level Kalman filter, which knows how well it knows.
type track struct {
	Value, Variance float64
	Time            time.Time // of the last reading used
	Heard           time.Time // of the last looked at
	Noise           noise
	Doubts          int
	DoubtSum        float64
	Readings        int
}

// drift is how fast the value moves of itself, per √d, and start what its
// sensor's noise is taken to be at first.
type drift struct {
	perRootDay, start, floor float64
}

// The drifts of what a reservoir's sensors measure.
var (
	ecDrift          = drift{perRootDay: 0.15, start: 0.02, floor: 0.005} // mS/cm
	phDrift          = drift{perRootDay: 0.25, start: 0.03, floor: 0.01}
	temperatureDrift = drift{perRootDay: 6, start: 0.2, floor: 0.05} // °C
)

// observe takes a good reading. A reading far off is doubted; three in a row
// on the same side are believed, since somebody may have poured something in:
// then it has jumped.
func (k *track) observe(t time.Time, v float64, d drift) (jumped bool) {
	if k.Readings == 0 {
		k.Noise = newNoise(d.start)
	} else if !k.news(t) {
		return false
	}
	k.Heard = t
	k.Noise.observe(t, v, d.floor)
	k.Readings++
	if k.Readings == 1 {
		k.Value, k.Variance, k.Time = v, k.Noise.Variance, t
		return false
	}
	p := k.Variance + sq(d.perRootDay)*t.Sub(k.Time).Hours()/24
	nu, s := v-k.Value, p+k.Noise.Variance
	if nu*nu > sq(gateSigma)*s {
		if k.doubt(nu, v) < doubtsToAct {
			return false
		}
		k.Value, k.Variance, k.Time = k.DoubtSum/float64(k.Doubts), k.Noise.Variance, t
		k.Doubts, k.DoubtSum = 0, 0
		return true
	}
	k.Doubts, k.DoubtSum = 0, 0
	g := p / s
	k.Value += g * nu
	k.Variance, k.Time = (1-g)*p, t
	return false
}

// news says that a reading is younger than all that were looked at.
func (k *track) news(t time.Time) bool { return t.After(k.Time) && t.After(k.Heard) }

// sink observes and tells what came too late to be used.
func (k *track) sink(d drift) sink {
	return func(t time.Time, v float64) bool {
		late := !k.news(t)
		k.observe(t, v, d)
		return late
	}
}

// doubt counts a reading far off and returns how many there are in a row on
// the same side.
func (k *track) doubt(nu, v float64) int {
	if k.Doubts > 0 && (k.DoubtSum/float64(k.Doubts) > k.Value) != (nu > 0) {
		k.Doubts, k.DoubtSum = 0, 0
	}
	k.Doubts++
	k.DoubtSum += v
	return k.Doubts
}

// sd at t is of the value, not of the next reading.
func (k *track) sd(t time.Time, d drift) float64 {
	return math.Sqrt(k.Variance + sq(d.perRootDay)*math.Max(0, t.Sub(k.Time).Hours())/24)
}
