package estimate

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A regression by hand: d = 0, 1, 2, 3 and r = 2, 2, 4, 4 have the slope 4/5,
// the intercept 9/5 and the residuals 1/5, −3/5, 3/5, −1/5, whose mean square
// is 1/5; the slope's standard deviation is √(0.2/5) = 0.2 [D].
func TestShare(t *testing.T) {
	var m moments
	for i, r := range []float64{2, 2, 4, 4} {
		m.add(1, terms{mOne: 1, mStopped: float64(i), mDeparture: r})
	}
	k, sd := m.share(mStopped, 0, 0)
	assert.InDelta(t, 0.8, k, 1e-12)
	assert.InDelta(t, 0.2, sd, 1e-12)

	_, sd = m.share(mStopped, 5, 0)
	assert.InDelta(t, 1, sd, 1e-12, "of noise as great as the spread of d")
}

// Where the plants would drink nothing anyway, nothing can be missing.
func TestShareWithoutADip(t *testing.T) {
	var m moments
	m.add(1, terms{mOne: 1, mDeparture: 0.1})
	m.add(1, terms{mOne: 1, mDeparture: -0.1})
	_, sd := m.share(mStopped, 0, 0)
	assert.True(t, math.IsInf(sd, 1))
	_, sd = moments{}.share(mStopped, 0, 0)
	assert.True(t, math.IsInf(sd, 1), "of nothing")
}

// Two regressors by hand: d = −1, 1, −1, 1 and h = −1, −1, 1, 1 do not
// correlate, so that warmth takes nothing from the dip. With h = d it takes all
// that its prior allows: of noise 4 and a prior variance 1 the normal equations
// [[4, 4], [4, 4 + 4/1]]·(k, c) = (8, 8) give k = 2, of variance
// 4·8/(4·8 − 16) = 2; without a prior the slope is 2, of variance 4/4 = 1 [D].
func TestShareBesideWarmth(t *testing.T) {
	var apart, alike moments
	for _, d := range []float64{-1, 1} {
		for _, h := range []float64{-1, 1} {
			apart.add(1, terms{mOne: 1, mLost: d, mWarmth: h, mDeparture: 2 * d})
			alike.add(1, terms{mOne: 1, mLost: d, mWarmth: d, mDeparture: 2 * d})
		}
	}
	k, sd := apart.share(mLost, 4, 1)
	assert.InDelta(t, 2, k, 1e-12)
	assert.InDelta(t, 1, sd, 1e-12)
	k, sd = alike.share(mLost, 4, 1)
	assert.InDelta(t, 2, k, 1e-12)
	assert.InDelta(t, math.Sqrt2, sd, 1e-12)
}

// What a checkpoint keeps is all of it.
func TestMomentsAreKept(t *testing.T) {
	var m, again moments
	m.add(0.7, terms{1, 0.1, -0.02, 8, 1.0 / 3, 1e-9})
	kept, err := json.Marshal(m)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(kept, &again))
	assert.Equal(t, m, again)
	assert.ErrorContains(t, json.Unmarshal([]byte("[1,2]"), &again), "want 21")
}
