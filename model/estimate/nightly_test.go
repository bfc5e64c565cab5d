package estimate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// drawing is a reservoir that draws so much in every hour, L, of which a share leaves
// unexplained.
func drawing(t *testing.T, hourly, share float64) *reservoir {
	r := fresh(t, small(3, 70)).reservoirs[0]
	r.begin(after(0))
	draws(r, hourly, share)
	r.Daily.Whole, r.LastGood = breachDays, r.Time
	r.P = r.P.forget(jUnexplained, sq(0.001))
	return r
}

func draws(r *reservoir, hourly, share float64) {
	r.Hours = nil
	for range 240 {
		r.Hours = append(r.Hours, hourDraw{Lifted: hourly})
	}
	r.X[jUnexplained] = share * hourly
}

// What plants drink by night grows with them.
func TestWhatLeavesAsARuleGrowsWithThePlants(t *testing.T) {
	r := drawing(t, 0.2, 0.05)
	assert.False(t, r.leaks())
	for range 40 * 24 {
		r.learnNightly(1)
	}
	assert.InDelta(t, 0.05, r.Nightly.Share, 0.002)
	assert.Greater(t, r.Nightly.Known, 0.9)
	then := r.believed(after(40))

	draws(r, 0.8, 0.065)
	assert.False(t, r.leaks(), "four times as much, and a little more")
	draws(r, 0.8, 0.052)
	assert.Less(t, r.gain(r.X[jUnexplained], sq(0.001), then), breachSigma)
	draws(r, 0.8, 0.05+0.1)
	assert.True(t, r.leaks(), "a tenth of the draw beside it")
	assert.Greater(t, r.gain(r.X[jUnexplained], sq(0.001), then), breachSigma)

	r.Nightly = nightly{}
	draws(r, 0.8, 0.065)
	assert.True(t, r.leaks(), "of a house that nobody knows yet")
}

func TestWhatNobodyHeardTeachesNothing(t *testing.T) {
	r := drawing(t, 0.2, 0.05)
	r.LastGood = r.Time.Add(-2 * staleAfter)
	r.learnNightly(1)
	assert.Zero(t, r.Nightly)
	r.LastGood, r.Stand.Jammed = r.Time, true
	r.learnNightly(1)
	assert.Zero(t, r.Nightly)
}

// A leak that is known is none of what leaves as a rule.
func TestALeakTeachesNothing(t *testing.T) {
	r := drawing(t, 0.5, 0.3)
	assert.True(t, r.leaks())
	for range 240 {
		r.learnNightly(1)
	}
	assert.Zero(t, r.Nightly.Share)
}

// Nor is one that is only suspected, and what is learnt while it runs counts for nothing
// against it.
func TestWhatMayLeakTeachesNothing(t *testing.T) {
	r := drawing(t, 0.5, 0.02)
	began := r.believed(r.Time)
	r.X[jUnexplained] = 0.05 * 0.5
	rival := breach{X: r.X, P: r.P, Then: began, LLR: breachClearly + 0.1}
	r.Breaches = []breach{rival}
	r.learnNightly(1)
	assert.Zero(t, r.Nightly)
	r.Breaches[0].LLR = 0
	for range 240 {
		r.learnNightly(1)
	}
	assert.Greater(t, r.Nightly.Share, 0.02)
	assert.InDelta(t, (0.05-0.02)*0.5/math.Hypot(0.001, math.Sqrt(began.Variance)), r.gain(r.X[jUnexplained], sq(0.001), began), 0.5)
}

// What an older version kept of a rival knows no share, and gains nothing by it.
func TestARivalThatAnOlderVersionKept(t *testing.T) {
	r := drawing(t, 0.5, 0.05)
	assert.Zero(t, r.gain(0.03, sq(0.001), known{Loose: 0.03, Usual: 0.025, Variance: sq(0.01)}))
}
