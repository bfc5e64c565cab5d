package estimate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
	"wickd/model/solution"
)

const theTank = model.Subject("reservoir/tank")

// reservoirNow is the first reservoir as it is estimated now.
func (s *scene) reservoirNow() model.ReservoirEstimate {
	return s.e.Snapshot(s.sim.Now(), nil).Reservoirs[0]
}

// What a person poured in is named from the balance of salt, against the
// simulator, which keeps salt as a conserved quantity of its own.
func TestWhatWasPouredInIsNamed(t *testing.T) {
	long(t)
	t.Parallel()
	tests := map[string]struct {
		kind sim.FaultKind
		size float64
		want model.Cause
	}{
		"to target":         {sim.WrongRefill, 1.8, ""},
		"a little off":      {sim.WrongRefill, 1.6, ""},
		"plain water":       {sim.WrongRefill, 1.40, model.CausePlainRefill},
		"a forgotten stock": {sim.WrongRefill, 1.48, model.CauseWrongRefill},
		"a double dose":     {sim.WrongRefill, 2.4, model.CauseWrongRefill},
		"a dose":            {sim.SaltDose, 60, model.CauseWrongDose},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScene(t, small(5, 70), 11, sim.Fault{Kind: sim.NoRefill, Subject: theTank, Start: after(0)},
				sim.Fault{Kind: tt.kind, Subject: theTank, Start: after(5), Size: tt.size})
			s.live(days(4.9))
			before := s.sim.Truth().Reservoirs[0]
			s.live(days(0.3))
			then := s.sim.Truth().Reservoirs[0]
			got := s.reservoirNow().Poured
			require.NotNil(t, got)
			assert.Equal(t, tt.want, got.Cause, got.Evidence)
			if tt.kind == sim.WrongRefill {
				litres := then.Refilled - before.Refilled
				assert.InEpsilon(t, litres, got.Litres, 0.1)
				assert.InDelta(t, (then.SaltAdded-before.SaltAdded)/litres, got.EC, 0.15+3*got.SD, "EC of what was poured in")
			}
		})
	}
}

// The course of a healthy house is steady, and a drift is seen with its rate.
func TestCourseOfTheSolution(t *testing.T) {
	long(t)
	t.Parallel()
	ec := theTank.Sensor(model.EC)
	for _, seed := range []uint64{1, 2, 3} {
		s := newScene(t, small(3, 70), seed)
		s.live(days(6))
		got := s.reservoirNow()
		assert.Empty(t, got.ECCourse.Cause, "seed %d: %s", seed, got.ECCourse.Evidence)
		assert.Greater(t, got.ECCourse.Over, 2*24*time.Hour)
	}
	for _, rate := range []float64{0.08, -0.08} {
		s := newScene(t, small(3, 70), 4, sim.Fault{Kind: sim.ProbeDrift, Subject: ec, Start: after(1), Size: rate}, sim.Fault{Kind: sim.NoRefill, Subject: theTank, Start: after(0)})
		s.live(days(6))
		got := s.reservoirNow().ECCourse
		assert.NotEmpty(t, got.Cause, "%+v", got)
		assert.InDelta(t, rate, got.Rate, 0.02)
	}
	s := newScene(t, small(3, 70), 5, sim.Fault{Kind: sim.PHDrift, Subject: theTank, Start: after(0), Size: 0.1}, sim.Fault{Kind: sim.NoRefill, Subject: theTank, Start: after(0)})
	s.live(days(5))
	got := s.reservoirNow().PHCourse
	assert.Equal(t, model.CauseNitrateUptake, got.Cause)
	assert.InDelta(t, 0.1, got.Rate, 0.05)
}

// The account of salt holds the truth within what it says of its own doubt,
// against a simulator whose plants feed by another law.
func TestSaltOfABag(t *testing.T) {
	long(t)
	t.Parallel()
	within, all := 0, 0
	for _, seed := range []uint64{1, 2} {
		s := newScene(t, small(3, 70), seed)
		s.live(days(10))
		truth := s.sim.Truth().Bags
		for i, b := range s.e.Snapshot(s.sim.Now(), nil).Bags {
			require.Equal(t, model.Fresh, b.Salt.EC.Quality)
			require.Equal(t, truth[i].ID, b.Bag)
			assert.InEpsilon(t, truth[i].EC, b.Salt.EC.Value, 0.4)
			if math.Abs(truth[i].EC-b.Salt.EC.Value) <= 2*b.Salt.EC.SD {
				within++
			}
			all++
		}
	}
	assert.GreaterOrEqual(t, float64(within)/float64(all), 0.9)
}

// A flush that the site file tells of begins the account anew, once.
func TestAFlushBeginsTheAccountAnew(t *testing.T) {
	long(t)
	t.Parallel()
	site := small(2, 70)
	for i := range site.Bags {
		site.Bags[i].Planted = begin.AddDate(0, -2, 0)
	}
	site.Bags[0].Flushed = after(4)
	s := newScene(t, site, 3)
	s.live(days(3.9))
	old := s.e.Snapshot(s.sim.Now(), nil).Bags
	assert.Greater(t, old[0].Salt.EC.SD, 0.4*old[0].Salt.EC.Value, "a bag that has stood for two months")
	s.live(days(1))
	new := s.e.Snapshot(s.sim.Now(), nil).Bags
	assert.Equal(t, after(4), new[0].Salt.Since)
	assert.Less(t, new[0].Salt.EC.SD, old[0].Salt.EC.SD/2)
	assert.Equal(t, old[1].Salt.Since, new[1].Salt.Since)
}

