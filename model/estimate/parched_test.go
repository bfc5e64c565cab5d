package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// lostFor is a bag whose wicks lost contact and of which a rival says that they lift
// again: it began at a water content, and explains the readings by llr better than
// the filter; that the bag stays as it was explains them by still.
func lostFor(t *testing.T, water, llr, still float64) *bag {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	b := s.e.bags[0]
	b.Cause = model.CauseWickLostContact
	back := b.asIs(b.Base.Time).assume(causeRestored)
	back.From, back.LLR, back.Still = water*b.volume(), llr, still
	b.Rivals = []rival{back}
	return b
}

// Plants that wilt leave the water where it is. Only a bag that rises is fed again;
// one above its dry limit, where plants drink as they like, needs no more than that
// it falls no more.
func TestAParchedBagIsNotFedForFallingNoMore(t *testing.T) {
	limit := lostFor(t, 0.3, 8, 0).physics.DryLimit
	for name, c := range map[string]struct {
		water, llr, still float64
		fed               bool
	}{
		"parched, as well explained by staying so": {limit - 0.1, 8, 7, false},
		"parched, better by e⁴":                    {limit - 0.1, 11, 7, false},
		"parched, and it rises":                    {limit - 0.1, 14, 7, true},
		"above its dry limit":                      {limit + 0.05, 8, 7, true},
		"not better than the filter":               {limit + 0.05, 4, 0, false},
	} {
		b := lostFor(t, c.water, c.llr, c.still)
		b.challenge()
		assert.Equal(t, c.fed, b.Cause == "", name)
		if c.fed {
			assert.Equal(t, b.Base.Time, b.Mended, name)
		}
	}
}

// That a bag stays as it was is weighed by the same readings.
func TestARivalThatStays(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	b := s.e.bags[0]
	b.Cause = model.CauseWickLostContact
	start := b.Base.Time
	back := b.asIs(start).assume(causeRestored)
	was := b.reads(back)
	back.S -= 0.1 * b.volume() // what it has to refill
	back.From = back.S
	b.Rivals = []rival{back}
	for i := range 12 {
		at := start.Add(time.Duration(i+1) * 10 * time.Minute)
		b.weigh(at, was-0.1, 0.05, sq(0.01)) // the readings do not move
		b.LastGood = at
	}
	r := b.Rivals[0]
	assert.Greater(t, r.S, r.From, "fed, it would have risen")
	assert.Greater(t, r.Still, r.LLR)
}

// After mending, what was laid on the probe while the bag was dry is learnt anew, and
// for two days no rate is made of a figure that jumped.
func TestWhatAMendedBagIsBelieved(t *testing.T) {
	b := lostFor(t, 0.5, 20, 0)
	before := b.Base.P[iOffset][iOffset]
	b.challenge()
	require.Empty(t, b.Cause)
	assert.InDelta(t, before+sq(priorProbe), b.Base.P[iOffset][iOffset], 1e-12)
	b.Keen.LLR = 50
	b.followKeenly(b.Mended.Add(time.Hour), b.LastY, 0.01, sq(0.01))
	assert.Less(t, b.Keen.LLR, 1.0, "it refills")
}

// Wicks that were learnt to lift little, without a fault that was named, may be
// changed at any moment: the bag has that explanation ready.
func TestAgedWicksMayBeMended(t *testing.T) {
	long(t)
	site := small(3, 135)
	loose := sim.Fault{Kind: sim.WickLostContact, Subject: model.BagSubject(site.Bags[0].ID), Start: after(3), End: after(6).Add(8 * time.Hour), Size: 0.05}
	s := newScene(t, site, 3, loose)
	s.live(days(6))
	b := s.e.bags[0]
	b.Cause, b.Rivals = "", nil // as for one whose decline was too slow to be named
	b.Base.X[iHealth] = math.Log(0.12)
	for i := range states {
		b.Base.P[iHealth][i], b.Base.P[i][iHealth] = 0, 0
	}
	b.Base.P[iHealth][iHealth] = sq(0.03)
	b.Roll = b.Base
	assert.Contains(t, b.inQuestion(), causeRestored)
	s.live(days(0.75))
	assert.Greater(t, math.Exp(b.Base.X[iHealth]), failing, "found on the day of the new wicks")
}
