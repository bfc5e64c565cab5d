package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// A tank whose level nobody reads goes on being drawn from: whoever it feeds hears
// that it may be empty, once, and that the model alone says so. It never ends by
// that alone.
func TestATankThatNobodyReadsMayRunOut(t *testing.T) {
	unread := func(d time.Duration) trouble {
		return func(s *model.Snapshot) {
			r, at := &s.Reservoirs[0], s.Time.Add(d)
			r.Level.Quality, r.Level.Age = model.Stale, 30*time.Hour
			r.EmptyAt = &model.Quantiles{P50: &at}
		}
	}
	r := newRun(t, nil)
	r.last(3*time.Hour, unread(60*time.Hour))
	require.Equal(t, Normal, r.e.Status(ReservoirRunout, "reservoir/tank"))
	changes := r.last(3*time.Hour, unread(40*time.Hour))
	require.Len(t, changes, 1)
	assert.Contains(t, changes[0].Message.Headline, "may be empty in about 40 h")
	assert.Contains(t, changes[0].Message.Why, "The last level that could be used came 30 h ago")
	assert.Empty(t, r.last(24*time.Hour, unread(90*time.Hour)), "nothing is known, so nothing ends")
	cleared := r.last(6 * time.Hour)
	require.Len(t, cleared, 1)
	assert.Equal(t, model.Cleared, cleared[0].Kind)
}

// A leak that empties the tank within hours is told at once, by the hour; one that
// takes days may be a hand that scoops, and waits.
func TestAHoseThatCameOffDoesNotWait(t *testing.T) {
	gush := func(d time.Duration) trouble {
		return func(s *model.Snapshot) {
			r, at := &s.Reservoirs[0], s.Time.Add(d)
			r.Unexplained, r.Cause, r.EmptyAt = measured(240, 48), model.CauseLeak, &model.Quantiles{P50: &at}
		}
	}
	r := newRun(t, nil)
	require.Empty(t, r.lastBy(time.Minute, 2*time.Minute, gush(20*time.Hour)))
	changes := r.lastBy(time.Minute, 2*time.Minute, gush(3*time.Hour))
	require.NotEmpty(t, changes)
	var told []model.Condition
	for _, c := range changes {
		told = append(told, c.Condition)
		if c.Condition == Leak {
			assert.Contains(t, c.Message.Headline, "loses about 10 L an hour")
			assert.Contains(t, c.Message.Why, "10 L an hour leave, give or take 2,")
		}
	}
	assert.Equal(t, []model.Condition{ReservoirRunout, Leak}, told)
}

// While nobody listens the delays stand still.
func TestDelaysWaitThroughAGap(t *testing.T) {
	r := newRun(t, nil)
	require.Empty(t, r.lastBy(time.Minute, 10*time.Minute, level(110)))
	r.e.Pause(r.now.Add(time.Hour))
	r.now = r.now.Add(time.Hour)
	require.Empty(t, r.lastBy(time.Minute, 15*time.Minute, level(110)), "25 of 30 minutes")
	require.NotEmpty(t, r.lastBy(time.Minute, 10*time.Minute, level(110)))
}

// A drift that stands is told with the time at which the band ends, not with that of
// its deadband, which may be past.
func TestAStandingDriftKeepsItsDate(t *testing.T) {
	moves := func(s *model.Snapshot) {
		s.Reservoirs[0].EC.Value = 1.58 // the band ends at 1.61
		s.Reservoirs[0].ECCourse = model.Course{Rate: 0.02, SD: 0.001, Cause: model.CauseWaterOverFeed}
	}
	r := newRun(t, nil)
	r.last(12*time.Hour, moves)
	require.Equal(t, Unacknowledged, r.e.Status(ECDrift, "reservoir/tank"))
	for _, s := range r.e.Open() {
		if s.Condition == ECDrift {
			require.NotNil(t, s.Due)
			assert.True(t, s.Due.After(r.now.Add(24*time.Hour)), "%v", s.Due)
		}
	}
}

// Wicks that were blamed before their whole channel was are not said to lift again.
func TestABlameThatMovesToTheChannel(t *testing.T) {
	r := newRun(t, nil)
	r.last(3*time.Hour, wick(0, 0.1, model.CauseWickLostContact))
	require.Equal(t, Unacknowledged, r.e.Status(WickFailing, "bag/a1"))
	var over []string
	for _, c := range r.last(24*time.Hour, channelIsDry(0)) {
		if c.Condition == WickFailing && c.Kind == model.Cleared {
			over = append(over, c.Message.Headline)
		}
	}
	assert.Equal(t, []string{"It is not the wicks of bag a1: its channel a has no water"}, over)
}

