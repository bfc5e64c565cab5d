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

// A channel that was dry for two days has water again: nothing about its plants and
// wicks is new, and while its bags soak, in another way than the model has it, nothing
// is learnt of them.
func TestADryChannelKeepsWhatWasKnown(t *testing.T) {
	long(t)
	dry := after(5).Add(8 * time.Hour)
	s := newScene(t, small(4, 110), 9, sim.Fault{Kind: sim.ChannelDry, Subject: "channel/a", Start: dry, End: dry.Add(46 * time.Hour)})
	var before, resumed, soaked []vector
	s.each = func(e model.Snapshot, _ sim.Truth) {
		now := make([]vector, len(s.e.bags))
		for i, b := range s.e.bags {
			now[i] = b.Base.X
		}
		switch mended := s.e.bags[0].Mended; {
		case e.Time.Before(dry):
			before = now
		case mended.IsZero():
		case resumed == nil:
			resumed = now
		case e.Time.Sub(mended) < keenRefills:
			soaked = now
		}
	}
	s.live(days(9.5))
	require.NotNil(t, soaked, "it was found, and found mended")
	for i, b := range s.e.bags {
		if b.physics.Channel.ID != "a" {
			continue
		}
		assert.InDelta(t, before[i][iHealth], resumed[i][iHealth], 0.02, "bag %d", i)
		assert.InDelta(t, before[i][iDemand], resumed[i][iDemand], 0.1, "bag %d", i)
		assert.Equal(t, resumed[i][iHealth], soaked[i][iHealth], "bag %d", i)
	}
}

// A failure of some hours may have been none: what misled the filter then would do so
// again on the next bright morning, were it given back.
func TestOnlyALongFailureIsPassedOver(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	b := s.e.bags[0]
	for hours, long := range map[int]bool{10: false, 30: true} {
		b.Sound = b.Base
		b.Sound.X[iDemand] = 0.3
		b.Sound.Time = b.Base.Time.Add(-time.Duration(hours) * time.Hour)
		got := b.resumed(b.Base)
		assert.Equal(t, long, b.Starved, "%d h", hours)
		assert.Equal(t, long, got.X[iDemand] == 0.3, "%d h", hours)
		assert.True(t, b.Sound.Time.IsZero(), "it is used once")
	}
}

// What leaves a bag without supply its plants drank. Where they wilt sooner than they
// are thought to, its probe shows that it loses nothing, and they drank nothing.
func TestABagWithoutSupplyDrankWhatItLost(t *testing.T) {
	s := newScene(t, small(3, 110), 1)
	s.live(days(3))
	b := s.e.bags[0]
	b.Cut, b.Rivals = true, nil
	b.Base.X[iStorage] = 0.25 * b.volume()
	b.Base.P[iStorage][iStorage] = sq(0.005 * b.volume())
	said, start, before := b.row(b.Base.Time).dot(b.Base.X), b.Base.Time, b.Base
	for at := start; at.Before(start.Add(days(2))); at = at.Add(10 * time.Minute) {
		b.observe(at, said)
	}
	thirst := b.Base.Potential - before.Potential
	assert.Greater(t, thirst, 0.2, "L: what they were thought to ask for, less by and by")
	assert.InDelta(t, 0, b.Base.Uptake-before.Uptake, 0.4*thirst, "what the probe may hide is left")
}

// Dry bags that have water again draw more than plants ever do, and no hose came off.
func TestSoakingBagsAreNoHose(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(1.5))
	r := s.e.reservoirs[0]
	assert.Zero(t, r.refill())
	for _, b := range r.bags {
		b.Mended, b.Roll.X[iStorage] = r.Time, 0.2*b.volume()
	}
	much := r.refill()
	assert.Greater(t, much, 1.0)
	// The fall of the last two hours may be of the hour in which they were dry.
	for _, b := range r.bags {
		b.Dried, b.Roll.X[iStorage] = b.Roll.X[iStorage], 0.5*b.volume()
	}
	assert.InDelta(t, much, r.refill(), 1e-9)
	r.Time = r.Time.Add(6 * time.Hour)
	assert.Less(t, r.refill(), 0.8*much)
	r.Time = r.Time.Add(keenRefills)
	assert.Zero(t, r.refill())
}

// A state that is considered keeps its variance, and the others are known less well
// than if it were learnt.
func TestAStateThatIsConsidered(t *testing.T) {
	p := matrix{{4, 1, 0, 0, 0}, {1, 1, 0, 0, 0}, {0, 0, 1, 0, 0}, {0, 0, 0, 1, 0}, {0, 0, 0, 0, 1}}
	h := vector{1}
	gain, learnt := p.update(h, 5, 1)
	held := gain
	held[1] = 0
	considered := p.joseph(h, held, 1)
	assert.InDelta(t, 1, considered[1][1], 1e-12)
	assert.InDelta(t, learnt[0][0], considered[0][0], 1e-12)
	assert.InDelta(t, 1-held[0], considered[0][1], 1e-12, "(1−K)·1")
	assert.Less(t, learnt[1][1], 1.0)
	assert.False(t, math.IsNaN(considered[0][0]))
}
