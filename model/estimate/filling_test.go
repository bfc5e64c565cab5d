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

// atTimes is a small site whose channels are filled at eight and at eighteen.
func atTimes(holds float64) *model.Site {
	s := small(3, 70)
	s.Reservoirs[0].FeedsAtTimes = true
	for i := range s.Channels {
		s.Channels[i].Holds = holds
	}
	return s
}

// What stands between the fillings is no float that jams, and what falls at once in
// them is no leak.
func TestFillingsTellWhatIsDrunk(t *testing.T) {
	long(t)
	s := newScene(t, atTimes(12), 2)
	var from, now sim.Truth
	var first, last model.Snapshot
	s.each = func(e model.Snapshot, truth sim.Truth) {
		last, now = e, truth
		if e.Time.Equal(after(2)) {
			first, from = e, truth
		}
		if e.Time.After(after(2)) {
			assert.Empty(t, e.Reservoirs[0].Cause, e.Time)
			assert.Equal(t, model.Fresh, e.Reservoirs[0].Level.Quality)
		}
		if e.Time.After(after(2)) && e.Time.Hour() != 8 && e.Time.Hour() != 18 {
			assert.InDelta(t, truth.Reservoirs[0].Volume, e.Reservoirs[0].Volume.Value, 2, e.Time)
		}
	}
	s.live(days(8))
	var took, thought float64
	for i := range last.Bags {
		took += now.Bags[i].Uptake - from.Bags[i].Uptake
		thought += last.Bags[i].Uptake - first.Bags[i].Uptake
	}
	assert.InEpsilon(t, took, thought, 0.05, "all bags together")

	// The same levels of a site that does not say so.
	untold := small(3, 70)
	s = newScene(t, atTimes(12), 2)
	s.e = fresh(t, untold)
	s.live(days(8))
	drunk := 0.0
	for _, b := range s.e.bags {
		drunk += b.Roll.Uptake
	}
	all := 0.0
	for _, b := range s.sim.Truth().Bags {
		all += b.Uptake
	}
	assert.Less(t, drunk, 0.9*all, "or the site file need not say it")
}

func TestFillingsHoseOff(t *testing.T) {
	long(t)
	fault := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Start: after(5.5), End: after(5.6), Size: 20}
	s := newSceneAt(t, 10*time.Minute, atTimes(12), 2, fault)
	leak := func(e model.Snapshot) model.Cause { return e.Reservoirs[0].Cause }
	s.live(days(5))
	assert.Empty(t, leak(s.e.Snapshot(s.sim.Now(), nil)))
	at := found(t, s, days(1), leak, model.CauseLeak)
	require.False(t, at.IsZero())
	assert.WithinDuration(t, fault.Start, at, 3*time.Hour, "what its channels hold might be a filling")
	assert.Empty(t, leak(s.e.Snapshot(s.sim.Now(), nil)), "it stands again")
	assert.Less(t, s.e.reservoirs[0].lacks(), 12.0, "what leaked was not drunk from the channels")
	assert.InDelta(t, s.sim.Truth().Reservoirs[0].Volume, s.e.reservoirs[0].contents(), 2)
}

// A reservoir that falls between fillings leaks; one that gives more at each does not.
func TestFillingsLeak(t *testing.T) {
	long(t)
	leak := func(e model.Snapshot) model.Cause { return e.Reservoirs[0].Cause }
	fault := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Start: after(5.5), Size: 0.12}
	s := newSceneAt(t, 10*time.Minute, atTimes(12), 2, fault)
	s.live(days(5.5))
	at := found(t, s, days(2.5), leak, model.CauseLeak)
	require.False(t, at.IsZero())
	assert.WithinDuration(t, fault.Start, at, 48*time.Hour)

	var thirst []sim.Fault
	for _, b := range atTimes(12).Bags {
		thirst = append(thirst, sim.Fault{Kind: sim.DemandChange, Subject: model.BagSubject(b.ID), Start: after(5.5), Size: 1.4})
	}
	s = newSceneAt(t, 10*time.Minute, atTimes(12), 2, thirst...)
	s.live(days(5.5))
	assert.True(t, found(t, s, days(3.5), leak, model.CauseLeak).IsZero())
}

