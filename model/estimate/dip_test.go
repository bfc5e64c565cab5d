package estimate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A regression by hand: d = 0, 1, 2, 3 and r = 2, 2, 4, 4 have the slope 4/5,
// the intercept 9/5 and the residuals 1/5, −3/5, 3/5, −1/5, whose mean square
// is 1/5; the slope's standard deviation is √(0.2/5) = 0.2 [D].
func TestMissing(t *testing.T) {
	var m moments
	for i, r := range []float64{2, 2, 4, 4} {
		m = m.add(1, float64(i), r)
	}
	k, sd := m.missing(0)
	assert.InDelta(t, 0.8, k, 1e-12)
	assert.InDelta(t, 0.2, sd, 1e-12)

	_, sd = m.missing(5)
	assert.InDelta(t, 1, sd, 1e-12, "of noise as great as the spread of d")
}

// Where the plants would drink nothing anyway, nothing can be missing.
func TestMissingWithoutADip(t *testing.T) {
	m := moments{}.add(1, 0, 0.1).add(1, 0, -0.1)
	_, sd := m.missing(0)
	assert.True(t, math.IsInf(sd, 1))
	_, sd = moments{}.missing(0)
	assert.True(t, math.IsInf(sd, 1), "of nothing")
}
