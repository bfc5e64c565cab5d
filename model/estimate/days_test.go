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

// Wicks of a third of their health have three times the resistance, and a bag
// that dips as much deeper: the pattern of wicks that lost contact, of an
// eighth of theirs, holds (3 − 1)/(1/0.12 − 1) = 27 % of it [D].
func TestAProbeThatDriftsDipsNoDeeper(t *testing.T) {
	const depth, spread = 0.010, 1e-6
	seen := func(share, drift float64) *bag {
		d := dip{WarmVariance: sq(priorWarm)}
		for block := range 4 {
			var m moments
			for i := range 72 {
				days := (float64(block) + float64(i)/72) / 2
				fall := -depth / 2 * (1 - math.Cos(2*math.Pi*days))
				m.add(1, terms{mOne: 1, mLost: fall, mWarmth: 8 * math.Sin(2*math.Pi*days), mTime: days, mDeparture: share*fall - drift*days})
			}
			d.Blocks = append(d.Blocks, m)
		}
		return &bag{Noise: noise{Variance: spread}, Dips: []dip{d}}
	}
	third := math.Log(1.0 / 3)
	assert.True(t, seen(0.27, 0).dipsDeepen(third), "as deep as it should")
	assert.True(t, seen(0.9, 0).dipsDeepen(third), "deeper")
	assert.False(t, seen(0, 0.01).dipsDeepen(third), "a drift of 0.01 a day")
	assert.False(t, seen(0, 0).dipsDeepen(third), "no deeper than before")
	assert.True(t, (&bag{}).dipsDeepen(third), "nothing is known")
}

// A loss that comes at once has the whole pattern of it from the first day on;
// one that comes by and by has more of it from day to day. In between it cannot
// be told.
func TestCauseByTheDays(t *testing.T) {
	for want, d := range map[model.Cause]dipped{
		model.CauseWickLostContact: {Whole: 1.1, Lately: 1.15},
		model.CauseWickClogging:    {Whole: 0.7, Lately: 1.05},
		model.CauseUndecided:       {Whole: 0.7, Lately: 0.75},
	} {
		assert.Equal(t, want, d.cause())
	}
}

// Small plants on bags that are well fed: when a wick loses contact the bag dips
// by a few thousandths more than before, a third of its probe's noise, and is
// full again every morning. Only the pattern of the days shows it.
func TestALostWickUnderSmallPlants(t *testing.T) {
	long(t)
	site := small(3, 60)
	for i := range site.Bags {
		site.Bags[i].Canopy *= 0.6
	}
	lost := model.BagSubject(site.Bags[1].ID)
	s := newScene(t, site, 1, sim.Fault{Kind: sim.WickLostContact, Subject: lost, Start: after(5), Size: 0.12})
	var found time.Time
	s.each = func(e model.Snapshot, _ sim.Truth) {
		for _, b := range e.Bags {
			switch {
			case b.Cause == "":
			case model.BagSubject(b.Bag) != lost:
				assert.Fail(t, "nothing ails it", "%s at %s: %s", b.Bag, e.Time, b.Cause)
			case found.IsZero():
				found = e.Time
				assert.Equal(t, model.CauseWickLostContact, b.Cause)
			}
		}
	}
	s.live(days(9))
	require.False(t, found.IsZero(), "it was not found")
	assert.Less(t, found.Sub(after(5)), days(3))
}

// Means weighed by the inverse of variances, and the variance between by that of
// the sample: by hand [D].
func TestShares(t *testing.T) {
	two := shares{{K: 0, Variance: 0.1}, {K: 1, Variance: 0.3}}
	mean, variance := two.mean(0)
	assert.InDelta(t, 0.25, mean, 1e-12)
	assert.InDelta(t, 0.075, variance, 1e-12)
	assert.InDelta(t, 0.5-0.2, two.between(), 1e-12)
	mean, variance = two.mean(0.3)
	assert.InDelta(t, 0.4, mean, 1e-12)
	assert.InDelta(t, 0.24, variance, 1e-12)
	assert.Zero(t, shares{{K: 0.4, Variance: 0.1}, {K: 0.5, Variance: 0.1}}.between())
}

// A bag whose probe fell silent tells next to nothing of the days since: what it
// seems to show is no share of its neighbours' pattern.
func TestASilentProbeSpeaksForNoOther(t *testing.T) {
	shows := func(k, fall float64) *bag {
		var m moments
		m.add(40, terms{mOne: 1, mLost: fall, mDeparture: k * fall})
		m.add(40, terms{mOne: 1})
		return &bag{Noise: newNoise(startNoise), Dips: []dip{{Start: noon, Blocks: []moments{m}}}}
	}
	sound := []*bag{shows(0.1, 0.05), shows(0.2, 0.05), shows(0.1, 0.05)}
	silent := shows(-1.8, 0.0005)
	r := &reservoir{bags: append(sound, silent)}
	for _, b := range r.bags {
		b.source = r
	}
	mean, _, ok := sound[0].shownByOthers(&sound[0].Dips[0], 0, mLost)
	assert.True(t, ok)
	assert.InDelta(t, 0.15, mean, 0.01)
	r.bags = []*bag{sound[0], sound[1], silent}
	_, _, ok = sound[0].shownByOthers(&sound[0].Dips[0], 0, mLost)
	assert.False(t, ok, "one neighbour that can tell is too few")
}

// Copies of a bag from a time when nobody knew what its house drinks dip as that
// guess has it: that the bag dips less shows a guess that was wrong, and no plants
// that stopped.
func TestAnUnknownHouseShowsNobodyStopping(t *testing.T) {
	s := newScene(t, small(1, 70), 1)
	s.live(days(0.5))
	b := s.e.bags[0]
	b.DaysDue, b.Noise.Variance = true, sq(0.002)
	launch := func(unlearnt float64) dip {
		d := dip{Start: b.Base.Time.Add(-days(2)), WarmVariance: sq(priorWarm), Unlearnt: unlearnt, Held: rival{At: b.Base.Time}, Stopped: rival{Kind: model.CauseNotDrinking}}
		for block := range 4 {
			var m moments
			for i := range 72 {
				days := (float64(block) + float64(i)/72) / 2
				stands := 0.02 * (1 - math.Cos(2*math.Pi*days)) // that it does not dip by so much
				m.add(1, terms{mOne: 1, mStopped: stands, mTime: days, mDeparture: 0.9 * stands})
			}
			d.Blocks = append(d.Blocks, m)
		}
		return d
	}
	b.Dips = []dip{launch(0)}
	_, stopped := b.stopped()
	assert.True(t, stopped, "of a house that was known")
	b.Dips = []dip{launch(sq(priorHouse))}
	_, stopped = b.stopped()
	assert.False(t, stopped, "of one that was not")
}

// The first copies are of such a time, and know it; those of a week later are not.
func TestCopiesKnowWhatWasNotLearnt(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 1)
	s.live(days(1))
	first := s.e.bags[0].Dips[0].Unlearnt
	assert.Greater(t, first, sq(priorHouse)/2)
	s.live(days(7))
	dips := s.e.bags[0].Dips
	assert.Less(t, dips[len(dips)-1].Unlearnt, first/8)
}