func TestSeepIsTheSlopeOfALine(t *testing.T) {
	var s seep
	for i := range 13 {
		hours := float64(i) / 2
		s.include(begin.Add(time.Duration(i)*30*time.Minute), 100-0.25*hours, 3+0.5*hours)
	}
	volume, warmth := s.slopes()
	assert.InDelta(t, -0.25, volume, 1e-9)
	assert.InDelta(t, 0.5, warmth, 1e-9)
	assert.InDelta(t, 45.5, s.spread(), 1e-9, "13 half-hours: (n³ − n)/12 · ¼")
}

// The level comes to the mark of empty at a filling, and the bags are fed on.
func TestFillingsRunOut(t *testing.T) {
	long(t)
	site := atTimes(12)
	site.Reservoirs[0].Full = 220
	s := newScene(t, site, 2)
	s.live(days(5))
	r := s.e.reservoirs[0]
	q := s.e.empty[0]
	require.NotNil(t, q.P50)
	assert.Contains(t, []int{8, 18}, q.P50.Add(30*time.Minute).Hour(), "%v", q.P50)
	end := r.suppliesUntil(s.sim.Now(), s.e.course, q)
	assert.Greater(t, end.P50.Sub(*q.P50), 24*time.Hour, "24 L in the channels, for some 7 L a day")
	assert.Nil(t, r.suppliesUntil(s.sim.Now(), s.e.course, nil))
}

func TestFillingsOfDryChannelsTeachNothing(t *testing.T) {
	r := atTimesReservoir(t)
	r.Drawn, r.X[jHouse] = 30, 0.2
	for i := range 6 {
		r.observeFillings(after(0).Add(time.Duration(i)*10*time.Minute), r.gauge(300-50*float64(min(1, i))))
		r.Daily.Whole = 0 // a house that is new knows no leak
	}
	assert.InDelta(t, 0.2, r.X[jHouse], 1e-9, "24 L, all that they hold")
	assert.InDelta(t, r.physics.Volume(250)+24, r.X[jVolume], 0.1)
	assert.Zero(t, r.lacks())
}

// atTimesReservoir is one that has heard nothing.
func atTimesReservoir(t *testing.T) *reservoir {
	r := fresh(t, atTimes(12)).reservoirs[0]
	r.begin(after(0))
	return r
}

func TestFillingsRefillBetween(t *testing.T) {
	r := atTimesReservoir(t)
	at := after(0)
	hear := func(level float64) {
		at = at.Add(10 * time.Minute)
		r.observeFillings(at, r.gauge(level))
	}
	for range 6 {
		hear(200)
	}
	r.Filling.Full = r.lifted() - 6
	for range 6 {
		hear(300)
	}
	assert.False(t, r.Refilled.IsZero())
	assert.InDelta(t, r.physics.Volume(300)+24-3, r.X[jVolume], 0.5, "the channels may have been filled before")
	assert.Greater(t, r.P[jVolume][jVolume], 36.0/12)
	assert.InDelta(t, r.physics.Volume(200), r.Solution.Refill.Before, 0.5)
}

// A level that shows no filling of channels that are not dry is no level.
func TestFillingsJam(t *testing.T) {
	long(t)
	s := newScene(t, atTimes(12), 2)
	free := jamAt(s, 4.5)
	s.live(days(4))
	health := func() model.SensorHealth {
		return s.e.Snapshot(s.sim.Now(), []model.SensorHealth{{Sensor: "reservoir/tank/level"}}).Sensors[0]
	}
	assert.False(t, health().Implausible)
	s.live(days(7))
	require.True(t, health().Implausible, "36 L are drunk in five days or so")
	assert.Contains(t, health().Evidence, "it has stood at")
	e := s.e.Snapshot(s.sim.Now(), nil).Reservoirs[0]
	assert.Equal(t, model.Stale, e.Level.Quality)
	assert.InDelta(t, s.sim.Truth().Reservoirs[0].Volume, e.Volume.Value, 8, "by what is drunk")
	free()
	s.live(days(1))
	assert.False(t, health().Implausible)
	assert.InDelta(t, s.sim.Truth().Reservoirs[0].Volume, s.e.reservoirs[0].contents(), 2)
}

