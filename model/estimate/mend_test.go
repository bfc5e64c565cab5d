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

// A wick that lies loose for days hides no leak of the reservoir, though it may
// be laid anew at any moment.
func TestLeakBesideALostWick(t *testing.T) {
	long(t)
	lost := sim.Fault{Kind: sim.WickLostContact, Subject: "bag/a2", Size: 0.12, Start: after(3).Add(8 * time.Hour)}
	hole := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: 0.06, Start: after(6)}
	s := newScene(t, small(2, 120), 4, lost, hole)
	leaks := func(e model.Snapshot) model.Cause { return e.Reservoirs[0].Cause }
	at := found(t, s, days(8), leaks, model.CauseLeak)
	require.False(t, at.IsZero(), "never named")
	assert.True(t, at.After(hole.Start), "named before it began")
}

// Nothing comes through a dry channel, however dry the bag above it: what came
// would be taken for thirst of the others, whose draw alone the level shows.
func TestNothingComesThroughADryChannel(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(0.1))
	b := s.e.channels[0].bags[0]
	b.Cut = true
	store := b.physics.Hydraulic.Store
	dry := store.Min() + (store.Max()-store.Min())/4
	step := b.physics.Hydraulic.Step(dry, 0, b.health(0), 24)
	fed := b.physics.Hydraulic.Step(dry, 0, 1, 24)
	assert.Less(t, step.Wicked, fed.Wicked/100, "cm³ in a day, against a channel that is full")
}

// Once the truth about a supply is known, what the hours before taught of
// demand and leaks is forgotten, and the volume is kept.
func TestReconsider(t *testing.T) {
	r := tank(t)
	for h := range 20 {
		r.X = vector{jVolume: 100 - float64(h), jHouse: float64(h) / 100, jUnexplained: float64(h) / 1000}
		r.P[jVolume][jVolume], r.P[jHouse][jHouse] = 0.1, 0.01
		r.P[jVolume][jHouse], r.P[jHouse][jVolume] = 0.02, 0.02
		r.remember(noon.Add(time.Duration(h) * time.Hour))
	}
	r.Breaches = make([]breach, 1)
	late := *r
	late.reconsider(noon.Add(2*time.Hour), 0)
	assert.InDelta(t, 0.19, late.X[jHouse], 1e-9, "too long ago to have misled")
	r.reconsider(noon.Add(15*time.Hour+time.Minute), 0)
	assert.Equal(t, vector{jVolume: 81, jHouse: 0.15, jUnexplained: 0.015}, r.X)
	assert.Zero(t, r.P[jVolume][jHouse])
	assert.InDelta(t, 0.1, r.P[jVolume][jVolume], 1e-9)
	assert.Empty(t, r.Breaches)
}

// Half of the demand over a dry channel halves the draw until somebody fills
// it; the bags then drink what they lack. At once and never are the outer
// quantiles.
func TestRunOutOverADryChannel(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(0.1))
	r := s.e.reservoirs[0]
	r.Hours = nil
	for range 120 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	now := r.Time
	wet := r.expectedDraw(now, course{}, 0)
	assert.InDelta(t, 1+math.Max(0, r.X[jUnexplained]), wet(3), 1e-9)

	var lacks float64
	for _, b := range s.e.channels[0].bags {
		b.Cut = true
		b.Roll.X[iStorage] = b.physics.Hydraulic.Store.Equilibrium(b.physics.Lift) - 600
		lacks += 0.6
	}
	share, lacking := r.fed(now)
	assert.InDelta(t, 0.5, share, 0.1, "one of two channels")
	assert.InDelta(t, lacks, lacking, 1e-9)

	leak := math.Max(0, r.X[jUnexplained])
	draw := r.expectedDraw(now, course{}, 24)
	assert.InDelta(t, share+leak, draw(23), 1e-9, "dry")
	var filling float64
	for h := 24; h < 30; h++ {
		filling += draw(h)
	}
	assert.InDelta(t, 6*(1+leak)+lacks, filling, 1e-9, "filling")
	assert.InDelta(t, 1+leak, draw(30), 1e-9, "full")
	assert.InDelta(t, share+leak, r.expectedDraw(now, course{}, math.Inf(1))(400), 1e-9, "never filled")
}

// Hours over a dry channel count for what the plants would have drunk.
func TestUsualDayOverADryChannel(t *testing.T) {
	r := tank(t)
	for i := range 120 {
		h := hourDraw{Lifted: 1}
		if i >= 96 {
			h = hourDraw{Lifted: 0.4, Idle: 0.6}
		}
		r.Hours = append(r.Hours, h)
	}
	usual, ok := r.usualDay(r.trend())
	require.True(t, ok)
	assert.InDelta(t, 1, usual[5], 1e-9)
	assert.InDelta(t, 1, r.departure(usual), 1e-9)
}

