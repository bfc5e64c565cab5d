package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// A leak of a tenth of what is drawn differs from the whims of a few days by
// going on: it is found where few bags drink little, and where the wicks decide
// the draw, so that nobody knows it to a tenth, but only since when it rose.
func TestSmallLeaks(t *testing.T) {
	long(t)
	beginner := func() *model.Site {
		s := small(2, 70)
		s.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 600, Width: 400}
		return s
	}
	limit := func() *model.Site {
		s := small(3, 135)
		for i := range s.Bags {
			b := &s.Bags[i]
			b.Diameter, b.Length, b.Plants, b.Canopy, b.WickCount = 110, 800, 4, 0.4, 3
		}
		return s
	}
	for name, c := range map[string]struct {
		site   func() *model.Site
		seed   uint64
		size   float64 // L/h
		within time.Duration
	}{
		"few bags":             {beginner, 5, 0.014, 60 * time.Hour},
		"wicks at their limit": {limit, 2, 0.03, 96 * time.Hour},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			hole := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: c.size, Start: after(5)}
			s := newScene(t, c.site(), c.seed, hole)
			at := found(t, s, days(9.5), func(e model.Snapshot) model.Cause { return e.Reservoirs[0].Cause }, model.CauseLeak)
			require.False(t, at.IsZero(), "never named")
			assert.True(t, at.After(hole.Start), "named before it began")
			assert.Less(t, at.Sub(hole.Start), c.within)
		})
	}
}

// Warmer air dries more than a reference without wind knows, by night as by day:
// what comes with a heat wave must be larger to be a leak. Cooler air feigns none.
func TestHeatIsNoLeak(t *testing.T) {
	r := tank(t)
	for range 48 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	before := known{Warmth: 2}
	sure := func(warmth float64) float64 {
		r.Warmth = warmth
		return r.gain(0.1, sq(0.03), before)
	}
	assert.InDelta(t, 0.1/0.03, sure(2), 1e-9)
	assert.InDelta(t, sure(2), sure(-4), 1e-9)
	assert.Less(t, sure(8), breachSigma)
}