// Neither one odd level nor the noise of many is a filling.
func TestFillingsAreNoNoise(t *testing.T) {
	s := newScene(t, atTimes(12), 3, sim.Fault{Kind: sim.PlantsGone, Subject: "bag/a1", Start: after(0)})
	odd := 0
	s.skew = func(r model.Reading) float64 {
		if odd++; r.Sensor == "reservoir/tank/level" && odd%50 == 0 {
			return -20
		}
		return 0
	}
	s.live(days(2))
	times := s.e.reservoirs[0].Filling.Times
	require.NotEmpty(t, times)
	for _, at := range times {
		assert.Contains(t, []int{8, 9, 18, 19}, at.Hour(), at) // an odd level may come within one
	}
}

// A site file that comes to say so has nobody refill the reservoir.
func TestFillingsStatedAfterwards(t *testing.T) {
	told, untold := atTimes(12), atTimes(12)
	untold.Reservoirs[0].FeedsAtTimes = false
	s := newScene(t, told, 5)
	s.e = fresh(t, untold)
	s.live(days(1.2))
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	refilled := s.e.reservoirs[0].Refilled
	s.e = fresh(t, told)
	require.NoError(t, json.Unmarshal(raw, s.e))
	s.live(days(0.5))
	r := s.e.reservoirs[0]
	assert.Equal(t, refilled, r.Refilled)
	assert.InDelta(t, s.sim.Truth().Reservoirs[0].Volume, r.contents(), 8, "channels may lack anything at first")
}

func TestFillingsRestart(t *testing.T) {
	a := newScene(t, atTimes(12), 5)
	a.live(days(2.8)) // within a filling
	raw, err := json.Marshal(a.e)
	require.NoError(t, err)
	b := fresh(t, atTimes(12))
	require.NoError(t, json.Unmarshal(raw, b))
	for range 30 {
		now, messages := a.sim.Advance()
		for _, m := range messages {
			a.e.Observe(a.reading(m))
			b.Observe(a.reading(m))
		}
		a.e.Advance(now)
		b.Advance(now)
	}
	x, _ := json.Marshal(a.e)
	y, _ := json.Marshal(b)
	assert.JSONEq(t, string(x), string(y))
}

func TestFillingsNext(t *testing.T) {
	at := func(days ...float64) (f filling) {
		for _, d := range days {
			f.Times = append(f.Times, after(d))
		}
		return f
	}
	const eight, six = 8.0 / 24, 18.0 / 24
	for name, test := range map[string]struct {
		known      filling
		from, want float64
	}{
		"none is known":         {at(), 3.1, 3.1},
		"one is":                {at(2), 3.1, 3.1},
		"twice a day":           {at(eight, six, 1+eight, 1+six), 2.5, 2 + six},
		"twice a day, by night": {at(eight, six, 1+eight, 1+six), 2.9, 3 + eight},
		"at that hour":          {at(eight, six, 1+eight, 1+six), 4 + eight, 4 + eight},
		"every other day":       {at(eight, 2+eight, 4+eight), 5, 6 + eight},
		"no longer at noon":     {at(0.5, 1+eight, 2+eight), 2.4, 3 + eight},
		"two days of the week":  {at(eight, 1+eight, 4+eight), 4.5, 5 + eight},
		"but for a weekend":     {at(eight, 1+eight, 2+eight, 5+eight), 5.5, 6 + eight},
	} {
		t.Run(name, func(t *testing.T) {
			assert.WithinDuration(t, after(test.want), test.known.next(after(test.from)), time.Minute)
		})
	}
}