// The bag's fill is taken out of the hours in which it was drunk, and from no
// other.
func TestExcuse(t *testing.T) {
	r := tank(t)
	r.HourEnd = noon
	for range 30 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	r.Drawn, r.HourMark = 31, 30
	r.excuse(noon.Add(-3*time.Hour), 2)
	for i, h := range r.Hours {
		want := 1.0
		if i >= 27 {
			want = 0.5
		}
		assert.InDelta(t, want, h.Lifted, 1e-9, "hour %d", i)
	}
	assert.InDelta(t, 0.5, r.Drawn-r.Loose-r.HourMark, 1e-9, "of the open hour")
}

// No leak was known, so none can have been mended, whatever the level says.
func TestNothingMendedThatDidNotLeak(t *testing.T) {
	var r reservoir
	b := breach{Then: known{Loose: 0.004, Variance: sq(0.01)}}
	b.X[jUnexplained] = -0.1
	b.P[jUnexplained][jUnexplained] = sq(0.01)
	assert.False(t, r.credible(&b))
	b.Then.Loose, b.X[jUnexplained] = 0.2, 0
	assert.True(t, r.credible(&b), "a leak that stopped")
}

// A copy of another launch would set one day's dip against another's.
func TestOnlyCopiesOfOneLaunchAreCompared(t *testing.T) {
	launch := func(at time.Time) dip {
		var m moments
		m.add(40, terms{mOne: 1, mLost: 0.01, mDeparture: 0.01})
		m.add(40, terms{mOne: 1})
		return dip{Start: at, Blocks: []moments{m, m}}
	}
	b := &bag{Noise: newNoise(startNoise)}
	first := noon.Truncate(dipEvery).Add(time.Hour)
	b.Dips = []dip{launch(first.Add(20 * time.Minute))}
	mine := launch(first)
	_, _, known := b.shownSince(&mine, 0, mLost)
	assert.True(t, known)
	b.Dips = []dip{launch(first.Add(20 * time.Hour))} // after a channel was filled
	_, _, known = b.shownSince(&mine, 0, mLost)
	assert.False(t, known)
}

// Plants over a dry channel wilt, and by night they drink nothing: a bag that
// falls no more is not fed for that.
func TestADryChannelStaysDry(t *testing.T) {
	long(t)
	for seed := range uint64(3) {
		dry := sim.Fault{Kind: sim.ChannelDry, Subject: "channel/a", Start: after(4).Add(18 * time.Hour), End: after(8).Add(8 * time.Hour)}
		s := newScene(t, small(3, 135), seed, dry)
		var known, refilled time.Time
		s.each = func(e model.Snapshot, _ sim.Truth) {
			switch is := e.Channels[0].Dry; {
			case is && known.IsZero():
				known = e.Time
			case !is && !known.IsZero() && refilled.IsZero():
				refilled = e.Time
			}
		}
		s.live(days(9))
		assert.False(t, known.IsZero(), "seed %d: never known", seed)
		assert.True(t, refilled.After(dry.End), "seed %d: said to be full at %s", seed, refilled)
		assert.WithinDuration(t, dry.End, refilled, 6*time.Hour, "seed %d", seed)
	}
}

// In a new house a channel is not called dry while as much leaves the reservoir
// as bags on all channels drink: here 12 L were asked for, half by each channel.
func TestTheLevelSpeaksForAChannel(t *testing.T) {
	tests := map[string]struct {
		left   float64 // L
		sd     float64 // of the volume, L
		days   int
		valve  bool
		speaks bool
	}{
		"all of it left":                 {12, 0.1, 1, false, true},
		"what the other channel drinks":  {6, 0.1, 1, false, false},
		"a thirsty other channel":        {7.4, 0.1, 1, false, false},
		"a level that tells little":      {9, 2, 1, false, false},
		"a house that is known":          {12, 0.1, breachDays, false, false},
		"a float valve holds the volume": {12, 0.1, 1, true, false},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			r := newScene(t, small(2, 70), 1).e.reservoirs[0]
			r.Time, r.X, r.P = noon, vector{}, matrix{}
			r.P[jVolume][jVolume] = sq(test.sd)
			r.remember(noon)
			r.Before[0].Asked = 100
			r.Asked, r.Drawn = 112, test.left
			r.Daily.Whole, r.physics.Reservoir.FloatValve = test.days, test.valve
			assert.Equal(t, test.speaks, r.feeds("a", noon.Add(time.Hour)))
			assert.False(t, r.feeds("a", noon.Add(-time.Hour)), "nothing is remembered of then")
		})
	}
}

// Water poured on a bag runs through its wicks into the channel: that it stops
// coming is no leak.
func TestWateringFromAboveIsNoLeak(t *testing.T) {
	long(t)
	poured := sim.Fault{Kind: sim.WateredFromAbove, Subject: "bag/a3", Size: 1.5, Start: after(5).Add(22 * time.Hour)}
	s := newSceneAt(t, 10*time.Minute, small(6, 70), 7, poured)
	s.each = func(e model.Snapshot, _ sim.Truth) {
		assert.NotEqual(t, model.CauseLeak, e.Reservoirs[0].Cause, "at %s: %s", e.Time, e.Reservoirs[0].Evidence)
	}
	s.live(days(8))
}
