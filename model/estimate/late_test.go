package estimate

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// all are every sensor.
func all(model.Subject) bool { return true }

// batches lets a site live with a gateway that keeps what some of its sensors say and
// hands it over so often, while ticks go on.
func (s *scene) batches(d, every time.Duration, of func(model.Subject) bool) {
	var kept []model.Reading
	for end := s.sim.Now().Add(d); s.sim.Now().Before(end); {
		now, messages := s.sim.Advance()
		for _, m := range messages {
			if r := s.reading(m); of(r.Sensor) {
				kept = append(kept, r)
			} else {
				s.e.Observe(r)
			}
		}
		if now.Equal(now.Truncate(every)) {
			for _, r := range kept {
				s.e.Observe(r)
			}
			kept = nil
		}
		s.e.Advance(now)
		if s.each != nil {
			s.each(s.e.Snapshot(now, nil), s.sim.Truth())
		}
	}
	require.NoError(s.t, s.sim.Err())
}

// What a gateway hands over every six hours tells as much as what comes at once:
// every level counts, what left is known as well, and a leak is found one batch
// later, at most.
func TestLevelsOfAGatewayThatKeepsThem(t *testing.T) {
	long(t)
	hole := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: 0.15, Start: after(6)}
	run := func(live func(s *scene)) (s *scene, found time.Time) {
		s = newScene(t, small(3, 100), 4, hole)
		s.each = func(e model.Snapshot, _ sim.Truth) {
			if found.IsZero() && e.Reservoirs[0].Cause == model.CauseLeak {
				found = e.Time
			}
		}
		live(s)
		return s, found
	}
	at, soon := run(func(s *scene) { s.live(days(8)) })
	kept, later := run(func(s *scene) { s.batches(days(8), 6*time.Hour, all) })
	require.False(t, soon.IsZero())
	require.False(t, later.IsZero(), "the leak was never found")
	assert.Greater(t, later, hole.Start)
	assert.LessOrEqual(t, later.Sub(soon), 7*time.Hour)
	assert.Zero(t, kept.e.Late())
	one, other := at.e.reservoirs[0], kept.e.reservoirs[0]
	assert.Equal(t, one.Readings, other.Readings)
	assert.InEpsilon(t, one.Drawn, other.Drawn, 0.005)
	assert.InDelta(t, one.X[jVolume], other.X[jVolume], 0.5)
	assert.InDelta(t, one.X[jHouse], other.X[jHouse], 0.05)
	assert.Len(t, other.Hours, len(one.Hours))
	for i, b := range at.e.bags {
		assert.InEpsilon(t, b.Roll.Uptake, kept.e.bags[i].Roll.Uptake, 0.03, b.physics.Bag.ID)
	}
}

// What is kept for late levels is kept through a restart, and not where the site
// has other bags since.
func TestWhatIsKeptForLateLevelsIsRestored(t *testing.T) {
	s := newScene(t, small(2, 100), 4)
	s.live(days(1))
	s.deaf = func(id model.Subject, _ time.Time) bool { return id == "reservoir/tank/level" }
	s.live(days(0.25))
	require.NotNil(t, s.e.reservoirs[0].Kept)
	state, err := json.Marshal(s.e)
	require.NoError(t, err)

	again := fresh(t, s.site)
	require.NoError(t, again.UnmarshalJSON(state))
	late := model.Reading{Sensor: "reservoir/tank/level", Time: after(1.1), Value: 300, Verdict: model.Good}
	for _, e := range []*Estimator{s.e, again} {
		e.Observe(late)
		assert.Equal(t, late.Time, e.reservoirs[0].Time)
		e.Advance(after(1.26))
		assert.Zero(t, e.Late())
	}
	one, err := json.Marshal(s.e)
	require.NoError(t, err)
	other, err := json.Marshal(again)
	require.NoError(t, err)
	assert.JSONEq(t, string(one), string(other))

	fewer := *s.site
	fewer.Bags = fewer.Bags[1:]
	less := fresh(t, &fewer)
	require.NoError(t, less.UnmarshalJSON(state))
	assert.Nil(t, less.reservoirs[0].Kept)
	less.Observe(late)
	assert.Equal(t, uint64(1), less.Late())
}

// What an older version kept does not say how large the reservoir was: that it is gone
// back to makes no other reservoir of it, at the start after it either.
func TestWhatAnOlderVersionKeptIsGoneBackTo(t *testing.T) {
	s := newScene(t, small(2, 100), 4)
	s.live(days(1))
	s.deaf = func(id model.Subject, _ time.Time) bool { return id == "reservoir/tank/level" }
	s.live(days(0.25))
	s.e.reservoirs[0].Kept.Built = 0
	restored := func(e *Estimator) *Estimator {
		raw, err := json.Marshal(e)
		require.NoError(t, err)
		again := fresh(t, s.site)
		require.NoError(t, json.Unmarshal(raw, again))
		return again
	}
	older := restored(s.e)
	late := model.Reading{Sensor: "reservoir/tank/level", Time: after(1.1), Value: 300, Verdict: model.Good}
	older.Observe(late)
	require.Equal(t, late.Time, older.reservoirs[0].Time)
	again := restored(older)
	assert.Equal(t, older.reservoirs[0].Built, again.reservoirs[0].Built)
	assert.Equal(t, older.reservoirs[0].X, again.reservoirs[0].X)
	restored(again)
}