// Bags that get dry because their reservoir is empty by then are one trouble, told of
// the reservoir, with how long they last; one that gets dry before has its own.
func TestBagsOfAReservoirThatRunsOutAreItsTrouble(t *testing.T) {
	empty := func(s *model.Snapshot) {
		at := s.Time.Add(20 * time.Hour)
		s.Reservoirs[0].EmptyAt = &model.Quantiles{P50: &at}
	}
	r := newRun(t, nil)
	changes := r.last(6*time.Hour, empty, dryIn(0, 34*time.Hour), dryIn(1, 30*time.Hour), dryIn(2, 32*time.Hour), dryIn(3, 20*time.Hour-time.Minute))
	told := map[model.Condition][]model.Subject{}
	for _, c := range changes {
		told[c.Condition] = append(told[c.Condition], c.Subject)
		if c.Condition == ReservoirRunout {
			assert.Contains(t, c.Message.Why, "Its bags then live on what they hold: the first, a2, is dry Wed 1")
		}
	}
	assert.Equal(t, map[model.Condition][]model.Subject{ReservoirRunout: {"reservoir/tank"}, BagDrying: {"bag/b2"}}, told)
}

// It is told of bags where nobody is told of their reservoir: its alert is out of
// service, or nobody reads its level and somebody may have filled it since.
func TestBagsOfAReservoirOfWhichNobodyIsTold(t *testing.T) {
	empty := func(d time.Duration) trouble {
		return func(s *model.Snapshot) {
			at := s.Time.Add(d)
			s.Reservoirs[0].EmptyAt = &model.Quantiles{P50: &at}
		}
	}
	drying := func(changes []model.Transition) (n int) {
		for _, c := range changes {
			if c.Condition == BagDrying && c.Kind == model.Raised && !c.Suppressed {
				n++
			}
		}
		return n
	}
	r := newRun(t, map[model.Condition]Override{ReservoirRunout: {OutOfService: true}})
	assert.Equal(t, 1, drying(r.last(6*time.Hour, empty(20*time.Hour), dryIn(0, 30*time.Hour))))

	unread := func(s *model.Snapshot) { s.Reservoirs[0].Level.Quality = model.Stale }
	r = newRun(t, nil)
	require.Zero(t, drying(r.last(6*time.Hour, unread, empty(5*time.Hour), dryIn(0, 10*time.Hour))), "it may be empty, and that is told")
	assert.Equal(t, 1, drying(r.last(24*time.Hour, unread, empty(0), dryIn(0, 10*time.Hour))))
}

