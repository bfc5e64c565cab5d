package sim

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// stream is a source of randomness of its own for one purpose, so that a fault,
// a sensor or a bag more leaves the weather and everybody else's noise as they
// were: two runs of one seed can be compared pairwise.
func stream(seed uint64, purpose string) *rand.Rand {
	h := fnv.New64a()
	_, _ = h.Write([]byte(purpose)) // never fails
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// lognormal draws a factor with median 1.
func lognormal(rng *rand.Rand, sd float64) float64 { return math.Exp(sd * rng.NormFloat64()) }

// walker is a first-order autoregressive process with mean 0 and sd 1.
type walker struct {
	rng   *rand.Rand
	value float64
}

func newWalker(rng *rand.Rand) walker { return walker{rng: rng, value: rng.NormFloat64()} }

// step moves on by a time in which the correlation falls to memory, 0–1.
func (w *walker) step(memory float64) {
	w.value = memory*w.value + math.Sqrt(1-memory*memory)*w.rng.NormFloat64()
}
