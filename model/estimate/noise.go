package estimate

import (
	"math"
	"time"
)

// noise learns the variance of a sensor's white noise from half the squared
// difference of neighbouring readings, which the slow course of the thing
// itself hardly touches (von Neumann 1941). It forgets with a memory of
// noiseMemory readings.
type noise struct {
	Variance float64
	Last     float64
	At       time.Time
	Pairs    int // seen
}

// noiseTrust is how many pairs of readings the first guess is worth.
const noiseTrust = 20

// noiseMemory is about a day and a half of readings every ten minutes.
const noiseMemory = 200

// neighbours is how far apart two readings may be taken and still be compared.
const neighbours = 45 * time.Minute

func newNoise(sd float64) noise { return noise{Variance: sd * sd} }

// observe learns from one reading; floor is the least standard deviation that
// can be (the resolution of the sensor).
func (n *noise) observe(t time.Time, v, floor float64) {
	gap := t.Sub(n.At)
	if !n.At.IsZero() && gap > 0 && gap <= neighbours {
		half := (v - n.Last) * (v - n.Last) / 2
		// A jump is not noise: what exceeds 4 sd of a difference counts as that.
		half = math.Min(half, 16*n.Variance)
		n.Pairs++
		n.Variance += (half - n.Variance) / math.Min(noiseMemory, float64(n.Pairs+noiseTrust))
		n.Variance = math.Max(n.Variance, floor*floor)
	}
	n.Last, n.At = v, t
}