// A bag that has water again is over, whatever its reservoir comes to; and none that is
// dry already is said to last until then.
func TestABagThatWasDryIsNotHeldForItsReservoir(t *testing.T) {
	empty := func(s *model.Snapshot) {
		at := s.Time.Add(3 * time.Hour)
		s.Reservoirs[0].EmptyAt = &model.Quantiles{P50: &at}
	}
	r := newRun(t, nil)
	changes := r.last(2*time.Hour, empty, water(0, 0.24), dryIn(0, 4*time.Hour), dryIn(1, 5*time.Hour))
	for _, c := range changes {
		if c.Condition == ReservoirRunout {
			assert.Contains(t, c.Message.Why, "the first, a2, is dry")
		}
	}
	require.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
	r.last(3*time.Hour, empty, water(0, 0.45), dryIn(0, 20*time.Hour))
	assert.NotEqual(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
}

// A dry channel may be an empty tank, where nobody knows its level, or it is next to
// nothing.
func TestADryChannelUnderAnUnreadTank(t *testing.T) {
	mm := 300.0
	action := func(q model.Quality) string {
		r := newRun(t, nil)
		for _, c := range r.last(10*time.Minute, channelIsDry(0), level(mm), func(s *model.Snapshot) { s.Reservoirs[0].Level.Quality = q }) {
			if c.Condition == ChannelDry {
				return c.Message.Action
			}
		}
		t.Fatal("nothing was raised")
		return ""
	}
	assert.Contains(t, action(model.Stale), "See first whether reservoir tank holds solution")
	assert.Contains(t, action(model.Unknown), "See first whether reservoir tank holds solution")
	assert.NotContains(t, action(model.Fresh), "See first")
	mm = 57 // empty is at 50
	assert.Contains(t, action(model.Fresh), "See first whether reservoir tank still gives solution: it reads 57 mm, and at 50 mm the outlet takes no more.")
}

// What a float valve fills is low only when the valve fails.
func TestAFloatValveThatFails(t *testing.T) {
	site := kestrel()
	site.Reservoirs[0].FloatValve = true
	e, err := New(Options{Site: site})
	require.NoError(t, err)
	var told []model.Transition
	for i := range 90 {
		now := noon.Add(time.Duration(i) * time.Minute)
		told = append(told, e.Step(now, with(now, level(100), emptySoon(20*time.Hour)))...)
	}
	require.Equal(t, []string{"raised reservoir-runout reservoir/tank", "raised reservoir-low reservoir/tank (quiet)"}, brief(told))
	assert.Contains(t, told[0].Message.Action, "See to the float valve")
	assert.Contains(t, told[1].Message.Headline, "The float valve of reservoir tank does not fill it")
}

// Channels that somebody fills are not fed through an inlet.
func TestChannelsThatAreFilledAtTimes(t *testing.T) {
	site := kestrel()
	site.Reservoirs[0].FeedsAtTimes = true
	for i := range site.Channels {
		site.Channels[i].Holds = 20
	}
	told := map[model.Condition]model.Message{}
	for _, trouble := range []trouble{level(50), func(s *model.Snapshot) { s.Channels[0].Dry = true }} {
		e, err := New(Options{Site: site})
		require.NoError(t, err)
		for i := range 90 {
			now := noon.Add(time.Duration(i) * time.Minute)
			for _, c := range e.Step(now, with(now, trouble)) {
				told[c.Condition] = c.Message
			}
		}
	}
	assert.Contains(t, told[ReservoirExhausted].Headline, "its channels cannot be filled again")
	assert.Contains(t, told[ReservoirExhausted].Why, "what stands in the channels")
	assert.Contains(t, told[ChannelDry].Action, "Full it holds 20 L")
	assert.NotContains(t, told[ChannelDry].Action, "inlet")
}

// A fall of hours may be somebody who fills channels.
func TestALeakAsksAfterFillings(t *testing.T) {
	ask := func(litres float64, atTimes bool) string {
		return fills(&model.ReservoirEstimate{Unexplained: measured(litres, 1)}, model.Reservoir{FeedsAtTimes: atTimes})
	}
	assert.Contains(t, ask(240, false), "feeds_at_times: true")
	assert.Empty(t, ask(240, true))
	assert.Empty(t, ask(3, false))
}

// It is empty at a filling, and which one it will be is uncertain by one or two.
func TestARunoutThatMovesFromFillingToFilling(t *testing.T) {
	for atTimes, want := range map[bool][]string{
		false: {"raised reservoir-runout reservoir/tank", "cleared reservoir-runout reservoir/tank"},
		true:  {"raised reservoir-runout reservoir/tank"},
	} {
		site := kestrel()
		site.Reservoirs[0].FeedsAtTimes = atTimes
		e, err := New(Options{Site: site})
		require.NoError(t, err)
		var told []model.Transition
		for i := range 12 * 60 {
			now, empty := noon.Add(time.Duration(i)*time.Minute), 47*time.Hour
			if i > 120 {
				empty = 57 * time.Hour
			}
			told = append(told, e.Step(now, with(now, emptySoon(empty)))...)
		}
		assert.Equal(t, want, brief(told), "%v", atTimes)
	}
}

// Channels that are filled every three days have it move by three days.
func TestARunoutThatMovesByThePeriodOfFillings(t *testing.T) {
	for every, moves := range map[time.Duration]bool{0: true, 12 * time.Hour: true, 72 * time.Hour: false} {
		site := kestrel()
		site.Reservoirs[0].FeedsAtTimes = true
		e, err := New(Options{Site: site})
		require.NoError(t, err)
		filled := func(s *model.Snapshot) { s.Reservoirs[0].FilledEvery = every }
		var told []model.Transition
		for i := range 12 * 60 {
			now, empty := noon.Add(time.Duration(i)*time.Minute), 47*time.Hour
			if i > 120 {
				empty = (47 + 70) * time.Hour
			}
			told = append(told, e.Step(now, with(now, filled, emptySoon(empty)))...)
		}
		want := []string{"raised reservoir-runout reservoir/tank"}
		if moves {
			want = append(want, "cleared reservoir-runout reservoir/tank")
		}
		assert.Equal(t, want, brief(told), "every %v", every)
	}
}
