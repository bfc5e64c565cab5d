package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"wickd/model"
	"wickd/model/sim"
)

// What the bags drew beyond the books, with its covariance alone, is what a filter
// of six states makes of it, written out with gonum's matrices: the textbook
// prediction F·P·Fᵀ + Q and update P·h/s.
func TestTallyIsAStateOfTheFilter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1, 1)
		p := randomCovariance(t)
		var c tally
		var x vector
		whole := mat.NewDense(states+1, states+1, nil)
		for i := range states {
			for j := range states {
				whole.Set(i, j, p[i][j])
			}
		}
		whole.Set(states, states, 1)
		mean := 0.0
		for range 5 {
			slope, dt := number.Draw(t, "slope"), 1+number.Draw(t, "hours")
			lost := rapid.SampledFrom([]float64{0, dt}).Draw(t, "lost")
			thirst, wander := math.Abs(number.Draw(t, "thirst")), 0.1
			f := transition{first: vector{1, -slope, -slope, -dt, 0}, keep: vector{0, 1, 0.5, 1, 1}}
			c = c.carry(p, f, slope, lost, thirst)
			p = p.propagate(f, vector{jVolume: thirst + wander})

			step := mat.NewDense(states+1, states+1, nil)
			for i := range states {
				step.Set(0, i, f.first[i])
				if i > 0 {
					step.Set(i, i, f.keep[i])
				}
			}
			step.SetRow(states, []float64{0, slope, slope, lost, 0, 1})
			var next mat.Dense
			next.Product(step, whole, step.T())
			next.Set(0, 0, next.At(0, 0)+thirst+wander)
			next.Set(0, states, next.At(0, states)-thirst)
			next.Set(states, 0, next.At(states, 0)-thirst)
			next.Set(states, states, next.At(states, states)+thirst)
			whole = &next

			g := gauged{row: vector{jVolume: 1, jWarm: number.Draw(t, "warm")}, volume: number.Draw(t, "volume"), variance: 0.2}
			nu, s := g.innovation(x, p)
			h := mat.NewVecDense(states+1, append(g.row[:], 0))
			var ph, less mat.Dense
			ph.Mul(whole, h)
			mean += ph.At(states, 0) / s * nu
			less.Outer(1/s, ph.ColView(0), ph.ColView(0))
			whole.Sub(whole, &less)
			c = c.learn(p, g.row, nu, s)
			x, p, _ = g.fuse(x, p)
		}
		assert.InDelta(t, mean, c.More, 1e-9)
		for i := range states {
			assert.InDelta(t, whole.At(i, states), c.With[i], 1e-9)
		}
	})
}

// Where nobody measures the sky, what all bags drank in a day is what left the
// reservoir that day, and no dull or bright day changes that.
func TestADaysUptakeIsWhatLeftTheReservoir(t *testing.T) {
	long(t)
	site := small(3, 70)
	site.Air = nil
	s := newScene(t, site, 4)
	var before sim.Truth
	worst, least, most := 0.0, math.Inf(1), 0.0
	s.each = func(e model.Snapshot, truth sim.Truth) {
		if !e.Time.Equal(e.Time.Truncate(days(1))) {
			return
		}
		var said, took float64
		for i, b := range e.Bags {
			said += b.UptakePerDay.Value
			if before.Bags != nil {
				took += truth.Bags[i].Uptake - before.Bags[i].Uptake
			}
		}
		before = truth
		if e.Time.After(after(2)) {
			worst = math.Max(worst, math.Abs(said/took-1))
			least, most = math.Min(least, took), math.Max(most, took)
		}
	}
	s.live(days(9))
	assert.Greater(t, most, 1.3*least, "days are alike, which proves nothing")
	assert.Less(t, worst, 0.1)
}

// What leaked before anybody knew is taken back out of what the bags are said to
// have drunk.
func TestALeakIsNotDrunk(t *testing.T) {
	long(t)
	s := newScene(t, small(4, 70), 2, sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: 0.25, Start: after(5).Add(20 * 3600e9)})
	var first, last model.Snapshot
	var from, to sim.Truth
	s.each = func(e model.Snapshot, truth sim.Truth) {
		if e.Time.Equal(after(5)) {
			first, from = e, truth
		}
		last, to = e, truth
	}
	s.live(days(8))
	assert.Equal(t, model.CauseLeak, last.Reservoirs[0].Cause)
	var said, took float64
	for i := range last.Bags {
		said += last.Bags[i].Uptake - first.Bags[i].Uptake
		took += to.Bags[i].Uptake - from.Bags[i].Uptake
	}
	assert.InEpsilon(t, took, said, 0.08)
}

// What the bags over a dry channel drink of their store is drunk, and what fills
// them again afterwards is not, nor is it a leak.
func TestADryChannelChangesNoBooks(t *testing.T) {
	long(t)
	dry := sim.Fault{Kind: sim.ChannelDry, Subject: "channel/a", Start: after(5).Add(7 * time.Hour), End: after(5).Add(15 * time.Hour)}
	s := newScene(t, small(4, 70), 1, dry)
	var first, last model.Snapshot
	var from, to sim.Truth
	named := false
	s.each = func(e model.Snapshot, truth sim.Truth) {
		named = named || e.Channels[0].Dry
		if e.Time.Equal(after(5)) {
			first, from = e, truth
		}
		last, to = e, truth
		assert.Empty(t, e.Reservoirs[0].Cause, "%s", e.Time)
	}
	s.live(days(8.5))
	require.True(t, named)
	var said, took float64
	for i := range last.Bags {
		said += last.Bags[i].Uptake - first.Bags[i].Uptake
		took += to.Bags[i].Uptake - from.Bags[i].Uptake
	}
	assert.InEpsilon(t, took, said, 0.04)
}

// What the books were put right by since a rival began goes with the filter's own
// account of that time, and is not taken off the bag once more.
func TestABagIsBookedAnewOnce(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(2.5))
	r, b, other := s.e.reservoirs[0], s.e.bags[0], s.e.bags[1]
	since, had, others := b.Base.Time, b.Base.Uptake, other.Base.Uptake
	lost := b.asIs(since).assume(model.CauseWickLostContact)
	r.Before = nil
	r.remember(since)
	more := r.Tally
	more.More++ // the level tells of a litre more than all bags were said to have drunk
	r.book(more)
	require.Greater(t, b.Base.Uptake, had+0.1)
	lost.Taken.Uptake = 0.15
	r.reconsider(since, b.yield(lost), b)
	assert.InDelta(t, 0.15, b.Base.Uptake-had, 1e-9, "the rival's own account")
	assert.InDelta(t, 0, other.Base.Uptake-others, 1e-9)
}