// A level sensor that joins after days, with a clock some seconds behind, takes
// nothing away of what is known of the bags.
func TestAFirstLevelAfterDays(t *testing.T) {
	s := newScene(t, small(2, 100), 4)
	s.deaf = func(id model.Subject, _ time.Time) bool { return id == "reservoir/tank/level" }
	s.live(days(3))
	r, now := s.e.reservoirs[0], s.sim.Now()
	hours, drawn := len(r.Hours), r.Drawn
	s.e.Observe(model.Reading{Sensor: "reservoir/tank/level", Time: now.Add(-5 * time.Second), Value: 300, Verdict: model.Good})
	s.e.Advance(now.Add(20 * time.Minute))
	assert.GreaterOrEqual(t, len(r.Hours), hours)
	assert.InEpsilon(t, drawn, r.Drawn, 0.05)
}

// Nobody knows the weather of a week ago any more: the days since are left as they
// were booked.
func TestItIsNotGoneBackOverForgottenWeather(t *testing.T) {
	s := newScene(t, small(2, 100), 4)
	s.deaf = func(id model.Subject, at time.Time) bool {
		return id == "reservoir/tank/level" && at.After(after(3))
	}
	s.live(days(16))
	r, now := s.e.reservoirs[0], s.sim.Now()
	lifted := func() (litres float64) {
		for _, h := range r.Hours {
			litres += h.Lifted
		}
		return litres
	}
	before := lifted()
	s.e.Observe(model.Reading{Sensor: "reservoir/tank/level", Time: now.Add(-5 * time.Second), Value: r.physics.Level(r.X[jVolume]), Verdict: model.Good})
	s.e.Advance(now)
	assert.InEpsilon(t, before, lifted(), 0.001)
	assert.Zero(t, s.e.Late(), "it is taken as of now")
}

// What the bags have in common goes to the house at midnight, also where that midnight
// is gone back over: the day's ratio is the same whether the levels came before or after.
func TestAMidnightThatIsGoneBackOver(t *testing.T) {
	s := newScene(t, small(3, 100), 4)
	s.live(days(3) + pace)
	r := s.e.reservoirs[0]
	for _, b := range r.bags {
		b.favour(0.3)
	}
	r.favour(-0.3) // the products stay
	s.live(days(1) - 2*pace)
	state, err := json.Marshal(s.e)
	require.NoError(t, err)
	late := fresh(t, s.site)
	require.NoError(t, late.UnmarshalJSON(state))
	level := model.Reading{Sensor: "reservoir/tank/level", Time: after(4).Add(-10 * time.Minute), Value: r.physics.Level(r.X[jVolume]), Verdict: model.Good}
	s.e.Observe(level)
	s.e.Advance(after(4))
	late.Advance(after(4))
	late.Observe(level)
	for _, e := range []*Estimator{s.e, late} {
		e.Advance(after(4).Add(20 * time.Minute))
	}
	assert.InDelta(t, r.Daily.Ln, late.reservoirs[0].Daily.Ln, 0.005)
}

// The EC comes at once and tells of a change; hours later the level tells that it was a
// refill. It is named as one that was seen at once.
func TestARefillThatTheLevelTellsOfLate(t *testing.T) {
	long(t)
	poured := func(live func(s *scene)) *model.Poured {
		s := newScene(t, small(5, 70), 11, sim.Fault{Kind: sim.NoRefill, Subject: theTank, Start: after(0)},
			sim.Fault{Kind: sim.WrongRefill, Subject: theTank, Start: after(5), Size: 2.4})
		live(s)
		got := s.reservoirNow().Poured
		require.NotNil(t, got)
		return got
	}
	once := poured(func(s *scene) { s.live(days(5.6)) })
	late := poured(func(s *scene) {
		s.live(days(4))
		s.each = func(e model.Snapshot, _ sim.Truth) {
			if e.Time.After(after(5.1)) && e.Time.Before(after(5.24)) {
				require.Equal(t, model.CauseWrongDose, e.Reservoirs[0].Poured.Cause, "the level is not there yet")
			}
		}
		s.batches(days(1.6), 6*time.Hour, func(id model.Subject) bool { return id == "reservoir/tank/level" })
	})
	assert.Equal(t, model.CauseWrongRefill, once.Cause)
	assert.Equal(t, once.Cause, late.Cause, late.Evidence)
	assert.InEpsilon(t, once.Litres, late.Litres, 0.05)
	assert.InDelta(t, once.EC, late.EC, 0.1)
}

// What is judged of a channel while its reservoir has gone back for a late level is no
// part of the hours before: levels that come three hours late, one by one, tell as much
// of the bags' drinking as levels at once.
func TestAChannelIsJudgedInThePresent(t *testing.T) {
	s := newScene(t, small(3, 100), 4)
	s.live(days(2))
	r, now := s.e.reservoirs[0], s.sim.Now()
	s.e.Advance(now.Add(3 * time.Hour))
	s.e.Observe(model.Reading{Sensor: "reservoir/tank/level", Time: now.Add(pace), Value: r.physics.Level(r.X[jVolume]), Verdict: model.Good})
	require.Equal(t, now.Add(pace), r.Time)
	ahead := now.Add(3*time.Hour + time.Minute)
	c := s.e.channels[0]
	c.Dry, c.Since = true, now
	for _, b := range c.bags {
		b.Cut, b.CutFrom, b.Weighed = true, now, true
		b.Rivals = []rival{{Kind: causeRestored, Start: now, At: ahead, S: b.Base.X[iStorage], LLR: 3 * decisive}}
	}
	s.e.Advance(ahead)
	require.False(t, c.Dry)
	assert.Equal(t, ahead, r.Time)
	assert.Nil(t, r.Kept, "it was judged where it stands")
}