// A sample of the water at the roots puts the account right, once, and what it tells of the
// feeding outlasts a flush; one that was taken before a flush tells nothing of what is there
// after it.
func TestASampleOfTheRoots(t *testing.T) {
	long(t)
	t.Parallel()
	site := small(4, 70)
	for i := range site.Bags {
		site.Bags[i].Planted = begin.AddDate(0, 0, -3)
	}
	site.Bags[0].Pressed = model.Pressed{EC: 3.5, At: after(6)}
	site.Bags[1].Pressed, site.Bags[1].Flushed = site.Bags[0].Pressed, after(6)
	site.Bags[2].Pressed = model.Pressed{EC: 3.5, At: begin.AddDate(0, 0, -1)} // its account begins with it
	s := newScene(t, site, 3)
	s.live(days(5.9))
	before := s.e.Snapshot(s.sim.Now(), nil).Bags
	s.live(days(0.3))
	now := s.e.Snapshot(s.sim.Now(), nil).Bags
	takes := func(i int) solution.Feeding { return s.e.bags[i].feeding() }

	assert.InDelta(t, 3.5, now[0].Salt.EC.Value, 2*pressedDoubt*3.5)
	assert.Greater(t, now[0].Salt.EC.Value, before[0].Salt.EC.Value+0.2)
	assert.Less(t, takes(0).Concentration, takes(3).Concentration, "more gathered, so they take less")
	assert.Less(t, takes(0).SD, takes(3).SD)
	assert.Less(t, now[1].Salt.EC.Value, before[1].Salt.EC.Value+0.1, "flushed after it")
	assert.Less(t, takes(1).Concentration, takes(3).Concentration)
	assert.Equal(t, takes(3), takes(2))
	assert.InDelta(t, before[3].Salt.EC.Value, now[3].Salt.EC.Value, 0.1)

	told := s.e.bags[0].Salt.Feeds
	s.live(days(0.5))
	assert.Equal(t, told, s.e.bags[0].Salt.Feeds, "once")

	s.e.bags[0].physics.Bag.Pressed.EC = 2.6
	s.live(days(0.1))
	assert.InDelta(t, 2.6, s.e.Snapshot(s.sim.Now(), nil).Bags[0].Salt.EC.Value, 0.1, "a figure that is put right")
	assert.Equal(t, takes(3), takes(0))
}

// Without a probe of EC the target stands in, and decides nothing.
func TestSaltWithoutAProbe(t *testing.T) {
	long(t)
	t.Parallel()
	s := newScene(t, small(2, 70), 3)
	s.deaf = func(id model.Subject, _ time.Time) bool { return id == theTank.Sensor(model.EC) }
	s.live(days(1.2))
	for _, b := range s.e.Snapshot(s.sim.Now(), nil).Bags {
		assert.Equal(t, model.Stale, b.Salt.EC.Quality)
		assert.InEpsilon(t, 1.8, b.Salt.EC.Value, 0.2)
	}
}

// What evaporates from open channels is not taken for the plants' drink, once
// the site file says how much lies open.
func TestEvaporationIsNoUptake(t *testing.T) {
	long(t)
	t.Parallel()
	const open = 0.8 // m²
	wrong := func(said float64) float64 {
		site := small(3, 70)
		site.Reservoirs[0].Open = said
		s := newScene(t, site, 6)
		var err error
		s.sim, err = sim.New(sim.Options{Site: site, Seed: 6, Start: begin, Step: pace, OpenWater: open})
		require.NoError(t, err)
		s.live(days(7))
		var estimated, taken float64
		truth := s.sim.Truth()
		for i, b := range s.e.Snapshot(s.sim.Now(), nil).Bags {
			estimated += b.Uptake
			taken += truth.Bags[i].Uptake
		}
		require.Greater(t, truth.Reservoirs[0].Evaporated, 0.1*taken)
		return estimated/taken - 1
	}
	unsaid := wrong(0)
	assert.Greater(t, unsaid, 0.1)
	assert.Less(t, math.Abs(wrong(open)), unsaid/2)
}

