package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

// What tells the two failures apart is what comes after: the supply of wicks out
// of contact stays, that of wicks that clog goes on falling. A day's readings
// must have spoken first, and between the two nothing is said.
func TestUndecidedWicksAreNamedInTime(t *testing.T) {
	tests := map[string]struct {
		health []float64 // of the usual, at the end of each day
		sd     float64   // ln
		want   model.Cause
	}{
		"little is left, and stays":         {[]float64{0.14, 0.13}, 0.12, model.CauseWickLostContact},
		"it fell only from what we assumed": {[]float64{0.6, 0.13, 0.13}, 0.12, model.CauseWickClogging},
		"1 %/h":                             {[]float64{0.50, 0.39}, 0.1, model.CauseWickClogging},
		"3 %/h":                             {[]float64{0.50, 0.24}, 0.2, model.CauseWickClogging},
		"half is left, and stays":           {[]float64{0.50, 0.50, 0.49}, 0.1, model.CauseUndecided},
		"not known well enough":             {[]float64{0.2, 0.17}, 0.4, model.CauseUndecided},
		"one day only":                      {[]float64{0.12}, 0.05, model.CauseUndecided},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			s := newScene(t, small(2, 70), 1)
			b := s.e.channels[0].bags[0]
			b.Cause = model.CauseUndecided
			look := func(day int, health float64) {
				b.Base.Time = noon.Add(time.Duration(day) * doubtEvery)
				b.Base.X[iHealth], b.Base.P[iHealth][iHealth] = math.Log(health), sq(test.sd)
				b.decide()
			}
			look(0, lostShare)
			for i, h := range test.health {
				look(i+1, h)
			}
			assert.Equal(t, test.want, b.Cause)
		})
	}
}

// A bag that has its channel to itself says nothing of the channel, however long.
func TestAloneOnItsChannelStaysUndecided(t *testing.T) {
	s := newScene(t, small(1, 70), 1)
	b := s.e.channels[0].bags[0]
	b.Cause = model.CauseUndecided
	for day := range 5 {
		b.Base.Time = noon.Add(time.Duration(day) * doubtEvery)
		b.Base.X[iHealth], b.Base.P[iHealth][iHealth] = math.Log(lostShare), sq(0.05)
		b.decide()
	}
	assert.Equal(t, model.CauseUndecided, b.Cause)
}

// A probe that hangs in the air says nothing of the bag when its channel is found dry.
func TestACutUnderAProbeInTheAir(t *testing.T) {
	s := newScene(t, small(4, 70), 3)
	s.live(days(4))
	c := s.e.channels[0]
	b := c.bags[1]
	s.skew = func(r model.Reading) float64 {
		if r.Sensor == b.physics.Bag.Moisture.ID && r.Time.After(after(4).Add(3*time.Hour)) {
			return -r.Value
		}
		return 0
	}
	s.live(4 * time.Hour)
	assert.True(t, b.Lost)
	held := b.Roll.X[iStorage]
	g := c.launches()
	c.cut(g[len(g)-2], model.CauseChannelDry)
	assert.InEpsilon(t, held, b.Roll.X[iStorage], 0.1)
}

// A bag of thirsty plants whose wicks lift no more falls by more from one reading to the
// next than is believed at first. That is no reason to begin anew: what speaks for lost
// wicks by then would be gone, and the rest of the fall taken for wicks that clog.
func TestAFallBeyondBelief(t *testing.T) {
	long(t)
	for _, seed := range []uint64{1, 2, 3} {
		s := newScene(t, small(4, 120), seed)
		seldom := func(id model.Subject, at time.Time) bool {
			return id.Quantity() == model.Moisture && at.Minute()%20 != 0
		}
		s.deaf = seldom
		s.live(days(3 + 4.0/24))
		b := s.e.bags[1]
		theProbe := b.physics.Bag.Moisture.ID
		s.deaf = func(id model.Subject, at time.Time) bool { return id == theProbe || seldom(id, at) }
		truth := b.asIs(b.Base.Time).assume(model.CauseWickLostContact)
		truth.LnDemand += 0.8
		noise := 0.004
		for b.Cause == "" && s.sim.Now().Before(after(3).Add(15*time.Hour)) {
			s.live(20 * time.Minute)
			truth, noise = b.carry(truth, s.sim.Now()), -noise
			s.e.Observe(model.Reading{Sensor: theProbe, Time: s.sim.Now(), Value: b.reads(truth) + noise, Verdict: model.Good})
		}
		assert.Equal(t, model.CauseWickLostContact, b.Cause, "seed %d", seed)
		assert.Zero(t, b.Resets, "seed %d", seed)
		for _, h := range b.History.Hours {
			assert.LessOrEqual(t, h.Uptake, b.Roll.Uptake+0.02, "seed %d: by %v it had drunk no more than by now", seed, h.At)
		}
		assert.InDelta(t, b.reads(truth), b.Base.X[iStorage]/b.volume(), 0.02, "the probe is taken at its word")
	}
}