// hearing has a reservoir hear levels, mm, one every ten minutes from a time on.
func hearing(r *reservoir, from time.Time, levels ...float64) time.Time {
	for _, level := range levels {
		from = from.Add(10 * time.Minute)
		r.advance(from)
		r.observeFillings(from, r.gauge(level))
	}
	return from
}

// A level between two whole millimetres goes to and fro, and one that follows the warmth
// of the air is no refill.
func TestFillingsOfACoarseSensor(t *testing.T) {
	r := atTimesReservoir(t)
	r.Noise.Variance = sq(leastLevel)
	var levels []float64
	for i := range 120 {
		levels = append(levels, 200-float64(i/8%2))
	}
	hearing(r, after(0), levels...)
	assert.Empty(t, r.Filling.Times)
	assert.Zero(t, r.Refilled)

	levels = nil
	for i := range 60 {
		levels = append(levels, 200+float64(i)/20)
	}
	hearing(r, after(1), levels...)
	assert.Zero(t, r.Refilled, "three millimetres in ten hours")
}

// What the bags of a channel that ran dry were thought to drink does not lower a level
// that stands, and is taken back with the filling.
func TestFillingsOfWhatNobodyDrank(t *testing.T) {
	r := atTimesReservoir(t)
	at := hearing(r, after(0), 200, 200, 200, 200, 200, 200)
	r.Filling.Full = r.lifted()
	litres := r.physics.Volume(200)
	r.X[jVolume] = litres + r.physics.Standing - 34 // of 24 that they hold
	r.Drawn += 34
	assert.InDelta(t, litres, r.contents(), 0.01)
	r.Lifts[0] = 1
	for range 24 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 2})
	}
	r.remember(at)
	b := r.bags[0]
	drawn, uptake := r.Drawn, b.Base.Uptake
	hearing(r, at, 150, 150, 150, 150, 150, 150)
	require.Len(t, r.Filling.Times, 1)
	assert.InDelta(t, -10, r.Drawn-drawn, 1)
	assert.InDelta(t, -10, b.Base.Uptake-uptake, 1)
	assert.InDelta(t, 2*38.0/48, r.Hours[5].Lifted, 0.25)
	assert.InDelta(t, 2, r.Hours[5].asked(), 1e-9, "they would have")
	r.reconsider(at, 0)
	assert.InDelta(t, -10, b.Base.Uptake-uptake, 1, "and goes on being so, whatever is found of its bags")
	r.LastGood = after(-1)
	r.X[jVolume] -= 30
	assert.Less(t, r.contents(), r.physics.Volume(150)-5, "which nobody has heard of for a day")
}

// Taken back, it is taken back from the days on which it was booked: on the last of them
// bags drank none the less.
func TestFillingsOfWhatNobodyDrankADay(t *testing.T) {
	r := atTimesReservoir(t)
	at := hearing(r, after(0), 200, 200, 200, 200, 200, 200)
	r.Filling.Full, r.X[jHouse] = r.lifted(), 1.2
	r.X[jVolume] = r.physics.Volume(200) + r.physics.Standing
	const booked = 34.0 // of 24 that they hold
	for r.lifted()-r.Filling.Full < booked {
		at = hearing(r, at, 200)
		for _, b := range r.bags {
			b.roll(at)
		}
	}
	require.Greater(t, at.Sub(after(0)), 48*time.Hour)
	rates := func(b *bag) float64 {
		var out model.BagEstimate
		out.Time = at
		e := fresh(t, atTimes(12))
		e.rates(&out, b, func(v, _ float64) model.Measured { return model.Measured{Value: v} })
		return out.UptakePerDay.Value
	}
	drawn, drunk := r.estimate(at, nil).DrawPerDay.Value, rates(r.bags[0])
	at = hearing(r, at, 150, 150, 150, 150, 150, 150)
	require.Len(t, r.Filling.Times, 1)
	for _, b := range r.bags {
		b.roll(at)
	}
	assert.InEpsilon(t, 24/booked*drawn, r.estimate(at, nil).DrawPerDay.Value, 0.1)
	assert.InEpsilon(t, 24/booked*drunk, rates(r.bags[0]), 0.15)
}

