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
	Pairs    int           // seen
	Gap      time.Duration // usual time between readings
	Gaps     int           // it is the mean of
}

// noiseTrust is how many pairs of readings the first guess is worth.
const noiseTrust = 20

// noiseMemory is about a day and a half of readings every ten minutes.
const noiseMemory = 200

// gapMemory is that of the usual time between readings.
const gapMemory = 50

// neighbours is how far apart two readings may be taken and still be compared.
const neighbours = 45 * time.Minute

func newNoise(sd float64) noise { return noise{Variance: sd * sd} }

// again says that a reading is most likely the measurement before, sent once more: it
// says the same and follows in less than half the usual time, with something to spare
// for a sensor that came to send twice as often.
func (n *noise) again(t time.Time, v float64) bool {
	const soon = 0.45
	return v == n.Last && n.Gaps >= noiseTrust && float64(t.Sub(n.At)) < soon*float64(n.Gap)
}

// observe learns from one reading; floor is the least standard deviation that
// can be (the resolution of the sensor).
func (n *noise) observe(t time.Time, v, floor float64) {
	gap, again := t.Sub(n.At), n.again(t, v)
	near := !n.At.IsZero() && gap > 0 && gap <= neighbours
	if near {
		n.Gaps++
		n.Gap += (gap - n.Gap) / time.Duration(min(gapMemory, n.Gaps))
	}
	if near && !again {
		half := (v - n.Last) * (v - n.Last) / 2
		// A jump is not noise: what exceeds 4 sd of a difference counts as that.
		half = math.Min(half, 16*n.Variance)
		n.Pairs++
		n.Variance += (half - n.Variance) / math.Min(noiseMemory, float64(n.Pairs+noiseTrust))
		n.Variance = math.Max(n.Variance, floor*floor)
	}
	n.Last, n.At = v, t
}
