package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// The water that the site file states decides how much of it thins a solution,
// and whether it can at all: 144 L of 1.9 to 1.4 take 144·0.5/(1.4 − 0.35) = 69 L of
// usual tap water
// and 144·0.5/(1.4 − 0.4) = 72 L of one of 0.4 mS/cm.
func TestThinningCountsTheWatersOwnSalt(t *testing.T) {
	r := &model.ReservoirEstimate{Volume: measured(144, 1), EC: measured(1.9, 0.02)}
	built := model.Reservoir{Target: model.Target{EC: 1.4, ECTolerance: 0.21}}
	assert.Equal(t, ", about 69 L of ordinary tap water, less of soft, if there is room", thinning(r, built))
	built.Water = &model.Water{EC: 0.4}
	assert.Equal(t, ", about 72 L if there is room", thinning(r, built))
	built.Water.EC = 1.4
	assert.Empty(t, thinning(r, built))
}

// A refill is the time to bring a solution that is off its target back to it.
func TestARefillKnowsTheEC(t *testing.T) {
	r := &model.ReservoirEstimate{Volume: measured(144, 1), EC: measured(1.5, 0.02)}
	built := model.Reservoir{Target: model.Target{EC: 1.4, ECTolerance: 0.21}}
	assert.Empty(t, strength(r, built), "it is within its band")
	r.EC = measured(1.9, 0.02)
	assert.Equal(t, " Its EC is 1.9 mS/cm, target 1.4 mS/cm: begin with plain water, about 69 L of ordinary tap water, less of soft, if there is room, and measure.", strength(r, built))
	r.EC = measured(1.0, 0.02)
	assert.Contains(t, strength(r, built), "add feed")
	r.EC.Quality = model.Stale
	assert.Empty(t, strength(r, built))
	r.EC, built.Target.EC = measured(1.9, 0.02), 0
	assert.Empty(t, strength(r, built))
}

// Where hardly anything but water leaves, plain water is the top-up: "hardly" is
// measured against the water that there is.
func TestTopUpAgainstADrift(t *testing.T) {
	c := model.Course{Cause: model.CauseWaterOverFeed, Leaving: 0.2}
	assert.Contains(t, topUp(c, model.PlainWaterEC), "plain water")
	assert.Contains(t, topUp(c, 0.05), "about 0.2 mS/cm")
}

// The likely reason of a pH off its target is the alert's cause, as far as it
// points the same way; hard water brings its own advice.
func TestPHOffTargetNamesTheReason(t *testing.T) {
	off := func(pH, rate float64, cause model.Cause) (model.Cause, model.Message) {
		e, err := New(Options{Site: kestrel()})
		require.NoError(t, err)
		now := noon
		for range 4 {
			now = now.Add(time.Hour)
			for _, tr := range e.Step(now, with(now, func(s *model.Snapshot) {
				r := &s.Reservoirs[0]
				r.PH.Value, r.PHCourse = pH, model.Course{Rate: rate, SD: 0.01, Cause: cause, Evidence: "so it is"}
			})) {
				if tr.Condition == PHOffTarget {
					return tr.Cause, tr.Message
				}
			}
		}
		t.Fatal("nothing was raised")
		return "", model.Message{}
	}
	cause, message := off(6.8, 0.1, model.CauseHardWater)
	assert.Equal(t, model.CauseHardWater, cause)
	assert.Contains(t, message.Action, "counts the water's alkalinity")
	cause, message = off(6.8, 0.1, model.CauseNitrateUptake)
	assert.Equal(t, model.CauseNitrateUptake, cause)
	assert.NotContains(t, message.Action, "alkalinity")
	cause, _ = off(4.9, 0.1, model.CauseHardWater)
	assert.Empty(t, cause, "it rises, and the pH is too low")
}

// A figure that has crossed an edge is not printed as the edge.
func TestBeyond(t *testing.T) {
	assert.Equal(t, "6.31", beyond(6.31, 6.3))
	assert.Equal(t, "6.4", beyond(6.38, 6.3))
	assert.Equal(t, "6.31", beyond(6.3001, 6.3))
	assert.Equal(t, "5.29", beyond(5.2999, 5.3))
	assert.Equal(t, "5.26", beyond(5.26, 5.3))
}