// What leaks out of a reservoir was not lifted from its channels.
func TestSeepLiftsNothing(t *testing.T) {
	r := atTimesReservoir(t)
	hearing(r, after(0), 200, 200, 200, 200, 200, 200)
	r.P[jUnexplained][jUnexplained] = sq(0.1)
	r.P[jVolume][jUnexplained], r.P[jUnexplained][jVolume] = -0.2, -0.2
	r.Filling.Seep = seep{Rate: 0.3, Variance: sq(0.02), Row: vector{jUnexplained: 1}}
	lifted, loose := r.lifted(), r.Loose
	r.learnSeep(r.Time)
	assert.Greater(t, r.Loose, loose+1)
	assert.InDelta(t, lifted, r.lifted(), 1e-9)
}

// Who took fillings for refills knows nothing of the house, and what channels held by
// another site file is not known.
func TestFillingsRefit(t *testing.T) {
	restored := func(from *Estimator, site *model.Site) *reservoir {
		raw, err := json.Marshal(from)
		require.NoError(t, err)
		to := fresh(t, site)
		require.NoError(t, json.Unmarshal(raw, to))
		return to.reservoirs[0]
	}
	untold := atTimes(12)
	untold.Reservoirs[0].FeedsAtTimes = false
	e := fresh(t, untold)
	r := e.reservoirs[0]
	r.begin(after(0))
	for range 6 {
		r.observeLevel(r.Time.Add(10*time.Minute), 200)
	}
	r.X[jHouse], r.Daily.Ratio, r.Daily.Whole = -2.5, 9, 5
	r.keep()
	r.remember(r.Time)
	r = restored(e, atTimes(12))
	assert.Zero(t, r.X[jHouse], "it did not know of them")
	assert.Zero(t, r.Daily)
	assert.Nil(t, r.Kept)
	assert.Empty(t, r.Before)
	assert.InDelta(t, r.physics.Volume(200), r.contents(), 1)
	assert.InDelta(t, 12, r.lacks(), 1e-9, "half of what they hold, or all, or none")

	e = fresh(t, atTimes(12))
	r = e.reservoirs[0]
	r.begin(after(0))
	r.X[jHouse] = 0.3
	assert.InDelta(t, 0.3, restored(e, atTimes(12)).X[jHouse], 1e-9, "of which no level was heard")
	hearing(r, after(0), 200, 200, 200)
	r.X[jHouse] = 0.3
	same := restored(e, atTimes(12))
	assert.NotZero(t, same.Filling.Was.Count, "nothing was changed")

	other := restored(e, atTimes(24))
	assert.InDelta(t, 0.3, other.X[jHouse], 1e-9)
	assert.Zero(t, other.Filling.Was)
	assert.InDelta(t, r.physics.Volume(200), other.contents(), 1)
	hearing(other, after(1), 200)
	assert.InDelta(t, r.physics.Volume(200)+24, other.X[jVolume], 0.5, "half of 48 L is lacking, or all, or none")
	assert.Zero(t, other.Refilled)

	off := restored(e, untold)
	assert.InDelta(t, r.physics.Volume(200), off.X[jVolume], 1)
	off.observeLevel(after(1.1), 200)
	assert.InDelta(t, r.physics.Volume(200), off.X[jVolume], 0.5)
	assert.Zero(t, off.Refilled)
}

