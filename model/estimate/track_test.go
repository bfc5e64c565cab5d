package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// A local level whose drift and noise are those of the filter: its 90 %
// intervals hold the truth nine times in ten.
func TestTrackKnowsHowWellItKnows(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	var k track
	truth, hits, all := 1.8, 0, 0
	step := ecDrift.perRootDay * math.Sqrt(1.0/144)
	for i := range 4000 {
		at := noon.Add(time.Duration(i) * 10 * time.Minute)
		truth += step * rng.NormFloat64()
		k.observe(at, truth+0.03*rng.NormFloat64(), ecDrift)
		if i > 200 {
			all++
			if math.Abs(k.Value-truth) <= 1.645*k.sd(at, ecDrift) {
				hits++
			}
		}
	}
	assert.InDelta(t, 0.90, float64(hits)/float64(all), 0.05)
}

func TestTrackBelievesTheThird(t *testing.T) {
	var k track
	at := noon
	read := func(v float64) {
		at = at.Add(10 * time.Minute)
		k.observe(at, v, ecDrift)
	}
	for range 50 {
		read(1.8)
	}
	read(3.0)
	assert.InDelta(t, 1.8, k.Value, 0.01, "one glitch")
	read(1.8)
	read(3.0)
	read(3.0)
	assert.InDelta(t, 1.8, k.Value, 0.01, "two are not enough")
	read(3.0)
	assert.InDelta(t, 3.0, k.Value, 0.01, "somebody poured something in")
	before := k
	k.observe(at.Add(-time.Hour), 1.0, ecDrift)
	assert.Equal(t, before.Value, k.Value, "late")
}
