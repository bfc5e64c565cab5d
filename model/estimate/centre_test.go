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

// limited is a site whose bags ask for all that their wicks lift.
func limited(bags int) *model.Site {
	s := small(bags, 135)
	for i := range s.Bags {
		b := &s.Bags[i]
		b.Diameter, b.Length, b.Plants, b.Canopy, b.WickCount = 110, 800, 4, 0.4, 3
	}
	return s
}

// On bright days the bags of a house at its limit fall for days, all of them.
// No wick failed for it, no channel is dry and nothing leaks.
func TestNothingFailsAtTheLimit(t *testing.T) {
	long(t)
	for seed := range uint64(5) {
		s := newScene(t, limited(4), seed)
		s.each = func(e model.Snapshot, _ sim.Truth) {
			if e.Time.Before(after(2)) {
				return
			}
			for _, b := range e.Bags {
				assert.Contains(t, []model.Cause{"", model.CauseDemandHigh}, b.Cause, "seed %d, %s at %s: %s", seed, b.Bag, e.Time, b.Evidence)
			}
			assert.Empty(t, e.Reservoirs[0].Cause, "seed %d at %s: %s", seed, e.Time, e.Reservoirs[0].Evidence)
		}
		s.live(days(7))
	}
}

// With nothing known but the priors, a bag's factor is as wide as plants of one
// house are against each other and the house is against the tables; once the
// house is known, only the former is left [D].
func TestToldOfTheHouse(t *testing.T) {
	b := newScene(t, small(1, 70), 1).e.bags[0]
	b.begin(noon)
	b.Keen.State = b.Base
	assert.InDelta(t, sq(priorDemand)+sq(priorHouse), b.Base.P[iDemand][iDemand], 1e-12)
	b.told(0.01)
	for _, s := range b.states() {
		assert.InDelta(t, sq(priorDemand)+0.01, s.P[iDemand][iDemand], 1e-9)
	}
	b.Base.X[iDemand] = 0.3
	b.told(0.02)
	assert.InDelta(t, 0.3, b.Base.X[iDemand], 1e-12, "a house that is known less again takes nothing back")
	b.told(0)
	assert.InDelta(t, 0.3*sq(priorDemand)/(sq(priorDemand)+0.01), b.Base.X[iDemand], 1e-9, "what was the house's is taken back")
}

// What all bags have in common is the house's; no product changes.
func TestCentre(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	r := s.e.reservoirs[0]
	own := []float64{0.5, 0.4, 0.3, 0.3, 0.4, 0.5}
	require.Len(t, r.bags, len(own))
	product := func(b *bag) float64 { return r.common() * math.Exp(b.Roll.X[iDemand]) }
	var before []float64
	for i, b := range r.bags {
		require.True(t, b.sound(r.Time))
		b.Base.X[iDemand], b.Roll.X[iDemand] = own[i], own[i]
		b.Base.P[iDemand][iDemand] = 0.001
		before = append(before, product(b))
	}
	house := r.X[jHouse]
	r.P[jHouse][jHouse] = 0.2

	r.centre(after(1).Add(time.Hour))
	assert.InDelta(t, house, r.X[jHouse], 1e-12, "only at midnight")
	r.centre(after(2))
	assert.InDelta(t, house+0.4, r.X[jHouse], 1e-9)
	for i, b := range r.bags {
		assert.InDelta(t, own[i]-0.4, b.Roll.X[iDemand], 1e-9)
		assert.InDelta(t, before[i], product(b), 1e-9)
	}
	// Six bags that are known to 0.001 and differ by 0.16 tell the mean to 0.16²/6.
	assert.InDelta(t, sq(priorDemand)/6, r.P[jHouse][jHouse], 0.0003)
}

// Nor has its level stood for longer, or a shorter time, by what its bags drew meanwhile.
func TestCentreUnderALevelThatStands(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.75))
	r := s.e.reservoirs[0]
	r.standFrom(r.physics.Level(r.X[jVolume]))
	known := r.Stand.Known
	s.live(days(0.25))
	r.Stand = stand{Since: known.Time, Known: known}
	litres := func() float64 { return r.askedSince() * known.common() }
	before := litres()
	r.favour(0.3)
	assert.InDelta(t, before, litres(), 1e-9)
}

