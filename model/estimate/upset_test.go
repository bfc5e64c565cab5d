package estimate

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// A message that comes twice says nothing twice: an outlier is not confirmed by
// its own copy, and a probe does not become surer by repeating one reading.
func TestCopiesOfOneReadingSayNothing(t *testing.T) {
	s := newScene(t, small(2, 50), 1)
	s.live(days(1))
	r, b := s.e.reservoirs[0], s.e.bags[0]
	level, at := r.physics.Level(r.X[jVolume]), r.Time.Add(time.Minute)
	refilled := r.Refilled
	assert.False(t, r.observeLevel(at, level+60))
	assert.True(t, r.observeLevel(at, level+60))
	assert.Equal(t, refilled, r.Refilled, "one reading is no refill")
	at, known := b.Base.Time.Add(20*time.Minute), b.LastY
	b.observe(at, known+0.01)
	once := b.Base
	for range 10 {
		assert.True(t, b.observe(at, known+0.01))
	}
	assert.Equal(t, once, b.Base)
	for range 2 * doubtsToAct {
		b.observe(at.Add(time.Minute), known-0.2)
	}
	assert.False(t, b.Lost, "one outlier is no lost contact")
	for range 2 * doubtsToAct {
		r.observeEC(at, r.EC.Value+2)
	}
	assert.Equal(t, 1, r.EC.Doubts, "one outlier is no jump")
}

// What comes too late is in no mean.
func TestLateReadingsOfTheSolution(t *testing.T) {
	s := newScene(t, small(2, 50), 1)
	s.live(days(1))
	r := s.e.reservoirs[0]
	was := r.Solution
	assert.True(t, r.observeEC(r.EC.Time.Add(-10*time.Hour), 9))
	assert.True(t, r.observePH(r.PH.Time.Add(-10*time.Hour), 3))
	assert.Equal(t, was, r.Solution)
}

// Two levels tell of one refill when they agree within the noise and 3 mm, be the
// tank wide or narrow.
func TestARefillOfANarrowTank(t *testing.T) {
	site := small(2, 50)
	site.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 250, Width: 200} // 0.05 L/mm
	s := newScene(t, site, 1)
	s.live(days(0.5))
	r := s.e.reservoirs[0]
	r.Noise.Variance = sq(0.5)
	level, at := r.physics.Level(r.X[jVolume]), r.Time
	r.observeLevel(at.Add(time.Minute), level+80)
	r.observeLevel(at.Add(2*time.Minute), level+50)
	assert.Equal(t, 1, r.Doubt.Doubts, "30 mm apart they do not agree")
	r.observeLevel(at.Add(3*time.Minute), level+52)
	assert.Equal(t, at.Add(3*time.Minute), r.Refilled)
}

// Hours in which nobody ticked are booked as the others, so that a restart over a
// full hour forgets nothing.
func TestAMissedHourForgetsNothing(t *testing.T) {
	s := newScene(t, small(2, 50), 1)
	s.live(days(3) + time.Hour)
	r := s.e.reservoirs[0]
	kept := len(r.Hours)
	require.Greater(t, kept, 48)
	last := r.Time.Truncate(time.Hour)
	s.e.Advance(last.Add(58 * time.Minute))
	s.e.Advance(last.Add(3*time.Hour + 16*time.Minute))
	s.e.Advance(last.Add(4 * time.Hour))
	assert.Len(t, r.Hours, kept+4)
	assert.Equal(t, last.Add(4*time.Hour), s.e.bags[0].History.Hours[len(s.e.bags[0].History.Hours)-1].At)
	assert.Equal(t, last.Add(3*time.Hour), s.e.bags[0].History.Hours[len(s.e.bags[0].History.Hours)-2].At)
}