// A pH that climbs is put down to the water that comes in through a float valve
// as far as its alkalinity makes it, and to the plants for the rest; without the
// water stated, the evidence names both and decides for neither number.
func TestHardWaterBehindARisingPH(t *testing.T) {
	long(t)
	t.Parallel()
	tests := map[string]struct {
		water *model.Water
		want  model.Cause
		says  string
	}{
		"hard":       {&model.Water{EC: 0.5, Alkalinity: 4}, model.CauseHardWater, "neutralise it with acid"},
		"soft":       {&model.Water{EC: 0.1, Alkalinity: 0.05}, model.CauseNitrateUptake, "by itself makes +0.0"},
		"not stated": {nil, model.CauseNitrateUptake, "hard top-up water that was not neutralised raises it, too"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			site := small(3, 70)
			for i := range site.Reservoirs {
				site.Reservoirs[i].FloatValve, site.Reservoirs[i].Water = true, tt.water
			}
			s := newScene(t, site, 5, sim.Fault{Kind: sim.PHDrift, Subject: theTank, Start: after(0), Size: 0.1}, sim.Fault{Kind: sim.NoRefill, Subject: theTank, Start: after(0)})
			s.live(days(4))
			got := s.reservoirNow()
			assert.Equal(t, tt.want, got.PHCourse.Cause, got.PHCourse.Evidence)
			assert.Contains(t, got.PHCourse.Evidence, tt.says)
		})
	}
}

// What was just poured in has yet to lose its carbon dioxide, also where its jump
// of the pH begins the course anew; a dose without water has none.
func TestTheCarbonDioxideOfARefill(t *testing.T) {
	w := solutionWatch{}
	w.refilled(pour{At: after(1), Before: 60, After: 80})
	assert.InDelta(t, 0.25, w.PH.Before, 1e-12)
	w.PH.add(after(1.01), 80, 0)
	w.changed(after(1.02))
	assert.InDelta(t, 0.25, w.PH.Before, 1e-12)
	assert.Empty(t, w.PH.Samples)
	w.changed(after(2))
	assert.Zero(t, w.PH.Before)
	w.Refill = dosed(after(3), 1, 2, model.Target{})
	w.changed(after(3))
	assert.Zero(t, w.PH.Before)
}

// What a float valve let in counts from the beginning of the course that is looked
// at, and what was poured in before it no more.
func TestTheWaterOfALongCourse(t *testing.T) {
	for _, d := range []int{5, 15, 30} {
		r := tank(t)
		r.physics.Reservoir.FloatValve = true
		r.physics.Reservoir.Water = &model.Water{EC: 0.3, Alkalinity: 0.03}
		r.X[jVolume] = 100
		r.EC.Value, r.EC.Readings = 1.8, 10
		r.Solution.refilled(pour{At: begin, Before: 40, After: 100})
		for h := range 24 * d {
			day := math.Max(0, float64(h-24*(d-5))/24)
			r.Solution.PH.Hour.add(5.5 + 0.1*day) // the same course in the last five days
			r.watchSolution(begin.Add(time.Duration(h) * time.Hour))
			r.Drawn += 10.0 / 24
		}
		water, ok := r.topUps()
		require.True(t, ok)
		assert.InDelta(t, 0.5, water.Since, 0.01, "10 L of 100 a day, of five days")
		assert.Equal(t, d > 5, water.Before == 0)
		assert.Equal(t, model.CauseNitrateUptake, r.Solution.PH.Course.Cause, "after %d days", d)
	}
}

// Books that are put right in both directions make no more salt than was fed.
func TestSaltGoesWithWhatWasDrunk(t *testing.T) {
	s := newScene(t, small(3, 70), 3)
	was := make([]salt, len(s.e.bags))
	s.each = func(e model.Snapshot, _ sim.Truth) {
		for i, b := range s.e.bags {
			assert.GreaterOrEqual(t, b.Salt.Uptake, was[i].Uptake, "the account never goes back")
			was[i] = b.Salt
		}
	}
	s.live(days(6))
	for _, b := range s.e.bags {
		assert.InDelta(t, b.Roll.Uptake, b.Salt.Uptake, 0.2, "and follows")
	}
}

// A sample that was taken after a flush, and is read of together with it, tells nothing of
// what was there before.
func TestASampleAfterAFlush(t *testing.T) {
	s := newScene(t, small(3, 70), 1)
	s.live(days(3))
	b, now := s.e.bags[0], s.sim.Now()
	b.Salt.Zone.Salt *= 2.5
	b.Salt.Zone.SaltSD, b.Salt.Zone.Fed = 0.35*b.Salt.Zone.Salt, 8
	day := now.Truncate(24 * time.Hour)
	b.physics.Bag.Flushed, b.physics.Bag.Pressed = day.AddDate(0, 0, -1), model.Pressed{EC: 1.4, At: day}
	before := b.feeding()
	b.keepSalt(now)
	ec, _ := b.Salt.Zone.EC()
	assert.InDelta(t, 1.4, ec, 1e-9)
	assert.Equal(t, before, b.feeding())
}

// One first reading that no other bears out was no EC from which a dose could lead away.
func TestADoseLeadsAwayFromAnECThatIsKnown(t *testing.T) {
	for readings, dosed := range map[int]bool{1: false, 2: true} {
		r := tank(t)
		at := after(0)
		hear := func(n int, ec float64) {
			for range n {
				at = at.Add(10 * time.Minute)
				r.observeEC(at, ec)
			}
		}
		hear(readings, 0.2)
		hear(doubtsToAct, 2.6)
		require.InDelta(t, 2.6, r.EC.Value, 1e-9)
		assert.Equal(t, dosed, r.Solution.poured() != nil, "%d readings", readings)
	}
}