// Nor does one where the reservoir goes back to before that midnight: for levels that
// came late, or for one that stood and turns out to be none.
func TestCentreOfWhatIsGoneBackTo(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	r := s.e.reservoirs[0]
	r.standFrom(r.physics.Level(r.X[jVolume]))
	r.keep()
	since := r.Time
	house, late, stood := r.X[jHouse], r.Kept.X[jHouse], r.Stand.Known.X[jHouse]
	r.favour(0.4)
	assert.InDelta(t, late+0.4, r.Kept.X[jHouse], 1e-12)
	assert.InDelta(t, stood+0.4, r.Stand.Known.X[jHouse], 1e-12)
	r.advance(since.Add(time.Hour))
	r.jam(r.Time)
	assert.InDelta(t, house+0.4, r.X[jHouse], 1e-9)
}

// Where demand does not move the draw, the wicks decide it, and a leak is known
// no better than they are.
func TestLeaksAreKnownAsWellAsTheWicks(t *testing.T) {
	r := tank(t)
	for range 48 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 1})
	}
	r.Thirst, r.Lifted = 20, 20
	assert.Zero(t, r.supplyFeigns(r.bound()))
	r.Thirst = 5
	assert.InDelta(t, supplyError*0.75, r.supplyFeigns(r.bound()), 1e-9)
	b := breach{}
	b.X[jUnexplained], b.P[jUnexplained][jUnexplained] = 0.2, sq(0.02)
	assert.False(t, r.credible(&b))
	b.Then.Bound = 0.75
	assert.True(t, r.credible(&b), "what the wicks feigned before they feign now")
	r.Thirst = 20
	assert.False(t, r.credible(&b), "and feign no longer")
	b.Then.Bound = 0
	assert.True(t, r.credible(&b))
}

// A house whose wicks all lift two thirds of what their figures say has no
// failing wick; one that lifts half of that has.
func TestUsualWicks(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	r := s.e.reservoirs[0]
	for _, b := range r.bags {
		b.Base.X[iHealth], b.Roll.X[iHealth] = math.Log(0.66), math.Log(0.66)
	}
	r.bags[0].Roll.X[iHealth] = math.Log(0.4)
	r.Wicks = r.usualWicks(r.Time)
	assert.InDelta(t, 0.66, r.bags[0].usualHealth(), 1e-9)
	cause := func() model.Cause {
		var out model.BagEstimate
		r.bags[0].explain(&out)
		return out.Cause
	}
	assert.Empty(t, cause())
	r.bags[0].Roll.X[iHealth] = math.Log(0.3)
	assert.Equal(t, model.CauseWickClogging, cause())
	r.Wicks = 0.2
	assert.InDelta(t, 1, r.bags[0].usualHealth(), 1e-9, "wicks better than their figures hide no failing one")
}

// What a bag is told of its house moves what it drank as any other measurement does.
func TestWhatABagIsToldMovesWhatItDrank(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(2))
	b := s.e.bags[0]
	b.Cut, b.House = true, 0.1
	for at := b.Base.Time.Add(pace); at.Before(after(2.4)); at = at.Add(pace) {
		b.Base = b.advance(b.Base, at, driftHealth)
	}
	was := b.Base
	const house = 0.01
	r := 1 / (1/(sq(priorDemand)+house) - 1/(sq(priorDemand)+b.House))
	share := was.With[iDemand] / (was.P[iDemand][iDemand] + r)
	b.told(house)
	assert.NotZero(t, share)
	assert.InDelta(t, -share*was.X[iDemand], b.Base.Uptake-was.Uptake, 1e-12)
	want := was.With.less(share, was.P.times(vector{iDemand: 1}))
	assert.InDeltaSlice(t, want[:], b.Base.With[:], 1e-12)
}