// What a supply that came back drew in the evening is not taken out of the morning.
func TestAnExcuseStaysInItsDay(t *testing.T) {
	s := newScene(t, small(3, 50), 1)
	s.live(days(5) + 2*time.Hour)
	r := s.e.reservoirs[0]
	today := r.Drawn - r.Loose - r.Daily.Drawn
	r.excuse(r.HourEnd.Add(-10*time.Hour), 0.5)
	assert.InDelta(t, today, r.Drawn-r.Loose-r.Daily.Drawn, 0.06, "next to nothing is drawn by night")
}

// A thermometer that fell silent says nothing of a probe's warmth any more.
func TestAThermometerThatFellSilent(t *testing.T) {
	s := newScene(t, small(2, 50), 1)
	s.live(days(1))
	b, now := s.e.bags[0], s.e.bags[0].Base.Time
	air := b.excess(now)
	b.Heat.observe(now, 45, temperatureDrift)
	assert.InDelta(t, 25, b.excess(now), 1e-9)
	assert.InDelta(t, air, b.excess(now.Add(staleAfter+time.Second)), 10, "the air's")
	assert.Zero(t, b.excess(now.Add(48*time.Hour)), "nobody's")
}

// A channel that runs dry says nothing of the days before: a bag that nobody
// measures was fed until then, and covariances stay such.
func TestAChannelIsCutFromNowOn(t *testing.T) {
	site := small(3, 50)
	site.Bags[0].Moisture = nil
	s := newScene(t, site, 1)
	s.live(days(5))
	blind, c := s.e.bags[0], s.e.channels[0]
	water, took := blind.Roll.X[iStorage], blind.Roll.Uptake
	lost := s.e.bags[1]
	lost.yield(lost.asIs(lost.Base.Time).assume(model.CauseWickLostContact))
	lost.Cause = model.CauseWickLostContact
	s.live(6 * time.Hour)
	now := s.sim.Now()
	c.cut(now, model.CauseChannelDry)
	s.e.Advance(now.Add(time.Minute))
	assert.InDelta(t, water, blind.Roll.X[iStorage], 0.02*blind.volume())
	assert.GreaterOrEqual(t, blind.Roll.Uptake, took)
	assert.True(t, lost.Base.P.sound())
	resets := lost.Resets
	lost.bounded(lost.Base)
	assert.Equal(t, resets, lost.Resets)

	r := s.e.reservoirs[0]
	old := append([]hourDraw(nil), r.Hours[:72]...)
	for _, b := range c.bags[1:] {
		back := b.asIs(now.Add(-2 * time.Hour)).assume(causeRestored)
		back.LLR, back.S = 20, back.S+800
		b.Rivals = []rival{back}
	}
	c.judgeRefilled()
	assert.False(t, c.Dry)
	assert.Equal(t, old, r.Hours[:72], "what came back two hours ago is not of days ago")
}

// A bag that was laid over another reservoir's channel begins anew, and both
// reservoirs know which bags they feed.
func TestABagThatMovedToAnotherReservoir(t *testing.T) {
	site := func(channel int) *model.Site {
		s := small(2, 50)
		drum := s.Reservoirs[0]
		drum.ID, drum.Sensors = "drum", nil
		s.Reservoirs = append(s.Reservoirs, drum)
		s.Channels[1].Reservoir = "drum"
		s.Bags[0].Channel = s.Channels[channel].ID
		return s
	}
	then := fresh(t, site(0))
	then.Advance(begin)
	then.Advance(begin.Add(time.Hour))
	data, err := json.Marshal(then)
	require.NoError(t, err)
	now := fresh(t, site(1))
	require.NoError(t, json.Unmarshal(data, now))
	for _, r := range now.reservoirs {
		assert.Len(t, r.Shadow, len(r.bags))
	}
	assert.NotPanics(t, func() { now.Advance(begin.Add(2 * time.Hour)) })
	broken := []byte(`{"Version":6,"BagIDs":["a1"]}`)
	assert.Error(t, json.Unmarshal(broken, fresh(t, site(0))))
}

