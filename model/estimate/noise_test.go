package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// learnt is the standard deviation learnt from n values at a pace.
func learnt(n int, pace time.Duration, value func(i int) float64) float64 {
	noise := newNoise(0.02)
	for i := range n {
		noise.observe(noon.Add(time.Duration(i)*pace), value(i), 0.001)
	}
	return math.Sqrt(noise.Variance)
}

// Half the mean squared difference of neighbours estimates the variance of
// white noise without bias (von Neumann 1941), whatever slow course lies
// beneath. With the memory of 200 its own standard error is some 6 %.
func TestNoiseIsLearnt(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	white := func(int) float64 { return 0.008 * rng.NormFloat64() }
	day := func(i int) float64 { return 0.02*math.Sin(2*math.Pi*float64(i)/144) + white(i) }
	assert.InEpsilon(t, 0.008, learnt(2000, 10*time.Minute, white), 0.15)
	assert.InEpsilon(t, 0.008, learnt(2000, 10*time.Minute, day), 0.15)
}

func TestNoiseKnowsItsBounds(t *testing.T) {
	still := func(int) float64 { return 0.5 }
	assert.InDelta(t, 0.001, learnt(3000, 10*time.Minute, still), 1e-9, "the resolution")
	assert.InDelta(t, 0.02, learnt(500, 2*time.Hour, func(i int) float64 { return float64(i % 2) }), 1e-9, "too far apart to tell")
	one := newNoise(0.01)
	one.observe(noon, 0.5, 0.001)
	one.observe(noon.Add(10*time.Minute), 0.2, 0.001)
	assert.Less(t, math.Sqrt(one.Variance), 0.0135, "one jump is no noise: 15/21 more of variance at most")
}

// What a sensor sends several times is one measurement: copies make it no quieter. A
// sensor that came to send more often is heard after a while.
func TestCopiesAreNoSilence(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	thrice := newNoise(0.02)
	value := 0.0
	for i := range 6000 {
		if i%3 == 0 {
			value = 0.008 * rng.NormFloat64()
		}
		thrice.observe(noon.Add(time.Duration(i/3)*10*time.Minute+time.Duration(i%3)*time.Minute), value, 0.001)
	}
	assert.InEpsilon(t, 0.008, math.Sqrt(thrice.Variance), 0.15)

	faster := newNoise(0.02)
	at := noon
	heard := 0
	for i := range 2000 {
		if i < 300 {
			at = at.Add(10 * time.Minute)
		} else {
			at = at.Add(2 * time.Minute)
		}
		if !faster.again(at, 0.5) { // it stands still
			faster.observe(at, 0.5, 0.001)
			if i >= 1000 {
				heard++
			}
		}
		assert.False(t, faster.again(at, 0.6), "what differs is another measurement")
	}
	assert.Equal(t, 1000, heard)
}