// A reservoir that cannot have filled the channels is told from a float that jams, and
// nothing is learnt from one that does.
func TestFillingsOfAnEmptyReservoir(t *testing.T) {
	r := atTimesReservoir(t)
	empty := r.physics.Reservoir.Empty + 1
	at := hearing(r, after(0), empty, empty, empty)
	r.Drawn += 60
	hearing(r, at, empty)
	assert.False(t, r.Stand.Jammed)

	r = atTimesReservoir(t)
	at = hearing(r, after(0), 200, 200, 200)
	r.Drawn += 60
	at = hearing(r, at, 200)
	require.True(t, r.Stand.Jammed)
	good := r.LastGood
	hearing(r, at, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200)
	assert.Equal(t, good, r.LastGood)
	assert.Zero(t, r.Filling.Seep.Count)
}

// A filling brings what the channels may lack by how well the thirst of their bags is
// known, 24 L that they hold at the most, and a tenth of that.
func TestFillingsTakeAtMost(t *testing.T) {
	r := atTimesReservoir(t)
	for name, test := range map[string]struct{ lacks, sd, want float64 }{
		"full channels take what they are filled better by": {0, 0.4, 2.4},
		"thirst that is known well":                         {4, 0.1, 1.5*4 + 2.4},
		"thirst that is hardly known":                       {4, 0.4, (1+2.5*0.4)*4 + 2.4},
		"no more than they hold":                            {20, 0.1, 24 + 2.4},
	} {
		r.Filling.Full, r.P[jHouse][jHouse] = r.lifted()-test.lacks, sq(test.sd)
		assert.InDelta(t, test.want, r.takesAtMost(), 1e-9, name)
	}
}

// What leaves within an hour is a filling as far as it can be one, and else a leak.
func TestFillingsBringNoMoreThanTheyCan(t *testing.T) {
	for _, test := range []struct {
		lacks, fell float64
		leaks       bool
	}{
		{0, 1.8, false}, {0, 4, true}, // 2.4 L at the most
		{8, 13, false}, {8, 17, true}, // 14.4 L
	} {
		r := atTimesReservoir(t)
		r.Daily.Whole, r.Noise.Variance = 5, sq(leastLevel)
		at := hearing(r, after(0), 200, 200, 200, 200, 200, 200)
		r.Filling.Full, r.P[jHouse][jHouse] = r.lifted()-test.lacks, sq(0.1)
		litres := r.physics.Volume(200)
		var levels []float64
		for i := range 6 {
			levels = append(levels, r.physics.Level(litres-test.fell*float64(i+1)/6))
		}
		hearing(r, at, levels...)
		assert.Equal(t, test.leaks, r.gushing(), "%v L in an hour from channels that lack %v L", test.fell, test.lacks)
	}
}

// What stands in channels that are filled at times is no part of what is stirred in the
// tank; in channels that are fed all along it is.
func TestFillingsMixWithTheTankAlone(t *testing.T) {
	fed := atTimes(12)
	fed.Reservoirs[0].FeedsAtTimes = false
	for site, standing := range map[*model.Site]float64{atTimes(12): 0, fed: 24} {
		e := fresh(t, site)
		r := e.reservoirs[0]
		for i := range 6 {
			at := after(0).Add(time.Duration(i) * 10 * time.Minute)
			r.observeLevel(at, 200)
			r.observeEC(at, 1.8)
			r.observePH(at, 6)
		}
		r.watchSolution(after(0.05))
		for _, w := range []watched{r.Solution.EC, r.Solution.PH} {
			require.Len(t, w.Samples, 1)
			assert.InDelta(t, r.physics.Volume(200)+standing, w.Samples[0].Volume, 0.5)
		}
	}
}

// How often channels are filled is told from the second filling on.
func TestFillingsTellTheirPeriod(t *testing.T) {
	r := atTimesReservoir(t)
	told := func(days ...float64) time.Duration {
		r.Filling.Times = nil
		for _, d := range days {
			r.Filling.Times = append(r.Filling.Times, after(d))
		}
		return r.estimate(after(7), nil).FilledEvery
	}
	assert.Zero(t, told())
	assert.Zero(t, told(1))
	assert.Equal(t, 72*time.Hour, told(1, 4))
	assert.Equal(t, 24*time.Hour, told(1, 1.5, 2), "twice a day, at the hours of a day")
}