// A probe whose first readings no mix holds did not fall from anything.
func TestAProbeThatBeganOutOfRange(t *testing.T) {
	site := small(2, 60)
	e := fresh(t, site)
	id := site.Bags[0].Moisture.ID
	at, value := begin, 0.95
	said := func() string {
		at = at.Add(10 * time.Minute)
		e.Observe(model.Reading{Sensor: id, Time: at, Value: value, Verdict: model.Good})
		e.Advance(at)
		return e.Snapshot(at, []model.SensorHealth{{Sensor: id, Value: value, LastGood: at}}).Sensors[0].Evidence
	}
	for range doubtsToAct {
		said()
	}
	assert.Contains(t, said(), "it reads 95 %, and this mix holds at most")
	value = 0.35
	assert.Contains(t, said(), "it began with 95 %, which no such mix holds")
}

// What a reader does with a snapshot changes neither the next one nor what it
// was made of.
func TestASnapshotSharesNothing(t *testing.T) {
	site := small(2, 60)
	s := newScene(t, site, 1)
	s.live(days(3))
	in := []model.SensorHealth{{Sensor: site.Bags[0].Moisture.ID}}
	soon := s.sim.Now().Add(time.Hour)
	s.e.empty[0] = &model.Quantiles{P50: &soon}
	before := s.e.Snapshot(s.sim.Now(), in)
	reader := s.e.Snapshot(s.sim.Now(), in)
	*reader.Reservoirs[0].EmptyAt.P50, reader.Sensors[0].Evidence = time.Time{}, "x"
	assert.Equal(t, before, s.e.Snapshot(s.sim.Now(), in))
	assert.Empty(t, in[0].Evidence)
}

// The reading before a fall is as a rule one that noise had raised: what a noisy
// probe may read less by is no fall that no plant can drink, and more of it is.
func TestAFallWithinTheNoiseIsPossible(t *testing.T) {
	s := newScene(t, small(2, 60), 1)
	s.live(days(1.5))
	b := s.e.bags[0]
	b.Noise.Variance = sq(0.01)
	b.LastGood = after(1).Add(22 * time.Hour) // nothing drinks
	b.Suspect.Since = b.LastGood.Add(20 * time.Minute)
	assert.False(t, b.impossibleFall(b.LastY-0.03))
	assert.True(t, b.impossibleFall(b.LastY-0.06))
	b.Noise.Variance = sq(0.001)
	assert.True(t, b.impossibleFall(b.LastY-0.03), "of a probe that is finer")
}

// What nobody heard may have been a refill: a level that is higher than days before
// tells of one, however little the days' draw is known, and what was drunk meanwhile
// stays drunk. One that fell by less than was thought tells of plants that drank less.
func TestARefillThatNobodyHeard(t *testing.T) {
	for _, tt := range []struct {
		drawn    float64 // as a share of what was thought
		refilled bool
	}{{1, false}, {0.6, false}, {-0.2, true}, {-1, true}} {
		s := newScene(t, small(2, 70), 3)
		s.live(days(3))
		r := s.e.reservoirs[0]
		held, booked := r.X[jVolume], r.Drawn
		level := theTank.Sensor(model.Level)
		s.deaf = func(id model.Subject, _ time.Time) bool { return id == level }
		s.live(days(2))
		was := r.Drawn - booked
		require.Greater(t, was, 2.0)
		for n := range 2 {
			r.observeLevel(s.sim.Now().Add(time.Duration(n+1)*pace), r.physics.Level(held-tt.drawn*was))
		}
		assert.Equal(t, tt.refilled, r.Refilled.After(after(4)), "%g of what was thought", tt.drawn)
		if tt.refilled {
			assert.InDelta(t, was, r.Drawn-booked, 0.05)
		} else {
			assert.InEpsilon(t, tt.drawn*was, r.Drawn-booked, 0.25)
		}
		assert.InDelta(t, held-tt.drawn*was, r.X[jVolume], 1)
	}
}
